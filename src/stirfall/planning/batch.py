"""Choosing a batch by look-ahead: each attempt for what it is expected to tell, given those chosen before it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from stirfall.bench.cancel import CancelToken
from stirfall.planning.box import Box, Columns, Numbers
from stirfall.planning.candidates import climb, join, take
from stirfall.planning.draws import ThinDraws
from stirfall.planning.first_design import distances
from stirfall.planning.gains import Array, fantasy_weights, outcome_classes
from stirfall.planning.look_ahead import Judge, Picked, appoint
from stirfall.planning.objectives import Objective
from stirfall.planning.tried import outside_counts

# Two suggestions of one batch lie at least this far apart, in shares of the ranges (our proposal).
_APART = 0.15
# The best so many candidates are moved on the continuous box, in so many rounds.
_CLIMBERS = 3
_ROUNDS = 2
_REACH = 0.12
_MOST_OUTSIDE = 2


@dataclass(frozen=True, eq=False)
class Search:
    """What a batch is chosen from: candidates, draws, and what is known before it.

    ``draws`` answer for what is recommended; ``lots`` holds those of each lot that the batch is for, draw by draw
    the same parameters, empty where lots do not matter. ``refine`` moves the best candidates on the continuous box.
    """

    box: Box
    objective: Objective
    draws: ThinDraws
    columns: Columns
    known: Columns
    lots: Mapping[str, ThinDraws] = field(default_factory=dict)
    refine: bool = True
    seed: int = 0


def pick_batch(search: Search, *, count: int, token: CancelToken | None = None) -> list[Picked]:
    """Return up to ``count`` candidates, chosen one by one; each reweights the draws for those after it.

    Lots are blocks: no lot gets a second attempt before every other has its first, and so on; which of them is next
    is the one where an attempt tells most.
    """
    box, columns = search.box, search.columns
    classes = _classes_by_lot(search, columns)
    utilities = search.objective.utilities(search.draws.clean(columns), columns)
    weights = np.full(search.draws.size, 1.0 / search.draws.size, dtype=np.float32)
    points = box.encode(columns)
    free = np.ones(len(points), dtype=bool)
    known, picks = search.known, list[Picked]()
    while len(picks) < count and free.any():
        if token is not None:
            token.raise_if_cancelled()
        theirs = {lot: classes[lot] for lot in _next_lots(search.lots, picks)}
        found = _most_telling(search.objective, theirs, utilities, weights, free)
        taken = [box.encode(pick.columns)[0] for pick in picks]
        chosen = _refined(search, found, taken)
        picks.append(_picked(search, chosen, known, utilities, found.lot))
        known = join(known, chosen)
        draws = search.lots[found.lot] if found.lot else search.draws
        weights = fantasy_weights(outcome_classes(draws.gates(chosen)), 0, weights)
        free &= distances(box, points, box.encode(chosen))[:, 0] >= _APART
    return picks


@dataclass(frozen=True, eq=False)
class _Found:
    """The best candidates for one lot, the best first, with what they are judged by."""

    lot: str | None
    judge: Judge
    order: npt.NDArray[np.intp]
    worth: float


def _classes_by_lot(search: Search, columns: Columns) -> dict[str | None, tuple[Array, ...]]:
    if not search.lots:
        return {None: outcome_classes(search.draws.gates(columns))}
    return {lot: outcome_classes(draws.gates(columns)) for lot, draws in search.lots.items()}


def _next_lots(lots: Mapping[str, ThinDraws], picks: Sequence[Picked]) -> list[str | None]:
    """Return the lots with the fewest attempts so far, in the order asked for."""
    if not lots:
        return [None]
    counts = {lot: sum(pick.lot_id == lot for pick in picks) for lot in lots}
    fewest = min(counts.values())
    return [lot for lot, count in counts.items() if count == fewest]


def _most_telling(
    objective: Objective,
    classes: Mapping[str | None, tuple[Array, ...]],
    utilities: Array,
    weights: Array,
    free: npt.NDArray[np.bool_],
) -> _Found:
    """Return the lot of ``classes`` where an attempt tells most, with its best candidates among the free ones."""
    best: _Found | None = None
    judge: Judge | None = None
    for lot, theirs in classes.items():
        # One judge for all lots, so that their attempts are measured on one scale.
        if judge is None:
            judge, told = appoint(objective, utilities, theirs, weights)
        else:
            told = judge.worth(theirs)
        worth = np.where(free, told, -np.inf)
        order = np.argsort(-worth, kind="stable")[:_CLIMBERS]
        if best is None or worth[order[0]] > best.worth:
            best = _Found(lot, judge, order, float(worth[order[0]]))
    assert best is not None
    return best


def _refined(search: Search, found: _Found, taken: Sequence[Numbers]) -> Columns:
    """Return the best candidate, moved on the continuous box to where an attempt tells more."""
    start = take(search.columns, found.order)
    if not search.refine:
        return take(start, 0)
    draws = search.lots[found.lot] if found.lot else search.draws
    box = search.box
    most = max(_MOST_OUTSIDE, int(outside_counts(box.limits.tried, box.varied, start).min()))

    def score(columns: Columns) -> Numbers:
        worth = found.judge.worth(outcome_classes(draws.gates(columns))).astype(float)
        ok = outside_counts(box.limits.tried, box.varied, columns) <= most
        if taken:
            ok &= (distances(box, box.encode(columns), np.stack(taken)) >= _APART).all(axis=1)
        return np.where(ok, worth, -np.inf)

    return climb(box, start, score, rounds=_ROUNDS, reach=_REACH, lines=False, seed=search.seed)[0]


def near_the_tried(box: Box, columns: Columns) -> npt.NDArray[np.intp]:
    """Return the candidates that leave the tried range in at most two factors at once, or in as few as possible.

    A step into the unknown along every factor at once teaches little that can be told apart, and no person at a
    bench would take it. The number two is our own choice: in simulation one cost attempts, two cost none.
    """
    outside = outside_counts(box.limits.tried, box.varied, columns)
    return np.flatnonzero(outside <= max(_MOST_OUTSIDE, int(outside.min())))


def _picked(search: Search, chosen: Columns, known: Columns, utilities: Array, lot: str | None) -> Picked:
    """Return the pick with its figures, from the draws as they were before the batch began."""
    draws = search.lots[lot] if lot else search.draws
    gates = draws.gates(chosen)
    clean = outcome_classes(gates)[0]
    after = (clean[:, 0] @ utilities) / max(float(clean[:, 0].sum()), 1e-9)
    here = search.objective.utilities(clean, chosen)
    now = float(utilities.mean(axis=0).max())
    return Picked(
        chosen,
        known,
        tuple(float(gate[:, 0].mean()) for gate in gates),
        now,
        float(after.max()),
        float(here[:, 0].mean()),
        lot,
    )
