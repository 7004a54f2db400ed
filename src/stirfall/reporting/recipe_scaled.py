"""The steps of a recipe written for a batch of its size: values that move with it, and the amounts that go in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stirfall.reporting.recipe_batch import BatchLine, BatchSize
from stirfall.reporting.recipe_parts import RecipeValue, Remark, Step

_STEP_OF_AMOUNT = {"charge": "take", "additive": "add", "oil_cold": "warm", "oil": "warm"}


def scaled_values(values: Sequence[RecipeValue], batch: BatchSize) -> tuple[RecipeValue, ...]:
    """Return the values for the batch: those that move with its size, and their ranges with them."""
    moved = dict(batch.scaled)
    return tuple(_times(value, moved[value.name]) if value.name in moved else value for value in values)


def _times(value: RecipeValue, ratio: float) -> RecipeValue:
    if isinstance(value.value, str):
        return value
    low, high = (None if end is None else _rounded(end * ratio) for end in (value.low, value.high))
    return replace(value, value=_rounded(value.value * ratio), low=low, high=high)


def _rounded(number: float) -> float:
    return float(f"{number:.3g}")


def with_amounts(steps: Sequence[Step], batch: BatchSize | None) -> tuple[Step, ...]:
    """Return the steps with what goes in at each: charge, oil and additive of the batch."""
    if batch is None:
        return tuple(steps)
    told: dict[str, list[tuple[str, str]]] = {}
    keys = {step.key for step in steps}
    for line in batch.lines:
        place = _STEP_OF_AMOUNT.get(line.key)
        if place is not None and line.after:
            told.setdefault(place if place in keys else "take", []).append(_amount(line))
    return tuple(replace(step, amounts=tuple(told.get(step.key, ()))) for step in steps)


def _amount(line: BatchLine) -> tuple[str, str]:
    names = {"charge": "charge", "additive": "additive", "oil_cold": "oil, measured cold", "oil": "oil when hot"}
    return names[line.key], line.shown_after


def batch_remarks(batch: BatchSize) -> tuple[Remark, ...]:
    """Return what must be heeded about the size."""
    return tuple(Remark(each.level, each.code, each.text) for each in batch.warnings)
