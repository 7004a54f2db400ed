"""Playing one rehearsed campaign: choose, attempt, learn, recommend, until the recipe is as good as wanted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.bench.units import convert
from stirfall.inference.design import Design
from stirfall.inference.odds import OddsModel
from stirfall.planning.box import Columns
from stirfall.planning.candidates import candidate_columns, climb, take
from stirfall.planning.limits import OperatingLimits, operating_limits
from stirfall.planning.orders import Order, next_by_order
from stirfall.planning.rehearsal_calendar import Ages, BenchBook
from stirfall.planning.rehearsal_fit import Recipe, quick_best, quick_fit
from stirfall.planning.rehearsal_task import Rules
from stirfall.planning.rehearsal_truth import Truth, clean_at

FloatArray = NDArray[np.float64]

_CANDIDATES = 1024
# The recipe has settled where it stayed good enough for so many attempts on end: the first time may be luck.
STAYS = 3


@dataclass(frozen=True)
class Played:
    """One campaign by one order: ``number`` is that of its truth.

    ``first`` is the number of further attempts after which the recipe's true probability was at least the target,
    ``settled`` the same where it then stayed so for three attempts on end; None where that did not happen.
    ``path`` is that probability before the first attempt and after each, ``weeks`` the weeks that had passed.
    ``ceiling`` is the best that the truth has within the limits, among many candidates.
    """

    order: str
    number: int
    first: int | None
    settled: int | None
    path: tuple[float, ...]
    weeks: tuple[float, ...]
    ceiling: float


def play(
    rules: Rules, truth: Truth, order: Order | str, number: int, is_stopped: Callable[[], bool] | None = None
) -> Played | None:
    """Play campaign ``number`` by one order and return how it went; None where it was stopped.

    Chance is the same for every order: the truth, and the numbers that decide the outcome of attempt k. Same
    arguments, same answer.
    """
    chances = np.random.default_rng([rules.seed, number, 77]).random((rules.most, 2))
    seed = (rules.seed * 100_003 + number) % 2**31
    book = BenchBook(rules.calendar, rules.shelf, rules.jars_at_once, rules.lot, _longest(rules))
    now = _looked_at(rules, truth, rules.state, seed)
    path, weeks = [now.recipe_clean], [0.0]
    ceiling = _ceiling(rules, truth, now, seed)
    for chance in chances:
        if is_stopped is not None and is_stopped():
            return None
        if _settled(path, rules.target) is not None:
            break
        conditions = next_by_order(order, now.model, now.limits, now.state, seed=seed, effort="quick")
        booking = book.book(rules.wanted_ages(conditions))
        made = _attempt(rules, truth, now.state, conditions, lot=booking.lot, chance=chance)
        now = _looked_at(rules, truth, replace(now.state, attempts=(*now.state.attempts, made)), seed)
        path.append(now.recipe_clean)
        weeks.append(booking.ends_h / 168.0)
    return Played(
        str(order),
        number,
        next((place for place, clean in enumerate(path) if clean >= rules.target), None),
        _settled(path, rules.target),
        tuple(round(clean, 4) for clean in path),
        tuple(round(week, 4) for week in weeks),
        round(max(ceiling, *path), 4),
    )


class _Now(NamedTuple):
    """A campaign after so many attempts: what it says, and how good its recipe really is."""

    state: CampaignState
    limits: OperatingLimits
    model: OddsModel
    recipe: Recipe
    recipe_clean: float


def _looked_at(rules: Rules, truth: Truth, state: CampaignState, seed: int) -> _Now:
    limits, model = operating_limits(state), quick_fit(rules, state)
    limits.raise_if_blocked()
    recipe = quick_best(model, limits, state, seed=seed)
    return _Now(state, limits, model, recipe, float(_held(rules, truth, recipe, recipe.columns)[0]))


def _held(rules: Rules, truth: Truth, recipe: Recipe, columns: Columns) -> FloatArray:
    """Return the (c,) true probabilities averaged over how well the conditions are held."""
    return np.asarray(recipe.control.average(columns, lambda some: clean_at(truth, some, rules.lot)), dtype=float)


def _settled(path: Sequence[float], target: float) -> int | None:
    """Return the first place from which the path stays at the target or above it ``STAYS`` times on end."""
    good = [clean >= target for clean in path]
    return next((at for at in range(len(path) - STAYS + 1) if all(good[at : at + STAYS])), None)


def _ceiling(rules: Rules, truth: Truth, now: _Now, seed: int) -> float:
    def height(columns: Columns) -> FloatArray:
        return _held(rules, truth, now.recipe, columns)

    columns = candidate_columns(now.recipe.box, (), count=_CANDIDATES, seed=seed)
    starts = take(columns, np.argsort(-height(columns), kind="stable")[:3])
    return climb(now.recipe.box, starts, height, rounds=3, seed=seed)[1]


def _attempt(
    rules: Rules, truth: Truth, state: CampaignState, conditions: Conditions, *, lot: str | None, chance: FloatArray
) -> Attempt:
    """Return what happens: graded, or counted where the campaign's attempts are."""
    columns = Design(state.visible_factors, filler=rules.filler).columns([conditions])
    follows = None if rules.filler is None else rules.filler.name
    if follows is not None and follows not in conditions and np.isfinite(columns[follows][0]):
        # As for a real attempt, what follows from other factors is known afterwards, told or not.
        conditions = conditions.with_value(follows, float(columns[follows][0]))
    parted, pooled = (float(gate[0]) for gate in truth.gates(columns, lot))
    number = len(state.attempts) + 1
    blank = Attempt(f"rehearsed {number}", number, conditions, lot_id=lot)
    has_parted, has_pooled = chance[0] < parted, chance[1] < pooled
    if rules.gates == 1:
        return replace(blank, successes=int(has_parted and has_pooled))
    if not has_parted:
        return replace(blank, parted=Parted.NO)
    return replace(blank, parted=Parted.YES, pooled=Pooled.ONE_POOL if has_pooled else Pooled.BEADS)


def _longest(rules: Rules) -> Ages:
    """Return the most that the limits allow of every age, in hours."""
    ranges = operating_limits(rules.state).ranges
    return tuple(convert(ranges[factor.name][1], factor.unit, "h") for factor in rules.age_factors)
