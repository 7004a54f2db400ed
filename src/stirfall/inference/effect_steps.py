"""The natural step of a factor: a doubling on a log scale, a round amount of its unit on a linear one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from stirfall.bench.factors import Factor, Scale

StepKind = Literal["ratio", "amount", "level"]

_WIDE = 1e4
_NARROW = 1e-12
_PART_OF_RANGE = 5.0


@dataclass(frozen=True)
class Step:
    """One natural step: a "ratio" of values, an "amount" in the factor's unit, or "level" for a choice (size 1)."""

    kind: StepKind
    size: float


LEVEL_STEP = Step("level", 1.0)


def natural_step(factor: Factor) -> Step:
    """Return the step of a number in which its effect is told.

    On a log scale a doubling; tenfold where the range spans four decades or more; where it spans less than a
    doubling, a smaller ratio 1 + s with s one of 1, 2, 5 times a power of ten, as large as the range allows. On a
    linear scale the amount of that kind nearest to a fifth of the range (on a log scale; an eighth to a third).
    Raises InputError ``factor.is_choice`` for a choice.
    """
    low, high = factor.bounds
    if factor.scale is Scale.LOG:
        return Step("ratio", _ratio(high / low))
    return Step("amount", _nearest_round((high - low) / _PART_OF_RANGE))


def step_length(factor: Factor, step: Step) -> float:
    """Return the length of a step of a number on the internal scale, on which the range has the length 2."""
    low, high = factor.bounds
    if step.kind == "ratio":
        return 2.0 * math.log(step.size) / (math.log(high) - math.log(low))
    return 2.0 * step.size / (high - low)


def _ratio(span: float) -> float:
    if span >= _WIDE:
        return 10.0
    if span >= 2.0:
        return 2.0
    return 1.0 + _round_below(max(span - 1.0, _NARROW))


def _rungs(value: float) -> list[float]:
    """Return the 1-2-5 numbers around a positive value, smallest first."""
    exponent = math.floor(math.log10(value))
    return [float(f"{lead}e{power}") for power in (exponent - 1, exponent, exponent + 1) for lead in (1, 2, 5)]


def _round_below(value: float) -> float:
    # The thousandth forgives rounding of a range that spans exactly a round ratio, such as 1.0 to 1.2.
    return max(rung for rung in _rungs(value) if rung <= value * 1.001)


def _nearest_round(value: float) -> float:
    return min(_rungs(value), key=lambda rung: abs(math.log(rung / value)))
