"""The top of a penalised likelihood, its top with a combination held, and the ends of profile intervals.

Many problems climb side by side, so that numpy's overhead is paid once. The ends are found by Newton steps on
"log-likelihood at the drop, nothing left to gain sideways" (Venzon & Moolgavkar 1988, Applied Statistics 37:87)
with the exact second derivatives; what does not converge is bracketed and searched on the profile itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.penalised import PenalisedRows, Points

FloatArray = NDArray[np.float64]
TopAt = Callable[[float, FloatArray], tuple[float, FloatArray]]

_STEPS = 200
_LIMIT_STEPS = 60
_SMALLEST = 1e-9
# A Newton step that would gain this little is the last one, for it doubles the settled digits (1e-9 of the
# log-likelihood is 3e-5 standard errors); with the information in place of the curvature more are asked for.
_GAIN = 1e-9
_GAIN_PLAIN = 1e-12
# Of the top itself the information is wanted to 1e-8, and a step may lose what rounding takes.
_NOTHING = 1e-17
_FUZZ = 1e-12
_FLOAT = 1e-14
_PLAIN_STEPS = 40
# How far from the goal the last step to a limit may start, with and without the curvature of the penalty.
_NEAR = 1e-5
_NEAR_PLAIN = 1e-9
# Doublings of the way out before a limit is given up as unknown.
_WIDEST = 60


@dataclass(frozen=True)
class Peak:
    """The top: coefficients (p,), value, and the information and curvature (p, p) there."""

    theta: FloatArray
    value: float
    information: FloatArray
    curvature: FloatArray


@dataclass(frozen=True)
class Tops:
    """The tops of m problems: ``theta`` (m, p), ``value`` (m,), and which ``converged``."""

    theta: FloatArray
    value: FloatArray
    converged: NDArray[np.bool_]


def highest(rows: PenalisedRows, start: FloatArray) -> Peak | None:
    """Return the top, climbing from ``start`` (p,); None where no top was reached.

    Plain Newton steps as long as each gains, otherwise the careful climb.
    """
    theta, reached = start, -math.inf
    for _ in range(_PLAIN_STEPS):
        here = rows.at(theta[None, :])
        step = _solve(here.curvature, here.gradient[:, :, None])[0, :, 0]
        gain, value = float(here.gradient[0] @ step), float(here.value[0])
        if not (value >= reached - _FUZZ * max(1.0, abs(value)) and gain >= 0):
            break
        if gain <= _NOTHING * max(1.0, abs(value)):
            return Peak(theta + step, value + 0.5 * gain, here.information[0], here.curvature[0])
        theta, reached = theta + step, value
    top = climb(rows, start[None, :], None)
    if not top.converged[0]:
        return None
    there = rows.at(top.theta)
    return Peak(top.theta[0], float(there.value[0]), there.information[0], there.curvature[0])


def climb(rows: PenalisedRows, start: FloatArray, held: FloatArray | None) -> Tops:
    """Climb from ``start`` (m, p); where ``held`` (m, p) is given, held . theta stays what it is at the start."""
    theta = start.copy()
    here = rows.at(theta)
    value = here.value
    step, gain = _uphill(here, held)
    size = np.ones(len(theta))
    enough = _GAIN if rows.is_curved else _GAIN_PLAIN
    converged = np.zeros(len(theta), dtype=bool)
    climbing = np.isfinite(value)
    for _ in range(_STEPS):
        near = climbing & (gain <= np.maximum(enough, _FLOAT * np.abs(value)))
        theta[near] += step[near]
        value[near] += 0.5 * gain[near]
        converged |= near
        climbing &= ~near
        going = np.flatnonzero(climbing)
        if not len(going):
            break
        trial = theta[going] + size[going, None] * step[going]
        there = rows.at(trial)
        better = there.value >= value[going]
        fine = going[better]
        theta[fine], value[fine] = trial[better], there.value[better]
        step[fine], gain[fine] = _uphill(there.take(np.flatnonzero(better)), None if held is None else held[fine])
        size[fine] = 1.0
        short = going[~better]
        size[short] *= 0.5
        stuck = short[size[short] < _SMALLEST]
        converged[stuck] = gain[stuck] <= 1e-9 * np.maximum(1.0, np.abs(value[stuck]))
        climbing[stuck] = False
    return Tops(theta, value, converged)


def _uphill(here: Points, held: FloatArray | None) -> tuple[FloatArray, FloatArray]:
    """Return Newton's steps (m, p) along the constraint, and twice what they would gain (m,).

    Where the exact curvature leads downhill the expected information takes its place, which never does.
    """
    step, gain = _constrained(here.curvature, here.gradient, held)
    bad = np.flatnonzero(~(gain >= 0) | ~np.isfinite(step).all(axis=1))
    if len(bad):
        some = None if held is None else held[bad]
        step[bad], gain[bad] = _constrained(here.information[bad], here.gradient[bad], some)
    return step, gain


def _constrained(
    matrix: FloatArray, gradient: FloatArray, held: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    if held is not None:
        step, _, gain = _ridge(matrix, gradient, held)
        return step, gain
    step = _solve(matrix, gradient[:, :, None])[:, :, 0]
    return step, _dot(gradient, step)


def _solve(matrix: FloatArray, right: FloatArray) -> FloatArray:
    """Solve m systems for right sides (m, p, r); all of them give NaN where one matrix is exactly singular."""
    try:
        return np.asarray(np.linalg.solve(matrix, right))
    except np.linalg.LinAlgError:
        return np.full_like(right, math.nan)


def _dot(first: FloatArray, second: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("ij,ij->i", first, second))


def profile_limits(
    rows: PenalisedRows, peak: Peak, directions: FloatArray, drops: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return where the profile of each combination (q, p) has fallen by ``drops`` (q,), below and above the top.

    A limit that was not found is NaN.
    """
    count = len(directions)
    sides = np.repeat([-1.0, 1.0], count)
    both = np.concatenate([directions, directions])
    fall = np.concatenate([drops, drops])
    limits = _newton_limits(rows, peak, both, sides, fall)
    for place in np.flatnonzero(np.isnan(limits)):
        limits[place] = searched_limit(rows, peak, both[place], float(sides[place]), float(fall[place]))
    return limits[:count], limits[count:]


