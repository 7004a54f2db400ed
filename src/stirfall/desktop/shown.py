"""Quantities in the units that the user likes: how they are written, and how what was typed is read; pure.

Stored values stay in the unit of their factor or field. Only temperatures have a liked unit; a difference between
temperatures is shown without the zero of the scale. Times are written in the unit a person would say.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor
from stirfall.bench.number_style import NumberStyle, liked_temperature
from stirfall.bench.units import (
    convert,
    format_number,
    format_quantity,
    liked_difference,
    liked_unit,
    liked_value,
    parse_number,
    parse_quantity,
    unit_label,
)

CAMPAIGN = "campaign"
"""The setting that leaves each temperature in the unit of its factor."""
_FIELD_DIGITS = 6
_ROUND_STEPS = (1.0, 2.0, 5.0, 10.0)


@dataclass(frozen=True)
class Shown:
    """How quantities are shown: ``decimal`` is the decimal sign, ``temperature`` is "campaign", "C", "F" or "K"."""

    decimal: str = "."
    temperature: str = CAMPAIGN

    @classmethod
    def of(cls, decimal: str) -> Shown:
        """Return what a decimal sign carries."""
        return cls(str(decimal), liked_temperature(decimal) or CAMPAIGN)

    @property
    def style(self) -> NumberStyle:
        """The decimal sign that carries the unit, to be handed to whatever writes numbers."""
        return NumberStyle(self.decimal, "" if self.temperature == CAMPAIGN else self.temperature)

    def unit(self, unit: str) -> str:
        """Return the unit in which values of ``unit`` are shown and bare numbers are read."""
        return liked_unit(unit, self.style)

    def label(self, unit: str) -> str:
        """Return the shown unit as it is printed: "°F"."""
        return unit_label(self.unit(unit))

    def value(self, value: float, unit: str) -> float:
        """Return a value of ``unit`` in the shown unit."""
        return liked_value(value, unit, self.style)

    def difference(self, value: float, unit: str) -> float:
        """Return a difference in ``unit`` in the shown unit."""
        return liked_difference(value, unit, self.style)

    def stored(self, value: float, unit: str) -> float:
        """Return a value of the shown unit in ``unit``, as it is kept."""
        return convert(value, self.unit(unit), unit)

    def number(self, value: float, unit: str, *, digits: int = _FIELD_DIGITS) -> str:
        """Write a value of ``unit`` as a bare number in the shown unit, as it stands in a line or a cell."""
        return format_number(self.value(value, unit), digits=digits, decimal=self.decimal)

    def text(self, value: float, unit: str, *, digits: int = 3) -> str:
        """Write a value of ``unit`` with the shown unit."""
        return format_quantity(value, unit, digits=digits, decimal=self.style)

    def echo(self, value: float, unit: str, *, digits: int = _FIELD_DIGITS) -> str:
        """Write what was understood; where the kept unit is not the shown one both are said, for safety."""
        text = self.text(value, unit, digits=digits)
        if self.unit(unit) == unit:
            return text
        return f"{text} ({format_quantity(value, unit, digits=digits, decimal=self.decimal)} kept)"

    def read(self, text: str, unit: str) -> float:
        """Return what was typed, in ``unit``: a bare number counts in the shown unit, a typed unit wins.

        Raises InputError as ``parse_quantity`` does.
        """
        return parse_quantity(text, unit, bare=self.unit(unit), decimal=self.decimal)

    def factor(self, factor: Factor) -> Factor:
        """Return the factor with its unit, range, step and default as shown, for steppers and axes."""
        shown = self.unit(factor.unit)
        if factor.is_choice or shown == factor.unit or factor.low is None or factor.high is None:
            return factor
        default = factor.default if isinstance(factor.default, float) else None
        return replace(
            factor,
            unit=shown,
            low=self.value(factor.low, factor.unit),
            high=self.value(factor.high, factor.unit),
            step=None if factor.step is None else round_step(self.difference(factor.step, factor.unit)),
            default=None if default is None else self.value(default, factor.unit),
        )


def round_step(size: float) -> float:
    """Return the step of 1, 2, 5 times a power of ten nearest to ``size``: nobody steps by 9 °F."""
    power = 10.0 ** _floor_log10(size)
    return min((power * part for part in _ROUND_STEPS), key=lambda step: abs(step - size))


def _floor_log10(size: float) -> int:
    return int(f"{size:e}".partition("e")[2])


def in_other_unit(text: str, unit: str, old: Shown, new: Shown) -> str:
    """Return a bare number, typed while ``old`` held, under ``new``: the amount stays, not the digits.

    What carries a unit, what cannot be read, and what has the same unit under both stays as it was typed.
    """
    if old.unit(unit) == new.unit(unit) or not text.strip():
        return text
    try:
        bare = parse_number(text, decimal=old.decimal)
    except InputError:
        return text
    return new.number(old.stored(bare, unit), unit)
