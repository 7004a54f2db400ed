"""What each attempt gives to a chart over time, and when it was made; pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.comparisons import Measure
from stirfall.bench.records import Attempt
from stirfall.session.comparing_measures import UNITS as _UNITS
from stirfall.session.comparing_measures import MeasureReader
from stirfall.session.drift_records import DriftMeasure, DriftPoint, LeftOut

UNITS = {DriftMeasure(measure.value): unit for measure, unit in _UNITS.items()}
_NEVER = datetime(1, 1, 1, tzinfo=UTC)


def made_at(attempt: Attempt) -> datetime | None:
    """Return when an attempt was made: when it began, else when it was recorded; None where neither is known."""
    at = attempt.started_at or attempt.recorded_at
    return None if at is None else as_utc(at)


def in_time(attempts: tuple[Attempt, ...]) -> list[Attempt]:
    """Return attempts in the order in which they were made; one without a time follows the number before it."""
    latest, keyed = _NEVER, []
    for attempt in sorted(attempts, key=lambda each: each.number):
        at = made_at(attempt)
        latest = max(latest, at) if at is not None else latest
        keyed.append((at or latest, attempt.number, attempt))
    return [attempt for _, _, attempt in sorted(keyed, key=lambda each: each[:2])]


def points_of(
    state: CampaignState, measure: DriftMeasure, foretold: Mapping[str, tuple[float, float, float]]
) -> tuple[tuple[DriftPoint, ...], LeftOut]:
    """Return the attempts in time that have a value, and how many are left out and why.

    ``foretold`` holds, by attempt, k, n and the probability that the other attempts give: all that the residual is
    made of, and for clean separations what they are held against.
    """
    value_of = _reader(state, measure, foretold)
    found: list[DriftPoint] = []
    struck = aborted = no_value = untimed = 0
    for attempt in in_time(state.attempts):
        if attempt.is_struck:
            struck += 1
            continue
        if attempt.aborted:
            aborted += 1
            continue
        given = value_of(attempt)
        if given is None:
            no_value += 1
            continue
        at = made_at(attempt)
        untimed += at is None
        k, n, value = given
        told = foretold.get(attempt.id)
        share = None if told is None else told[2]
        outcome = attempt.outcome.value
        found.append(DriftPoint(attempt.id, attempt.number, at, len(found), value, k, n, share, outcome=outcome))
    return tuple(found), LeftOut(struck, aborted, no_value, untimed)


_Given = Callable[[Attempt], tuple[float, float, float] | None]


def _reader(
    state: CampaignState, measure: DriftMeasure, foretold: Mapping[str, tuple[float, float, float]]
) -> _Given:
    """Return what reads k, n and the value of an attempt; the values are those that comparisons take."""
    if measure is DriftMeasure.RESIDUAL:

        def residual(attempt: Attempt) -> tuple[float, float, float] | None:
            if attempt.id not in foretold:
                return None
            k, n, _ = foretold[attempt.id]
            return k, n, k / n

        return residual
    counting = [each for each in state.attempts if not each.is_struck and not each.aborted]
    reader = MeasureReader(state, Measure(measure.value), counting)

    def value_of(attempt: Attempt) -> tuple[float, float, float] | None:
        dot = reader.dot(attempt)
        if dot is None:
            return None
        n = float(dot.trials) if measure.is_share else 1.0
        return dot.value * n, n, dot.value

    return value_of
