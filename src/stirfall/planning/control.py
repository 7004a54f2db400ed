"""What a recipe is worth at the bench, where temperature and age are never held exactly.

Each controlled factor scatters normally around what was aimed at, independently, on its own scale; the half-width
that a person states is taken as two standard deviations ("about 19 times of 20"). An attempt then succeeds with the
probability averaged over that scatter. The average is a cubature: few points with equal or known weights.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Factor, Role, Scale
from stirfall.bench.plans import control_errors
from stirfall.inference.design import Design
from stirfall.inference.probability import weighted_interval
from stirfall.inference.stack import FittedModel
from stirfall.planning.box import Box, Columns, Numbers

# So many factors at the most have all combinations of three points; more have two points each.
_MOST_CROSSED = 4
_THREE = ((-math.sqrt(3.0), 0.0, math.sqrt(3.0)), (1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0))


@dataclass(frozen=True)
class Control:
    """How ``factors`` scatter: ``sds`` are standard deviations in the unit, or of the logarithm on a log scale.

    ``follow`` works out what follows from other factors.
    """

    factors: tuple[Factor, ...]
    sds: tuple[float, ...]
    follow: Callable[[Columns], Columns] | None = None

    @property
    def is_exact(self) -> bool:
        """Whether every factor is held exactly, so that there is nothing to average."""
        return not self.factors

    def around(self, columns: Mapping[str, Numbers], nodes: Numbers) -> Columns:
        """Return the k c conditions around c ones, node by node; ``nodes`` (k, d) are in standard deviations.

        A number that cannot be negative stays at zero or above, and a dose of nothing is held exactly.
        """
        spread = {name: np.tile(np.asarray(column, dtype=float), len(nodes)) for name, column in columns.items()}
        count = len(next(iter(columns.values())))
        for axis, (factor, sd) in enumerate(zip(self.factors, self.sds, strict=True)):
            if factor.name not in spread:
                continue
            spread[factor.name] = _moved(factor, spread[factor.name], np.repeat(sd * nodes[:, axis], count))
        return spread if self.follow is None else self.follow(spread)

    @cached_property
    def few(self) -> tuple[Numbers, Numbers]:
        """Nodes (2 d, d) and weights for searching: one pair along each factor at sqrt(d) standard deviations.

        Exact for all polynomials of degree three (Stroud 1957, Math. Tables Aids Comput. 11:257; from memory).
        """
        d = len(self.factors)
        if d == 0:
            return np.zeros((1, 0)), np.ones(1)
        along = math.sqrt(d) * np.eye(d)
        return np.vstack([along, -along]), np.full(2 * d, 0.5 / d)

    @cached_property
    def many(self) -> tuple[Numbers, Numbers]:
        """Nodes (3^d, d) and weights for one figure: the three-point Gauss-Hermite rule along each factor."""
        d = len(self.factors)
        if not 0 < d <= _MOST_CROSSED:
            return self.few
        nodes = np.array(list(itertools.product(_THREE[0], repeat=d)))
        weights = np.array([math.prod(each) for each in itertools.product(_THREE[1], repeat=d)])
        return nodes, weights

    def average(
        self, columns: Columns, score: Callable[[Columns], npt.NDArray[np.floating]]
    ) -> npt.NDArray[np.floating]:
        """Return the score averaged over the scatter, (..., c); ``score`` gives (..., k c) for k c conditions."""
        return self.averaged(score(self.spread(columns)))

    def spread(self, columns: Columns) -> Columns:
        """Return the k c conditions around c ones whose scores ``averaged`` takes."""
        return columns if self.is_exact else self.around(columns, self.few[0])

    def averaged(self, scores: npt.NDArray[np.floating]) -> npt.NDArray[np.floating]:
        """Return (..., c) averages of the scores (..., k c) of a spread."""
        return scores if self.is_exact else _averaged(scores, self.few[1])


HELD_EXACTLY = Control((), ())


def control_of(box: Box, design: Design) -> Control:
    """Return how the campaign's visible factors scatter, as its settings or our usual values say.

    What follows from other factors scatters with them; factors that the model does not use are left out.
    """
    state = box.limits.state
    apart = {box.follows, *box.unknown}
    used = {factor.name for factor in design.factors}
    used |= set() if box.filler is None else {factor.name for factor in box.filler.factors}
    known = {f.name: f for f in state.visible_factors if f.name in used and f.name not in apart}
    errors = control_errors(known.values(), state.settings.plan)
    sds = [math.log1p(each.half_width / 100.0) / 2.0 if each.is_share else each.half_width / 2.0 for each in errors]
    follow = None if box.filler is None else box.follow
    return Control(tuple(known[each.factor] for each in errors), tuple(sds), follow)


def held_estimate(model: FittedModel, control: Control, columns: Columns) -> Estimate:
    """Return the probability at one condition averaged over the scatter, with its interval."""
    if control.is_exact:
        return model.estimate(columns)
    draws = held_draws(model, control, columns)
    weights, level = model.weights, model.level
    mean = float((weights @ draws)[0])
    low, high = (float(bound[0]) for bound in weighted_interval(draws, weights, level))
    return Estimate(mean, min(low, mean), max(high, mean), level, model.n, model.of_trials)


def held_draws(model: FittedModel, control: Control, columns: Columns) -> Numbers:
    """Return (m, 1) draws of the probability at one condition averaged over the scatter; weights as the model's."""
    if control.is_exact:
        return model.probability_draws(columns)
    nodes, weights = control.many
    return np.asarray(_averaged(model.probability_draws(control.around(columns, nodes)), weights), dtype=float)


def _averaged(scores: npt.NDArray[np.floating], weights: Numbers) -> npt.NDArray[np.floating]:
    nodes = scores.reshape(*scores.shape[:-1], len(weights), -1)
    return np.asarray(np.einsum("...kc,k->...c", nodes, weights.astype(scores.dtype)))


def _moved(factor: Factor, values: Numbers, moves: Numbers) -> Numbers:
    if factor.scale is Scale.LOG:
        return np.asarray(values * np.exp(moves))
    moved = values + moves
    if factor.low is not None and factor.low >= 0:
        moved = np.maximum(moved, 0.0)
    return np.where(values == 0.0, values, moved) if factor.role is Role.DOSE else moved
