"""The next attempts, and the conditions to recommend now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions, Role
from stirfall.bench.units import Amount
from stirfall.inference.stack import FittedModel
from stirfall.planning.box import Box, Columns, make_box
from stirfall.planning.candidates import candidate_columns, climb, join, known_columns, take
from stirfall.planning.draws import ThinDraws, thin
from stirfall.planning.first_design import spread_out, usual_columns
from stirfall.planning.goals import Goal, GoalFigure, read_goal
from stirfall.planning.jar_choice import FilmWait, choose_jar
from stirfall.planning.limits import OperatingLimits
from stirfall.planning.look_ahead import Picked, pick_batch
from stirfall.planning.reasons import give_reason, most_different, shown
from stirfall.planning.tried import outside_counts

if TYPE_CHECKING:
    from stirfall.planning.explanation import Explanation

# With no more graded attempts than this, and only one kind of outcome seen, nothing is known yet.
FEW_ATTEMPTS = 5
_DRAWS = 512
_DRAWS_FOR_BEST = 1024
_CANDIDATES = 512
# Differences in probability below this are Monte-Carlo noise: then conditions inside the tried range win.
_TIE = 0.005
_MOST_OUTSIDE = 2
# "Nothing like this was tried" must be true of old attempts as well; only very long campaigns are cut.
_MOST_TOLD = 20_000


@dataclass(frozen=True)
class Suggestion:
    """Conditions to try, why, and with which jar.

    ``outside_tried`` names the factors whose value no graded attempt bracketed. ``wait_h`` is how long the jar
    ``jar_id`` still has to age; both are None where no jar fits. ``held`` is the probability where conditions are
    held as well as the person holds them, ``figure`` what the goal promises in hours or grams (None: the goal has
    none, or it is not known), ``lot_id`` the lot of a batch that was asked for by lots, ``explanation`` what the
    attempt would settle.
    """

    conditions: Conditions
    probability: Estimate
    reason: Reason
    goal: Goal
    outside_tried: tuple[str, ...]
    jar_id: str | None
    wait_h: float | None
    held: Estimate | None = None
    figure: GoalFigure | None = None
    lot_id: str | None = None
    explanation: Explanation | None = None


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
) -> tuple[Suggestion, ...]:
    """Return up to ``count`` different next attempts, the most useful first; none where the limits block.

    While nothing is known the goal becomes FIRST_DESIGN. ``film_wait`` tells how long a jar needs to reach a film
    index. Same arguments, same answer. Raises InputError ``plan.count_not_positive`` or ``plan.goal_unknown``, and
    Cancelled.
    """
    wanted = _checked(count, goal)
    if limits.blocked or not limits.factors:
        return ()
    effective = Goal.FIRST_DESIGN if knows_nothing(state) else wanted
    box = box_for(model, limits, effective)
    if effective is Goal.FIRST_DESIGN:
        picks = [
            Picked(*pair) for pair in spread_out(box, known_columns(box, _tried(state)), count=count, seed=seed)
        ]
    else:
        picks = _by_look_ahead(model, box, _tried(state), count=count, goal=effective, seed=seed, token=token)
    made = [_suggestion(model, box, pick, effective, now=now, film_wait=film_wait) for pick in picks]
    return tuple(each for each in made if limits.allows(each.conditions))


def best(model: FittedModel, limits: OperatingLimits, state: CampaignState, *, seed: int = 0) -> Suggestion:
    """Return the conditions to recommend now: the highest mean probability within the limits.

    Searched over the continuous box; where several are as good, one inside the tried range wins. Raises the
    InputError ``limits.*`` of the blocking finding when nothing may be suggested, ``plan.no_factors``, or
    ``plan.film_out_of_reach`` where no age within the limits gives a film index inside its range.
    """
    limits.raise_if_blocked()
    if not limits.factors:
        raise InputError("plan.no_factors")
    box = box_for(model, limits, Goal.RELIABLE)
    columns = candidate_columns(box, _tried(state), count=_CANDIDATES, seed=seed)
    if not _count(columns):
        raise _out_of_reach(box)
    if limits.tried.any_graded:
        chosen, _ = find_best(box, thin(model, _DRAWS_FOR_BEST), columns, seed)
    else:
        chosen = usual_columns(box, columns)
    conditions = box.conditions(chosen, 0)
    if not limits.allows(conditions):
        raise AssertionError("the search left the operating limits")
    outside = limits.tried.outside(limits.factors, conditions)
    reason = _reason_for_best(limits, conditions, outside)
    return Suggestion(conditions, estimate_at(model, chosen), reason, Goal.RELIABLE, outside, None, None)


def _count(columns: Columns) -> int:
    return len(next(iter(columns.values())))


def _out_of_reach(box: Box) -> InputError:
    factor = next(each for each in box.limits.factors if each.name == box.follows)
    low, high = box.limits.ranges[factor.name]
    return InputError(
        "plan.film_out_of_reach", factor=factor.name, low=Amount(low, factor.unit), high=Amount(high, factor.unit)
    )


def _reason_for_best(limits: OperatingLimits, conditions: Conditions, outside: tuple[str, ...]) -> Reason:
    if not limits.tried.any_graded:
        return Reason("plan.best_unknown")
    if not outside:
        return Reason("plan.best")
    factor = next(each for each in limits.factors if each.name == outside[0])
    return Reason("plan.best_untested", {"factor": factor.name, "value": shown(factor, conditions[factor.name])})


def find_best(box: Box, draws: ThinDraws, columns: Columns, seed: int) -> tuple[Columns, float]:
    """Return the candidate with the highest mean probability after climbing, and that mean; ties go inside.

    "Inside" is the tried range: extrapolation is not recommended where it promises nothing more.
    """
    means = draws.means(columns)
    order = np.argsort(-means, kind="stable")
    found, height = climb(box, take(columns, order[:3]), draws.means, seed=seed)
    pool = join(found, take(columns, order[:64]))
    scores = draws.means(pool)
    tried = box.limits.tried
    for index in np.flatnonzero(scores >= height - _TIE):
        if not tried.outside(box.limits.factors, box.conditions(pool, int(index))):
            return take(pool, int(index)), float(scores[index])
    return found, height


def knows_nothing(state: CampaignState) -> bool:
    """Whether so few attempts were graded, all alike, that no model deserves to be asked."""
    counted = (attempt.clean_count for attempt in state.attempts)
    counts = list(islice((count for count in counted if count is not None), FEW_ATTEMPTS + 1))
    clean = sum(k for k, _ in counts)
    trials = sum(n for _, n in counts)
    return len(counts) <= FEW_ATTEMPTS and clean in (0, trials)


def box_for(model: FittedModel, limits: OperatingLimits, goal: Goal) -> Box:
    """Return the box to search: what the model knows about, or everything while a first design is laid out.

    A film index that the model leaves out is not known: nothing is suggested for it.
    """
    modelled = {factor.name for factor in model.design.factors}
    names = [factor.name for factor in (limits.factors if goal is Goal.FIRST_DESIGN else model.design.factors)]
    films = [factor.name for factor in limits.factors if factor.role is Role.FILM_INDEX and not factor.is_choice]
    unknown = [name for name in films if name not in modelled]
    return make_box(limits, names, filler=model.design.filler, unknown=unknown)


def estimate_at(model: FittedModel, columns: Columns) -> Estimate:
    """Return the full model's estimate at one candidate."""
    return model.estimate(columns)


