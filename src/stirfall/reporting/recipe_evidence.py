"""What a recipe rests on, in words and counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from hashlib import sha256

from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.reporting.recipe_method import method_sentences
from stirfall.reporting.recipe_parts import Evidence, EvidenceAttempt, RecipeValue
from stirfall.session.analysis import Analysis
from stirfall.storage.values import to_json

MOST_LISTED = 5000
"""More attempts than this are counted in a recipe, but not listed one by one."""

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
        attempts=listed_attempts(analysis),
    )


def listed_attempts(analysis: Analysis) -> tuple[EvidenceAttempt, ...]:
    """Return every attempt of the session with a digest of its record; none where there are too many to list."""
    attempts = analysis.state.attempts
    if len(attempts) > MOST_LISTED:
        return ()
    used = set(analysis.table.ids)
    return tuple(
        EvidenceAttempt(
            each.id,
            each.number,
            "struck out" if each.is_struck else str(each.outcome),
            each.id in used,
            attempt_digest(each),
        )
        for each in attempts
    )


def attempt_digest(attempt: Attempt) -> str:
    """Return ten hexadecimal digits of the SHA-256 over conditions, grades, times and masses of an attempt.

    Striking out, notes and photos do not change it; a correction of what counts does.
    """
    told = (
        attempt.conditions,
        attempt.parted,
        attempt.pooled,
        attempt.successes,
        attempt.trials,
        attempt.aborted,
        attempt.started_at,
        attempt.lot_id,
        attempt.masses,
    )
    return sha256(to_json(told).encode()).hexdigest()[:10]


def used_attempts(analysis: Analysis) -> tuple[Attempt, ...]:
    """Return the attempts that the model uses, in the order of its table."""
    known = {attempt.id: attempt for attempt in analysis.state.attempts}
    return tuple(known[each] for each in analysis.table.ids)


def _inside(used: Sequence[Attempt], values: Sequence[RecipeValue]) -> tuple[int, int]:
    """Return clean results and trials of the attempts that lie inside every tolerance: a plain count, no model."""
    clean = trials = 0
    for attempt in used:
        count = attempt.clean_count
        if count is not None and not off_range(values, attempt):
            clean, trials = clean + count[0], trials + count[1]
    return clean, trials


def off_range(values: Sequence[RecipeValue], attempt: Attempt) -> tuple[RecipeValue, ...]:
    """Return the conditions whose range or value the attempt did not keep, those it does not know among them."""
    return tuple(value for value in values if not _holds(value, attempt))


def _holds(value: RecipeValue, attempt: Attempt) -> bool:
    reached = attempt.conditions.get(value.name)
    if value.levels:
        return reached in value.levels
    if value.high is None:
        return reached == value.value
    low = float("-inf") if value.low is None else value.low
    return isinstance(reached, float) and low <= reached <= value.high
