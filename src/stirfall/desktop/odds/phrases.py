"""How the odds pane says its numbers: whole per cent, never 0 % or 100 %, always with interval and n."""

from __future__ import annotations

from collections.abc import Mapping

from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Factor, Value
from stirfall.bench.units import THIN_SPACE, format_quantity, human_time, unit_kind
from stirfall.reporting.shares import percent, span

PERCENT = f"{THIN_SPACE}%"
FEW_ATTEMPTS = 5


def sure(estimate: Estimate) -> str:
    """Write an estimate with its interval: "62 %, 38 to 81 %"."""
    return f"{percent(estimate.mean)}, {span(estimate.lower, estimate.upper)}"


def counted(n: int, noun: str = "attempt") -> str:
    """Write a count with its noun: "1 attempt", "47 attempts"."""
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"


def value_text(factor: Factor, value: Value, *, decimal: str = ".") -> str:
    """Write one value of a factor as a person would say it: "24 h", "3 days", "150 °C", "fold"."""
    if isinstance(value, str):
        return value
    if unit_kind(factor.unit) == "time":
        return human_time(value, factor.unit, decimal=decimal)
    return format_quantity(value, factor.unit, decimal=decimal)


def conditions_text(
    factors: tuple[Factor, ...], values: Mapping[str, Value], *, decimal: str = "."
) -> tuple[tuple[str, str], ...]:
    """Return (factor name, value as text) for each known value, in the order of the factors."""
    return tuple(
        (factor.name, value_text(factor, values[factor.name], decimal=decimal))
        for factor in factors
        if factor.name in values
    )


def joined(parts: list[str]) -> str:
    """Join parts with commas: "3 aborted, 1 struck out"."""
    return ", ".join(parts)
