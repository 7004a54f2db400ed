"""Sentences for the codes of the bench floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "material.unknown": "“{text}” is no material class. Use one of: {known}.",
    "number.unreadable": "“{text}” is not a number. Type a number, with its unit if you like: 72 h, 3 d, 1.5 h.",
    "number.ambiguous": "“{text}” can be read in two ways. Type it without the comma, or with more digits.",
    "unit.unknown": "The unit “{unit}” is not known. Type the value in {wanted}.",
    "unit.mismatch": "“{unit}” cannot be turned into {wanted}. Type the value in {wanted}.",
    "unit.not_wanted": "Here goes a plain number, and “{unit}” cannot be turned into one. Leave the unit out.",
    "factor.unnamed": "A factor needs a name.",
    "factor.levels_repeat": "The factor “{name}” lists a level twice. Each level may stand once.",
    "factor.default_not_a_level": "“{value}” is no level of “{name}”. Choose one of its levels.",
    "factor.no_range": "The factor “{name}” needs a lowest and a highest value, or levels.",
    "factor.range_reversed": "The range of “{name}” runs from {low} to {high}. The first must be the smaller.",
    "factor.log_needs_positive": "“{name}” is on a log scale, so its lowest value must be above zero, not {low}.",
    "factor.default_not_a_number": "The usual value of “{name}” must be a number, not {value}.",
    "factor.scale_unknown": "“{given}” is no scale for “{name}”. Use one of: {known}.",
    "factor.role_unknown": "“{given}” is no role for “{name}”. Use one of: {known}.",
    "factor.step_not_positive": "The step of “{name}” must be above zero, not {step}.",
    "factor.is_choice": "“{name}” is a choice between levels, not a number.",
    "factor.unknown": "There is no factor “{name}”. Known factors: {known}.",
    "value.log_needs_positive": "“{name}” is on a log scale: {value} must be above zero.",
    "value.not_a_level": "“{value}” is no level of “{name}”. Its levels: {known}.",
    "value.not_a_grade": "“{value}” is no grade of this question. Use one of: {known}.",
    "value.not_finite": "“{name}” needs a finite number.",
    "time.without_zone": "The time {moment} does not say its zone. Add one, such as +00:00.",
    "time.unreadable": "“{text}” is no time. Write it like 2026-11-24T18:30+00:00.",
    "time.runs_backwards": (
        "The start {start} lies after {end}, so a clock was wrong. Check the times, or type the age and say why."
    ),
    "settings.partly": "“{value}” is no way to count partly parted attempts. Choose one of: {known}.",
    "settings.gates": "The outcome has one gate or two, not {value}.",
    "settings.level": "The interval level must be between 50 % and 100 %, not {value}.",
    "settings.prior_not_positive": "A prior standard deviation must be above zero.",
    "mass.negative": "The mass “{name}” is {value} g. A mass cannot be negative.",
    "attempt.no_trials": "An attempt needs at least one trial, not {trials}.",
    "attempt.count_outside": "{successes} clean of {trials} is impossible. Check the two numbers.",
    "attempt.gates_and_count": "Give either the two grades or a count of clean results, not both.",
    "attempt.pool_without_parting": "Nothing parted, so the pool was not observed; “{pooled}” cannot be right.",
    "attempt.pool_without_gate_1": "Say first whether the solids left the metal.",
    "attempt.unknown": "There is no attempt {id} in this session.",
}
