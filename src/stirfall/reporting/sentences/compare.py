"""Sentences for comparisons: who belongs to a group, what may be said of a difference, and what may pretend one."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    # -- what cannot be worked out -----------------------------------------------------------------
    "proportions.empty": "A group without attempts has no share. Choose a group that has some.",
    "proportions.count": "{k} of {n} cannot be. The successes must lie between 0 and the number of trials.",
    "means.not_finite": "A number is missing or infinite. Compare attempts whose numbers are known.",
    "needed.empty": "A group without attempts tells nothing. Give each at least one.",
    "needed.share": "{first} and {second} are no shares. Give numbers from 0 to 1.",
    "compare.matters": (
        "{value} is no difference that could matter. Give one above 0, of shares at most 100 points."
    ),
    "compare.measure_unknown": "“{measure}” is nothing that is compared. Choose one of: {known}.",
    "compare.text_unreadable": (
        "“{text}” is no group. Write it as lot=L1, additive=rosin, sample age=1..12, period=2026-01-01..2026-02-01 "
        "or attempts=3,5,9; --subjects lists what there is."
    ),
    "compare.text_unknown": "“{name}” is nothing that attempts can be grouped by. There is: {known}.",
    "compare.level_unknown": "No attempt has {name} “{level}”. There is: {known}.",
    "compare.attempts_unreadable": "“{text}” are no numbers of attempts. Write them like 3, 5, 9-12.",
    "compare.attempts_unknown": "There is no attempt {numbers}. Give numbers of attempts, such as attempts=3,5,9.",
    "compare.range_unreadable": "“{text}” is no range. Write 1..12, 1.. or ..12, with a unit if you like.",
    # -- groups ------------------------------------------------------------------------------------
    "compare.group_lot": "lot {level}",
    "compare.group_jar": "jar {level}",
    "compare.group_day": "day {level}",
    "compare.group_operator": "operator {level}",
    "compare.group_tool": "tool {level}",
    "compare.group_oil": "oil {level}",
    "compare.group_bench": "bench {level}",
    "compare.group_level": "{name} {level}",
    "compare.group_exactly": "{name} {low}",
    "compare.group_range_lowhigh": "{name} {low} to {high}",
    "compare.group_range_low": "{name} {low} or more",
    "compare.group_range_high": "{name} up to {high}",
    "compare.group_range_all": "any {name}",
    "compare.group_period_sinceuntil": "from {since} to {until}",
    "compare.group_period_since": "since {since}",
    "compare.group_period_until": "before {until}",
    "compare.group_period_all": "at any time",
    "compare.group_chosen": "attempts {numbers}",
    "compare.group_chosen_more": "attempts {numbers} and {more} more",
    "compare.group_gone": "a group that is no more",
    # -- measures ----------------------------------------------------------------------------------
    "compare.measure_clean": "clean separation",
    "compare.measure_parted": "parted (gate 1)",
    "compare.measure_pooled": "pooled (gate 2)",
    "compare.measure_recovery": "recovery when clean",
    "compare.measure_parting_time": "time to first powder",
    "compare.measure_run_time": "time of the run",
    "compare.what_clean": "graded attempt",
    "compare.what_parted": "attempt with gate 1 graded",
    "compare.what_pooled": "attempt that parted and whose pool was seen",
    "compare.what_recovery": "clean attempt with charge and product weighed",
    "compare.what_parting_time": "guided run with the first powder marked",
    "compare.what_run_time": "guided run that came to its end",
    # -- the headline ------------------------------------------------------------------------------
    "compare.side_share": "{name} ({k} of {n})",
    "compare.side_short": "{k} of {n}",
    "compare.side_short_number": "{mean} {unit}",
    "compare.side_number": "{name} ({mean} {unit} on average, {n} attempts)",
    "compare.side_one_number": "{name} ({mean} {unit}, 1 attempt)",
    "compare.nothing": "Nothing was compared yet.",
    "compare.one_empty": "Nothing to compare yet: {name} has no {what}.",
    "compare.both_empty": "Nothing to compare yet: neither group has a {what}.",
    "compare.headline_apart": "{first} against {second}: the data do not tell them apart.",
    "compare.headline_contradicted": (
        "{first} against {second}: the data do not tell them apart, for the plain counts point one way and the "
        "lots or the other conditions the other way."
    ),
    "compare.headline_plain_only": (
        "{first} against {second}: the plain counts differ, but with all else alike {better} is ahead with a "
        "chance of {chance} % only."
    ),
    "compare.headline_lots_apart": (
        "{first} against {second}: the plain counts or means differ, but each lot compared with itself does not "
        "tell them apart."
    ),
    "compare.headline_better_probably": (
        "{first} against {second}: {better} is probably better (chance {chance} %)."
    ),
    "compare.headline_better_perhaps": (
        "{first} against {second}: {better} may be better; more attempts would tell."
    ),
    "compare.headline_better_beyond": "{first} against {second}: {better} is better, beyond chance.",
    "compare.headline_quicker_probably": (
        "{first} against {second}: {better} is probably quicker (chance {chance} %)."
    ),
    "compare.headline_quicker_perhaps": (
        "{first} against {second}: {better} may be quicker; more attempts would tell."
    ),
    "compare.headline_quicker_beyond": "{first} against {second}: {better} is quicker, beyond chance.",
    "compare.headline_differ_probably": "{first} against {second}: they probably differ.",
    "compare.headline_else_beyond": (
        "{first} against {second}: they differ, beyond chance, but not in this alone; see what else differs."
    ),
    "compare.headline_else_probably": (
        "{first} against {second}: they probably differ, but not in this alone; see what else differs."
    ),
    "compare.headline_else_perhaps": (
        "{first} against {second}: they may differ, and not in this alone; see what else differs."
    ),
    "compare.headline_differ_beyond": "{first} against {second}: they differ, beyond chance.",
    # -- counts and difference ---------------------------------------------------------------------
    "compare.counts": "{name}: {k} of {n}, {share} ({span}, {level} interval).",
    "compare.counts_number": (
        "{name}: {mean} {unit} on average ({lower} to {upper} {unit}, {level} interval), n = {n}."
    ),
    "compare.counts_one": "{name}: {mean} {unit}, n = 1; one attempt has no interval.",
    "compare.counts_none": "{name}: no {what}.",
    "compare.difference": "Difference {difference} ({lower} to {upper}, {level} interval), n = {n}.",
    "compare.difference_score": "By the score method the interval is {lower} to {upper}.",
    "compare.difference_only": (
        "Difference {difference}; with one attempt in a group, or without scatter, it has no interval (n = {n})."
    ),
    "compare.by_chance": (
        "If both were alike, chance alone would give a difference as large in {p} of such comparisons."
    ),
    "compare.by_chance_drawn": (
        "If both were alike, chance alone would give a difference as large in {p} of such comparisons (from "
        "{drawn} random divisions, give or take {p_se})."
    ),
    "compare.tests": (
        "How often chance alone gives as much if both were alike (p, two-sided): Boschloo {boschloo}, Barnard "
        "{barnard}, Fisher {fisher}."
    ),
    "compare.tests_score": "The groups are so large that the score test stands for Boschloo's and Barnard's.",
    "compare.tests_fisher": (
        "There are very many attempts in all, but few of one group or of one outcome: Fisher's test stands for "
        "Boschloo's and Barnard's."
    ),
    "compare.tests_sides": "One-sided p, Boschloo: {greater} for a first group so far ahead, {less} for a second.",
    "compare.posterior": (
        "Chance that {name} has the higher share: {chance} (each share by itself, nothing known beforehand: "
        "Beta(1/2, 1/2))."
    ),
    "compare.posterior_mean": (
        "Chance that the mean of {name} is the higher: {chance} (each mean by itself, nothing known beforehand); "
        "difference {lower} to {upper} ({level} interval)."
    ),
    # -- within lots -------------------------------------------------------------------------------
    "compare.blocked": (
        "Each lot compared with itself: difference {difference} ({lower} to {upper}, {level} interval), from "
        "{lots} with {attempts} in both groups."
    ),
    "compare.blocked_mean": (
        "Each lot compared with itself: difference {difference}, from {lots} with {attempts} in both groups."
    ),
    "compare.blocked_chance": "Within the lots chance alone would give as much in {p} of such comparisons.",
    "compare.blocked_left": "{attempts} of lots that have only one of the groups say nothing here.",
    "compare.blocked_lot": "lot {name}: {k1} of {n1} against {k2} of {n2}",
    "compare.none_to_block": "Lots are compared with themselves once both groups have attempts.",
    "compare.lots_are_compared": "The groups are lots, so that no lot can be compared with itself.",
    "compare.no_lots_known": "No attempt names its lot, so that lots cannot be compared with themselves.",
    "compare.no_shared_lot": (
        "No lot has attempts of both groups, so that lots cannot be compared with themselves. Split the next lot "
        "over both."
    ),
    # -- adjusted ----------------------------------------------------------------------------------
    "compare.adjusted": (
        "With all else alike: {first} {first_share} ({first_span}), {second} {second_share} ({second_span}); "
        "difference {difference} ({lower} to {upper}, {level} interval)."
    ),
    "compare.adjusted_chance": "Chance that {name} is then the higher: {chance}.",
    "compare.adjusted_factor": (
        "The model answered for {rows} recorded conditions of both groups, with {first_at} and with {second_at}."
    ),
    "compare.adjusted_shared": (
        "The model answered for {rows} recorded conditions of both groups, as of {first_at} and as of {second_at}."
    ),
    "compare.adjusted_refit": (
        "The groups were added to a model of these {rows} attempts as a choice of two, beside the campaign's "
        "factors and with its priors."
    ),
    "compare.adjust_at": "{name} {value}",
    "compare.adjust_too_few": "Two attempts of each group that the model can use are needed to allow for the rest.",
    "compare.adjust_one_gate": "The model has one gate only, so that gates cannot be told apart in it.",
    "compare.adjust_same_value": "Both groups have the same usual {name}, so that the model cannot set them apart.",
    "compare.adjust_numbers": (
        "Numbers are not adjusted through the model. Where lots are shared, the comparison within lots allows for "
        "them."
    ),
    "compare.none_to_adjust": "The other conditions are allowed for once both groups have attempts.",
    # -- what cannot be told, and what more would ---------------------------------------------------
    "compare.cannot_tell": "These {attempts} cannot tell a difference smaller than {smallest}.",
    "compare.cannot_tell_any": "These {attempts} cannot tell any difference, not even none against all.",
    "compare.cannot_tell_numbers": "These {attempts} show no scatter, so that nobody can say what they could tell.",
    "compare.cannot_tell_means": (
        "To tell means: found in 8 of 10 such comparisons, while 1 in 20 finds what is not there."
    ),
    "compare.needed": "A difference of {difference} takes {per_group} per group: {more}.",
    "compare.needed_observed": "A difference as large as seen, {difference}, takes {per_group} per group: {more}.",
    "compare.needed_more": "{first} more of the first and {second} more of the second",
    "compare.needed_more_first": "{first} more of the first, the second has them",
    "compare.needed_more_second": "{second} more of the second, the first has them",
    "compare.needed_more_each": "{first} more of each",
    "compare.needed_enough": "you have them",
    "compare.needed_unknown": "A difference of {difference} takes more attempts than anybody makes.",
    "compare.needed_no_wait": (
        "No attempts at other ages are asked for: this metal must not be left to age. See the caution."
    ),
    # -- many comparisons ----------------------------------------------------------------------------
    "compare.many_one": "This is the first comparison of the session.",
    "compare.many": (
        "{made} comparisons were asked for in this session. If nothing differed anywhere, up to {by_chance} of "
        "sessions with so many would still find one."
    ),
    "compare.many_adjusted": "With all {made} counted, {p} by chance alone becomes {adjusted} (Holm).",
    "compare.many_same": "With all {made} counted, it stays {p} by chance alone.",
    "compare.many_bounded": (
        "With all {made} counted, {p} by chance alone becomes {adjusted} at most (Bonferroni)."
    ),
    "compare.kept": "{first} against {second}, {measure}: {p}",
    "compare.kept_chance": "{p} by chance alone, {adjusted} with all counted",
    "compare.kept_unknown": "no attempts to go by now",
    "compare.not_kept": "Looked at only: the comparison was not noted in the file and does not count later.",
    "compare.not_kept_read_only": (
        "The file is read-only: the comparison could not be noted and does not count later."
    ),
    # -- what may pretend a difference -------------------------------------------------------------
    "compare.no_wait": (
        "Danger: this metal can grow a crust that explodes, and the longer it lies the worse. Whatever ages seem "
        "to do here, it is no reason to keep it longer. Use it fresh; additive, stirring and temperature are yours "
        "to change."
    ),
    "compare.no_lot_shared": "No lot has attempts of both groups: a difference may be one of the lots.",
    "compare.lots_apart": (
        "Only {share} % of the attempts are of lots that both groups have: lots may make the difference."
    ),
    "compare.first_earlier": (
        "The first group came before the second ({share} % of the attempts lie in the time of both): practice, oil "
        "or season may make the difference."
    ),
    "compare.second_earlier": (
        "The second group came before the first ({share} % of the attempts lie in the time of both): practice, oil "
        "or season may make the difference."
    ),
    "compare.days_apart": (
        "Only {share} % of the attempts are of days that both groups have: the day may make the difference."
    ),
    "compare.range_apart": "The groups differ in {name} too: {share} % of the attempts lie where both groups were.",
    "compare.levels_apart": (
        "The groups differ in {name} too: {share} % of the attempts have a level that both had."
    ),
    "compare.operator_apart": (
        "Other hands: {share} % of the attempts are by people who made attempts of both groups."
    ),
    "compare.tool_apart": "Other tools: {share} % of the attempts were made with a tool that both groups used.",
    "compare.oil_apart": "Other oil: {share} % of the attempts were made under an oil that both groups had.",
    "compare.bench_apart": "Other benches: {share} % of the attempts are of benches that have both groups.",
    # -- what was left out, and how it was counted ---------------------------------------------------
    "compare.left_struck": "Struck out, so not counted: {count}.",
    "compare.left_aborted": "Aborted, so not counted: {count}.",
    "compare.left_shared": "In both groups, so taken out of both: {count}.",
    "compare.left_unknown_clean": "Not graded, so not counted: {count}.",
    "compare.left_unknown_parted": "Gate 1 not graded, so not counted: {count}.",
    "compare.left_unknown_pooled": "Not parted, or the pool not seen, so not counted: {count}.",
    "compare.left_unknown_recovery": "Not clean, or not weighed, so not counted: {count}.",
    "compare.left_unknown_parting_time": (
        "Without a mark of the first powder in a guided run, so not counted: {count}."
    ),
    "compare.left_unknown_run_time": "Without a guided run that came to its end, so not counted: {count}.",
    "compare.trials_independent": "Some attempts hold several trials; each trial counts as one, as if by itself.",
    "compare.many_attempts": "With so many attempts the tests go by the normal law.",
    "compare.recovery_per_metal": (
        "Recovery is metal per metal in the charge, of clean attempts; a product of unknown purity counts as pure."
    ),
    "compare.recovery_per_charge": (
        "Recovery is product per charge, of clean attempts: not every lot's share of metal is known."
    ),
    # -- the page ------------------------------------------------------------------------------------
    "compare.subject_lot": "lot",
    "compare.subject_jar": "jar",
    "compare.subject_day": "day",
    "compare.subject_operator": "operator",
    "compare.subject_tool": "tool",
    "compare.subject_oil": "oil",
    "compare.subject_bench": "bench",
    "compare.subject_period": "span of time",
    "compare.subject_chosen": "attempts by number",
    "compare_page.no_session": "Open a session to compare two groups of its attempts.",
    "compare_page.empty": (
        "Nothing to compare yet. Record attempts that differ in something, such as two lots, two additives or two "
        "ages; then this page says whether the difference is more than chance."
    ),
    "compare_page.teaches": (
        "Choose two groups and press Compare: you will see both shares with their intervals, how large the "
        "difference is, how often chance alone gives as much, and how many more attempts would settle it. Each "
        "question that you ask is counted, because many questions find something by chance."
    ),
    "compare_page.not_these": (
        "Below stands the comparison before. Press Compare for the groups that are chosen now."
    ),
    "compare_page.working": "Comparing…",
    "compare_page.failed": "The comparison could not be worked out. Your records are safe.",
    "compare_page.counted": "As counted",
    "compare_page.lots": "Each lot with itself",
    "compare_page.alike": "With all else alike",
    "compare_page.cannot": "What these attempts cannot tell",
    "compare_page.needed": "Attempts still needed",
    "compare_page.how": "How it was counted",
    "compare_page.many": "Comparisons made",
    "compare_page.difference": "Difference: {first} less {second}",
    "compare_page.matters": "what matters: {difference}",
    "compare_page.matters_usual": "a fifth of the mean",
    "compare_page.bar_counted": "As counted",
    "compare_page.bar_lots": "Each lot with itself",
    "compare_page.bar_alike": "With all else alike",
}