def _newton_limits(
    rows: PenalisedRows, peak: Peak, directions: FloatArray, sides: FloatArray, drops: FloatArray
) -> FloatArray:
    """Return the limits (m,) that Newton's method finds, NaN where it does not."""
    ridge = np.asarray(np.linalg.solve(peak.curvature, directions.T).T, dtype=float)
    along = _dot(directions, ridge)
    reach = np.sqrt(2.0 * drops / np.where(along > 0, along, 1.0))
    theta = peak.theta + (sides * reach)[:, None] * ridge
    goal = peak.value - drops
    middle = directions @ peak.theta
    found = np.full(len(sides), math.nan)
    here = rows.at(theta)
    base, step = np.tile(peak.theta, (len(sides), 1)), theta - peak.theta
    open_ = along > 0
    going = np.flatnonzero(open_)
    size = np.ones(len(sides))
    enough = _NEAR if rows.is_curved else _NEAR_PLAIN
    for _ in range(_LIMIT_STEPS):
        # A point far below the goal tells nothing about the way: take half the last step instead.
        lost = here.value[going] < goal[going] - 2.0 - 2.0 * drops[going]
        far = going[lost]
        size[far] *= 0.5
        near = going[~lost]
        base[near] = theta[near]
        size[near] = 1.0
        some = here.take(near)
        step[near], settled = _limit_step(some, directions[near], sides[near], goal[near], enough)
        theta[going] = base[going] + size[going, None] * step[going]
        done = near[settled]
        at = _dot(directions[done], theta[done])
        found[done] = np.where(sides[done] * (at - middle[done]) > 0, at, math.nan)
        open_[done] = False
        open_[going] &= np.isfinite(theta[going]).all(axis=1) & (size[going] > _SMALLEST)
        going = np.flatnonzero(open_)
        if not len(going):
            break
        _put(here, going, rows.at(theta[going]))
    return found


