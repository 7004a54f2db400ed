"""The line of control attempts: those that repeat one condition, so that drift shows without any model; pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.plans import control_errors
from stirfall.planning.evening_control import SAME_SHARE
from stirfall.session.drift_records import DriftPoint
from stirfall.session.tonight_progress import plan_lines

FloatArray = NDArray[np.float64]

FEWEST = 3
# The reference is looked for among so many of the newest attempts.
_MOST = 300


@dataclass(frozen=True)
class Controls:
    """The places of the control attempts, and whether a plan asked for any of them."""

    places: tuple[int, ...]
    planned: bool


def controls_of(state: CampaignState, points: Sequence[DriftPoint]) -> Controls | None:
    """Return the attempts that repeat the campaign's centre condition, None where fewer than three do.

    That is the condition of the newest attempt that a plan had as its control; without one the condition that was
    repeated most often among the newest 300 attempts. Two conditions are the same where every number lies within
    twice its control error (at least 2 % of its range) and every choice is equal.
    """
    if len(points) < FEWEST:
        return None
    by_id = {attempt.id: attempt for attempt in state.attempts}
    made = [by_id[point.attempt_id].conditions for point in points]
    scaled = _scaled(state, made)
    planned = _planned_ids(state)
    asked = [point.place for point in points if point.attempt_id in planned]
    reference = asked[-1] if asked else _most_repeated(scaled)
    if reference is None:
        return None
    same = _same(scaled, scaled[reference])
    places = tuple(int(place) for place in sorted({*np.flatnonzero(same).tolist(), *asked}))
    return Controls(places, bool(asked)) if len(places) >= FEWEST else None


def _planned_ids(state: CampaignState) -> frozenset[str]:
    return frozenset(
        line.attempt.id
        for plan in state.evenings
        for line in plan_lines(state, plan)
        if line.planned.purpose == "control" and line.attempt is not None
    )


def _scaled(state: CampaignState, made: Sequence[Conditions]) -> FloatArray:
    """Return the conditions (m, d) in units of what still counts as the same; choices by the place of a level."""
    errors = {each.factor: each for each in control_errors(state.visible_factors, state.settings.plan)}
    columns = []
    for factor in state.visible_factors:
        column = np.array([_number(factor, conditions) for conditions in made])
        if factor.is_choice:
            columns.append(column * 2.0)  # two levels are never the same
            continue
        low, high = (_on_scale(factor, bound) for bound in factor.bounds)
        error = errors.get(factor.name)
        half = (
            0.0 if error is None else math.log1p(error.half_width / 100.0) if error.is_share else error.half_width
        )
        width = max(2.0 * half, SAME_SHARE * abs(high - low), 1e-12)
        columns.append(column / width)
    return np.column_stack(columns) if columns else np.zeros((len(made), 0))


def _number(factor: Factor, conditions: Conditions) -> float:
    if factor.is_choice:
        level = conditions.get(factor.name)
        return float(factor.levels.index(level)) if isinstance(level, str) and level in factor.levels else math.nan
    value = conditions.number(factor.name)
    return math.nan if value is None else _on_scale(factor, value)


def _on_scale(factor: Factor, value: float) -> float:
    if factor.scale is not Scale.LOG:
        return value
    return math.log(value) if value > 0 else math.nan


def _same(scaled: FloatArray, reference: FloatArray) -> NDArray[np.bool_]:
    """Return (m,) whether conditions are those of the reference; an unknown value is like an unknown one only."""
    gaps = np.abs(scaled - reference)
    both_unknown = np.isnan(scaled) & np.isnan(reference)
    return np.asarray(((gaps <= 1.0) | both_unknown).all(axis=1))


def _most_repeated(scaled: FloatArray) -> int | None:
    newest = range(max(0, len(scaled) - _MOST), len(scaled))
    if not scaled.shape[1]:
        return None
    counts = [(int(_same(scaled[newest.start :], scaled[place]).sum()), place) for place in newest]
    times, place = max(counts)
    return place if times >= FEWEST else None
