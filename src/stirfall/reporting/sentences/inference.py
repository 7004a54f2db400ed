"""Sentences for the codes of the inference floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "design.factor_repeats": "The factor “{name}” stands twice in the model. Give each factor its own name.",
    "design.factor_unknown": "The model asks for “{name}”, but has no such factor. Check squares and products.",
    "design.hump_of_choice": "“{name}” is a choice, so it cannot have a squared term. Take it out of the squares.",
    "design.product_of_itself": "“{name}” times itself is its square. List it under the squares instead.",
    "rows.shape": "The table ({rows}) and the counts ({counts}) do not fit together. Give one count per row.",
    "rows.not_finite": "A value of the table is missing or not finite. Leave that row out or fill it in.",
    "rows.count_outside": "A count of successes is below zero or above its trials. Check the counts.",
    "prior.not_positive": "A prior standard deviation must be a number above zero.",
    "odds.value_missing": "No odds without a usable value of {factors}. Fill it in first.",
    "ml.no_rows": "There is no graded attempt yet, so there is nothing to fit. Record attempts first.",
    "ml.one_outcome": (
        "{clean} of {trials} trials were clean, so all came out alike and maximum likelihood has no answer. "
        "Use the posterior, or record attempts that come out the other way."
    ),
    "ml.collinear": (
        "Some factors always moved together, so maximum likelihood cannot tell them apart. "
        "Vary them separately, hide one of them, or use the posterior."
    ),
    "ml.complete_separation": (
        "The factors part clean from not clean without exception, so maximum likelihood has no finite answer. "
        "Use the posterior."
    ),
    "ml.quasi_separation": (
        "For part of the conditions all outcomes were alike, so maximum likelihood has no finite answer. "
        "Use the posterior."
    ),
    "firth.no_rows": "There is no graded attempt yet, so there is nothing to fit. Record attempts first.",
    "firth.collinear": (
        "{names} always moved together or never moved, so penalised likelihood cannot tell them apart. "
        "Vary them separately, hide one of them, or use the posterior."
    ),
    "firth.no_convergence": "Penalised likelihood found no answer. Use the posterior.",
    "firth.level_outside": "The level of an interval must lie between 0 and 1.",
    "ml.no_convergence": "Maximum likelihood found no answer in {steps} steps. Use the posterior.",
    "form.straight_two": "Two gates, straight",
    "form.straight_one": "One gate, straight",
    "form.hump_two": "Two gates, hump in {factor} at gate {gate}",
    "form.hump_one": "One gate, hump in {factor}",
    "direction.too_little_film": "Probably too little film: a longer exposure should help.",
    "direction.too_much_film": "Probably too much film: a shorter exposure should help.",
    "direction.near_best": "The exposure is near its best: neither longer nor shorter should help.",
    "direction.unsure": "The attempts do not say yet whether a longer or a shorter exposure would help.",
    "direction.sure_too_little_film": "Too little film: a longer exposure helps ({probability} sure).",
    "direction.sure_too_much_film": "Too much film: a shorter exposure helps ({probability} sure).",
    "direction.sure_near_best": (
        "The exposure is near its best: neither longer nor shorter helps ({probability} sure)."
    ),
    "direction.likely_too_little_film": (
        "Probably too little film: a longer exposure should help ({probability})."
    ),
    "direction.likely_too_much_film": "Probably too much film: a shorter exposure should help ({probability}).",
    "direction.likely_near_best": (
        "The exposure is probably near its best: neither longer nor shorter should help ({probability})."
    ),
    "direction.leaning_too_little_film": (
        "Perhaps too little film: the attempts lean to a longer exposure ({probability}) without being sure."
    ),
    "direction.leaning_too_much_film": (
        "Perhaps too much film: the attempts lean to a shorter exposure ({probability}) without being sure."
    ),
    "direction.leaning_near_best": (
        "The exposure is perhaps near its best: the attempts lean to staying there ({probability}) without being "
        "sure."
    ),
}
