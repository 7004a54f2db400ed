"""Round ticks for the axes of the pictures: times in minutes, hours, days and weeks, numbers in 1, 2, 5 steps.

Pure functions; positions are in the factor's own unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from stirfall.bench.factors import Factor, Scale
from stirfall.bench.units import THIN_SPACE, convert, format_number, liked_unit, unit_kind, unit_label

_MINUTE, _HOUR, _DAY, _WEEK = 60.0, 3600.0, 86_400.0, 604_800.0
_UNIT_SECONDS = {"s": 1.0, "min": _MINUTE, "h": _HOUR, "d": _DAY, "week": _WEEK}

# What a person calls a round time, most welcome first: (count, unit).
_TIME_TIERS: tuple[tuple[tuple[float, str], ...], ...] = (
    ((1, "s"), (1, "min"), (1, "h"), (1, "d"), (1, "week"), (10, "week")),
    ((10, "s"), (10, "min"), (4, "h"), (4, "week"), (52, "week")),
    ((30, "s"), (30, "min"), (12, "h"), (2, "d"), (2, "week"), (26, "week")),
    ((2, "min"), (5, "min"), (2, "h"), (8, "h"), (4, "d"), (2, "s"), (5, "s"), (20, "week")),
    ((20, "s"), (20, "min"), (15, "min"), (6, "h"), (3, "h"), (3, "d"), (5, "d"), (3, "week"), (6, "week")),
)
_TIME_STEPS: tuple[tuple[float, str], ...] = (
    *((count, "s") for count in (1, 2, 5, 10, 20, 30)),
    *((count, "min") for count in (1, 2, 5, 10, 15, 20, 30)),
    *((count, "h") for count in (1, 2, 3, 4, 6, 8, 12)),
    *((count, "d") for count in (1, 2, 3)),
    *((count, "week") for count in (1, 2, 4, 8, 13, 26, 52)),
)


@dataclass(frozen=True)
class Tick:
    """One tick: where, in the factor's unit, and what is written beside it ("" for a minor tick)."""

    value: float
    label: str


def time_label(count: float, unit: str, *, decimal: str = ".") -> str:
    """Write a round time for a tick: "30 min", "4 h", "2 d", "1 week"."""
    word = "weeks" if unit == "week" and count != 1 else unit
    return f"{format_number(count, decimal=decimal)}{THIN_SPACE}{word}"


def to_axis(factor: Factor, value: float) -> float:
    """Return where a value stands on the picture's axis: its decimal logarithm on a log scale, else itself."""
    return math.log10(value) if factor.scale is Scale.LOG else value


def from_axis(factor: Factor, position: float) -> float:
    """Invert ``to_axis``."""
    return 10.0**position if factor.scale is Scale.LOG else position


def axis_title(factor: Factor, *, decimal: str = ".") -> str:
    """Return the title of an axis; times carry their units on the ticks, other numbers in the title."""
    is_bare = factor.is_choice or unit_kind(factor.unit) == "time"
    shown = "" if is_bare else unit_label(liked_unit(factor.unit, decimal))
    return f"{factor.name}, {shown}" if shown else factor.name


def ticks(factor: Factor, low: float, high: float, *, most: int, decimal: str = ".") -> tuple[Tick, ...]:
    """Return round ticks of a number factor between ``low`` and ``high``, about ``most`` labels at most."""
    if unit_kind(factor.unit) == "time":
        if factor.scale is Scale.LOG:
            return _log_time_ticks(factor.unit, low, high, most, decimal)
        return _linear_time_ticks(factor.unit, low, high, most, decimal)
    if (liked := liked_unit(factor.unit, decimal)) != factor.unit:
        return _ticks_in(liked, factor, (low, high), most, decimal)
    if factor.scale is Scale.LOG:
        return _log_number_ticks(low, high, most, decimal)
    return _linear_number_ticks(low, high, most, decimal)


def _ticks_in(unit: str, factor: Factor, ends: tuple[float, float], most: int, decimal: str) -> tuple[Tick, ...]:
    """Return ticks that are round in another unit; on a log scale those of the factor, as its zero differs."""
    if factor.scale is Scale.LOG:
        found = _log_number_ticks(*ends, most, decimal)
        return tuple(replace(one, label=_in_unit(one.value, factor.unit, unit, decimal)) for one in found)
    low, high = (convert(value, factor.unit, unit) for value in ends)
    return tuple(
        replace(one, value=convert(one.value, unit, factor.unit))
        for one in _linear_number_ticks(low, high, most, decimal)
    )


def _in_unit(value: float, unit: str, other: str, decimal: str) -> str:
    return format_number(convert(value, unit, other), decimal=decimal)


def _log_time_ticks(unit: str, low: float, high: float, most: int, decimal: str) -> tuple[Tick, ...]:
    tiers = [
        [
            Tick(convert(count * _UNIT_SECONDS[name], "s", unit), time_label(count, name, decimal=decimal))
            for count, name in tier
        ]
        for tier in _TIME_TIERS
    ]
    return _thinned(tiers, low, high, most)


def _log_number_ticks(low: float, high: float, most: int, decimal: str) -> tuple[Tick, ...]:

    def number_tick(value: float) -> Tick:
        return Tick(value, format_number(value, decimal=decimal))

    powers = range(math.floor(math.log10(low)) - 1, math.ceil(math.log10(high)) + 1)
    tiers = [
        [number_tick(lead * 10.0**power) for power in powers for lead in leads]
        for leads in ((1.0,), (3.0,), (2.0, 5.0), (1.5, 4.0, 6.0, 8.0))
    ]
    if math.log10(high / low) > 1:
        tiers = [tiers[0], tiers[2]]
    return _thinned(tiers, low, high, most)


def _thinned(tiers: list[list[Tick]], low: float, high: float, most: int) -> tuple[Tick, ...]:
    """Keep welcome ticks first; a later one must keep its distance from those already there (log scale)."""
    distance = math.log(high / low) / max(most, 1)
    slack = 1e-9
    kept: list[Tick] = []
    for tier in tiers:
        for tick in sorted(tier, key=lambda one: one.value):
            inside = low * (1 - slack) <= tick.value <= high * (1 + slack)
            if inside and all(abs(math.log(tick.value / other.value)) >= distance for other in kept):
                kept.append(tick)
    return tuple(sorted(kept, key=lambda one: one.value))


def _linear_time_ticks(unit: str, low: float, high: float, most: int, decimal: str) -> tuple[Tick, ...]:
    span = convert(high - low, unit, "s")
    for count, name in _TIME_STEPS:
        if span / (count * _UNIT_SECONDS[name]) <= most:
            break
    step = convert(count * _UNIT_SECONDS[name], "s", unit)
    one = convert(_UNIT_SECONDS[name], "s", unit)
    return tuple(
        Tick(value, time_label(round(value / one, 6), name, decimal=decimal))
        for value in _multiples(step, low, high)
    )


def _linear_number_ticks(low: float, high: float, most: int, decimal: str) -> tuple[Tick, ...]:
    rough = (high - low) / max(most, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(lead * power for lead in (1.0, 2.0, 5.0, 10.0) if lead * power >= rough * (1 - 1e-9))
    return tuple(
        Tick(value, format_number(value, digits=6, decimal=decimal)) for value in _multiples(step, low, high)
    )


def _multiples(step: float, low: float, high: float) -> list[float]:
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(index * step, 12) for index in range(first, last + 1)]
