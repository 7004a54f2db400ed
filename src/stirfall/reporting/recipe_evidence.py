"""What a recipe rests on, in words and counts."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.reporting.recipe_method import method_sentences
from stirfall.reporting.recipe_parts import Evidence, RecipeValue
from stirfall.session.analysis import Analysis

_ORDER = (
    Outcome.CLEAN,
    Outcome.PARTED_BEADS,
    Outcome.PARTLY_PARTED,
    Outcome.NOTHING_PARTED,
    Outcome.NOT_CLEAN,
    Outcome.COUNTED,
    Outcome.NOT_GRADED,
)


def gather_evidence(analysis: Analysis, values: Sequence[RecipeValue], *, decimal: str = ".") -> Evidence:
    """Count outcomes of the attempts behind the answer, and say in words how the answer was found."""
    used = used_attempts(analysis)
    found = Counter(attempt.outcome for attempt in used)
    counts, settings, health = analysis.counts, analysis.state.settings, analysis.model.health
    left_out = {
        "aborted": counts.aborted,
        "struck out": counts.struck,
        "with an unknown value": counts.missing,
        "not graded": counts.not_graded,
        "counted only, among graded ones": counts.only_counted,
    }
    graded = [count for attempt in used if (count := attempt.clean_count) is not None]
    return Evidence(
        used=counts.used,
        clean=sum(clean for clean, _ in graded),
        trials=analysis.model.n,
        outcomes=tuple((str(outcome), found[outcome]) for outcome in _ORDER if found[outcome]),
        left_out=tuple((word, count) for word, count in left_out.items() if count),
        inside=_inside(used, values),
        sentences=method_sentences(analysis, decimal=decimal),
        priors=(settings.intercept_prior_sd, settings.effect_prior_sd),
        draws=health.draws,
        effective_sample_size=health.effective_sample_size,
        pareto_k=health.pareto_k,
        sound=health.is_sound,
    )


def used_attempts(analysis: Analysis) -> tuple[Attempt, ...]:
    """Return the attempts that the model uses, in the order of its table."""
    known = {attempt.id: attempt for attempt in analysis.state.attempts}
    return tuple(known[each] for each in analysis.table.ids)


def _inside(used: Sequence[Attempt], values: Sequence[RecipeValue]) -> tuple[int, int]:
    """Return clean results and trials of the attempts that lie inside every tolerance: a plain count, no model."""
    clean = trials = 0
    for attempt in used:
        count = attempt.clean_count
        if count is not None and all(_holds(value, attempt) for value in values):
            clean, trials = clean + count[0], trials + count[1]
    return clean, trials


def _holds(value: RecipeValue, attempt: Attempt) -> bool:
    reached = attempt.conditions.get(value.name)
    if value.levels:
        return reached in value.levels
    if value.high is None:
        return reached == value.value
    low = -math.inf if value.low is None else value.low
    return isinstance(reached, float) and low <= reached <= value.high
