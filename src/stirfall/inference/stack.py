"""The refined answer: several forms, weighed, with lots allowed for; answers like the model of a single form."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Estimate
from stirfall.inference.blocks import slices
from stirfall.inference.design import Columns, Design
from stirfall.inference.odds import Bands, Coefficients, GateFit, Health, OddsModel, points_matrix
from stirfall.inference.particles import Particles, clean_draws
from stirfall.inference.probability import POINTS_BLOCK, probability_draws, weighted_interval
from stirfall.inference.table import AttemptCounts

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class StackedModel:
    """Draws of all forms in proportion to their weights, over one design that has the terms of all.

    ``main`` are draws of the forms with as many gates as ``gates``, which carry most of the weight; ``other`` those
    of the forms with another number of gates, ``other_share`` their weight. ``gates`` are the fits of the heaviest
    form. Answers are for ``lot``, None: for a new lot (or where lots are not in the model, for any). Methods as
    those of ``OddsModel``; draws are equally weighted.
    """

    design: Design
    gates: tuple[GateFit, ...]
    main: Particles
    other: Particles | None
    other_share: float
    counts: AttemptCounts
    level: float
    n: int
    health: Health
    lot_names: tuple[str, ...] = ()
    lot: str | None = None

    @property
    def of_trials(self) -> bool:
        """Whether some attempts hold several trials, so that ``n`` is no number of attempts."""
        return self.n != self.counts.used

    @property
    def weights(self) -> FloatArray:
        """The (m,) equal weights of all draws."""
        return np.full(self.main.size, 1.0 / self.main.size)

    def for_lot(self, name: str | None) -> StackedModel:
        """Return the model that answers for one lot by name; None, or a lot without attempts: for a new lot."""
        return replace(self, lot=name if name in self.lot_names else None)

    def coefficients(self, gate_name: str) -> Coefficients:
        """Return the draws of one gate's coefficients, without the effect of any lot."""
        place = [gate.name for gate in self.gates].index(gate_name)  # type: ignore[arg-type]
        return Coefficients(self.design, self.main.betas[place], self.weights)

    def lot_effects(self, gate_name: str) -> FloatArray:
        """Return (m, J) draws of the effect of every known lot on the log odds of one gate."""
        return self.main.lots[[gate.name for gate in self.gates].index(gate_name)]  # type: ignore[arg-type]

    def equal_draws(self, size: int) -> tuple[FloatArray, ...]:
        """Return per gate (size, p) equally likely draws, row i of each belonging together."""
        return _first(self._betas[0], size)

    def other_draws(self, size: int) -> tuple[FloatArray, ...]:
        """Return the same of the forms with another number of gates; empty where there are none."""
        other = self._betas[1]
        return () if other is None else _first(other, size)

    def probability_draws(self, columns: Columns) -> FloatArray:
        """Return (m, points) draws of the probability of a clean separation."""
        return self._clean(points_matrix(self.design, columns))

    def gate_draws(self, columns: Columns) -> dict[str, FloatArray]:
        """Return per gate (m, points) draws of its probability, from the forms with these gates, paired."""
        matrix = points_matrix(self.design, columns)
        return {
            gate.name: probability_draws(beta, matrix)
            for gate, beta in zip(self.gates, self._betas[0], strict=True)
        }

    def means(self, columns: Columns) -> FloatArray:
        """Return the (points,) means of the probability of a clean separation."""
        matrix = points_matrix(self.design, columns)
        mean = np.empty(len(matrix))
        for part in slices(len(matrix), POINTS_BLOCK):
            mean[part] = self._clean(matrix[part]).mean(axis=0)
        return mean

    def estimates(self, columns: Columns) -> Bands:
        """Return means and equal-tailed intervals at ``level``, widened to hold the mean of a very skew law."""
        matrix = points_matrix(self.design, columns)
        return self._bands(matrix, self._clean)

    def estimate(self, columns: Columns) -> Estimate:
        """Return the estimate at the first of the points."""
        return self.estimates(columns).first(self.level, self.n, of_trials=self.of_trials)

    def gate_estimates(self, columns: Columns) -> dict[str, Bands]:
        """Return means and intervals of each gate on its own."""
        matrix = points_matrix(self.design, columns)
        paired = zip(self.gates, self._betas[0], strict=True)
        return {gate.name: self._bands(matrix, partial(probability_draws, beta)) for gate, beta in paired}

    def _bands(self, matrix: FloatArray, draw: Callable[[FloatArray], FloatArray]) -> Bands:
        mean, lower, upper = (np.empty(len(matrix)) for _ in range(3))
        for part in slices(len(matrix), POINTS_BLOCK):
            draws = draw(matrix[part])
            mean[part] = draws.mean(axis=0)
            lower[part], upper[part] = weighted_interval(draws, self.weights, self.level)
        return Bands(mean, np.minimum(lower, mean), np.maximum(upper, mean))

    @cached_property
    def _betas(self) -> tuple[tuple[FloatArray, ...], tuple[FloatArray, ...] | None]:
        """The coefficients of main and other, with the effect of the lot in the intercept."""
        place = None if self.lot is None else self.lot_names.index(self.lot)
        return self.main.for_lot(place), None if self.other is None else self.other.for_lot(place)

    def _clean(self, matrix: FloatArray) -> FloatArray:
        main, other = self._betas
        if other is None:
            return clean_draws(main, matrix)
        # The draws are in random order, so that the first of them are a fair share.
        few = round(self.other_share * self.main.size)
        many = self.main.size - few
        return np.concatenate(
            [
                clean_draws([beta[:many] for beta in main], matrix),
                clean_draws([beta[:few] for beta in other], matrix),
            ]
        )


def _first(betas: tuple[FloatArray, ...], size: int) -> tuple[FloatArray, ...]:
    """Return ``size`` of the draws, which are in random order; again from the start where there are fewer."""
    if size <= len(betas[0]):
        return tuple(beta[:size] for beta in betas)
    rows = np.arange(size) % len(betas[0])
    return tuple(beta[rows] for beta in betas)


FittedModel = OddsModel | StackedModel
"""What answers: one form, or several that are weighed."""
