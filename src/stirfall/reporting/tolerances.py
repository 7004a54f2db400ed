"""How far each condition of a recipe may stray, the others fixed, before the chance drops by a stated amount.

The measure is the lower bound of the interval, so that a range is narrow where little is known. It is searched on
a grid over the factor's own scale and refined once at either end, inside the operating limits and the tried range.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale, Value
from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]
Lower = Callable[[FloatArray], FloatArray]
End = Literal["drop", "limit", "untested"]

GRID = 80
REFINEMENT = 32


@dataclass(frozen=True)
class Tolerance:
    """The range (``low``, ``high``) or the levels of one factor in which the chance holds.

    ``ends`` says what stops the range below and above: the chance drops, an operating limit, or nothing was tried
    beyond. None for ``low`` and ``high`` means that no range can be given: the value itself lies outside what was
    tried or allowed, or the model leaves the factor out. Of a superoxide former the exposures have only an upper
    end, the value itself, which ``is_ceiling``: shorter is always allowed and longer never. A film index that
    ``follows`` from other conditions has no range of its own: theirs are found with it following.
    """

    factor: Factor
    value: Value
    low: float | None = None
    high: float | None = None
    levels: tuple[str, ...] = ()
    ends: tuple[End, End] = ("untested", "untested")
    in_model: bool = True
    tried: bool = True
    is_ceiling: bool = False
    follows: bool = False


def find_tolerances(analysis: Analysis, conditions: Conditions, *, drop: float) -> tuple[Tolerance, ...]:
    """Return one tolerance per visible factor of ``conditions``; ``drop`` is a share, such as 0.10.

    Raises InputError ``recipe.drop`` unless 0 < drop < 1.
    """
    if not 0 < drop < 1:
        raise InputError("recipe.drop", value=drop)
    modelled = {factor.name for factor in analysis.model.design.factors}
    point = analysis.usual(conditions)
    base = _lower_of(analysis, [point])[0]
    found = []
    for factor in analysis.limits.factors:
        value = conditions.get(factor.name)
        if value is None:
            continue
        if factor.name not in modelled:
            found.append(Tolerance(factor, value, in_model=False))
        elif never_longer(analysis, factor):
            # A lower end would say how long to wait at least: for this class nothing may say that.
            top = None if isinstance(value, str) else value
            found.append(Tolerance(factor, value, high=top, is_ceiling=True))
        elif factor.name == analysis.follows:
            found.append(Tolerance(factor, value, tried=analysis.limits.tried.holds(factor, value), follows=True))
        elif factor.is_choice:
            found.append(_levels(analysis, point, factor, base - drop))
        else:
            found.append(_range(analysis, point, factor, base - drop))
    return tuple(found)


def never_longer(analysis: Analysis, factor: Factor) -> bool:
    """Whether a longer value of this factor may never be advised."""
    return not analysis.limits.may_wait and factor.role is not None and factor.role.is_exposure


def _lower_of(analysis: Analysis, points: Sequence[Conditions]) -> FloatArray:
    model = analysis.model
    needed = {factor.name for factor in model.design.factors}
    columns = {name: column for name, column in model.design.columns(points).items() if name in needed}
    return model.estimates(columns).lower


def _levels(analysis: Analysis, conditions: Conditions, factor: Factor, floor: float) -> Tolerance:
    tried = analysis.limits.tried
    levels = [
        level
        for level in analysis.limits.levels[factor.name]
        if level == conditions[factor.name] or tried.holds(factor, level)
    ]
    lower = _lower_of(analysis, [conditions.with_value(factor.name, level) for level in levels])
    held = tuple(
        level
        for level, bound in zip(levels, lower, strict=True)
        if bound >= floor or level == conditions[factor.name]
    )
    return Tolerance(factor, conditions[factor.name], levels=held)


def _range(analysis: Analysis, conditions: Conditions, factor: Factor, floor: float) -> Tolerance:
    value = conditions[factor.name]
    if isinstance(value, str):
        return Tolerance(factor, value)
    (bottom, low_end), (top, high_end) = _clip(analysis, factor)
    if not bottom <= value <= top:
        return Tolerance(factor, value, tried=analysis.limits.tried.holds(factor, value))

    def lower(xs: FloatArray) -> FloatArray:
        return _lower_of(analysis, [conditions.with_value(factor.name, float(x)) for x in xs])

    low, dropped_low = _edge(lower, factor, value, bottom, floor)
    high, dropped_high = _edge(lower, factor, value, top, floor)
    return Tolerance(
        factor,
        value,
        rounded_inward(factor, low, value),
        rounded_inward(factor, high, value),
        ends=("drop" if dropped_low else low_end, "drop" if dropped_high else high_end),
    )


def _clip(analysis: Analysis, factor: Factor) -> tuple[tuple[float, End], tuple[float, End]]:
    """Return the ends of what is both allowed and tried, and what stops there."""
    low, high = analysis.limits.ranges[factor.name]
    tried_low, tried_high = analysis.limits.tried.ranges.get(factor.name, (math.inf, -math.inf))
    bottom: tuple[float, End] = (low, "limit") if low >= tried_low else (tried_low, "untested")
    top: tuple[float, End] = (high, "limit") if high <= tried_high else (tried_high, "untested")
    return bottom, top


def _edge(lower: Lower, factor: Factor, value: float, end: float, floor: float) -> tuple[float, bool]:
    """Return how far one may go from ``value`` towards ``end``, and whether a drop below ``floor`` stopped it."""
    grid = _steps(factor, value, end, GRID)
    held = _first_break(lower(grid), floor)
    if held is None:
        return end, False
    if held == 0:
        return value, True
    fine = _steps(factor, float(grid[held - 1]), float(grid[held]), REFINEMENT)
    last = _first_break(lower(fine), floor)
    return float(fine[-1 if last is None else max(last - 1, 0)]), True


def _first_break(bounds: FloatArray, floor: float) -> int | None:
    broken = np.flatnonzero(bounds < floor)
    return int(broken[0]) if len(broken) else None


def _steps(factor: Factor, start: float, end: float, count: int) -> FloatArray:
    if factor.scale is Scale.LOG and start > 0 and end > 0:
        return np.geomspace(start, end, count + 1)
    return np.linspace(start, end, count + 1)


def rounded_inward(factor: Factor, edge: float, value: float) -> float:
    """Round an end of a range towards the value, to the factor's step or to two digits, never past the value."""
    if edge == value:
        return value
    if factor.step is not None:
        unit = factor.step
    else:
        size = abs(edge - value) if factor.scale is Scale.LINEAR else abs(edge)
        unit = 10.0 ** (math.floor(math.log10(size)) - 1)
    steps = edge / unit
    whole = math.ceil(round(steps, 9)) if edge < value else math.floor(round(steps, 9))
    rounded = round(whole * unit, 10)
    return min(rounded, value) if edge < value else max(rounded, value)
