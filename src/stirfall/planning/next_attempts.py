"""The next attempts, and the conditions to recommend now."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import islice

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.inference.stack import FittedModel
from stirfall.planning.batch import Search, near_the_tried, pick_batch
from stirfall.planning.box import Box, Columns
from stirfall.planning.candidates import (
    candidate_columns,
    join,
    known_columns,
    size_of,
    take,
    tried_conditions,
    with_ages,
)
from stirfall.planning.control import Control, control_of, held_estimate
from stirfall.planning.draw_optima import draw_optima
from stirfall.planning.draws import ThinDraws, thin
from stirfall.planning.explanation import Ground, lay_ground
from stirfall.planning.explanation import explain as explain_pick
from stirfall.planning.first_design import spread_out
from stirfall.planning.goals import Effort, Goal, read_goal
from stirfall.planning.jar_choice import FilmWait, choose_jar
from stirfall.planning.limits import OperatingLimits
from stirfall.planning.look_ahead import Picked
from stirfall.planning.objectives import Objective, Yield, objective_for
from stirfall.planning.reasons import give_reason, most_different
from stirfall.planning.recommended import BEST_DRAWS, best, figure_at, find_best
from stirfall.planning.suggestions import Suggestion, box_for

__all__ = ["Suggestion", "best", "box_for", "knows_nothing", "suggest"]

# With no more graded attempts than this, and only one kind of outcome seen, nothing is known yet.
FEW_ATTEMPTS = 5
_DRAWS, _FEW_DRAWS = 512, 256
_CANDIDATES, _FEW_CANDIDATES = 512, 128
# Draws whose own optimum is a candidate too.
_OPTIMA = 64
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
    lots: Sequence[str] = (),
    explain: bool = False,
    effort: Effort = "usual",
) -> tuple[Suggestion, ...]:
    """Return up to ``count`` different next attempts, the most useful first; none where the limits block.

    While nothing is known the goal becomes FIRST_DESIGN. ``film_wait`` tells how long a jar needs to reach a film
    index, ``grams`` what a clean attempt brings. With ``lots`` each attempt is for one of them, spread evenly, and
    its figures are those of the lot. ``explain`` adds what each would settle. ``effort`` "quick" is for simulated
    campaigns: fewer candidates and draws, none moved afterwards, and no figures. Same arguments, same answer.
    Raises InputError ``plan.count_not_positive``, ``plan.goal_unknown`` or ``plan.lot_unknown``, and Cancelled.
    """
    if count < 1:
        raise InputError("plan.count_not_positive", count=count)
    wanted = read_goal(goal)
    _check_lots(state, lots)
    if limits.blocked or not limits.factors:
        return ()
    effective = Goal.FIRST_DESIGN if knows_nothing(state) else wanted
    box = box_for(model, limits, effective)
    objective = objective_for(effective, limits, now=now, grams=grams)
    asked = _Asked(model, box, objective, control_of(box, model.design), seed, effort, tuple(dict.fromkeys(lots)))
    if token is not None:
        token.raise_if_cancelled()
    picks, ground = _picks(asked, count, explain=explain, token=token)
    made = [_suggestion(asked, pick, ground, film_wait) for pick in picks]
    return tuple(each for each in made if limits.allows(each.conditions))


@dataclass(frozen=True, eq=False)
class _Asked:
    """One question: the model, where to look, and what for."""

    model: FittedModel
    box: Box
    objective: Objective
    control: Control
    seed: int
    effort: Effort
    lots: tuple[str, ...]

    @property
    def state(self) -> CampaignState:
        return self.box.limits.state

    @property
    def is_quick(self) -> bool:
        return self.effort == "quick"


def knows_nothing(state: CampaignState) -> bool:
    """Whether so few attempts were graded, all alike, that no model deserves to be asked."""
    counted = (attempt.clean_count for attempt in state.attempts)
    counts = list(islice((count for count in counted if count is not None), FEW_ATTEMPTS + 1))
    clean = sum(k for k, _ in counts)
    trials = sum(n for _, n in counts)
    return len(counts) <= FEW_ATTEMPTS and clean in (0, trials)


def _check_lots(state: CampaignState, lots: Sequence[str]) -> None:
    for lot in lots:
        if state.lot(lot) is None:
            known = ", ".join(each.id for each in state.lots) or "–"
            raise InputError("plan.lot_unknown", lot=lot, known=known)


def _picks(
    asked: _Asked, count: int, *, explain: bool, token: CancelToken | None
) -> tuple[list[Picked], Ground | None]:
    box, state = asked.box, asked.state
    known = known_columns(box, tried_conditions(state), most=_MOST_TOLD)
    draws = thin(asked.model, _FEW_DRAWS if asked.is_quick else _DRAWS)
    if asked.objective.goal is Goal.FIRST_DESIGN:
        pairs = spread_out(box, known, count=count, seed=asked.seed)
        turns = itertools.cycle(asked.lots or (None,))
        picks = [Picked(*pair, lot_id=lot) for pair, lot in zip(pairs, turns, strict=False)]
        usual = box.resting_columns()
        return picks, _ground(asked, draws, usual, usual, has_recipe=False) if explain else None
    few = _FEW_CANDIDATES if asked.is_quick else _CANDIDATES
    columns = candidate_columns(box, tried_conditions(state), count=few, seed=asked.seed)
    if not size_of(columns):
        return [], None
    columns = with_ages(box, columns, asked.objective.ages_at_hand())
    top = None
    if explain or asked.objective.goal is not Goal.LEARN:
        # With the draws that ``best`` has, so that there is one recommended recipe.
        many = draws if asked.is_quick else thin(asked.model, BEST_DRAWS)
        top, _ = find_best(
            box, many, columns, asked.seed, objective=asked.objective, control=asked.control, effort=asked.effort
        )
        # What is best now must be among the conditions that an attempt may improve on.
        columns = join(columns, top)
    if asked.objective.goal is not Goal.LEARN:
        columns = join(columns, draw_optima(box, draws, columns, count=_OPTIMA, seed=asked.seed))
    lots = {lot: thin(asked.model.for_lot(lot), draws.size) for lot in asked.lots}
    near = take(columns, near_the_tried(box, columns))
    search = Search(box, asked.objective, draws, near, known, lots, not asked.is_quick, asked.seed)
    picks = pick_batch(search, count=count, token=token)
    return picks, _ground(asked, draws, top, columns) if explain and top is not None else None


def _ground(
    asked: _Asked, draws: ThinDraws, best_now: Columns, columns: Columns, *, has_recipe: bool = True
) -> Ground:
    return lay_ground(
        asked.box,
        draws,
        asked.state.attempts,
        best=best_now,
        estimate=asked.model.estimate(best_now),
        candidates=columns,
        utilities=asked.objective.utilities,
        as_good=asked.objective.as_good if asked.objective.goal is Goal.SOONEST else None,
        has_recipe=has_recipe,
        seed=asked.seed,
    )


def _suggestion(asked: _Asked, pick: Picked, ground: Ground | None, film_wait: FilmWait | None) -> Suggestion:
    box, objective, limits = asked.box, asked.objective, asked.box.limits
    conditions = box.conditions(pick.columns, 0)
    wait = film_wait if box.filler is None else None
    jar_id, wait_h = choose_jar(asked.state, limits, conditions, objective.now, wait, lot_id=pick.lot_id)
    model = asked.model if pick.lot_id is None else asked.model.for_lot(pick.lot_id)
    probability = model.estimate(pick.columns)
    objective = replace(objective, lot_id=pick.lot_id)
    return Suggestion(
        conditions=conditions,
        probability=probability,
        reason=give_reason(
            objective.goal,
            most_different(box, pick.columns, pick.known),
            pick,
            graded=limits.tried.graded,
            amount=objective.amount,
        ),
        goal=objective.goal,
        outside_tried=limits.tried.outside(limits.factors, conditions),
        jar_id=jar_id,
        wait_h=wait_h,
        held=None if asked.is_quick else held_estimate(model, asked.control, pick.columns),
        figure=None if asked.is_quick else figure_at(model, objective, asked.control, pick.columns),
        lot_id=pick.lot_id,
        explanation=None if ground is None else explain_pick(ground, pick.columns, probability),
    )
