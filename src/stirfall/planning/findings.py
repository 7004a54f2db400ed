"""A finding: one thing that the operating limits have to say, as a code with parameters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from stirfall.bench.factors import Factor
from stirfall.bench.units import Amount, format_quantity, unit_kind, unit_label
from stirfall.storage.limit_table import limit_table

Level = Literal["note", "warn", "block"]

_ORDER = {"block": 0, "warn": 1, "note": 2}
_CLOSE_DIGITS = 6  # a limit of 195 must not read the same as the 195.1 that breaks it


@dataclass(frozen=True)
class Finding:
    """What the limits found: ``note`` informs, ``warn`` asks for a reason, ``block`` means do not.

    ``params`` hold the values that triggered it; ``source`` says where the limit is from, ``rule`` is its key in
    the shipped table of limits.
    """

    level: Level
    code: str
    params: Mapping[str, object]
    factor: str | None = None
    source: str = ""
    rule: str = ""


@dataclass(frozen=True)
class CloseAmount(Amount):
    """An amount that is written with so many digits that it can be told from its limit."""

    def text(self, *, decimal: str = ".") -> str:
        """Write the amount with its unit, without rounding that a limit could hide behind."""
        return format_quantity(self.value, self.unit, digits=_CLOSE_DIGITS, decimal=decimal)


def finding(
    level: Level,
    code: str,
    factor: Factor | None = None,
    source: str = "",
    *,
    rule: str = "",
    **params: object,
) -> Finding:
    """Make a finding; the factor's name is among the parameters of its sentence.

    ``rule`` names the rule of the shipped table that it comes from, which gives the source where none is named.
    """
    named = {"factor": factor.name, **params} if factor else params
    told = source or (limit_table()[rule].source if rule else "")
    return Finding(level, code, MappingProxyType(named), factor.name if factor else None, told, rule)


def most_severe_first(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings with blocks first, then warnings, then notes; the order among equals stays."""
    return tuple(sorted(found, key=lambda each: _ORDER[each.level]))


def amount(value: float, factor: Factor) -> Amount:
    """Return a value of ``factor`` as it is put into a sentence."""
    return CloseAmount(value, factor.unit) if is_temperature_unit(factor.unit) else Amount(value, factor.unit)


def is_temperature_unit(unit: str) -> bool:
    """Whether the unit is Celsius, Fahrenheit or Kelvin in one of their spellings."""
    return unit_kind(unit) == "temperature"


def from_celsius(value: float, unit: str) -> float:
    """Turn Celsius into a temperature unit (ITS-90 definition of the Celsius and Fahrenheit scales)."""
    label = unit_label(unit)
    if label == "°C":
        return value
    # Rounded, so that a limit of 289.4 does not become 289.40000000000003 and swallow a step.
    return round(value * 9.0 / 5.0 + 32.0 if label == "°F" else value + 273.15, 9)


def to_celsius(value: float, unit: str) -> float:
    """Turn a temperature in ``unit`` into Celsius."""
    label = unit_label(unit)
    if label == "°C":
        return value
    return round((value - 32.0) * 5.0 / 9.0 if label == "°F" else value - 273.15, 9)
