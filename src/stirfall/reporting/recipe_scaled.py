"""The steps of a recipe written for a batch of its size: values that move with it, and the amounts that go in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stirfall.reporting.recipe_batch import BatchSize
from stirfall.reporting.recipe_parts import RecipeValue, Remark, Step


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


def with_amounts(steps: Sequence[Step], batch: BatchSize | None, *, additive: str = "additive") -> tuple[Step, ...]:
    """Return the steps with what goes in at each: charge, oil and additive of the batch."""
    if batch is None:
        return tuple(steps)
    told = {"take": _charge(batch), "warm": _oil(batch), "add": _additive(batch, additive)}
    return tuple(replace(step, amounts=told.get(step.key, ())) for step in steps)


def _charge(batch: BatchSize) -> tuple[tuple[str, str], ...]:
    line = batch.line("charge")
    return () if line is None else (("charge", line.shown_after),)


def _oil(batch: BatchSize) -> tuple[tuple[str, str], ...]:
    hot, cold = batch.line("oil"), batch.line("oil_cold")
    if hot is None or hot.after is None:
        return ()
    if cold is None or cold.after is None:
        return (("oil", f"{hot.shown_after} when hot"),)
    return (("oil", f"{cold.shown_after} measured cold, {hot.shown_after} when hot"),)


def _additive(batch: BatchSize, name: str) -> tuple[tuple[str, str], ...]:
    line = batch.line("additive")
    return ((name, line.shown_after),) if line is not None and line.after else ()


def batch_remarks(batch: BatchSize) -> tuple[Remark, ...]:
    """Return what must be heeded about the size."""
    return tuple(Remark(each.level, each.code, each.text) for each in batch.warnings)
