"""The expected time to the first clean batch against the age at which jars are opened."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import find_factor
from stirfall.inference.probability import weighted_interval
from stirfall.planning.control import control_of
from stirfall.planning.draws import thin
from stirfall.planning.goals import Goal, GoalFigure
from stirfall.planning.jar_choice import is_waited_for, waits_on_the_shelf
from stirfall.planning.next_attempts import box_for
from stirfall.planning.soonest import Pace, chance_in_time, expected_hours, fresh_start, pace_of

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]

_DRAWS = 1024
_POINTS = 61


@dataclass(frozen=True)
class Band:
    """A mean with the bounds of its interval, (points,) each."""

    mean: FloatArray
    lower: FloatArray
    upper: FloatArray

    def hours(self, at: int) -> GoalFigure:
        """Return what stands at one of the points, as hours."""
        return GoalFigure(float(self.mean[at]), float(self.lower[at]), float(self.upper[at]), "h")


@dataclass(frozen=True, eq=False)
class TimeCurve:
    """What to expect of jars that are started now and opened at an age ``x`` (in the factor's unit), (points,).

    ``hours`` until the first clean batch, what is later than the horizon counted as the horizon; ``chance`` of a
    clean batch within it. ``best_x`` is the age with the fewest expected hours that the limits allow, ``best`` the
    hours there; both None where the limits allow none of the ages. ``tried`` says for each point whether graded
    attempts bracket it. Intervals are at ``level`` and rest on ``n`` trials.
    """

    factor: Factor
    x: FloatArray
    hours: Band
    chance: Band
    best_x: float | None
    best: GoalFigure | None
    best_chance: float | None
    tried: NDArray[np.bool_]
    plan: PlanSettings
    level: float
    n: int


def time_curve(
    analysis: Analysis,
    factor_name: str,
    conditions: Conditions,
    plan: PlanSettings | None = None,
    *,
    points: int = _POINTS,
) -> TimeCurve:
    """Return the expected time to a clean batch along an age or oil exposure, the rest as in ``conditions``.

    ``plan`` says how the person works, else the campaign's settings do. The probability of each attempt is averaged
    over how well conditions are held. Raises InputError ``time_curve.never_wait`` for a superoxide former, which is
    never left to age, ``time_curve.no_age`` for another factor, ``limits.*`` where nothing may be suggested, and
    ``conditions.missing``.
    """
    if not analysis.limits.may_wait:
        raise InputError("time_curve.never_wait")
    factor = find_factor(analysis.state.visible_factors, factor_name)
    if not is_waited_for(factor):
        raise InputError("time_curve.no_age", factor=factor.name)
    analysis.limits.raise_if_blocked()
    told = plan or analysis.state.settings.plan
    axis = analysis.axis(factor, points)
    # An age that the model does not use has to be waited for all the same.
    columns = {factor.name: axis, **analysis.columns_along({factor.name: axis}, conditions)}
    hours, chance, weights = _draws(analysis, columns, told)
    x = columns[factor.name]
    level = analysis.model.level
    found, within = _band(hours, weights, level), _band(chance, weights, level)
    low, high = analysis.limits.ranges[factor.name]
    allowed = np.flatnonzero((x >= low * (1 - 1e-9)) & (x <= high * (1 + 1e-9)))
    at = int(allowed[np.argmin(found.mean[allowed])]) if len(allowed) else None
    return TimeCurve(
        factor=factor,
        x=x,
        hours=found,
        chance=within,
        best_x=None if at is None else float(x[at]),
        best=None if at is None else found.hours(at),
        best_chance=None if at is None else float(within.mean[at]),
        tried=np.array([analysis.limits.tried.holds(factor, float(value)) for value in x], dtype=bool),
        plan=told,
        level=level,
        n=analysis.model.n,
    )


def is_age(factor: Factor) -> bool:
    """Whether a time to a clean batch can be told along a factor."""
    return is_waited_for(factor)


def _draws(
    analysis: Analysis, columns: dict[str, FloatArray], plan: PlanSettings
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (m, points) draws of the hours and of the chance in time, and the (m,) weights of the draws."""
    pace: Pace = pace_of(plan)
    limits = analysis.limits
    if plan != limits.state.settings.plan:
        settings = replace(limits.state.settings, plan=plan)
        limits = replace(limits, state=replace(limits.state, settings=settings))
    control = control_of(box_for(analysis.model, limits, Goal.RELIABLE), analysis.model.design)
    draws, weights = thin(analysis.model, _DRAWS).whole(control.spread(columns))
    p = np.asarray(control.averaged(draws), dtype=float)
    wait = fresh_start(waits_on_the_shelf(limits, columns, None).ageing_h, pace)
    return expected_hours(p, wait, pace), chance_in_time(p, wait, pace), weights


def _band(draws: FloatArray, weights: FloatArray, level: float) -> Band:
    mean = weights @ draws
    lower, upper = weighted_interval(draws, weights, level)
    return Band(mean, np.minimum(lower, mean), np.maximum(upper, mean))
