"""What each attempt gives to a chart over time, and when it was made; pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.bench.running import FIRST_POWDER, Run, Step
from stirfall.physics.mass_balance import balance
from stirfall.session.drift_records import DriftMeasure, DriftPoint, LeftOut
from stirfall.session.run_timing import TrueTimes, path_of

UNITS = {DriftMeasure.RECOVERY: "%", DriftMeasure.PARTING_TIME: "s", DriftMeasure.RUN_TIME: "min"}
_NEVER = datetime(1, 1, 1, tzinfo=UTC)
Counts = tuple[float, float]


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
    value_of = _counts(state, measure, foretold) if measure.is_share else _numbers(state, measure)
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
        point = DriftPoint(attempt.id, attempt.number, at, len(found), value, k, n, outcome=attempt.outcome.value)
        found.append(point if told is None else replace(point, foretold=told[2]))
    return tuple(found), LeftOut(struck, aborted, no_value, untimed)


_Given = Callable[[Attempt], tuple[float, float, float] | None]


def _counts(
    state: CampaignState, measure: DriftMeasure, foretold: Mapping[str, tuple[float, float, float]]
) -> _Given:
    partly = state.settings.partly == "success"

    def value_of(attempt: Attempt) -> tuple[float, float, float] | None:
        found: Counts | None
        if measure is DriftMeasure.RESIDUAL:
            found = foretold[attempt.id][:2] if attempt.id in foretold else None
        elif measure is DriftMeasure.PARTED:
            found = _parted(attempt, partly=partly)
        elif measure is DriftMeasure.POOLED:
            found = _pooled(attempt)
        else:
            found = attempt.clean_count
        return None if found is None else (*found, found[0] / found[1])

    return value_of


def _parted(attempt: Attempt, *, partly: bool) -> Counts | None:
    if attempt.parted is None:
        return None
    return float(attempt.parted is Parted.YES or (partly and attempt.parted is Parted.PARTLY)), 1.0


def _pooled(attempt: Attempt) -> Counts | None:
    if attempt.pooled is None or attempt.pooled is Pooled.NOT_OBSERVED:
        return None
    return float(attempt.pooled is Pooled.ONE_POOL), 1.0


def _numbers(state: CampaignState, measure: DriftMeasure) -> _Given:
    runs = {run.id: run for run in state.runs}

    def value_of(attempt: Attempt) -> tuple[float, float, float] | None:
        if measure is DriftMeasure.RECOVERY:
            value = _recovery_percent(attempt)
        else:
            run = runs.get(attempt.run_id or "")
            times = parting_s(run) if measure is DriftMeasure.PARTING_TIME else run_min(run)
            value = None if run is None else times
        return None if value is None else (0.0, 1.0, value)

    return value_of


def _recovery_percent(attempt: Attempt) -> float | None:
    """Return product per charge of a clean attempt: of others the product is no clean metal."""
    gross = balance(attempt.masses).gross_yield if attempt.outcome is Outcome.CLEAN else None
    return None if gross is None else 100.0 * gross


def parting_s(run: Run | None) -> float | None:
    """Return the seconds from the beginning of the stirring to the first powder that was marked, None without."""
    if run is None:
        return None
    stir = next((each.began for each in path_of(run) if each.step is Step.STIR and each.began is not None), None)
    if stir is None:
        return None
    times = TrueTimes(run)
    began = times.of(stir)
    seen = [times.of(mark) - began for mark in run.marks() if mark.word == FIRST_POWDER]
    return next((seconds for seconds in sorted(seen) if seconds >= 0), None)


def run_min(run: Run | None) -> float | None:
    """Return the minutes from the beginning of the heating to the lifting out, None where one was not reached."""
    if run is None:
        return None
    began = {each.step: each.began for each in reversed(path_of(run)) if each.began is not None}
    heat, lift = began.get(Step.HEAT), began.get(Step.LIFT)
    if heat is None or lift is None:
        return None
    times = TrueTimes(run)
    minutes = (times.of(lift) - times.of(heat)) / 60.0
    return minutes if minutes >= 0 else None
