"""What the plus and minus buttons do: steps that a person at the bench would take."""

from __future__ import annotations

import math

from stirfall.bench.factors import Factor, Scale
from stirfall.bench.units import unit_kind

_DECADE = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)
_SHORT_TIMES = (
    1,
    2,
    3,
    5,
    8,
    10,
    15,
    20,
    30,
    45,
    60,
    75,
    90,
    105,
    120,
    150,
    180,
    240,
    300,
    420,
    600,
    900,
    1200,
)
_HOURS = (0.25, 0.5, 1, 1.5, 2, 3, 4, 6, 8, 12, 16, 20, 24, 36, 48, 72, 96, 120, 168, 240, 336, 504, 672, 1008)
_CLOSE = 1e-9


def step_value(factor: Factor, value: float | None, direction: int) -> float:
    """Return the next value up (``direction`` 1) or down (-1) inside the factor's range.

    An unknown value starts at the factor's usual one. A log factor moves along round values, a linear one by its
    step. A value outside the range comes back to the nearer end. Raises InputError ``factor.is_choice``.
    """
    low, high = factor.bounds
    if value is None:
        middle = factor.middle
        return float(middle) if not isinstance(middle, str) else low
    if value < low or value > high:
        return low if value < low else high
    moved = (
        _log_step(factor, value, direction) if factor.scale is Scale.LOG else _linear_step(factor, value, direction)
    )
    return min(max(moved, low), high)


def linear_step_size(factor: Factor) -> float:
    """Return the factor's step, or a round twentieth of its range."""
    if factor.step is not None:
        return factor.step
    low, high = factor.bounds
    rough = (high - low) / 20.0
    size = 10.0 ** math.floor(math.log10(rough))
    return next(size * part for part in (1.0, 2.0, 5.0, 10.0) if size * part >= rough * (1 - _CLOSE))


def _linear_step(factor: Factor, value: float, direction: int) -> float:
    size = linear_step_size(factor)
    count = value / size
    nearest = round(count)
    if abs(count - nearest) < 1e-6:
        return round((nearest + direction) * size, 10)
    return round((math.ceil(count) if direction > 0 else math.floor(count)) * size, 10)


def _log_step(factor: Factor, value: float, direction: int) -> float:
    for candidate in _ladder(factor, direction):
        on_step = candidate if factor.step is None else round(round(candidate / factor.step) * factor.step, 10)
        if on_step > 0 and (on_step - value) * direction > _CLOSE * value:
            return on_step
    low, high = factor.bounds
    return high if direction > 0 else low


def _ladder(factor: Factor, direction: int) -> list[float]:
    low, high = factor.bounds
    unit = factor.unit.strip().lower()
    if unit_kind(factor.unit) == "time" and unit.startswith("h") and low >= _HOURS[0]:
        rungs = [float(rung) for rung in _HOURS]
    elif unit_kind(factor.unit) == "time" and unit.startswith(("m", "s")) and low >= 1:
        rungs = [float(rung) for rung in _SHORT_TIMES]
    else:
        rungs = []
    top = rungs[-1] if rungs else low / 10.0
    decade = math.floor(math.log10(top))
    while 10.0**decade <= high:
        rungs += [float(f"{part * 10.0**decade:.6g}") for part in _DECADE if part * 10.0**decade > top]
        decade += 1
    return rungs if direction > 0 else rungs[::-1]
