"""Profile-likelihood bounds of one parameter that cannot be negative: the sd of the lots.

A bound is where the likelihood, best over all other parameters, has fallen by half a chi-square quantile. It is
found by Newton's method on those two conditions at once (Venzon & Moolgavkar 1988, Appl. Stat. 37:87); where that
wanders off, by bracketing the profile itself.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.ascent import Surface, climb, star

FloatArray = NDArray[np.float64]

_STEPS = 15
# A thousandth of a log-likelihood unit moves a bound by less than a thousandth of a standard error.
_CLOSE = 1e-5


def bounds_of_last(
    surface: Surface, top: FloatArray, height: float, *, fall: float, at_zero: float, widest: float
) -> tuple[float, float]:
    """Return lower and upper bound of the last parameter of ``surface``, whose top is ``top`` (q,) at ``height``.

    ``at_zero`` is the best height where that parameter is 0: the lower bound is 0 where it is less than ``fall``
    lower. The upper bound is infinite where the profile has not fallen so far at ``widest``.
    """
    lower = 0.0
    if height - at_zero > fall:
        lower = _bound(surface, top, height - fall, -1.0, limit=0.0)
    return lower, _bound(surface, top, height - fall, 1.0, limit=widest)


def _bound(surface: Surface, top: FloatArray, level: float, side: float, *, limit: float) -> float:
    found = _by_newton(surface, _first_guess(surface, top, level, side), level)
    if found is not None and (found[-1] - top[-1]) * side > 0.0 and (limit - found[-1]) * side > 0.0:
        return float(found[-1])
    return _by_bracket(surface, top, level, side, limit)


def _first_guess(surface: Surface, top: FloatArray, level: float, side: float) -> FloatArray:
    """Return where the bound would be if the likelihood were a parabola."""
    height, _, hessian = star(surface, top)
    others = np.linalg.solve(hessian[:-1, :-1], -hessian[:-1, -1])
    bend = float(hessian[-1, -1] + hessian[-1, :-1] @ others)
    reach = math.sqrt(2.0 * (height - level) / -bend) if bend < 0.0 else 1.0
    if side < 0.0:
        reach = min(reach, 0.7 * float(top[-1]))
    reach = min(reach, 3.0)
    return np.asarray(top + side * reach * np.r_[others, 1.0])


def _by_newton(surface: Surface, start: FloatArray, level: float) -> FloatArray | None:
    point = start
    for _ in range(_STEPS):
        height, slope, hessian = star(surface, point)
        wrong = np.r_[slope[:-1], height - level]
        try:
            step = -np.linalg.solve(np.vstack([hessian[:-1], slope]), wrong)
        except np.linalg.LinAlgError:
            return None
        # Decrement of the other parameters and height together: both conditions hold to the accuracy of the bound.
        inside = 0.5 * abs(float(slope[:-1] @ step[:-1]))
        if abs(height - level) < _CLOSE and inside < _CLOSE:
            return np.asarray(point + step)
        step *= min(1.0, 1.5 / float(np.abs(step).max()))
        point = point + step
        if not np.isfinite(point).all() or point[-1] < 0.0:
            return None
    return None


def _by_bracket(surface: Surface, top: FloatArray, level: float, side: float, limit: float) -> float:
    from scipy.optimize import brentq

    best = float(top[-1])
    seen = {best: top[:-1]}

    def above(value: float) -> float:
        nearest = min(seen, key=lambda known: abs(known - value))
        held = climb(lambda points: surface(np.column_stack([points, np.full(len(points), value)])), seen[nearest])
        seen[value] = held.point
        return held.height - level

    if side < 0.0:
        return float(brentq(above, 0.0, best, xtol=1e-5))
    reach = 0.5
    while above(best + reach) > 0.0:
        if best + reach > limit:
            return math.inf
        reach *= 1.8
    return float(brentq(above, best, best + reach, xtol=1e-5))
