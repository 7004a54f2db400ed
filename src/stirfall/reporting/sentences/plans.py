"""Sentences for what is kept of planning: how the person works, proofs, plans of an evening."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "plan_settings.not_positive": "{value} is no possible number of hours or weeks. Give a number above zero.",
    "plan_settings.jars": "{value} jars cannot be opened at one age. Give a number from 1 to 100.",
    "plan_settings.days": "The bench days must be at least one day of the week, each named once.",
    "plan_settings.hour": "The evening cannot begin at {value} o'clock. Give an hour from 0 to 23.",
    "plan_settings.target": "The probability to aim for must be at least 50 % and below 100 %, not {value}.",
    "plan_settings.control": "“{name}” cannot be held within {value}. Give zero or a number above it.",
    "evening.purpose": "“{value}” is nothing an attempt is planned for. Use one of: {known}.",
    "evening.empty": "The plan of the evening has no attempt in it, so there is nothing to keep.",
    "evening.hours": "{value} is no possible number of free hours. Give a number above zero.",
    "evening.unknown": "That plan of an evening is not kept, or was put aside already.",
    "proof.claim": "The reliability to be shown must lie between 0 % and 100 %, not at {value}.",
    "proof.confidence": "The confidence must be at least 50 % and below 100 %, not {value}.",
    "proof.attempts": "A proof takes between 1 and {most} attempts, not {value}.",
    "proof.failures": "Of {attempts} attempts, {value} cannot be allowed to fail. At least one must be clean.",
    "proof.tolerance": "“{name}” cannot be held within {value}. Give zero or a number above it.",
    "proof.good": "The good reliability must lie above the one to be shown ({claim}) and below 1, not at {value}.",
    "proof.risk": "The risk of missing must lie above 0 and below one half, not at {value}.",
    "proof.another_open": "A proof is running. Finish it, or give it up with a reason, before the next one starts.",
    "proof.no_recipe": "A proof needs a recipe: name the conditions that are to be proved.",
    "proof.no_reason": "Say in a few words why the proof is given up. The reason is kept with it.",
    "proof.unknown": "The attempt names the proof {id}, which this session does not hold.",
    "proof.over": "That proof is over: it has decided, or it was given up. Start a new one for further attempts.",
    "proof.one_trial": "An attempt of a proof is one trial, not {trials}. Record each by itself.",
    "proof.outside_limits": "The recipe lies outside the operating limits, so it cannot be proved. Choose another.",
}
