"""Which jars to open this evening, under which free conditions: candidates of all jars against each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.ages import hours_between
from stirfall.bench.estimates import Reason
from stirfall.planning.box import Columns, Numbers
from stirfall.planning.candidates import candidate_columns, climb, join, known_columns, take
from stirfall.planning.draws import ThinDraws, thin
from stirfall.planning.evening import choose_jars
from stirfall.planning.evening_worth import (
    LookAheadWorth,
    apart_from,
    classes_of,
    joined_classes,
    joined_columns,
    spread_worth,
)
from stirfall.planning.gains import Array
from stirfall.planning.goals import Goal
from stirfall.planning.look_ahead import Picked
from stirfall.planning.objectives import objective_for
from stirfall.planning.reasons import give_reason, most_different
from stirfall.planning.tried import outside_counts

if TYPE_CHECKING:
    from datetime import datetime

    from stirfall.bench.cancel import CancelToken
    from stirfall.session.tonight_jars import Hands, InHand

_DRAWS = 512
_CANDIDATES = 64
_FEW = 16
_PLANS = 256
_MOST_OUTSIDE = 2
_MOST_TOLD = 20_000  # "nothing like this was tried" must be true of old attempts too
_ONLY_IF_NEEDED = 1e3  # far above any worth


@dataclass(frozen=True, eq=False)
class Chosen:
    """One jar with the candidate chosen for it, and what was known before it."""

    hand: InHand
    columns: Columns
    known: Columns


@dataclass(frozen=True, eq=False)
class Fixed:
    """An attempt whose conditions are settled beforehand: what for, and why."""

    chosen: Chosen
    purpose: str
    reason: Reason


class Choice:
    """Holds candidates of all jars in hand against each other, as one evening's greedy batch."""

    def __init__(
        self,
        hands: Hands,
        goal: Goal,
        *,
        now: datetime,
        seed: int,
        token: CancelToken,
        candidates: int = _CANDIDATES,
    ) -> None:
        self._hands, self._goal, self._token, self._seed = hands, goal, token, seed
        self._draws: dict[int, ThinDraws] = {}
        self.tried = [each.conditions for each in hands.analysis.state.attempts if not each.is_struck]
        self.known = known_columns(hands.whole, self.tried, most=_MOST_TOLD)
        has_more = hands.box.varied or hands.box.fixed  # than a film index
        self.free = candidate_columns(hands.box, (), count=candidates, seed=seed) if has_more else {}
        self.is_first = goal is Goal.FIRST_DESIGN
        grams = hands.analysis.grams if goal is Goal.MOST else None
        self._objective = objective_for(
            goal, hands.limits, now=now, grams=None if isinstance(grams, Reason) else grams
        )
        self.worth = self._worth()

    def _worth(self) -> LookAheadWorth:
        if self.is_first or self._goal is Goal.LEARN:
            return LookAheadWorth(self._goal, np.zeros((_DRAWS, 1), dtype=np.float32))
        whole = self._hands.whole
        columns = candidate_columns(whole, self.tried, count=_PLANS, seed=self._seed)
        clean = thin(self._hands.analysis.model, _DRAWS).clean(columns)
        return LookAheadWorth(self._goal, self._objective.utilities(clean, columns))

    def draws(self, hand: InHand) -> ThinDraws:
        """Return the draws for a jar's own lot; draw for draw they belong to the same parameters as other lots'."""
        key = id(hand.answer)
        if key not in self._draws:
            self._draws[key] = thin(hand.answer.model, _DRAWS)
        return self._draws[key]

    def candidates(self, hand: InHand) -> Columns:
        """Return the candidates of one jar that may be suggested; none where its film index is out of range."""
        columns = hand.hold(self.free)
        return take(columns, np.flatnonzero(self._sensible(columns)))

    def few_candidates(self, hand: InHand, known_films: dict[tuple[object, ...], Numbers]) -> Columns:
        """Return some candidates of one jar; its film index is found once for jars of one make and age."""
        count = len(next(iter(self.free.values()), (0,)))
        free = take(self.free, np.unique(np.linspace(0, count - 1, _FEW).astype(int)))
        key = (hand.jar.oil_depth_mm, hand.jar.lid, round(hours_between(hand.jar.started_at, hand.at), 6))
        columns = hand.hold(free, known_films.get(key))
        if hand.film is not None:
            known_films[key] = columns[hand.film.name]
        return take(columns, np.flatnonzero(self._sensible(columns)))

    def _sensible(self, columns: Columns) -> np.ndarray:
        """Return which candidates keep inside the film's range and leave the tried range in few factors only."""
        limits = self._hands.limits
        good = np.ones(len(next(iter(columns.values()))), dtype=bool)
        for factor in self._hands.box.limits.factors:
            if factor.name in self._hands.box.unknown and factor.name in columns:
                low, high = limits.ranges[factor.name]
                good &= (columns[factor.name] >= low) & (columns[factor.name] <= high)
        if self.is_first or not good.any():
            return good
        outside = outside_counts(limits.tried, self._hands.whole.varied, columns)
        return np.asarray(good & (outside <= max(_MOST_OUTSIDE, int(outside[good].min()))))

    # -- why -----------------------------------------------------------------------------------------

    def why(self, picked: Chosen) -> Reason:
        """Return why an attempt is worth making, in the words of the suggestions."""
        differs = most_different(self._hands.whole, self.in_whole(picked.columns), picked.known)
        pick, objective = Picked(picked.columns, picked.known), self._objective
        if not self.is_first:
            draws = self.draws(picked.hand)
            pick = replace(pick, gates=tuple(float(gate.mean()) for gate in draws.gates(picked.columns)))
            if self._goal is not Goal.LEARN:
                clean, now = draws.clean(picked.columns), self.worth.best()
                here = float(objective.utilities(clean, picked.columns).mean())
                pick = replace(pick, now=now, then=max(now, self.worth.best(clean[:, 0])), here=here)
        graded = self._hands.limits.tried.graded
        return give_reason(self._goal, differs, pick, graded=graded, amount=objective.amount)

    def pick(
        self, count: int, jars: Sequence[InHand], hurry_h: Sequence[float], first: Sequence[Chosen]
    ) -> list[Chosen]:
        """Return up to ``count`` jars with their candidates, given those that were chosen ``first``."""
        parts = [self.candidates(hand) for hand in jars]
        kept = [place for place, each in enumerate(parts) if len(next(iter(each.values())))]
        if not kept or count < 1:
            return []
        columns = joined_columns([parts[place] for place in kept])
        owner = np.repeat(kept, [len(next(iter(parts[place].values()))) for place in kept])
        known = self.known
        for each in first:
            known = join(known, self.in_whole(each.columns))
        if self.is_first:
            picks = choose_jars(
                count,
                owner,
                lambda chosen: spread_worth(self._hands.whole, self.in_whole(columns), known, chosen),
                hurry_h,
            )
        else:
            picks = self._by_worth(count, [(jars[place], parts[place]) for place in kept], owner, hurry_h, first)
        return self._refined([(jars[owner[index]], take(columns, index)) for index in picks], known, first)

    def in_whole(self, columns: Columns) -> Columns:
        """Return candidates with the columns that known attempts have, in their order."""
        return {name: columns[name] for name in self.known}

    def _by_worth(
        self,
        count: int,
        parts: Sequence[tuple[InHand, Columns]],
        owner: np.ndarray,
        hurry_h: Sequence[float],
        first: Sequence[Chosen],
    ) -> list[int]:
        classes = self.classes(parts)
        start = self.weights_after(first)
        whole, columns = self._hands.whole, self.in_whole(joined_columns([each for _, each in parts]))
        controls = [self.in_whole(each.columns) for each in first]

        def score(chosen: Sequence[int]) -> Numbers:
            self._token.raise_if_cancelled()
            weights = start
            for index in chosen:
                weights = self.worth.after(classes, index, weights)
            others = joined_columns([*controls, take(columns, list(chosen))])
            # The second of two equal attempts tells less; where nothing else is left it is made all the same.
            apart = apart_from(whole, columns, others)
            return self.worth.of(classes, weights) - np.where(apart, 0.0, _ONLY_IF_NEEDED)

        return choose_jars(count, owner, score, hurry_h)

    def classes(self, parts: Sequence[tuple[InHand, Columns]]) -> tuple[Array, ...]:
        """Return the outcomes of the candidates of many jars, one after the other; a lot is asked for once."""
        starts = np.cumsum([0, *(len(next(iter(columns.values()))) for _, columns in parts)])
        groups: dict[int, list[int]] = {}
        for place, (hand, _) in enumerate(parts):
            groups.setdefault(id(hand.answer), []).append(place)
        order = [place for places in groups.values() for place in places]
        found = joined_classes(
            [
                classes_of(self.draws(parts[places[0]][0]), joined_columns([parts[place][1] for place in places]))
                for places in groups.values()
            ]
        )
        if len(groups) == 1:
            return found
        rows = np.concatenate([np.arange(starts[place], starts[place + 1]) for place in order])
        back = np.argsort(rows)
        return tuple(np.ascontiguousarray(each[:, back]) for each in found)

    def weights_after(self, chosen: Sequence[Chosen]) -> Array:
        """Return the weights of the draws after imagined attempts at what was chosen."""
        weights = self.worth.start
        for each in chosen:
            weights = self.worth.after(classes_of(self.draws(each.hand), each.columns), 0, weights)
        return weights

    def _refined(
        self, picks: Sequence[tuple[InHand, Columns]], known: Columns, first: Sequence[Chosen]
    ) -> list[Chosen]:
        """Improve the free conditions of each pick on the continuous box, given those before it."""
        found: list[Chosen] = []
        for hand, columns in picks:
            self._token.raise_if_cancelled()
            better = columns if self.is_first else self._climbed(hand, columns, [*first, *found])
            found.append(Chosen(hand, better, known))
            known = join(known, self.in_whole(better))
        return found

    def _climbed(self, hand: InHand, columns: Columns, before: Sequence[Chosen]) -> Columns:
        box = self._hands.box
        if not box.varied:
            return columns
        weights, draws = self.weights_after(before), self.draws(hand)
        others = joined_columns([self.in_whole(each.columns) for each in before]) if before else None

        def score(around: Columns) -> Numbers:
            held = hand.hold(around)
            worth = self.worth.of(classes_of(draws, held), weights)
            if others is not None:
                worth -= np.where(apart_from(self._hands.whole, self.in_whole(held), others), 0.0, _ONLY_IF_NEEDED)
            return np.where(self._sensible(held), worth, -np.inf)

        start = {name: column for name, column in columns.items() if name not in box.unknown}
        found, _ = climb(box, start, score, seed=self._seed)
        return hand.hold(found)


def at_time(chosen: Chosen, hand: InHand) -> Chosen:
    """Return a choice with the jar as it is at another moment; the free conditions stay."""
    return replace(chosen, hand=hand, columns=hand.hold(chosen.columns))
