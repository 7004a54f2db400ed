"""The next attempts, and the conditions to recommend now."""

from __future__ import annotations

from datetime import datetime
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.inference.stack import FittedModel
from stirfall.planning.box import Box, Columns
from stirfall.planning.candidates import candidate_columns, join, known_columns, size_of, take, tried_conditions
from stirfall.planning.control import Control, control_of, held_estimate
from stirfall.planning.draws import thin
from stirfall.planning.first_design import spread_out
from stirfall.planning.goals import Goal, read_goal
from stirfall.planning.jar_choice import FilmWait, choose_jar
from stirfall.planning.limits import OperatingLimits
from stirfall.planning.look_ahead import Picked, pick_batch
from stirfall.planning.objectives import Objective, Yield, objective_for
from stirfall.planning.reasons import give_reason, most_different
from stirfall.planning.recommended import best, figure_at, find_best
from stirfall.planning.suggestions import Suggestion, box_for
from stirfall.planning.tried import outside_counts

__all__ = ["Suggestion", "best", "box_for", "knows_nothing", "suggest"]

# With no more graded attempts than this, and only one kind of outcome seen, nothing is known yet.
FEW_ATTEMPTS = 5
_DRAWS = 512
_CANDIDATES = 512
_MOST_OUTSIDE = 2
# "Nothing like this was tried" must be true of old attempts as well; only very long campaigns are cut.
_MOST_TOLD = 20_000


def suggest(
    model: FittedModel,
    limits: OperatingLimits,
    state: CampaignState,
    *,
    count: int,
    goal: Goal | str = Goal.LEARN,
    seed: int = 0,
    now: datetime | None = None,
    token: CancelToken | None = None,
    film_wait: FilmWait | None = None,
    grams: Yield | None = None,
) -> tuple[Suggestion, ...]:
    """Return up to ``count`` different next attempts, the most useful first; none where the limits block.

    While nothing is known the goal becomes FIRST_DESIGN. ``film_wait`` tells how long a jar needs to reach a film
    index, ``grams`` what a clean attempt brings. Same arguments, same answer. Raises InputError
    ``plan.count_not_positive`` or ``plan.goal_unknown``, and Cancelled.
    """
    if count < 1:
        raise InputError("plan.count_not_positive", count=count)
    wanted = read_goal(goal)
    if limits.blocked or not limits.factors:
        return ()
    effective = Goal.FIRST_DESIGN if knows_nothing(state) else wanted
    box = box_for(model, limits, effective)
    objective = objective_for(effective, limits, now=now, grams=grams)
    tried = tried_conditions(state)
    control = control_of(box, model.design)
    if effective is Goal.FIRST_DESIGN:
        picks = [Picked(*pair) for pair in spread_out(box, known_columns(box, tried), count=count, seed=seed)]
    else:
        picks = _by_look_ahead(model, box, tried, objective, control, count=count, seed=seed, token=token)
    made = [_suggestion(model, box, pick, objective, control, now=now, film_wait=film_wait) for pick in picks]
    return tuple(each for each in made if limits.allows(each.conditions))


def knows_nothing(state: CampaignState) -> bool:
    """Whether so few attempts were graded, all alike, that no model deserves to be asked."""
    counted = (attempt.clean_count for attempt in state.attempts)
    counts = list(islice((count for count in counted if count is not None), FEW_ATTEMPTS + 1))
    clean = sum(k for k, _ in counts)
    trials = sum(n for _, n in counts)
    return len(counts) <= FEW_ATTEMPTS and clean in (0, trials)


def _by_look_ahead(
    model: FittedModel,
    box: Box,
    tried: list[Conditions],
    objective: Objective,
    control: Control,
    *,
    count: int,
    seed: int,
    token: CancelToken | None,
) -> list[Picked]:
    draws = thin(model, _DRAWS)
    columns = candidate_columns(box, tried, count=_CANDIDATES, seed=seed)
    if not size_of(columns):
        return []
    if objective.goal is not Goal.LEARN:
        # What is best now must be among the conditions that an attempt may improve on.
        columns = join(columns, find_best(box, draws, columns, seed, objective=objective, control=control)[0])
    columns = take(columns, _near_the_tried(box, columns))
    if token is not None:
        token.raise_if_cancelled()
    known = known_columns(box, tried, most=_MOST_TOLD)
    return pick_batch(box, draws, columns, known, count=count, goal=objective.goal, token=token)


def _near_the_tried(box: Box, columns: Columns) -> NDArray[np.intp]:
    """Return the candidates that leave the tried range in at most two factors at once, or in as few as possible.

    A step into the unknown along every factor at once teaches little that can be told apart, and no person at a
    bench would take it. The number two is our own choice: in simulation one cost attempts, two cost none.
    """
    outside = outside_counts(box.limits.tried, box.varied, columns)
    return np.flatnonzero(outside <= max(_MOST_OUTSIDE, int(outside.min())))


def _suggestion(
    model: FittedModel,
    box: Box,
    pick: Picked,
    objective: Objective,
    control: Control,
    *,
    now: datetime | None,
    film_wait: FilmWait | None,
) -> Suggestion:
    limits, state = box.limits, box.limits.state
    conditions = box.conditions(pick.columns, 0)
    jar_id, wait_h = choose_jar(state, limits, conditions, now, film_wait if box.filler is None else None)
    differs = most_different(box, pick.columns, pick.known)
    return Suggestion(
        conditions=conditions,
        probability=model.estimate(pick.columns),
        reason=give_reason(objective.goal, differs, pick, graded=limits.tried.graded),
        goal=objective.goal,
        outside_tried=limits.tried.outside(limits.factors, conditions),
        jar_id=jar_id,
        wait_h=wait_h,
        held=held_estimate(model, control, pick.columns),
        figure=figure_at(model, objective, control, pick.columns),
    )
