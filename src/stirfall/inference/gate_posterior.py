"""The posterior of one gate with everything in it: the ordinal form of partly parted, and lots that differ.

The same importance sampler as for the plain form; the parameters beyond the coefficients are the log distance of
the cuts, with an N(0, 1) prior, and the sd of the lots' effects with a half-normal prior. The lots' effects
themselves are integrated out, so that few attempts in many lots do not lead it astray.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.inference.bayes import Posterior, fit_posterior, posterior_mode
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.grouped import collapse
from stirfall.inference.importance import effective_size, pareto_k
from stirfall.inference.lot_draws import LotDraws, half_normal, half_normal_score
from stirfall.inference.lot_kernel import DEFAULT_NODES, LotRows, lot_rows, marginal_log_likelihood
from stirfall.inference.lot_laplace import fit_many
from stirfall.inference.sampler import Sampler, moments, root_of_inverse

FloatArray = NDArray[np.float64]

# Newton steps and nodes of the quadrature make an evaluation of a row this many times as dear as a plain one.
_COST_OF_QUADRATURE = 12
_ROUNDS = (3, 4)
_ADAPT_DRAWS = 512
# Where a row has more trials than this, the plain fit is so sure of itself that it may miss where lots differ.
_MANY_TRIALS = 20
_WIDER = 1.3


@dataclass(frozen=True)
class _Parameters:
    """Where what stands in a point: p coefficients, then the log distance, then the score of the sd."""

    coefficients: int
    is_ordinal: bool
    has_lots: bool
    lot_sd_prior: float

    def split(self, points: FloatArray) -> tuple[FloatArray, FloatArray | None, FloatArray]:
        """Return coefficients (m, p), distance (m,) or None, and sd (m,), zero without lots."""
        beta = points[:, : self.coefficients]
        distance = np.exp(np.clip(points[:, self.coefficients], -30.0, 30.0)) if self.is_ordinal else None
        sd = half_normal(points[:, -1], self.lot_sd_prior) if self.has_lots else np.zeros(len(points))
        return beta, distance, sd


def fit_gate(
    rows: GateRows,
    prior_sd: ArrayLike,
    *,
    lot_names: tuple[str, ...] = (),
    lot_sd_prior: float = 1.0,
    draws: int = 4096,
    seed: int = 0,
    token: CancelToken | None = None,
) -> Posterior:
    """Fit the rows of one gate; lots count where ``lot_names`` are given and the rows belong to two or more.

    ``prior_sd`` (p,) as in ``fit_posterior``, which does the work where there are neither lots nor partly parted
    rows. In the result ``draws`` holds the coefficients alone, and ``mode`` is their mean. Raises what
    ``fit_posterior`` raises.
    """
    has_lots = bool(lot_names) and rows.has_lots
    is_ordinal = rows.grade is not None and bool((rows.grade == 1).any())
    if not has_lots and not is_ordinal:
        return fit_posterior(rows.X, rows.k, rows.n, prior_sd, draws=draws, seed=seed, token=token)
    sd = np.broadcast_to(np.asarray(prior_sd, dtype=float), rows.X.shape[1:]).copy()
    used = rows if has_lots else rows.without_lots()
    if not is_ordinal and rows.grade is not None:
        used = GateRows(used.X, used.k, used.n, used.group, used.groups, used.rows)
    parameters = _Parameters(len(sd), is_ordinal, has_lots, lot_sd_prior)
    return _fit(used, lot_rows(used), sd, parameters, lot_names, draws=draws, seed=seed, token=token)


def _fit(
    rows: GateRows,
    prepared: LotRows,
    sd: FloatArray,
    parameters: _Parameters,
    lot_names: tuple[str, ...],
    *,
    draws: int,
    seed: int,
    token: CancelToken | None,
) -> Posterior:
    nodes = DEFAULT_NODES if parameters.has_lots else 1

    def target(points: FloatArray) -> FloatArray:
        beta, distance, lot_sd = parameters.split(points)
        return marginal_log_likelihood(prepared, beta, lot_sd, nodes=nodes, distance=distance, token=token)

    whole_sd = np.r_[sd, [1.0] * parameters.is_ordinal, [1.0] * parameters.has_lots]
    cost = (_COST_OF_QUADRATURE if parameters.has_lots else 2) * len(prepared.k)
    sampler = Sampler(target, cost, whole_sd, seed, _ROUNDS, _ADAPT_DRAWS)
    if parameters.has_lots and not parameters.is_ordinal and float(prepared.n.max()) > _MANY_TRIALS:
        start = _start_near_lots(rows, sd, parameters, lot_names, token)
    else:
        start = _start(rows, sd, parameters)
    sample = sampler.run(*start, draws)
    beta, distance, lot_sd = parameters.split(sample.points)
    lots = None
    if parameters.has_lots:
        attempts = np.bincount(rows.group[rows.group >= 0], minlength=len(lot_names))
        lots = LotDraws(lot_names, lot_sd, prepared, beta, distance, tuple(int(n) for n in attempts), 2 * seed)
    return Posterior(
        draws=beta,
        weights=sample.weights,
        mode=sample.weights @ beta,
        covariance=moments(beta, sample.weights)[1],
        prior_sd=sd,
        log_marginal=sample.log_marginal,
        effective_sample_size=effective_size(sample.weights),
        pareto_k=pareto_k(sample.weights),
        n_rows=len(rows.k),
        n_trials=round(float(rows.n.sum())),
        distance=distance,
        lots=lots,
    )


def _start(rows: GateRows, sd: FloatArray, parameters: _Parameters) -> tuple[FloatArray, FloatArray]:
    """Return centre and root of a first proposal: the plain fit, a little wider, and the other priors' middle."""
    plain = collapse(rows.X, rows.k, rows.n)
    mode, precision = posterior_mode(plain, sd)
    center = [mode]
    spread = []
    if parameters.is_ordinal:
        center.append(np.zeros(1))
        spread.append(0.7)
    if parameters.has_lots:
        center.append(np.array([half_normal_score(0.6 * parameters.lot_sd_prior, parameters.lot_sd_prior)]))
        spread.append(0.9)
    p = len(mode)
    factor = np.zeros((p + len(spread), p + len(spread)))
    factor[:p, :p] = 1.2 * root_of_inverse(precision)
    factor[range(p, p + len(spread)), range(p, p + len(spread))] = spread
    return np.concatenate(center), factor


def _start_near_lots(
    rows: GateRows, sd: FloatArray, parameters: _Parameters, lot_names: tuple[str, ...], token: CancelToken | None
) -> tuple[FloatArray, FloatArray]:
    """Return centre and root of a first proposal from the nested normal laws of coefficients, lots and their sd."""
    fit = fit_many(rows, sd, lot_names=lot_names, lot_sd_prior=parameters.lot_sd_prior, token=token)
    p = len(sd)
    factor = np.zeros((p + 1, p + 1))
    factor[:p, :p] = fit.best.root
    factor[p, p] = fit.spread[1]
    return np.append(fit.best.mean_beta, fit.spread[0]), _WIDER * factor
