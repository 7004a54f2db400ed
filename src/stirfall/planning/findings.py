"""A finding: one thing that the operating limits have to say, as a code with parameters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from stirfall.bench.factors import Factor
from stirfall.bench.units import Amount, unit_kind, unit_label

Level = Literal["note", "warn", "block"]


@dataclass(frozen=True)
class Finding:
    """What the limits found: ``note`` informs, ``warn`` asks for a reason, ``block`` means do not.

    ``params`` hold the values that triggered it; ``source`` says where the limit is from.
    """

    level: Level
    code: str
    params: Mapping[str, object]
    factor: str | None = None
    source: str = ""


def finding(level: Level, code: str, factor: Factor | None = None, source: str = "", **params: object) -> Finding:
    """Make a finding; the factor's name is among the parameters of its sentence."""
    named = {"factor": factor.name, **params} if factor else params
    return Finding(level, code, MappingProxyType(named), factor.name if factor else None, source)


def amount(value: float, factor: Factor) -> Amount:
    """Return a value of ``factor`` as it is put into a sentence."""
    return Amount(value, factor.unit)


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
