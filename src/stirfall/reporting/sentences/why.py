"""Sentences for why an attempt came out as it did, and for the rival explanations."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    # -- why -------------------------------------------------------------------------------------------------
    "why.failed_parted": "Attempt {number} failed at gate 1: the solids did not leave the metal.",
    "why.failed_partly": "Attempt {number} failed at gate 1: only a part of the solids left the metal.",
    "why.failed_pooled": (
        "Attempt {number} failed at gate 2: the solids left, but the metal did not become one pool."
    ),
    "why.nothing_failed": "Attempt {number} passed both gates: a clean separation.",
    "why.gate_not_graded": (
        "Attempt {number} was not clean. Its gates were not graded, so it cannot be said which one failed."
    ),
    "why.counted": (
        "Attempt {number} counts {clean} clean of {trials} trials. Its gates were not graded, so it cannot be said "
        "which one failed."
    ),
    "why.parted_only": ("In attempt {number} the solids left the metal; what the metal did then was not observed."),
    "why.not_graded": "Attempt {number} was not graded yet, so nothing can be said of its gates.",
    "why.aborted": "Attempt {number} was aborted, so it says nothing about the gates.",
    "why.struck": "Attempt {number} was struck out, so it no longer counts.",
    "why.no_result": "Without a result there is nothing to hold against what the others foretell.",
    "why.values_missing": (
        "Nothing was foretold: the model does not use it, because these values are not known: {factors}."
    ),
    "why.left_out": "Nothing was foretold: the model does not use this attempt.",
    "why.foretold": "{gate}: the others foretold {probability}; seen: {seen}.",
    "why.gate_title_parted": "Gate 1, parted",
    "why.gate_title_pooled": "Gate 2, one pool",
    "why.gate_title_clean": "Clean separation",
    "why.seen_yes": "yes",
    "why.seen_no": "no",
    "why.seen_not": "not observed",
    "why.band_great": "A great surprise",
    "why.band_clear": "A surprise",
    "why.band_mild": "A mild surprise",
    "why.band_none": "No surprise",
    "why.surprise": "{band}: the other attempts gave what was seen {probability}, about {odds}.",
    "why.foreseen": "{band}: the other attempts gave what was seen {probability}.",
    "why.one_in": "1 in {count}",
    "why.known_already": (
        "The model knows these conditions and still foretold it otherwise. What it knows explains little of the "
        "surprise; chance, or what it does not know, has to explain the rest."
    ),
    "why.no_other": "There is no other attempt yet that went the other way, so nothing can be held against it.",
    "why.beside_clean": "Beside it stands attempt {number}, the most similar clean one.",
    "why.nothing_differs": (
        "Against attempt {number} nothing recorded differs but jar and day: it was chance, or something that was "
        "not recorded."
    ),
    "why.only_facts": (
        "Against attempt {number} all conditions are alike. What differs: {names}. The model does not know these, "
        "so it was one of them, chance, or something that was not recorded."
    ),
    "why.speaks_against": (
        "Against attempt {number} the model thinks that these differences made it harder: {names}."
    ),
    "why.speaks_for": "Against attempt {number} the model thinks that these differences made it easier: {names}.",
    "why.none_sure": (
        "Against attempt {number} conditions differ, but the model is not sure of any of these differences. "
        "Chance explains it as well."
    ),
    "why.whole": "All differences together multiply the odds of {gate} by {factor}.",
    "why.in_model": "Known to the model, by what it does to the odds of {gate}",
    "why.shift": "odds × {factor}, {way} with {probability}",
    "why.shift_lower": "lower",
    "why.shift_higher": "higher",
    "why.not_in_model": "Not known to the model",
    "why.shift_unknown": "not in the model",
    "why.shift_not_told": "not told: for this metal no longer exposure is ever advised",
    "why.not_recorded": "On record for only one of the two: {names}.",
    "why.near_other": "Nearest that went the other way: {attempts}.",
    "why.near_same": "Nearest that went the same way: {attempts}.",
    "why.near_clean": "Nearest clean attempts: {attempts}.",
    "why.near": "{number} ({outcome}; {distance} ranges away)",
    "why.under_filmed_likely": "Probably under-filmed: a longer exposure should help it to part ({probability}).",
    "why.under_filmed_sure": "Under-filmed: a longer exposure helps it to part ({probability} sure).",
    "why.over_filmed_likely": "Probably over-filmed: a shorter exposure should help it to pool ({probability}).",
    "why.over_filmed_sure": "Over-filmed: a shorter exposure helps it to pool ({probability} sure).",
    "why.no_film_word": (
        "Of film nothing is said: for this metal no longer exposure is ever advised. The levers are additive, "
        "kneading and temperature."
    ),
    "why.waits_refined": (
        "This is the quick answer: all forms weighed and lots allowed for will follow and can move the numbers."
    ),
    "why.count": (
        "{found} of {judged} attempts surprised: the others gave what was seen {within} or less. By chance alone "
        "{expected} would, give or take {spread}."
    ),
    "why.count_usual": "That is no more than chance brings.",
    "why.count_many": "That is more than chance brings: the model misses something.",
    "why.newest": "Of {of} attempts the newest and the least foretold were judged.",
    "why.none_judged": "No attempt has a result yet. Record attempts, and those that surprise will stand here.",
    "why.none_surprised": "None of the attempts came out much against what the others foretell.",
    "why.listed": "Attempt {number}, {outcome}: {gate} foretold {probability}. {band}.",
    "why.no_session": "Open a session, and the attempts that surprised will stand here.",
    "why.failed_to_work_out": "This could not be worked out; the message above says why.",
    "why.working": "Each attempt is being held against what the others foretell.",
    "why.choose": "Any attempt, by its number",
    "why.unknown_number": "There is no attempt {number}.",
    # -- facts -----------------------------------------------------------------------------------------------
    "fact.lot": "lot",
    "fact.jar": "jar",
    "fact.day": "day",
    "fact.place_in_day": "run of the day",
    "fact.operator": "who stirred",
    "fact.tool": "tool",
    "fact.oil": "oil",
    "fact.oil_history": "history of the oil",
    "fact.lid": "lid",
    "fact.oil_depth": "oil depth",
    "fact.humidity": "room humidity",
    "fact.charge": "charge",
    "fact.look": "look of the surface",
    "fact.parting_time": "time to first powder",
    "fact.merging_time": "time to first merging",
    "fact.hot_time": "hot time before stirring",
    "fact.peak": "highest temperature seen",
    "fact.lifted_at": "temperature when lifted",
    "fact.warnings": "warnings gone past",
    "fact.bench": "bench",
    # -- the tour ---------------------------------------------------------------------------------------------
    "tour.changes_nothing": "The tour changes nothing.",
    "tour.sample_kept": (
        "The sample of the tour has new records, so it stays open. It stands in a temporary place; to keep it, "
        "choose File, Save a copy."
    ),
    # -- rivals ----------------------------------------------------------------------------------------------
    "rivals.title_film": "A film on the metal",
    "rivals.title_water": "The solids take up water",
    "rivals.title_oil": "The oil ages or gets wet",
    "rivals.title_settling": "Slow settling, no chemistry",
    "rivals.title_learning": "The operator gets better",
    "rivals.title_lots": "The lots differ",
    "rivals.foretells_film": (
        "A thin film lets go of the solids and holds the beads apart. Then a jar that got more oxygen and water at "
        "the same age parts more easily and pools less."
    ),
    "rivals.foretells_water": (
        "Water makes the solids oil-wet. Then humidity counts at the same age and film index, for the parting "
        "alone."
    ),
    "rivals.foretells_oil": (
        "Old, reused or damp oil does it. Then the outcome follows the oil and its history, not the metal."
    ),
    "rivals.foretells_settling": (
        "Solids creep out with time alone. Then age counts at an equal film index, for the parting alone; oil "
        "depth, lid and humidity do not matter."
    ),
    "rivals.foretells_learning": (
        "Later attempts go better because of practice. Then the place among the attempts counts at equal "
        "conditions, at both gates."
    ),
    "rivals.foretells_lots": (
        "Some lots simply part or pool more easily. Then lots differ at equal conditions by more than chance."
    ),
    "rivals.hypothesis": (
        "All six are hypotheses, the film too: no published work on this exact step was found. They do not exclude "
        "each other. Each number is about what is left when all others are allowed for. How many times "
        "likelier also leans on how large effects the campaign's priors expect: with priors half or twice as wide "
        "it can halve or double with each effect."
    ),
    "rivals.verdict_clearly_for": "Speaks clearly for it: {factor}.",
    "rivals.verdict_for": "Speaks for it, not more: {factor}.",
    "rivals.verdict_cannot_tell": "Cannot be told yet.",
    "rivals.verdict_cannot_tell_factor": "Cannot be told yet: {factor}.",
    "rivals.verdict_against": "Speaks against it: {factor}.",
    "rivals.verdict_clearly_against": "Speaks clearly against it: {factor}.",
    "rivals.verdict_nothing_recorded": "Nothing recorded can tell.",
    "rivals.times_likelier": "what was seen is {times} times as likely with it as without it",
    "rivals.times_less": "what was seen is {times} times as likely without it as with it",
    "rivals.no_odds": "what was seen is as likely with it as without it",
    "rivals.evidence": (
        "{gate}: {step} multiplies the odds by {factor}. Foretold: {foretold}; {probability}. {n}."
    ),
    "rivals.foretold_up": "more",
    "rivals.foretold_down": "less",
    "rivals.foretold_either": "either way",
    "rivals.foretold_none": "no effect",
    "rivals.prob_up": "the chance that it is more is {probability}",
    "rivals.prob_down": "the chance that it is less is {probability}",
    "rivals.prob_either": "the chance of the sign seen is {probability}",
    "rivals.prob_none": "the chance of the sign seen is {probability}",
    "rivals.evidence_lots": (
        "{gate}: a typical {what} multiplies or divides the odds by {factor}. What was seen is {times} with such "
        "differences. {n}."
    ),
    "rivals.as_likely": "{times} times as likely",
    "rivals.step_doubling": "each doubling of {term}",
    "rivals.step_ratio": "{term} times {ratio}",
    "rivals.step_amount": "{term}, {amount} more,",
    "rivals.step_count": "{term}, {count} more,",
    "rivals.step_level": "{term}, {level},",
    "rivals.shared": "{share} of the scatter of {term} went along with other conditions, most with {followed}.",
    "rivals.inseparable": "{term} moved so much with {followed} that the two cannot be told apart.",
    "rivals.confounded_date": "Time under oil moved with the date: correlation {value} ({low} to {high}), {n}.",
    "rivals.confounded_practice": (
        "Time under oil moved with practice: correlation {value} ({low} to {high}), {n}."
    ),
    "rivals.too_few_know": "Not tested by {term}: {known} of {of} attempts have it on record.",
    "rivals.never_varied": "Not tested by {term}: it hardly differed between the attempts.",
    "rivals.too_few": "There are fewer than {least} attempts with a result and all conditions.",
    "rivals.one_lot": "The attempts belong to one {what}, so differences cannot show.",
    "rivals.lots_not_in_model": (
        "The campaign takes attempts as independent of their lot; its settings can let lots differ."
    ),
    "rivals.time_stands_for_film": (
        "No film index is known of these attempts, so a film that grows with time would look the same."
    ),
    "rivals.humidity_stands_for_film": (
        "No film index is known of these attempts, so a film that grows with humidity would look the same."
    ),
    "rivals.film_stands_for_time": (
        "No time under oil is known of these attempts, so time alone would look the same."
    ),
    "rivals.leans_on_film_index": (
        "The number leans on the film index, which holds within a factor of three: what the index misses of a film "
        "counts here."
    ),
    "rivals.pair_title": "The pair that would tell it from “{rival}”",
    "rivals.first": "First",
    "rivals.second": "Second",
    "rivals.side": "{place}: {values}",
    "rivals.side_jar": "jar {jar} of lot {lot}, on the shelf",
    "rivals.side_lot": "from lot {lot}",
    "rivals.side_any_lot": "from a lot of your choice",
    "rivals.side_odds": "clean separation {probability}",
    "rivals.film_ratio": (
        "The first has a film index about {times} times that of the second, within a factor of three either way."
    ),
    "rivals.rule_one_lot_one_day": "Both from one lot, opened on one day at one age.",
    "rivals.rule_two_lots_one_day": "One from each lot, opened on one day at one age.",
    "rivals.rule_weeks_apart": (
        "Two jars of one age that are opened weeks apart: here the weeks between are what tells. From one lot "
        "where it can be, else from two that were made alike."
    ),
    "rivals.rule_lots_ages": (
        "These lots differ in age as well, so the pair tells lot and age together; two lots made close together "
        "tell more."
    ),
    "rivals.rule_coin": "A coin says which is opened first.",
    "rivals.rule_all_else_equal": "Everything else alike: charge, tool, stirring, additive, who stirs.",
    "rivals.rule_covered": "The metal stays fully covered in both jars; never heat a closed jar.",
    "rivals.rule_reactive": (
        "The usual cautions for reactive metal hold for both; nothing is opened in damp air to make it damp."
    ),
    "rivals.rule_start_together": "Start both jars together, so that they come to one age on one day.",
    "rivals.rule_once_is_little": "One pair says little: repeat it, and count all pairs.",
    "rivals.no_pair_blocked": "The operating limits allow no attempt now, so no pair is written.",
    "rivals.no_pair_superoxide": (
        "No pair is written: one of the two would ask for more air or water at this metal, and for it no longer or "
        "stronger exposure is ever suggested."
    ),
    "rivals.no_pair_one_lot": "A pair needs a second lot.",
    "rivals.no_pair_unknown": "The campaign's usual values leave no attempt within its limits.",
    "rivals.no_pair_limits": "The operating limits leave no room for such a pair.",
    "rivals.jar_has_depth": "{depth} of oil over the metal",
    "rivals.jar_stood_at": "it stood at {humidity} humidity",
    "rivals.jar_has_lid": "lid: {lid}",
    "rivals.jar_has_oil": "{history} oil",
    "rivals.jar_depth": "start a jar with {depth} of oil over the metal",
    "rivals.jar_open": "start a jar without a lid",
    "rivals.jar_closed_dry": "start a jar closed, with a dry headspace",
    "rivals.jar_humid": "start a jar in a room at about {humidity} humidity",
    "rivals.jar_dry": "start a jar dry, at about {humidity} humidity or less",
    "rivals.jar_old_oil": "start a jar in reused oil, closed",
    "rivals.jar_new_oil": "start a jar in new oil of the same kind, closed",
    "rivals.jar_now": "open a jar of this age now",
    "rivals.jar_weeks_later": "open a jar of the same age four weeks later or more",
    "rivals.jar_lot": "start a jar of this lot",
    "rivals.told_depth_film": "If a film does it, the jar under thin oil parts more easily and pools less.",
    "rivals.told_depth_settling": "If time alone does it, both come out alike.",
    "rivals.told_humidity_water": "If the solids take up water, the humid jar parts more easily and pools alike.",
    "rivals.told_humidity_film": "If a film does it, the humid jar also pools less.",
    "rivals.told_oil_oil": "If the oil does it, the jar in reused oil parts more easily.",
    "rivals.told_oil_film": "If a film does it, both come out nearly alike, as their films are.",
    "rivals.told_lid_settling": "If time alone does it, both come out alike.",
    "rivals.told_lid_film": "If a film does it, the open jar parts more easily and pools less.",
    "rivals.told_weeks_learning": "If practice does it, the later one goes better.",
    "rivals.told_weeks_film": "If a film does it, both come out alike.",
    "rivals.told_lots_lots": "If lots differ, one lot does better again and again.",
    "rivals.told_lots_oil": "If the oil does it, both lots in one oil come out alike.",
    "rivals.no_session": "Open a session, and what speaks for each explanation will stand here.",
    "rivals.empty": (
        "Record eight attempts or more with their conditions, and what speaks for each explanation will stand here."
    ),
    "rivals.failed": "This could not be worked out; the message above says why.",
    "rivals.working": "The numbers follow when the refined answer is there: forms weighed, lots allowed for.",
    "rivals.origin": "the pair that tells “{rival}” from “{other}”, {place}",
}