def _put(all_points: Points, places: NDArray[np.intp], some: Points) -> None:
    all_points.value[places] = some.value
    all_points.gradient[places] = some.gradient
    all_points.information[places] = some.information
    all_points.curvature[places] = some.curvature


def _limit_step(
    here: Points, directions: FloatArray, sides: FloatArray, goal: FloatArray, near: float
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return the step to the goal in the quadratic model at each point, and which problems it settles.

    It settles those whose value is as ``near`` to the goal as this.

    The step goes to the ridge (nothing left to gain sideways) and along it, where the model of the profile is
    excess + slope u - bend u^2 / 2; the bend may be negative in the tails.
    """
    sideways, ridge, gain = _ridge(here.curvature, here.gradient, directions)
    bad = np.flatnonzero(~(gain >= 0) | ~np.isfinite(ridge).all(axis=1))
    if len(bad):
        sideways[bad], ridge[bad], gain[bad] = _ridge(here.information[bad], here.gradient[bad], directions[bad])
    excess = here.value + 0.5 * gain - goal
    slope = sides * _dot(here.gradient, ridge)
    bend = np.einsum("ij,ijk,ik->i", ridge, here.curvature, ridge)
    root = np.sqrt(np.maximum(np.square(slope) + 2.0 * bend * excess, 0.0))
    falling = slope < 0
    steep = np.where(falling, root - slope, 1.0)
    along = np.where(falling, 2.0 * excess / steep, (slope + root) / np.where(bend > 0, bend, 1.0))
    fuzz = np.maximum(near, _FLOAT * np.abs(here.value))
    settled = falling & (np.abs(here.value - goal) <= fuzz) & (gain <= 1e-3 * fuzz)
    return sideways + (sides * along)[:, None] * ridge, settled


def _ridge(
    matrix: FloatArray, gradient: FloatArray, directions: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the best step sideways, the way along the ridge (combination grows by one), and the gain sideways."""
    solved = _solve(matrix, np.stack([gradient, directions], axis=2))
    step, ridge = solved[:, :, 0], solved[:, :, 1]
    along = _dot(directions, ridge)
    ridge = ridge / np.where(along == 0, math.nan, along)[:, None]
    step = step - _dot(directions, step)[:, None] * ridge
    return step, ridge, _dot(gradient, step)


def searched_limit(rows: PenalisedRows, peak: Peak, direction: FloatArray, side: float, drop: float) -> float:
    """Return the limit by bracketing and bisection on the profile, NaN where the profile never falls so far."""
    ridge = np.linalg.solve(peak.information, direction)
    along = float(direction @ ridge)
    if not along > 0:
        return math.nan
    theta, middle = peak.theta, float(direction @ peak.theta)

    def top_at(place: float, near: FloatArray) -> tuple[float, FloatArray]:
        ahead = near + ridge * (place - float(direction @ near)) / along
        top = climb(rows, ahead[None, :], direction[None, :])
        return (float(top.value[0]) if top.converged[0] else math.nan), top.theta[0]

    inside, step = middle, math.sqrt(2.0 * drop * along)
    for _ in range(_WIDEST):
        outside = inside + side * step
        value, reached = top_at(outside, theta)
        if math.isnan(value):
            step *= 0.5
        elif value <= peak.value - drop:
            break
        else:
            inside, theta, step = outside, reached, 2.0 * step
        if step < _SMALLEST * abs(inside - middle) or step == 0:
            return math.nan
    else:
        return math.nan
    return _between(top_at, theta, (inside, outside), peak.value - drop)


def _between(top_at: TopAt, theta: FloatArray, ends: tuple[float, float], goal: float) -> float:
    inside, outside = ends
    for _ in range(200):
        middle = 0.5 * (inside + outside)
        if middle in (inside, outside):
            break
        value, reached = top_at(middle, theta)
        if math.isnan(value):
            return math.nan
        if value > goal:
            inside, theta = middle, reached
        else:
            outside = middle
    return 0.5 * (inside + outside)