def _checked(count: int, goal: Goal | str) -> Goal:
    if count < 1:
        raise InputError("plan.count_not_positive", count=count)
    return read_goal(goal)


def _tried(state: CampaignState) -> list[Conditions]:
    return [attempt.conditions for attempt in state.attempts if not attempt.is_struck]


def _by_look_ahead(
    model: FittedModel,
    box: Box,
    tried: list[Conditions],
    *,
    count: int,
    goal: Goal,
    seed: int,
    token: CancelToken | None,
) -> list[Picked]:
    draws = thin(model, _DRAWS)
    columns = candidate_columns(box, tried, count=_CANDIDATES, seed=seed)
    if not _count(columns):
        return []
    if goal is Goal.RELIABLE:
        # What is best now must be among the conditions that an attempt may improve on.
        columns = join(columns, find_best(box, draws, columns, seed)[0])
    columns = take(columns, _near_the_tried(box, columns))
    if token is not None:
        token.raise_if_cancelled()
    known = known_columns(box, tried, most=_MOST_TOLD)
    return pick_batch(box, draws, columns, known, count=count, goal=goal, token=token)


def _near_the_tried(box: Box, columns: Columns) -> NDArray[np.intp]:
    """Return the candidates that leave the tried range in at most two factors at once, or in as few as possible.

    A step into the unknown along every factor at once teaches little that can be told apart, and no person at a
    bench would take it. The number two is our own choice: in simulation one cost attempts, two cost none.
    """
    outside = outside_counts(box.limits.tried, box.varied, columns)
    return np.flatnonzero(outside <= max(_MOST_OUTSIDE, int(outside.min())))


def _suggestion(
    model: FittedModel, box: Box, pick: Picked, goal: Goal, *, now: datetime | None, film_wait: FilmWait | None
) -> Suggestion:
    limits, state = box.limits, box.limits.state
    conditions = box.conditions(pick.columns, 0)
    jar_id, wait_h = choose_jar(state, limits, conditions, now, film_wait if box.filler is None else None)
    return Suggestion(
        conditions=conditions,
        probability=estimate_at(model, pick.columns),
        reason=give_reason(goal, most_different(box, pick.columns, pick.known), pick, graded=limits.tried.graded),
        goal=goal,
        outside_tried=limits.tried.outside(limits.factors, conditions),
        jar_id=jar_id,
        wait_h=wait_h,
    )
