"""The conditions to recommend now: the best for a goal, averaged over how well the person holds them."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.units import Amount
from stirfall.inference.stack import FittedModel
from stirfall.planning.box import Box, Columns, Numbers
from stirfall.planning.candidates import (
    Score,
    candidate_columns,
    climb,
    join,
    size_of,
    take,
    tried_conditions,
    with_ages,
)
from stirfall.planning.control import HELD_EXACTLY, Control, control_of, held_draws, held_estimate
from stirfall.planning.draws import ThinDraws, thin
from stirfall.planning.first_design import usual_columns
from stirfall.planning.gains import Array
from stirfall.planning.goals import Effort, Goal, GoalFigure, read_goal
from stirfall.planning.limits import OperatingLimits
from stirfall.planning.objectives import Objective, Yield, objective_for
from stirfall.planning.reasons import shown
from stirfall.planning.suggestions import Suggestion, box_for

BEST_DRAWS = 1024
# Draws that are enough to tell where to look.
_FEW = 256
_CANDIDATES = 512
_FROM = 3
_POOL = 24
# The reason for each goal, inside what was tried and outside of it.
_CODES = {
    Goal.RELIABLE: ("plan.best", "plan.best_untested"),
    Goal.SOONEST: ("plan.best_soonest", "plan.best_soonest_untested"),
    Goal.MOST: ("plan.best_most", "plan.best_most_untested"),
}
_WITH_FIGURE = (Goal.SOONEST, Goal.MOST)


def best(
    model: FittedModel,
    limits: OperatingLimits,
    state: CampaignState,
    *,
    goal: Goal | str = Goal.RELIABLE,
    seed: int = 0,
    now: datetime | None = None,
    grams: Yield | None = None,
    effort: Effort = "usual",
) -> Suggestion:
    """Return the conditions to recommend now: those with the highest mean worth for the goal within the limits.

    The worth is averaged over the control error, searched over the continuous box; where several are as good, one
    inside the tried range wins. LEARN and FIRST_DESIGN recommend as RELIABLE does. ``now`` lets jars on the shelf
    count for the soonest batch, ``grams`` what a clean attempt brings. Raises the InputError ``limits.*`` of the
    blocking finding when nothing may be suggested, ``plan.no_factors``, ``plan.goal_unknown``, or
    ``plan.film_out_of_reach`` where no age within the limits gives a film index inside its range.
    """
    wanted = read_goal(goal)
    limits.raise_if_blocked()
    if not limits.factors:
        raise InputError("plan.no_factors")
    effective = wanted if wanted in _WITH_FIGURE else Goal.RELIABLE
    box = box_for(model, limits, effective)
    columns = candidate_columns(box, tried_conditions(state), count=_CANDIDATES, seed=seed)
    if not size_of(columns):
        raise _out_of_reach(box)
    control = control_of(box, model.design)
    objective = objective_for(effective, limits, now=now, grams=grams)
    columns = with_ages(box, columns, objective.ages_at_hand())
    if limits.tried.any_graded:
        draws = thin(model, _FEW if effort == "quick" else BEST_DRAWS)
        chosen, _ = find_best(box, draws, columns, seed, objective=objective, control=control, effort=effort)
    else:
        chosen = usual_columns(box, columns)
    conditions = box.conditions(chosen, 0)
    if not limits.allows(conditions):
        raise AssertionError("the search left the operating limits")
    outside = limits.tried.outside(limits.factors, conditions)
    return Suggestion(
        conditions,
        model.estimate(chosen),
        _reason(limits, effective, conditions, outside),
        effective,
        outside,
        None,
        None,
        held=held_estimate(model, control, chosen),
        figure=figure_at(model, objective, control, chosen),
    )


def find_best(
    box: Box,
    draws: ThinDraws,
    columns: Columns,
    seed: int,
    *,
    objective: Objective,
    control: Control,
    effort: Effort = "usual",
) -> tuple[Columns, float]:
    """Return the candidate with the highest mean worth after climbing, and that worth; ties go inside.

    "Inside" is the tried range: extrapolation is not recommended where it promises nothing more. A few draws
    without control error find the hills, all draws with it choose. With ``effort`` "quick" nothing is polished.
    """
    score, rough = worth_of(draws, objective, control), worth_of(draws.few(_FEW), objective, HELD_EXACTLY)
    order = np.argsort(-rough(columns), kind="stable")
    hill, _ = climb(box, take(columns, order[:_FROM]), rough, rounds=2, seed=seed)
    pool = join(hill, take(columns, order[:_POOL]))
    scores = score(pool)
    found, height = climb(box, take(pool, int(np.argmax(scores))), score, rounds=1, reach=0.1, seed=seed)
    if effort != "quick":
        found, height = climb(box, found, score, rounds=1, reach=0.03, lines=False, seed=seed + 1)
    pool, scores = join(found, pool), np.append(height, scores)
    tried = box.limits.tried
    for index in np.flatnonzero(scores >= height - objective.noise(height)):
        if not tried.outside(box.limits.factors, box.conditions(pool, int(index))):
            return take(pool, int(index)), float(scores[index])
    return found, height


def worth_of(draws: ThinDraws, objective: Objective, control: Control) -> Score:
    """Return the score of a goal: its mean worth over draws, each draw averaged over the control error first.

    Every attempt meets a scatter of its own, so that retries follow the averaged probability.
    """
    if objective.goal not in _WITH_FIGURE:
        return lambda columns: np.asarray(control.average(columns, draws.means), dtype=float)

    def score(columns: Columns) -> Numbers:
        def worth(clean: Array) -> Array:
            return objective.utilities(control.averaged(clean), columns)

        return draws.expected(control.spread(columns), worth)

    return score


def figure_at(model: FittedModel, objective: Objective, control: Control, columns: Columns) -> GoalFigure | None:
    """Return what the goal promises at one condition, the control error averaged over; None without a figure."""
    if objective.goal not in _WITH_FIGURE:
        return None
    return objective.figure(held_draws(model, control, columns), model.weights, columns, model.level)


def _out_of_reach(box: Box) -> InputError:
    factor = next(each for each in box.limits.factors if each.name == box.follows)
    low, high = box.limits.ranges[factor.name]
    return InputError(
        "plan.film_out_of_reach", factor=factor.name, low=Amount(low, factor.unit), high=Amount(high, factor.unit)
    )


def _reason(limits: OperatingLimits, goal: Goal, conditions: Conditions, outside: tuple[str, ...]) -> Reason:
    if not limits.tried.any_graded:
        return Reason("plan.best_unknown")
    inside, untested = _CODES[goal]
    if not outside:
        return Reason(inside)
    factor = next(each for each in limits.factors if each.name == outside[0])
    return Reason(untested, {"factor": factor.name, "value": shown(factor, conditions[factor.name])})
