"""Sentences for pooled sessions: what cannot be pooled, what was done on the way, and what benches say."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    # Why sessions cannot be one, each with what to do.
    "pool.refused": "These sessions cannot be pooled. {why}",
    "pool.takes": "“{value}” is nothing that can come along. Use one of: {known}.",
    "pool.too_few": (
        "Pooling takes the sessions of two benches or more, and there are {count}. Add the session of another "
        "bench."
    ),
    "pool.name_taken": (
        "Two benches are called “{name}” ({first} and {second}). Give each a name of its own, such as {name} 2."
    ),
    "pool.name_within": (
        "“{name}” is a bench within {first}, and {second} shares no attempt with it. Give the bench of {second} "
        "another name; if it is the same bench, a name such as {name} 2 tells its sessions apart."
    ),
    "pool.definition_differs": (
        "The {what} differs: {first} has “{one}”, {second} has “{other}”. An outcome would not mean the same. Set "
        "it alike in the campaign settings of both, if it is alike in truth; else do not pool them."
    ),
    "pool.additive_differs": (
        "The additive “{name}” is of the class “{one}” at {first} and “{other}” at {second}. Find out which is "
        "true and correct the other in its campaign settings, or give the two additives different names."
    ),
    "pool.counted_and_graded": (
        "{counted} counted only clean or not clean, {graded} graded whether it parted and pooled. Let the outcome "
        "ask one question in the campaign settings of all, then clean means the same everywhere."
    ),
    "pool.invented_and_real": (
        "{invented} holds invented data and {real} does not. The two are never mixed. Leave one of them out."
    ),
    "pool.factor_kind": (
        "“{name}” is {one} at {first} and {other} at {second}. Rename one of the two in its session, so that they "
        "are two factors, or correct the one that is wrong."
    ),
    "pool.factor_role": (
        "“{name}” means “{one}” to the limits at {first} and “{other}” at {second}. Set the role alike in the "
        "factors of both sessions, or rename one of the two."
    ),
    "pool.factor_unit": (
        "“{name}” has {one} at {first} and {other} at {second}, which cannot be converted into each other. "
        "Correct the unit in one of the sessions, or rename one of the two factors."
    ),
    "pool.factor_reserved": (
        "“{name}” is the name of a factor, and of what pooled attempts share. Rename the factor in its session "
        "first."
    ),
    # What was done on the way.
    "pool.unit_converted": "“{name}” of {bench} was converted from {one} to {other}.",
    "pool.scale_differs": (
        "“{name}” has different scales at {first} and {second}. The pooled session takes: {scale}."
    ),
    "pool.range_widened": "The range of “{name}” was widened to hold that of {bench}.",
    "pool.levels_added": "{bench} adds to “{name}”: {levels}.",
    "pool.levels_spelled": "Spellings of {bench} in “{name}” were made alike: {levels}.",
    "pool.levels_missing": "{bench} has no {levels} in “{name}”, which {first} has.",
    "pool.factor_missing": "“{name}” is not known at {benches}. It is kept, and unknown there.",
    "pool.values_left_out": (
        "“{name}” is known in {known} of {total} attempts. The model uses it and leaves out the other {unknown}. "
        "Hide the factor in the pooled session to use all attempts without it."
    ),
    "pool.factor_left_out": (
        "“{name}” is known in {known} of {total} attempts, fewer than half, so the model leaves the factor out."
    ),
    "pool.melting_differs": (
        "The melting points differ: {each}. The lower one holds ({held}), as it is the stricter for lifting the "
        "metal out of hot oil. Check which is right, and whether it is one metal."
    ),
    "pool.melting_unknown": "The melting point is not known at {benches}. That of the others holds ({held}).",
    "pool.flash_differs": "The flash points differ: {each}. The lowest one holds ({held}).",
    "pool.flash_unknown": (
        "The flash point is not known at {benches}. That of the others holds ({held}); read it off the bottle in "
        "use before anything is heated."
    ),
    "pool.level_differs": "The levels of the intervals differ. The highest one holds ({level} %).",
    "pool.priors_differ": "The priors differ. The widest ones hold.",
    "pool.text_differs": "The {what} is told in different words. {each}. All are kept.",
    "pool.substances_differ": (
        "What is known of metal, solids, oil, additives and vessel differs. What benches disagree on is left open."
    ),
    "pool.limits_differ": "The benches have different limits of their own. The strictest of each holds.",
    "pool.repeated": "{repeated} attempts of {bench} are in another of the sessions too. Each counts once.",
    "pool.versions": (
        "{versions} of the repeated attempts say something else at {bench}. The session that is named first "
        "holds; name the one that is right first."
    ),
    "pool.no_attempts": "{bench} has no attempts.",
    "pool.jars_closed": (
        "Jars that still stand at their bench: {jars}. They are closed in the pooled session, for shelf, alarms "
        "and evenings stay with the bench. What stands there stays its task."
    ),
    "pool.left_behind": "Left behind, in the sessions of the benches: {what}.",
    "pool.source": "{bench}: {attempts} of “{title}”.",
    "pool.source_repeats": (
        "{bench}: {attempts} of “{title}”, of which {taken} are new and {repeated} are in another session too."
    ),
    "pool.source_copy": "{bench}: “{title}” says the very same as the session of {same_as}. It is left out.",
    "pool.sum": "Together: {attempts} of {benches}, {lots}, {jars}.",
    "pool.written": "Written to {path}.",
    "pool.dry": "Nothing was written.",
    # What benches say.
    "benches.none": "No attempts yet, so no bench says anything.",
    "benches.one": (
        "All attempts are of one bench, so nothing is known of others. Pool its session with another one's."
    ),
    "benches.not_told": (
        "Fewer than two benches have attempts that tell clean or not, so none can be held against the others."
    ),
    "benches.too_wide": (
        "It is not known whether it holds for others: what the other benches foretell of a bench spans nearly any "
        "result. More benches and more attempts at each would tell."
    ),
    "benches.hold_two": (
        "As far as two benches can tell, it holds: each got as many clean attempts as the other foretold, within "
        "the interval."
    ),
    "benches.hold": (
        "It holds so far: each of {benches} benches got as many clean attempts as the others foretold, within the "
        "interval."
    ),
    "benches.hold_in_part": (
        "It does not hold everywhere: {outside} got another number of clean attempts than the others foretold; "
        "{inside} of {benches} lie within the interval."
    ),
    "benches.hold_in_doubt": (
        "It may not hold everywhere: {outside} got another number of clean attempts than the others foretold. Of "
        "{benches} benches at least one does so by chance alone in up to {chance} % of such sessions."
    ),
    "benches.hold_nowhere": (
        "It does not hold for others: no bench got as many clean attempts as the others foretold."
    ),
    "benches.new_one": (
        "At the recommended recipe a bench not seen yet has a chance of {chance} ({interval}, {level} interval, "
        "{basis})."
    ),
    "benches.given_new_one": (
        "At these conditions a bench not seen yet has a chance of {chance} ({interval}, {level} interval, {basis})."
    ),
    "benches.no_recipe": "There is no recipe to answer for. {why}",
    "benches.nested": (
        "With lots within a bench allowed for too (one form), the sd on the log odds of {event} is {benches} "
        "between benches ({benches_low} to {benches_high}) and {lots} between lots of one bench ({lots_low} to "
        "{lots_high}, {level} intervals)."
    ),
    "benches.nested_new": (
        "A new lot on a bench not seen yet then has a chance of {chance} at the recipe ({interval}, {level} "
        "interval, {basis})."
    ),
    "benches.two_only": "Two benches hardly tell how much benches differ. The spread rests mostly on its prior.",
    "benches.few": (
        "With fewer than {count} attempts that tell, nearly any result lies within the interval: {benches}."
    ),
    "benches.lots_alike": (
        "Lots within a bench count as alike here. Where they differ, the interval of a bench is too narrow."
    ),
    "benches.left_out": (
        "Attempts that the model leaves out, as a value of a factor is unknown: {left_out}. They stand in the "
        "counts of clean ones."
    ),
    "benches.never_wait": (
        "Whatever another bench got after longer waiting: this metal is never left to age for it, as its crust "
        "can explode."
    ),
    "benches.clean": "clean {clean} of {trials}: {share} ({interval})",
    "benches.no_clean": "no attempt that tells clean or not",
    "benches.at_recipe": "at the recipe {chance} ({interval})",
    "benches.foretold": "the others foretold {expected} clean of {trials} ({lower} to {upper}), it got {clean}",
    "benches.not_foretold": "the others foretell nothing of it",
    "benches.as_foretold": "as foretold",
    "benches.says_little": "too wide to tell",
    "benches.fewer": "fewer than foretold",
    "benches.more": "more than foretold",
    "benches.score": (
        "Score per attempt {score} where {expected} was to be expected ({lower} to {upper}); the others' share "
        "alone scores {plain}."
    ),
    "benches.spread": (
        "Benches differ in the odds of {event} by a factor of {ratio} between two picked at random ({lower} to "
        "{upper}, {level} interval; sd on the log odds {sd}, {sd_lower} to {sd_upper})."
    ),
    "benches.no_spread": "How much benches differ cannot be told yet.",
    # The section "Other benches".
    "benches_page.no_session": (
        "Open a session, then it is said here whether what it found holds for other benches."
    ),
    "benches_page.waits": "It is worked out here whether what was found holds for other benches.",
    "benches_page.how": (
        "To find out, ask others for their session files or packages, and pool them with yours. Each attempt "
        "keeps where it was made, and this page then shows every bench on a line of its own, with what the other "
        "benches foretold of it."
    ),
    "benches_page.new": "Not seen yet",
    "benches_page.key": (
        "Ring: clean attempts, with their interval. Dot: the chance at the recommended recipe. Dashed band: the "
        "share that the other benches foretold of this one. Diamond: the chance of a bench not seen yet."
    ),
    # The dialog "Pool sessions".
    "pooling.how": (
        "Add the session files or packages of two benches or more. They are only read: a new session is made, in "
        "which each attempt counts once and keeps where it was made."
    ),
    "pooling.working": "Reading and checking…",
    "pooling.stands_in_the_way": "These sessions cannot be one yet.",
    "pooling.unread": "Leave out what cannot be read, or put it right.",
    "pooling.no_place": "Say where the new session goes.",
    "pooling.not_read": "{name} cannot be read. Choose a session file, or a package as a folder or a zip file.",
    "pooling.written": "Pooled session made: {name}",
}
