"""The axis of odds factors: logarithmic, the same for every row, ÷10 ÷3 1 ×3 ×10."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

_REACHES = (3.0, 10.0, 30.0, 100.0)
_HELD = 0.8


@dataclass(frozen=True)
class FactorRow:
    """One effect as words and as an interval of odds factors; None where there is nothing to draw.

    ``text`` is the sentence, ``aside`` says how sure it is. A row that ``is_sure`` of its sign stands out.
    """

    key: str
    text: str
    aside: str = ""
    mean: float | None = None
    lower: float | None = None
    upper: float | None = None
    is_sure: bool = True


def reach_of(rows: Iterable[FactorRow]) -> float:
    """Return how far the axis goes both ways: the least of 3, 10, 30, 100 that holds four fifths of all ends.

    So one huge effect does not squeeze all others; it runs off the axis, and its sentence says how far.
    """
    ends = sorted(
        abs(math.log(value)) if value > 0 else math.inf
        for row in rows
        for value in (row.lower, row.upper)
        if value is not None
    )
    if not ends:
        return _REACHES[1]
    most = ends[math.ceil(_HELD * len(ends)) - 1]
    return next((reach for reach in _REACHES if most <= math.log(reach) * (1 + 1e-9)), _REACHES[-1])


def ticks_of(reach: float) -> tuple[float, ...]:
    """Return the odds factors that carry a line, from the smallest to the largest."""
    above = [value for value in _REACHES if value <= reach]
    return (*(1.0 / value for value in reversed(above)), 1.0, *above)


def place_on(value: float, reach: float) -> float:
    """Return the place of an odds factor in [-1, 1]; beyond the axis, its end."""
    if value <= 0:
        return -1.0
    return min(max(math.log(value) / math.log(reach), -1.0), 1.0)


def is_beyond(value: float, reach: float) -> bool:
    """Whether an odds factor lies beyond the end of the axis."""
    return value <= 0 or abs(math.log(value)) > math.log(reach) * (1 + 1e-9)


def tick_text(value: float) -> str:
    """Write a tick: "÷3", "1", "×10"."""
    if value == 1.0:
        return "1"
    return f"×{round(value)}" if value > 1 else f"÷{round(1.0 / value)}"
