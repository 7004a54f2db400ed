"""Sentences for the codes of the reporting floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "cautions.unreadable": (
        "The table of cautions {path} is missing or broken. Do not work without it: install the program again."
    ),
    "recipe.drop": "The drop of a tolerance must lie between 0 and 1, not at {value}; 0.1 means 10 points.",
    "recipe.longer_exposure": (
        "“{factor}” is longer than was ever recorded. For this metal no longer exposure is ever advised, so no "
        "steps are given."
    ),
    "recipe.lowered": "An oil exposure cannot be longer than the sample age, so it was lowered to it: {names}.",
    "recipe.filled": "Not given, so the usual values of the campaign were taken: {names}.",
    "recipe.few_attempts": "Only {count} attempts stand behind this. Treat it as a first guess.",
    "recipe.wide": (
        "The interval is wide, {lower} to {upper} %. More attempts near these conditions would narrow it."
    ),
    "recipe.unsound": "The computation did not settle, so the interval is doubtful. Record more attempts first.",
    "recipe.melting_known": "Melting point {value}. Stay at least 5 K above it while stirring.",
    "recipe.melting_unknown": "The melting point is not entered, so nothing checks that the metal is hot enough.",
    "recipe.flash_known": "Flash point of the oil {value}. Stay at least 50 K below it.",
    "recipe.flash_unknown": "The flash point of the oil is not entered. Heat nothing until it is known.",
    "recipe.temperature_window": "“{factor}” must stay within {span}.",
    "recipe.campaign_ranges": "Ranges of this campaign, which say nothing about what lies outside: {ranges}.",
    "recipe.local_rules": (
        "These margins are a proposal of this program. Local rules, the label of the bottle and licensed practice "
        "come first. A chance is an estimate from past attempts; an interval of {level} is no promise."
    ),
}
