"""Why an attempt is suggested: one code with the parameters of one plain sentence."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor
from stirfall.bench.units import Amount
from stirfall.planning.box import Box, Columns
from stirfall.planning.goals import Goal
from stirfall.planning.look_ahead import Picked

# A difference below this share of the range is none.
_NEW = 0.02


def shown_value(factor: Factor, number: float) -> object:
    """Return a candidate's value of ``factor`` for a sentence."""
    return f"“{factor.levels[int(number)]}”" if factor.is_choice else Amount(float(number), factor.unit)


def whole_percent(probability: float) -> int:
    """Return whole per cents, never 0 and never 100: no number of attempts shows those."""
    return min(99, max(1, round(100.0 * probability)))


def most_different(box: Box, columns: Columns, known: Columns) -> tuple[Factor, object] | None:
    """Return the factor in which a candidate lies farthest from all of ``known``, with its value, or None.

    Distances are shares of the allowed range. Where each value alone was used before, the nearest known conditions
    decide: the factor in which they differ most. None means that these very conditions are known, or that nothing
    varies.
    """
    if not box.varied:
        return None
    here = box.encode(columns)[0]
    there = box.encode(known) if len(known[box.varied[0].name]) else np.full((1, len(here)), 0.5)
    gaps = np.abs(there - here)
    for axis, factor in enumerate(box.varied):
        if factor.is_choice:
            gaps[:, axis] = gaps[:, axis] > 1e-9
    gaps = np.nan_to_num(gaps, nan=0.0)
    alone = gaps.min(axis=0)
    nearest = gaps[int(np.argmin((gaps**2).sum(axis=1)))]
    axis = int(np.argmax(alone if alone.max() >= _NEW else nearest))
    if max(alone.max(), nearest.max()) < _NEW:
        return None
    factor = box.varied[axis]
    return factor, shown_value(factor, float(columns[factor.name][0]))


def give_reason(goal: Goal, differs: tuple[Factor, object] | None, pick: Picked, *, graded: int) -> Reason:
    """Return the reason for a picked candidate, with the factor in which it ``differs`` from what is known."""
    params: dict[str, object] = {"n": graded}
    if differs is not None:
        params |= {"factor": differs[0].name, "value": differs[1]}
    if goal is Goal.FIRST_DESIGN:
        return Reason(_first_code(pick, differs), params)
    if differs is None:
        return Reason("plan.again", params)
    if goal is Goal.LEARN:
        return Reason(_learn_code(pick.gates), params)
    params |= {"now": whole_percent(pick.now), "then": whole_percent(pick.then), "here": whole_percent(pick.here)}
    raises = whole_percent(pick.then) > whole_percent(pick.now)
    return Reason("plan.reliable_raise" if raises else "plan.reliable_settle", params)


def _first_code(pick: Picked, differs: tuple[Factor, object] | None) -> str:
    if not len(next(iter(pick.known.values()), ())):
        return "plan.first"
    return "plan.first_again" if differs is None else "plan.first_spread"


def _learn_code(gates: Sequence[float]) -> str:
    if len(gates) == 1:
        return "plan.learn_clean"
    # The gate nearer to an even chance, weighted by how often it is seen, is the one that the attempt tells about.
    parted, pooled = gates
    parting, pooling = parted * (1.0 - parted), parted * pooled * (1.0 - pooled)
    return "plan.learn_parting" if parting >= pooling else "plan.learn_pooling"
