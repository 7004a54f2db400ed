"""The box of conditions that may be suggested, as columns of numbers on each factor's own scale and steps.

A film index that follows from ages is never moved by itself: it is worked out from the other columns, shown as
computed, and must lie inside its range like every other number.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from stirfall.bench.factors import Conditions, Factor, Role, Scale, Value
from stirfall.bench.units import convert, unit_kind
from stirfall.inference.design import Filler
from stirfall.planning.limits import OperatingLimits

Numbers = npt.NDArray[np.float64]
Columns = dict[str, Numbers]

# A factor without a step moves in values of two significant digits, more where its range is narrow.
_POSITIONS = 20
_COMPUTED_DIGITS = 3
_SMALLEST = float(np.finfo(float).tiny)


@dataclass(frozen=True)
class Box:
    """All visible factors within the limits; ``varied`` are those that a search may move, the rest stay put.

    ``filler`` gives the factor that follows from others. ``unknown`` names factors that nothing is known of: they
    have no column. A column holds one value per candidate: numbers in the factor's unit, choices as the index of
    the level.
    """

    limits: OperatingLimits
    varied: tuple[Factor, ...]
    ordered_exposures: tuple[tuple[str, str, float], ...]
    filler: Filler | None = None
    unknown: tuple[str, ...] = ()

    @property
    def follows(self) -> str | None:
        """The factor that follows from others, None where none does."""
        return None if self.filler is None else self.filler.name

    @cached_property
    def fixed(self) -> Mapping[str, float]:
        """The value of each factor that is not varied: its default or middle, moved inside the limits."""
        names = {factor.name for factor in self.varied} | {*self.unknown, self.follows}
        return {f.name: self._resting(f) for f in self.limits.factors if f.name not in names}

    def decode(self, points: Numbers) -> Columns:
        """Turn points of the unit cube, (c, len(varied)), into snapped columns of all visible factors."""
        columns = {name: np.full(len(points), value) for name, value in self.fixed.items()}
        for index, factor in enumerate(self.varied):
            columns[factor.name] = self._decoded(factor, points[:, index])
        return self.settle(columns)

    def encode(self, columns: Mapping[str, Numbers]) -> Numbers:
        """Turn columns into points of the unit cube, the inverse of ``decode`` up to steps; NaN stays NaN."""
        parts = [self._encoded(factor, columns[factor.name]) for factor in self.varied]
        return np.stack(parts, axis=1) if parts else np.zeros((len(next(iter(columns.values()))), 0))

    def resting_columns(self) -> Columns:
        """Return the one candidate in which every factor has its default or middle, moved inside the limits."""
        left_out = {*self.unknown, self.follows}
        resting = [factor for factor in self.limits.factors if factor.name not in left_out]
        return self.settle({factor.name: np.array([self._resting(factor)]) for factor in resting})

    def settle(self, columns: Columns) -> Columns:
        """Apply the plain rules between factors: no additive, no dose; no oil exposure longer than the age.

        What follows from other factors is worked out last.
        """
        for rule in self.limits.couplings:
            choice = next(factor for factor in self.limits.factors if factor.name == rule.choice)
            there = columns[rule.choice] == choice.levels.index(rule.level)
            capped = np.minimum(columns[rule.dose], rule.most) if rule.most else 0.0
            columns[rule.dose] = np.where(there, capped, columns[rule.dose])
        for exposure, age, per_age in self.ordered_exposures:
            low, high = self.limits.ranges[exposure]
            columns[exposure] = np.clip(np.minimum(columns[exposure], columns[age] * per_age), low, high)
        return self.follow(columns)

    def follow(self, columns: Columns) -> Columns:
        """Return the columns with what follows from the others worked out, to three digits, or NaN."""
        if self.filler is None:
            return columns
        others = {name: column for name, column in columns.items() if name != self.filler.name}
        return {**others, self.filler.name: _to_digits(self.filler(others))}

    def inside(self, columns: Columns) -> npt.NDArray[np.bool_]:
        """Return for each candidate, (c,), whether what follows from the others lies inside its own range.

        Where its value is pinned (a superoxide former's) it is not shown and nothing is asked of it: the ages that
        it follows are at their lowest.
        """
        count = len(next(iter(columns.values())))
        if self.filler is None or self.filler.name in self.limits.pinned:
            return np.ones(count, dtype=bool)
        low, high = self.limits.ranges[self.filler.name]
        values = columns[self.filler.name]
        return np.asarray((values >= low) & (values <= high))

    def conditions(self, columns: Mapping[str, Numbers], index: int) -> Conditions:
        """Return candidate ``index`` as conditions; a number that is not known or must not be told is left out."""
        told = [f for f in self.limits.factors if f.name in columns and not self._is_hidden(f, columns, index)]
        return Conditions({factor.name: _value(factor, columns[factor.name][index]) for factor in told})

    def _is_hidden(self, factor: Factor, columns: Mapping[str, Numbers], index: int) -> bool:
        if factor.name != self.follows:
            return False
        return factor.name in self.limits.pinned or math.isnan(columns[factor.name][index])

    def _decoded(self, factor: Factor, share: Numbers) -> Numbers:
        if factor.is_choice:
            count = len(factor.levels)
            levels = np.minimum(np.floor(share * count), count - 1).astype(int)
            return np.asarray(self._allowed(factor)[levels], dtype=float)
        low, high = self.limits.ranges[factor.name]
        if factor.scale is Scale.LOG:
            values = np.exp(math.log(low) + share * (math.log(high) - math.log(low)))
        else:
            values = low + share * (high - low)
        return snap_inside(factor, values, low, high)

    def _allowed(self, factor: Factor) -> Numbers:
        """Return for each level the index of itself, or of the nearest level that the limits leave."""
        left = [factor.levels.index(level) for level in self.limits.levels[factor.name]]
        places = range(len(factor.levels))
        if len(left) in (0, len(places)):
            return np.arange(len(places), dtype=float)
        return np.array([min(left, key=lambda each: abs(each - place)) for place in places], dtype=float)

    def _encoded(self, factor: Factor, values: Numbers) -> Numbers:
        if factor.is_choice:
            return (values + 0.5) / len(factor.levels)
        low, high = self.limits.ranges[factor.name]
        if factor.scale is Scale.LOG:
            low, high, values = math.log(low), math.log(high), np.log(values)
        return (values - low) / (high - low) if high > low else np.where(np.isnan(values), np.nan, 0.5)

    def _resting(self, factor: Factor) -> float:
        if factor.is_choice:
            return float(self._allowed(factor)[factor.levels.index(str(factor.middle))])
        low, high = self.limits.ranges[factor.name]
        middle = factor.middle if not isinstance(factor.middle, str) else low
        return float(snap_inside(factor, np.array([middle]), low, high)[0])


def make_box(
    limits: OperatingLimits, varied: Sequence[str], *, filler: Filler | None = None, unknown: Sequence[str] = ()
) -> Box:
    """Return the box in which the factors named in ``varied`` may move, save what follows or is unknown."""
    if filler is not None and all(factor.name != filler.name for factor in limits.factors):
        filler = None
    held = {*unknown, None if filler is None else filler.name}
    moving = tuple(factor for factor in limits.factors if factor.name in set(varied) - held)
    return Box(limits, moving, ordered_exposures(limits), filler, tuple(unknown))


def snap_inside(factor: Factor, values: Numbers, low: float, high: float) -> Numbers:
    """Return the nearest steps inside [low, high]; the exact bound where no step fits inside.

    A factor without a step is rounded to two significant digits, or to as many as give its range twenty values.
    """
    clipped = np.clip(values, low, high)
    if factor.step is None:
        return np.clip(_rounded(clipped, low, high, factor.scale), low, high)
    step = factor.step
    snapped = np.round(np.round(clipped / step) * step, 10)
    snapped = np.where(snapped < low, np.round(math.ceil(round(low / step, 9)) * step, 10), snapped)
    snapped = np.where(snapped > high, np.round(math.floor(round(high / step, 9)) * step, 10), snapped)
    nearest_bound = np.where(clipped - low <= high - clipped, low, high)
    return np.where((snapped < low) | (snapped > high), nearest_bound, snapped)


def _rounded(values: Numbers, low: float, high: float, scale: Scale) -> Numbers:
    if high <= low:
        return values
    if scale is Scale.LOG:
        digits = 2 if high / low > 2 else 3
        places = digits - 1 - np.floor(np.log10(values))
    else:
        largest = max(abs(low), abs(high))
        wanted = math.floor(math.log10(max((high - low) / _POSITIONS, _SMALLEST)))
        places = np.full(len(values), -float(min(wanted, math.floor(math.log10(largest)) - 1)))
    # Dividing by a whole power of ten gives the nearest number to the decimal; multiplying by 0.1 would not.
    places = np.clip(places, -300.0, 300.0)
    up, down = 10.0 ** np.maximum(places, 0.0), 10.0 ** np.maximum(-places, 0.0)
    return np.asarray(np.round(values * up / down) / up * down)


def _to_digits(values: Numbers) -> Numbers:
    """Round to a few significant digits, enough for a number that is right to a factor of three; NaN stays NaN."""
    values = np.asarray(values, dtype=float)
    usable = np.isfinite(values) & (values != 0)
    sizes = np.floor(np.log10(np.abs(np.where(usable, values, 1.0))))
    scale = 10.0 ** (_COMPUTED_DIGITS - 1 - sizes)
    return np.where(usable, np.round(values * scale) / scale, values)


def _value(factor: Factor, number: float) -> Value:
    return factor.levels[int(number)] if factor.is_choice else float(number)


def ordered_exposures(limits: OperatingLimits) -> tuple[tuple[str, str, float], ...]:
    """Pair every oil exposure with the sample age that it cannot exceed, with the factor between their units.

    A lot goes under oil after it was made. Where the record says otherwise, the names mean something else here and
    the rule is dropped; pinned values are never touched.
    """
    ages = [f for f in limits.factors if f.role is Role.SAMPLE_AGE and unit_kind(f.unit) == "time"]
    oils = [f for f in limits.factors if f.role is Role.OIL_EXPOSURE and unit_kind(f.unit) == "time"]
    pairs = []
    for oil in oils:
        for age in ages:
            if oil.is_choice or age.is_choice or oil.name in limits.pinned:
                continue
            scale = convert(1.0, age.unit, oil.unit)
            if not _broken(limits, oil.name, age.name, scale):
                pairs.append((oil.name, age.name, scale))
    return tuple(pairs[:1])


def _broken(limits: OperatingLimits, oil: str, age: str, scale: float) -> bool:
    for attempt in limits.state.attempts:
        exposed, aged = attempt.conditions.number(oil), attempt.conditions.number(age)
        if exposed is not None and aged is not None and exposed > aged * scale * 1.001:
            return True
    return False
