"""Sentences for the plan of an evening: what is opened, open or wait, what is started."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "tonight.hours": "The free hours must lie between 0 and {most}, not at {value}.",
    "tonight.begins_past": "The evening cannot begin in the past. Give a later time, or leave it out.",
    "tonight.next_evening": "Today is no bench day, or its hours are over: this is the plan for {when}.",
    "tonight.long_attempts": (
        "One attempt is long enough to ask for a break. Take one of at least {gap} min before the next hot run."
    ),
    "tonight.breaks_cost": (
        "Breaks take their time: {fit} attempts fit into the evening, not {without}. Tired hands make mistakes."
    ),
    "tonight.break_first": (
        "Too much was done today already: with the break that is due first, no attempt fits into {hours}."
    ),
    "tonight.nobody_free": "No hours are free, so nothing is opened.",
    "tonight.too_short": "{hours} is too short for an attempt, which takes {attempt}. Nothing is opened.",
    "tonight.empty_shelf": "No jar is on the shelf, so there is nothing to open. Start jars for another evening.",
    "tonight.none_to_open": "No jar on the shelf may be opened on this evening. The list of the jars says why.",
    "tonight.in_use": "Jar {jar} is in the run that is open now.",
    "tonight.use_by_past": "Jar {jar} is past its use-by. Look at it before anything else; do not plan with it.",
    "tonight.beyond_range": (
        "“{factor}” of jar {jar} is {value}, more than the {most} that the limits and the range of this "
        "campaign allow."
    ),
    "tonight.below_range": (
        "Jar {jar} is too young: “{factor}” is {value}, and the range of this campaign begins at {least}."
    ),
    "tonight.longer_exposure": (
        "“{factor}” of jar {jar} is {value}, longer than {most}, and for this metal no longer exposure is ever "
        "suggested."
    ),
    "tonight.window_closes": "{why} The time at which this jar is near its best ends {when}.",
    "tonight.use_by_comes": "{why} The use-by of this jar comes {when}.",
    "tonight.proof": "For the proof that is running, at its recipe. Attempts left at most: {left}.",
    "tonight.proof_no_jar": "A proof is running, but no jar that may be opened keeps to its recipe. {why}",
    "tonight.control_repeated": (
        "Control: the conditions made most often, {n} times, once more, so that any change shows. {fit}"
    ),
    "tonight.control_recipe": (
        "Control: the recommended recipe, as nothing was repeated yet. Make it again every evening, so that any "
        "change shows. {fit}"
    ),
    "tonight.control_usual": (
        "Control: the usual values, as too little is known yet. Make them again every evening, so that any change "
        "shows. {fit}"
    ),
    "tonight.control_fits": "Jar {jar} fits it best.",
    "tonight.control_near": (
        "Jar {jar} comes nearest, but its “{factor}” is {value} in place of {wanted}: compare with care."
    ),
    "tonight.wait": (
        "Wait for {when}, in {wait}: the chance is then about {later} %, now {now} %. Waiting is better with a "
        "chance of {chance} %."
    ),
    "tonight.open": "Open it: waiting for {when}, {wait} more, is better with a chance of only {chance} %.",
    "tonight.either": (
        "Either is right: waiting for {when}, {wait} more, is better with a chance of {chance} %. Opening it "
        "now saves the time."
    ),
    "tonight.open_last": (
        "Open it on this evening: only until {when} does it stay within its use-by and the ranges, and no bench"
        " evening comes before."
    ),
    "tonight.never_wait": (
        "This metal must never be exposed for longer than needed: waiting is no choice. If it cannot be used "
        "soon, ask for help by your local rules."
    ),
    "tonight.opened_all_the_same": (
        "Jar {jar} would have a better chance {when}. It is opened on this evening for what it tells."
    ),
    "tonight.start_learn": "At {age} its outcome tells most, beside what else is opened; it comes due {when}.",
    "tonight.start_gain": "At {age} it does most for the goal, beside what else is opened; it comes due {when}.",
    "tonight.start_proof": (
        "For the proof that is running: it comes due {when} at {age}, which keeps to the recipe that evening."
    ),
    "tonight.start_spread": (
        "Nothing near {age} was tried, and the ages of one evening lie a step of two or more apart; it comes "
        "due {when}."
    ),
    "tonight.no_starts": (
        "No jars are started to age: for this metal a longer exposure makes a crust that may explode. Use "
        "additive, stirring action and temperature instead."
    ),
    "tonight.starts_tell_nothing": (
        "No jars to start are proposed: the campaign has no visible time under oil, and no film index that its "
        "jars tell, so the model does not see when a jar was started. Show or add one among the factors."
    ),
    "tonight.no_lot": "No jars to start are proposed: the campaign has no lot yet. Add the lot of crude first.",
    "tonight.enough_jars": (
        "Nothing needs to be started: the jars that stand or are planned already are as good for {when} as "
        "new ones."
    ),
    "tonight.no_age": (
        "No jars to start are proposed: no age that lies inside the limits comes due on a bench evening of the "
        "next two weeks with lot {lot}. A younger lot, or a wider range, may help."
    ),
    "tonight.nothing_to_learn": (
        "No jars to start are proposed: as far as the attempts tell, no age would tell more."
    ),
    "tonight.crude_needed": "These jars take {total} of crude from lot {lot}. See that so much of it is left.",
    "tonight.crude_unknown": "See that enough crude of lot {lot} is left: how much a jar takes is not known.",
    "tonight.thinner": (
        "Oil depth is a lever: under {thin} of oil in place of {depth} a jar gets the film of {age} in about "
        "{sooner}, by the estimate of the film index. Keep the metal fully covered."
    ),
}
