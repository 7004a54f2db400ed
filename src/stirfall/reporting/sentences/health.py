"""Sentences for the health of an answer: how its predictions fared, what pulls it, and what it cannot tell."""

from __future__ import annotations

_STAGGER = (
    "Start jars on different days, so that several ages are opened on one day, in random order and within each lot."
)
_SHUFFLE = "Open young and old jars in random order."
_DAY = "Shuffle the order within the day."
_FEWER = "Hide conditions that need no answer now, or keep some of them fixed and record more attempts."

SENTENCES: dict[str, str] = {
    "health.no_attempts": "No attempt is graded yet, so there is nothing to judge.",
    "health.not_refined": "Still unknown: this needs the refined answer, which is on its way.",
    "health.none_judged": "No attempt says yet whether a separation was clean, so there is nothing to judge.",
    "health.one_outcome": "All {trials} results came out alike, so there are no two kinds to tell apart.",
    "health.no_conditions": "There is no place yet at which the answer could be looked at.",
    "health.rough": (
        "For {count} of the attempts, what the others say about it is only roughly known. Take the checks as rough."
    ),
    "scores.probability_outside": "A probability lies below 0 or above 1. Check the column of probabilities.",
    "scores.better": (
        "Each attempt was foretold from all the others: better than by always naming the mean rate "
        "(squared error {score} against {mean_rate}, {trials} results)."
    ),
    "scores.no_different": (
        "Each attempt was foretold from all the others: not clearly better or worse than by always naming "
        "the mean rate (squared error {score} against {mean_rate}, {trials} results)."
    ),
    "scores.worse": (
        "Each attempt was foretold from all the others: worse than by always naming the mean rate "
        "(squared error {score} against {mean_rate}, {trials} results). Do not lean on these odds yet."
    ),
    "auc.tells_apart": (
        "In {value} of 100 pairs of a clean result and one that was not, the clean one had the higher odds "
        "({lower} to {upper}): the odds tell good conditions from bad ones."
    ),
    "auc.unsure": (
        "In {value} of 100 pairs of a clean result and one that was not, the clean one had the higher odds "
        "({lower} to {upper}): too unsure to say that the odds tell good conditions from bad ones."
    ),
    "auc.does_not": (
        "In only {value} of 100 pairs of a clean result and one that was not, the clean one had the higher "
        "odds ({lower} to {upper}): the odds do not tell good conditions from bad ones so far."
    ),
    "calibration.too_few": "With {trials} results there is too little to say whether the odds keep their word.",
    "calibration.fits": (
        "What was said came about: {predicted} % clean on average was said, and {clean} of {trials} results were."
    ),
    "calibration.too_hopeful": (
        "The odds are too hopeful: {predicted} % clean on average was said, and {clean} of {trials} results were."
    ),
    "calibration.too_gloomy": (
        "The odds are too gloomy: {predicted} % clean on average was said, and {clean} of {trials} results were."
    ),
    "calibration.off_in_places": (
        "On average the odds keep their word, but not everywhere: where {predicted} % clean was said, {clean} of "
        "{trials} results were. Conditions may act otherwise than the model thinks."
    ),
    "influence.none": "No single attempt pulls the answer strongly.",
    "influence.some": "Attempts that pull the answer strongly: {count}. Look at their records.",
    "influence.clean_pulls": (
        "Attempt {number} pulls the fit: look at it. For clean at its conditions the answer is {fitted} %, and "
        "without this attempt it would be near {without} %."
    ),
    "influence.parted_pulls": (
        "Attempt {number} pulls the fit: look at it. For parting at its conditions the answer is {fitted} "
        "%, and without this attempt it would be near {without} %."
    ),
    "influence.pooled_pulls": (
        "Attempt {number} pulls the fit: look at it. For one pool at its conditions the answer is {fitted} "
        "%, and without this attempt it would be near {without} %."
    ),
    "sensitivity.prior_only": "No attempt is graded yet: the answer is what was assumed beforehand.",
    "sensitivity.small": (
        "The answer rests on the attempts: {now} % in the first answer becomes {half} % with half the assumed "
        "breadth and {double} % with double."
    ),
    "sensitivity.moderate": (
        "The answer rests partly on the starting assumption: {now} % in the first answer becomes {half} % with "
        "half the assumed breadth and {double} % with double."
    ),
    "sensitivity.large": (
        "The answer rests on the starting assumption more than on the attempts: {now} % in the first answer "
        "becomes {half} % with half the assumed breadth and {double} % with double. More attempts near here would "
        "settle it."
    ),
    "confounding.date_rises": (
        "“{factor}” rose with the calendar (correlation {correlation}, {n} attempts), so its effect cannot "
        f"be told from that of weather, oil or practice. {_STAGGER}"
    ),
    "confounding.date_falls": (
        "“{factor}” fell with the calendar (correlation {correlation}, {n} attempts), so its effect cannot "
        f"be told from that of weather, oil or practice. {_STAGGER}"
    ),
    "confounding.run_number_rises": (
        "“{factor}” rose from attempt to attempt (correlation {correlation}, {n} attempts), so its effect "
        f"cannot be told from growing practice. {_SHUFFLE}"
    ),
    "confounding.run_number_falls": (
        "“{factor}” fell from attempt to attempt (correlation {correlation}, {n} attempts), so its effect "
        f"cannot be told from growing practice. {_SHUFFLE}"
    ),
    "confounding.place_in_day_rises": (
        "“{factor}” rose through the day (correlation {correlation}, {n} attempts), so its effect cannot be "
        f"told from tiredness and wear of the tool. {_DAY}"
    ),
    "confounding.place_in_day_falls": (
        "“{factor}” fell through the day (correlation {correlation}, {n} attempts), so its effect cannot be "
        f"told from tiredness and wear of the tool. {_DAY}"
    ),
    "confounding.pair": (
        "“{factor}” and “{other}” always varied together (correlation {correlation}, {n} attempts): which "
        "of them matters cannot be told. Change one of them alone."
    ),
    "confounding.with_group": (
        "“{factor}” hardly varied within one {other} ({n} attempts), so its effect cannot be told from that "
        "of the {other}. Try several values within each {other}."
    ),
    "confounding.none": "The exposures moved neither with the calendar nor with practice, as far as can be seen.",
    "confounding.no_exposure": "No time of ageing is among the conditions, so none can have followed the calendar.",
    "confounding.unknown": "Whether exposures moved with the calendar is unknown: too few attempts, or no times.",
    "too_many.clean_nothing": "No attempt is graded yet.",
    "too_many.parted_nothing": "No attempt says yet whether the solids parted.",
    "too_many.pooled_nothing": "No attempt has parted and shown its pool yet.",
    "too_many.clean_fine": "Clean or not: {rarer} results of the rarer kind for {coefficients} effects, enough.",
    "too_many.parted_fine": "Parting: {rarer} results of the rarer kind for {coefficients} effects, enough.",
    "too_many.pooled_fine": "One pool: {rarer} results of the rarer kind for {coefficients} effects, enough.",
    "too_many.clean_few": (
        "Clean or not: {rarer} results of the rarer kind for {coefficients} effects. Ten for each are "
        "customary, so the starting assumption helps along."
    ),
    "too_many.parted_few": (
        "Parting: {rarer} results of the rarer kind for {coefficients} effects. Ten for each are customary, "
        "so the starting assumption helps along."
    ),
    "too_many.pooled_few": (
        "One pool: {rarer} results of the rarer kind for {coefficients} effects. Ten for each are "
        "customary, so the starting assumption helps along."
    ),
    "too_many.clean_severe": (
        "Too many conditions for so few results: {rarer} of the rarer kind (clean or not) must settle "
        "{coefficients} effects, so much is left to the starting assumption. "
        f"{_FEWER}"
    ),
    "too_many.parted_severe": (
        "Too many conditions for so few results: {rarer} of the rarer kind (parted or not) must settle "
        "{coefficients} effects, so much is left to the starting assumption. "
        f"{_FEWER}"
    ),
    "too_many.pooled_severe": (
        "Too many conditions for so few results: {rarer} of the rarer kind (one pool or not) must settle "
        "{coefficients} effects, so much is left to the starting assumption. "
        f"{_FEWER}"
    ),
}
