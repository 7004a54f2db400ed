"""The worth of one more attempt for a goal: what it is expected to tell, by reweighting the posterior draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stirfall.planning.box import Columns
from stirfall.planning.gains import Array, information, likely_best, look_ahead
from stirfall.planning.goals import Goal
from stirfall.planning.objectives import Objective

_TINY = 1e-12
_MOST_EVALUATED = 64


@dataclass(frozen=True)
class Picked:
    """One chosen candidate, what was known before it, and the figures for its reason.

    ``gates``: mean probability of each gate there. ``now``: best mean worth known; ``then``: the same after a clean
    result there; ``here``: the mean worth there. The worth is that of the goal's objective, for most goals the
    probability itself. ``lot_id`` is the lot that it is meant for, where lots were asked for.
    """

    columns: Columns
    known: Columns
    gates: tuple[float, ...] = ()
    now: float = 0.0
    then: float = 0.0
    here: float = 0.0
    lot_id: str | None = None


@dataclass(frozen=True, eq=False)
class Judge:
    """What an attempt is judged by: the goal, and the worth of the conditions that are the best in some draw.

    ``evaluated`` (m, a) is their worth in each draw, ``chance`` (a,) how likely each is the best. The largest gain
    and movement among the candidates are the scale on which further candidates are measured; a gain below ``noise``
    is none.
    """

    goal: Goal
    weights: Array
    evaluated: Array
    chance: Array
    most_gain: float
    most_movement: float
    noise: float

    def worth(self, classes: Sequence[Array]) -> Array:
        """Return the worth of an attempt at candidates, (c,), from their outcome classes, (m, c) each.

        LEARN: the information about the outcome. Other goals: the expected gain of the best condition and the
        movement at the likely best ones, each as a share of the largest, times the probability of a clean
        separation there. The last factor keeps it from asking for attempts that would mostly fail; simulated
        campaigns were as quick with it as without. Where no attempt promises a gain above noise, the movement
        decides.
        """
        if self.goal is Goal.LEARN:
            return information(classes, self.weights)
        return self.of(classes, *look_ahead(classes, self.evaluated, self.weights, self.chance))

    def of(self, classes: Sequence[Array], gain: Array, movement: Array) -> Array:
        """Return the worth, (c,), of attempts whose gain and movement, (c,), are known."""
        share = gain / max(self.most_gain, self.noise) + movement / max(self.most_movement, _TINY)
        worth_there: Array = share * (self.weights @ classes[0])
        return worth_there


def appoint(
    objective: Objective, utilities: Array, classes: Sequence[Array], weights: Array
) -> tuple[Judge, Array]:
    """Return the judge for a set of candidates and their worth, (c,); ``utilities`` and ``classes`` are (m, c)."""
    goal = objective.goal
    if goal is Goal.LEARN:
        nothing = np.zeros((len(weights), 0), dtype=np.float32)
        return Judge(goal, weights, nothing, nothing[0], 0.0, 0.0, 0.0), information(classes, weights)
    winners, chance = likely_best(utilities, weights)
    if len(winners) > _MOST_EVALUATED:
        # Those that are seldom the best weigh nothing; the best known always stays.
        best_known = winners == int(np.argmax(weights @ utilities))
        kept = np.sort(np.argsort(-(chance + best_known), kind="stable")[:_MOST_EVALUATED])
        winners, chance = winners[kept], chance[kept]
    evaluated = utilities[:, winners]
    gain, movement = look_ahead(classes, evaluated, weights, chance)
    noise = objective.noise(float((weights @ evaluated).max()))
    judge = Judge(goal, weights, evaluated, chance, float(gain.max()), float(movement.max()), noise)
    return judge, judge.of(classes, gain, movement)
