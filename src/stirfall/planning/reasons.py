"""Why an attempt is suggested: one code with the parameters of one plain sentence."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from stirfall.bench.estimates import Reason, whole_percent
from stirfall.bench.factors import Factor, Value
from stirfall.bench.units import Amount
from stirfall.planning.box import Box, Columns
from stirfall.planning.first_design import squared_gaps
from stirfall.planning.goals import Goal
from stirfall.planning.look_ahead import Picked

# Closer than this share of the range is the same conditions again.
_SAME = 0.02
# A chance within this of the best known is near it; ten per cent is what a bench could ever tell (our proposal).
_NEAR = 0.10


def shown(factor: Factor, value: Value) -> object:
    """Return a value of ``factor`` as it is put into a sentence."""
    return f"“{value}”" if isinstance(value, str) else Amount(value, factor.unit)


def most_different(box: Box, columns: Columns, known: Columns) -> tuple[Factor, object] | None:
    """Return the factor in which a candidate differs most from what is known, with its value, or None.

    It is the factor without which the candidate would lie nearest to known conditions, so that "nothing like this
    was tried at 6 h" is true; a factor outside the tried range goes first. None means that these very conditions
    are known, or that nothing varies.
    """
    if not box.varied:
        return None
    here = box.encode(columns)
    there = box.encode(known) if len(known[box.varied[0].name]) else np.full((1, here.shape[1]), 0.5)
    gaps = squared_gaps(box, here, there)[0]
    whole = gaps.sum(axis=1)
    if whole.min() < _SAME**2:
        return None
    without = (whole[:, None] - gaps).min(axis=0)
    conditions = box.conditions(columns, 0)
    outside = box.limits.tried.outside(box.varied, conditions)
    untested = [axis for axis, factor in enumerate(box.varied) if factor.name in outside]
    axis = min(untested or range(len(box.varied)), key=lambda each: float(without[each]))
    factor = box.varied[axis]
    return factor, shown(factor, conditions[factor.name])


def give_reason(
    goal: Goal,
    differs: tuple[Factor, object] | None,
    pick: Picked,
    *,
    graded: int,
    amount: Callable[[float], object] | None = None,
) -> Reason:
    """Return the reason for a picked candidate, with the factor in which it ``differs`` from what is known.

    ``amount`` writes a worth as what the goal counts, hours or grams a week; None where that is not known.
    """
    params: dict[str, object] = {"n": graded}
    if differs is not None:
        params |= {"factor": differs[0].name, "value": differs[1]}
    if goal is Goal.FIRST_DESIGN:
        return Reason(_first_code(pick, differs), params)
    if differs is None:
        return Reason("plan.again", params)
    if goal is Goal.LEARN:
        return Reason(_learn_code(pick.gates), params)
    if goal in (Goal.SOONEST, Goal.MOST):
        return _figure_reason(goal, pick, params, amount)
    params |= {"now": whole_percent(pick.now), "then": whole_percent(pick.then), "here": whole_percent(pick.here)}
    return Reason(_reliable_code(pick), params)


def _first_code(pick: Picked, differs: tuple[Factor, object] | None) -> str:
    if not len(next(iter(pick.known.values()), ())):
        return "plan.first"
    return "plan.first_again" if differs is None else "plan.first_spread"


def _figure_reason(
    goal: Goal, pick: Picked, params: dict[str, object], amount: Callable[[float], object] | None
) -> Reason:
    now, then = (None, None) if amount is None else (amount(pick.now), amount(pick.then))
    if now is None or str(now) == str(then):
        return Reason("plan.soonest_compare" if goal is Goal.SOONEST else "plan.most_compare", params)
    params |= {"now": now, "then": then}
    return Reason("plan.soonest_raise" if goal is Goal.SOONEST else "plan.most_raise", params)


def _reliable_code(pick: Picked) -> str:
    if whole_percent(pick.then) > whole_percent(pick.now):
        return "plan.reliable_raise"
    return "plan.reliable_settle" if pick.here >= pick.now - _NEAR else "plan.reliable_compare"


def _learn_code(gates: Sequence[float]) -> str:
    if len(gates) == 1:
        return "plan.learn_clean"
    # The gate nearer to an even chance, weighted by how often it is seen, is the one that the attempt tells about.
    parted, pooled = gates
    parting, pooling = parted * (1.0 - parted), parted * pooled * (1.0 - pooled)
    return "plan.learn_parting" if parting >= pooling else "plan.learn_pooling"
