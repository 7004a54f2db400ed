"""The odds of a clean separation: one gate, or P(parted) times P(pooled | parted), with intervals."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate
from stirfall.bench.records import CampaignSettings
from stirfall.inference.bayes import Posterior
from stirfall.inference.blocks import slices
from stirfall.inference.design import Columns, Design
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateName, GateRows, rows_of_gates
from stirfall.inference.lot_laplace import fit_many, posterior_of
from stirfall.inference.pairing import pair_draws, systematic_picks
from stirfall.inference.probability import POINTS_BLOCK, probability_draws, weighted_interval, weighted_means
from stirfall.inference.table import AttemptCounts, AttemptTable

FloatArray = NDArray[np.float64]

# With more rows than this the posterior of a plain gate is normal to a hundredth of its standard deviation.
_NORMAL = 5000


@dataclass(frozen=True)
class GateFit:
    """One gate: its posterior, and the ``k`` successes of ``n`` trials behind it."""

    name: GateName
    posterior: Posterior
    k: int
    n: int


@dataclass(frozen=True)
class Health:
    """The worst health of the weights over the gates: smallest effective size of ``draws``, largest Pareto k."""

    effective_sample_size: float
    pareto_k: float
    draws: int

    @property
    def is_sound(self) -> bool:
        """Whether the intervals can be trusted: Pareto k below 0.7 and at least 400 effective draws or a tenth.

        Where half of the draws are effective, no few of them can carry the answer. After one to five attempts k is
        then at times above 0.7 all the same: it tells the shape of the largest weights, not their size (about three
        times the mean weight in simulated campaigns).
        """
        if self.effective_sample_size >= 0.5 * self.draws:
            return True
        return self.pareto_k < 0.7 and self.effective_sample_size >= min(400.0, 0.1 * self.draws)


class Coefficients(NamedTuple):
    """Draws (m, p) of one gate's coefficients over the terms of ``design``, and their weights (m,)."""

    design: Design
    draws: FloatArray
    weights: FloatArray


class Bands(NamedTuple):
    """Mean and interval bounds at each of the points asked for, each array (points,)."""

    mean: FloatArray
    lower: FloatArray
    upper: FloatArray

    def first(self, level: float, n: int, *, of_trials: bool = False) -> Estimate:
        """Return the estimate at the first of the points."""
        return Estimate(float(self.mean[0]), float(self.lower[0]), float(self.upper[0]), level, n, of_trials)


@dataclass(frozen=True)
class OddsModel:
    """What the attempts say: one or two fitted gates over one design.

    ``level`` is that of the intervals, ``n`` the trials used. Points are given as columns, one array per factor.
    All methods raise InputError ``odds.value_missing`` when a value is unknown.
    """

    design: Design
    gates: tuple[GateFit, ...]
    counts: AttemptCounts
    level: float
    n: int

    lot = None
    lot_names: tuple[str, ...] = ()

    @property
    def of_trials(self) -> bool:
        """Whether some attempts hold several trials, so that ``n`` is no number of attempts."""
        return self.n != self.counts.used

    def for_lot(self, name: str | None) -> OddsModel:
        """Return the same model: the first answer takes attempts of one lot as independent."""
        del name
        return self

    def coefficients(self, gate_name: str) -> Coefficients:
        """Return the draws of one gate's coefficients with their weights."""
        fit = next(gate for gate in self.gates if gate.name == gate_name)
        return Coefficients(self.design, fit.posterior.draws, fit.posterior.weights)

    def equal_draws(self, size: int) -> tuple[FloatArray, ...]:
        """Return per gate (size, p) equally likely draws, paired at random, the same ones every time."""
        rng = np.random.default_rng(7)
        return tuple(
            gate.posterior.draws[systematic_picks(gate.posterior.weights, size)][rng.permutation(size)]
            for gate in self.gates
        )

    @property
    def health(self) -> Health:
        """The health of the weakest gate."""
        return Health(
            min(gate.posterior.effective_sample_size for gate in self.gates),
            max(gate.posterior.pareto_k for gate in self.gates),
            min(len(gate.posterior.weights) for gate in self.gates),
        )

    @cached_property
    def _paired(self) -> tuple[FloatArray, ...]:
        return pair_draws([gate.posterior for gate in self.gates])

    @property
    def weights(self) -> FloatArray:
        """The (m,) weights of ``probability_draws``: the posterior's own, or equal ones for two paired gates."""
        if len(self.gates) == 1:
            return self.gates[0].posterior.weights
        size = len(self._paired[0])
        return np.full(size, 1.0 / size)

    def probability_draws(self, columns: Columns) -> FloatArray:
        """Return (m, points) draws of the probability of a clean separation, to be used with ``weights``."""
        return self._clean_draws(self._matrix(columns))

    def gate_draws(self, columns: Columns) -> dict[str, FloatArray]:
        """Return per gate (m, points) draws of its probability, paired as in ``probability_draws``."""
        matrix = self._matrix(columns)
        return {
            gate.name: probability_draws(beta, matrix) for gate, beta in zip(self.gates, self._betas, strict=True)
        }

    def means(self, columns: Columns) -> FloatArray:
        """Return the (points,) posterior means: of two independent gates, the product of the weighted means."""
        return self._clean_means(self._matrix(columns))

    def estimates(self, columns: Columns) -> Bands:
        """Return means and equal-tailed intervals at ``level``.

        Where the law is so skew that its mean lies outside the interval, the interval is widened to hold it.
        """
        matrix = self._matrix(columns)
        mean = self._clean_means(matrix)
        lower, upper = np.empty_like(mean), np.empty_like(mean)
        for part in slices(len(matrix), POINTS_BLOCK):
            lower[part], upper[part] = weighted_interval(self._clean_draws(matrix[part]), self.weights, self.level)
        return Bands(mean, np.minimum(lower, mean), np.maximum(upper, mean))

    def estimate(self, columns: Columns) -> Estimate:
        """Return the estimate at the first of the points."""
        return self.estimates(columns).first(self.level, self.n, of_trials=self.of_trials)

    def gate_estimates(self, columns: Columns) -> dict[str, Bands]:
        """Return means and intervals of each gate on its own."""
        matrix = self._matrix(columns)
        return {gate.name: _gate_bands(gate.posterior, matrix, self.level) for gate in self.gates}

    @property
    def _betas(self) -> tuple[FloatArray, ...]:
        return self._paired if len(self.gates) > 1 else (self.gates[0].posterior.draws,)

    def _clean_draws(self, matrix: FloatArray) -> FloatArray:
        draws = probability_draws(self._betas[0], matrix)
        for beta in self._betas[1:]:
            draws *= probability_draws(beta, matrix)
        return draws

    def _clean_means(self, matrix: FloatArray) -> FloatArray:
        mean = np.ones(len(matrix))
        for gate in self.gates:
            mean *= weighted_means(gate.posterior.draws, gate.posterior.weights, matrix)
        return mean

    def _matrix(self, columns: Columns) -> FloatArray:
        return points_matrix(self.design, columns)


