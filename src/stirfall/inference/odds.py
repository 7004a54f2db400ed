"""The odds of a clean separation: one gate, or P(parted) times P(pooled | parted), with intervals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.records import CampaignSettings
from stirfall.inference.bayes import Posterior, fit_posterior
from stirfall.inference.design import Columns, Design
from stirfall.inference.grouped import expit
from stirfall.inference.pairing import pair_draws
from stirfall.inference.table import AttemptCounts, AttemptTable

FloatArray = NDArray[np.float64]
GateName = Literal["clean", "parted", "pooled"]

# A linear predictor beyond this gives a probability that no float can tell from 0 or 1.
_STEEPEST = 30.0
_BLOCK = 2**21


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
        """Whether the intervals can be trusted: Pareto k below 0.7 and at least 400 effective draws or a tenth."""
        return self.pareto_k < 0.7 and self.effective_sample_size >= min(400.0, 0.1 * self.draws)


@dataclass(frozen=True)
class Bands:
    """Mean and interval bounds at each of the points asked for, each array (points,)."""

    mean: FloatArray
    lower: FloatArray
    upper: FloatArray


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
        matrix = self._matrix(columns)
        if len(self.gates) == 1:
            return _probability(self.gates[0].posterior.draws, matrix)
        draws = _probability(self._paired[0], matrix)
        for beta in self._paired[1:]:
            draws *= _probability(beta, matrix)
        return draws

    def gate_draws(self, columns: Columns) -> dict[str, FloatArray]:
        """Return per gate (m, points) draws of its probability, paired as in ``probability_draws``."""
        matrix = self._matrix(columns)
        betas = self._paired if len(self.gates) > 1 else (self.gates[0].posterior.draws,)
        return {gate.name: _probability(beta, matrix) for gate, beta in zip(self.gates, betas, strict=True)}

    def means(self, columns: Columns) -> FloatArray:
        """Return the (points,) posterior means: of two independent gates, the product of the weighted means."""
        matrix = self._matrix(columns)
        mean = np.ones(len(matrix))
        for gate in self.gates:
            mean *= _weighted_mean(gate.posterior, matrix)
        return mean

    def estimates(self, columns: Columns) -> Bands:
        """Return means and equal-tailed intervals at ``level``.

        Where the law is so skew that its mean lies outside the interval, the interval is widened to hold it.
        """
        mean = self.means(columns)
        matrix = self._matrix(columns)
        lower, upper = np.empty_like(mean), np.empty_like(mean)
        for part in _parts(len(matrix), len(self.weights)):
            draws = self.probability_draws({name: _cut(column, part) for name, column in columns.items()})
            lower[part], upper[part] = weighted_interval(draws[:, : len(mean[part])], self.weights, self.level)
        return Bands(mean, np.minimum(lower, mean), np.maximum(upper, mean))

    def gate_estimates(self, columns: Columns) -> dict[str, Bands]:
        """Return means and intervals of each gate on its own."""
        matrix = self._matrix(columns)
        return {gate.name: _gate_bands(gate.posterior, matrix, self.level) for gate in self.gates}

    def _matrix(self, columns: Columns) -> FloatArray:
        sizes = [np.size(column) for column in columns.values()]
        matrix = self.design.matrix(columns, rows=max(sizes, default=1))
        if np.isnan(matrix).any():
            missing = [f.name for f in self.design.factors if np.isnan(_mapped(self.design, f.name, columns)).any()]
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
    """Fit one gate on clean counts, or two gates where the settings say so and any attempt is graded by gates.

    Gate 2 is fitted only on rows where gate 1 said yes and the pool was observed. Without attempts the answer is
    the prior's.
    """
    matrix = design.matrix(table.columns, rows=table.rows)
    prior_sd = design.prior_sd(settings.intercept_prior_sd, settings.effect_prior_sd)

    def gate(name: GateName, k: FloatArray, n: FloatArray, *, gate_seed: int) -> GateFit:
        known = n > 0
        posterior = fit_posterior(matrix[known], k[known], n[known], prior_sd, seed=gate_seed, token=token)
        return GateFit(name, posterior, round(float(k[known].sum())), posterior.n_trials)

    graded = np.isfinite(table.parted)
    if settings.gates == 2 and (graded.any() or table.gates == 2):
        seen = (table.parted == 1) & np.isfinite(table.pooled)
        gates: tuple[GateFit, ...] = (
            gate("parted", np.where(graded, table.parted, 0.0), graded.astype(float), gate_seed=2 * seed),
            gate("pooled", np.where(seen, table.pooled, 0.0), seen.astype(float), gate_seed=2 * seed + 1),
        )
    else:
        gates = (gate("clean", table.clean_k, table.clean_n, gate_seed=2 * seed),)
    return OddsModel(design, gates, table.counts, settings.level, gates[0].n)


def weighted_interval(draws: FloatArray, weights: FloatArray, level: float) -> tuple[FloatArray, FloatArray]:
    """Return the (points,) equal-tailed bounds of weighted draws (m, points): the quantiles of the stepped law.

    Equal weights are sorted only as far as needed.
    """
    tail = (1.0 - level) / 2.0
    size = len(weights)
    if size and (weights == weights[0]).all():
        low = min(size - 1, max(0, int(np.ceil(tail * size)) - 1))
        ordered = np.partition(draws.T, (low, size - 1 - low), axis=1)
        return ordered[:, low].copy(), ordered[:, size - 1 - low].copy()
    order = np.argsort(draws.T, axis=1)
    shares = np.cumsum(weights[order], axis=1)
    ordered = np.take_along_axis(draws.T, order, axis=1)
    rows = np.arange(len(ordered))
    low_at = (shares < tail * shares[:, -1:]).sum(axis=1)
    high_at = (shares < (1.0 - tail) * shares[:, -1:]).sum(axis=1)
    return ordered[rows, low_at], ordered[rows, np.minimum(high_at, size - 1)]


def _probability(beta: FloatArray, matrix: FloatArray) -> FloatArray:
    return expit(np.clip(beta @ matrix.T, -_STEEPEST, _STEEPEST))


def _weighted_mean(posterior: Posterior, matrix: FloatArray) -> FloatArray:
    mean = np.empty(len(matrix))
    for part in _parts(len(matrix), len(posterior.weights)):
        mean[part] = posterior.weights @ _probability(posterior.draws, matrix[part])
    return mean


def _gate_bands(posterior: Posterior, matrix: FloatArray, level: float) -> Bands:
    mean = _weighted_mean(posterior, matrix)
    lower, upper = np.empty_like(mean), np.empty_like(mean)
    for part in _parts(len(matrix), len(posterior.weights)):
        draws = _probability(posterior.draws, matrix[part])
        lower[part], upper[part] = weighted_interval(draws, posterior.weights, level)
    return Bands(mean, np.minimum(lower, mean), np.maximum(upper, mean))


def _parts(points: int, draws: int) -> list[slice]:
    size = max(1, _BLOCK // max(1, draws))
    return [slice(start, start + size) for start in range(0, points, size)]


def _cut(column: FloatArray, part: slice) -> FloatArray:
    return column if np.size(column) == 1 else np.asarray(column)[part]


def _mapped(design: Design, name: str, columns: Mapping[str, FloatArray]) -> FloatArray:
    only = Design((design.factor(name),))
    return only.matrix({name: columns[name]})
