"""Orders of attempts that a campaign can follow: planned ones, and the plain ones that people use.

``next_by_order`` plays one step of any of them; rehearsals and benchmarks run whole campaigns with it. Every order
keeps to the operating limits, to the steps and to the choices, because all of them move in the same box.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Attempt
from stirfall.inference.stack import FittedModel
from stirfall.planning.box import Box, Numbers, make_box
from stirfall.planning.candidates import known_columns
from stirfall.planning.first_design import spread_out
from stirfall.planning.goals import Effort, Goal
from stirfall.planning.limits import OperatingLimits
from stirfall.planning.next_attempts import box_for, suggest

# Stops along a factor in the order that changes one at a time, as shares of its range.
_STOPS = (0.0, 1 / 3, 2 / 3, 1.0)


class Order(StrEnum):
    """How a campaign chooses its attempts one after the other; the words are shown to people."""

    LEARN = "planned to learn"
    RELIABLE = "planned for reliability"
    SOONEST = "planned for the soonest batch"
    MOST = "planned for most grams"
    SPACE_FILLING = "space filling"
    RANDOM = "random"
    ONE_FACTOR = "one factor at a time"
    REPEAT_BEST = "repeat the best"

    @property
    def goal(self) -> Goal | None:
        """The goal of a planned order, None for the plain ones."""
        found = _GOALS.get(self)
        return None if found is None else Goal(found)


_GOALS = {Order.LEARN: "learn", Order.RELIABLE: "reliable", Order.SOONEST: "soonest", Order.MOST: "most"}


def next_by_order(
    order: Order | str,
    model: FittedModel,
    limits: OperatingLimits,
    state: CampaignState,
    *,
    seed: int,
    effort: Effort = "usual",
) -> Conditions:
    """Return the conditions of the next attempt of a campaign that follows ``order``.

    ``model`` is fitted to the attempts of ``state``; the plain orders read it only where they ask what is best.
    ``effort`` "quick" is for simulated campaigns: fewer candidates and draws, else the same. Same arguments, same
    answer. Raises InputError ``limits.*`` where nothing may be tried, ``plan.no_factors``, or
    ``plan.nothing_to_try`` where no candidate is left.
    """
    chosen = Order(order)
    limits.raise_if_blocked()
    if not limits.factors:
        raise InputError("plan.no_factors")
    if chosen.goal is not None:
        made = suggest(model, limits, state, count=1, goal=chosen.goal, seed=seed, effort=effort)
        if not made:
            raise InputError("plan.nothing_to_try")
        return made[0].conditions
    box = make_box(limits, [factor.name for factor in limits.factors], filler=model.design.filler)
    if chosen is Order.RANDOM:
        return _at_random(box, state, seed)
    if chosen is Order.ONE_FACTOR:
        return _one_factor(box, state)
    if chosen is Order.REPEAT_BEST:
        return _best_tried(model, box_for(model, limits, Goal.RELIABLE), state) or _space_filling(box, state, seed)
    return _space_filling(box, state, seed)


def _made(state: CampaignState) -> list[Attempt]:
    return [attempt for attempt in state.attempts if not attempt.is_struck]


def _space_filling(box: Box, state: CampaignState, seed: int) -> Conditions:
    known = known_columns(box, [attempt.conditions for attempt in _made(state)])
    picks = spread_out(box, known, count=1, seed=seed)
    if not picks:
        raise InputError("plan.nothing_to_try")
    return box.conditions(picks[0][0], 0)


def _at_random(box: Box, state: CampaignState, seed: int) -> Conditions:
    """Return a uniform draw over the box, another one for every attempt made."""
    rng = np.random.default_rng([seed, len(_made(state)), 23])
    columns = box.decode(rng.random((64, len(box.varied))))
    inside = np.flatnonzero(box.inside(columns))
    if not len(inside):
        raise InputError("plan.nothing_to_try")
    return box.conditions(columns, int(inside[0]))


def _one_factor(box: Box, state: CampaignState) -> Conditions:
    """Return the next stop along one factor, the others as in the best attempt before this factor's turn began.

    The first attempt has the usual values; then the factors take turns, over and over. Best is the attempt with the
    best outcome: clean before parted before nothing; of equals the latest.
    """
    made = _made(state)
    usual = box.resting_columns()
    if not made or not box.varied:
        return box.conditions(usual, 0)
    turn, place = divmod(len(made) - 1, len(_STOPS))
    factor = box.varied[turn % len(box.varied)]
    before = made[: 1 + turn * len(_STOPS)]
    base = max(enumerate(before), key=lambda each: (_outcome(each[1]), each[0]))[1]
    point = _point(box, base.conditions, box.encode(usual)[0])
    axis = box.varied.index(factor)
    if factor.is_choice:
        point[axis] = (place % len(factor.levels) + 0.5) / len(factor.levels)
    else:
        point[axis] = _STOPS[place]
    return box.conditions(box.decode(point[None, :]), 0)


def _outcome(attempt: Attempt) -> float:
    """Return the share of clean trials, and half a mark for solids that left without one pool."""
    counted = attempt.clean_count
    if counted is None:
        return -1.0
    clean = counted[0] / counted[1] if counted[1] else 0.0
    return max(clean, 0.5 * float(attempt.parted is Parted.YES))


def _point(box: Box, conditions: Conditions, usual: Numbers) -> Numbers:
    known = box.encode(known_columns(box, [conditions]))[0]
    return np.clip(np.where(np.isnan(known), usual, known), 0.0, 1.0)


def _best_tried(model: FittedModel, box: Box, state: CampaignState) -> Conditions | None:
    """Return the tried conditions with the best record, (clean + 1) / (trials + 2), by the model where records tie.

    None before the first clean attempt, and where none of them is allowed any more.
    """
    records: dict[Conditions, tuple[int, int]] = {}
    for attempt in _made(state):
        if attempt.clean_count is not None and box.limits.allows(attempt.conditions):
            clean, trials = records.get(attempt.conditions, (0, 0))
            records[attempt.conditions] = (clean + attempt.clean_count[0], trials + attempt.clean_count[1])
    names = [factor.name for factor in model.design.factors]
    whole = [each for each in records if all(name in each for name in names)]
    if not any(records[each][0] for each in whole):
        return None
    means = model.means(model.design.columns(whole))
    standing = [
        ((records[each][0] + 1) / (records[each][1] + 2), mean) for each, mean in zip(whole, means, strict=True)
    ]
    return whole[max(range(len(whole)), key=standing.__getitem__)]