def points_matrix(design: Design, columns: Columns) -> FloatArray:
    """Return the (points, p) design rows of columns; raises InputError ``odds.value_missing``."""
    columns = design.followed(columns)
    sizes = [np.size(column) for column in columns.values()]
    matrix = design.matrix(columns, rows=max(sizes, default=1))
    if np.isnan(matrix).any():
        missing = [
            factor.name
            for factor in design.factors
            if np.isnan(Design((factor,)).matrix({factor.name: columns[factor.name]})).any()
        ]
        raise InputError("odds.value_missing", factors=", ".join(missing))
    return matrix


def fit_odds(
    table: AttemptTable,
    design: Design,
    settings: CampaignSettings,
    *,
    seed: int = 0,
    token: CancelToken | None = None,
) -> OddsModel:
    """Fit one gate on clean counts, or two gates, as the table says.

    Gate 2 is fitted only on rows where gate 1 said yes and the pool was observed. Without attempts the answer is
    the prior's. Attempts of one lot are taken as independent: lots and other forms come with the refined answer.
    """
    prior_sd = design.prior_sd(settings.intercept_prior_sd, settings.effect_prior_sd)
    gates = tuple(
        _fit(name, rows, prior_sd, seed=2 * seed + place, token=token)
        for place, (name, rows) in enumerate(rows_of_gates(table, design).items())
    )
    return OddsModel(design, gates, table.counts, settings.level, gates[0].n)


def _fit(name: GateName, rows: GateRows, prior_sd: FloatArray, *, seed: int, token: CancelToken | None) -> GateFit:
    if len(rows.k) > _NORMAL and rows.grade is None:
        posterior = posterior_of(fit_many(rows.without_lots(), prior_sd, token=token), rows, (), seed=seed)
    else:
        posterior = fit_gate(rows, prior_sd, seed=seed, token=token)
    return GateFit(name, posterior, round(float(rows.k.sum())), posterior.n_trials)


def _gate_bands(posterior: Posterior, matrix: FloatArray, level: float) -> Bands:
    mean = weighted_means(posterior.draws, posterior.weights, matrix)
    lower, upper = np.empty_like(mean), np.empty_like(mean)
    for part in slices(len(matrix), POINTS_BLOCK):
        draws = probability_draws(posterior.draws, matrix[part])
        lower[part], upper[part] = weighted_interval(draws, posterior.weights, level)
    return Bands(mean, np.minimum(lower, mean), np.maximum(upper, mean))
