"""The worth of attempts with jars in hand, comparable over jars of several lots and from choice to choice."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from stirfall.planning.box import Box, Columns, Numbers
from stirfall.planning.candidates import join, take
from stirfall.planning.draws import ThinDraws
from stirfall.planning.first_design import distances
from stirfall.planning.gains import Array, fantasy_weights, information, likely_best, look_ahead, outcome_classes
from stirfall.planning.goals import Goal

# An expected gain below this is noise of the draws, as for suggestions.
_NO_GAIN = 0.005
_TINY = 1e-12
# Two attempts of one evening lie at least this far apart, in shares of the ranges, as those of one batch do.
APART = 0.15


class LookAheadWorth:
    """What attempts are expected to tell or to gain, given those chosen before; draws of all lots are paired.

    ``plans`` are (m, e) draws of what the goal counts at the conditions that may become the recipe. LEARN asks for
    the information in the outcome; other goals for the expected gain of the best of ``plans`` and the movement of
    the likely best ones, each as a share of its largest value at the first question, times the probability of a
    clean separation: the rule of the suggestions.
    """

    def __init__(self, goal: Goal, plans: Array) -> None:
        self._goal, self._plans = goal, plans
        self._scales: tuple[float, float] | None = None

    @property
    def start(self) -> Array:
        """Equal weights (m,) of the draws."""
        size = len(self._plans)
        return np.full(size, 1.0 / size, dtype=np.float32)

    def best(self, clean: Array | None = None) -> float:
        """Return the best mean of what the goal counts, or as it would be after a clean result with draws (m,)."""
        weights = self.start if clean is None else clean / max(float(clean.sum()), _TINY)
        return float((weights @ self._plans).max())

    def of(self, classes: Sequence[Array], weights: Array) -> Numbers:
        """Return the worth of each candidate, (c,), from draws (m, c) of its outcomes."""
        if self._goal in (Goal.LEARN, Goal.FIRST_DESIGN):
            return np.asarray(information(classes, weights), dtype=float)
        winners, chance = likely_best(self._plans, weights)
        gain, movement = look_ahead(classes, self._plans[:, winners], weights, chance)
        if self._scales is None:
            self._scales = max(float(gain.max()), _NO_GAIN), max(float(movement.max()), _TINY)
        share = gain / self._scales[0] + movement / self._scales[1]
        return np.asarray(share * (weights @ classes[0]), dtype=float)

    @staticmethod
    def after(classes: Sequence[Array], index: int, weights: Array) -> Array:
        """Return the weights after an imagined attempt at one candidate that came out as its own mean."""
        return fantasy_weights(classes, index, weights)


def classes_of(draws: ThinDraws, columns: Columns) -> tuple[Array, ...]:
    """Return the probability of each outcome of each candidate, (m, c) each, clean first."""
    return outcome_classes(draws.gates(columns))


def joined_classes(parts: Sequence[Sequence[Array]]) -> tuple[Array, ...]:
    """Put the candidates of several jars one after the other."""
    return tuple(np.concatenate(each, axis=1) for each in zip(*parts, strict=True))


def joined_columns(parts: Sequence[Columns]) -> Columns:
    """Put the columns of several jars one after the other."""
    return {name: np.concatenate([each[name] for each in parts]) for name in parts[0]}


def apart_from(box: Box, columns: Columns, others: Columns) -> npt.NDArray[np.bool_]:
    """Return which candidates differ from all ``others`` by ``APART`` at least, (c,)."""
    count = len(next(iter(columns.values())))
    if not box.varied or not len(next(iter(others.values()))):
        return np.ones(count, dtype=bool)
    return np.asarray(distances(box, box.encode(columns), box.encode(others)).min(axis=1) >= APART)


def spread_worth(box: Box, columns: Columns, known: Columns, chosen: Sequence[int]) -> Numbers:
    """Return how far each candidate lies from the nearest known or chosen one, (c,), in shares of the ranges.

    Where there is none, the candidate nearest to the usual values is worth most.
    """
    points = box.encode(columns)
    if not box.varied:
        return np.ones(len(points))
    near = join(known, take(columns, list(chosen))) if chosen else known
    if not len(near[box.varied[0].name]):
        return np.asarray(-distances(box, points, box.encode(box.resting_columns()))[:, 0])
    return np.asarray(distances(box, points, box.encode(near)).min(axis=1))
