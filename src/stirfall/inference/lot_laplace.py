"""The posterior of one gate from hundreds of attempts on: normal in the coefficients and lots, numeric in their sd.

With so many rows the law of the coefficients given the lots' sd is normal to the digits shown, and importance
sampling over every row would be slow. For each of a few values of the sd the joint mode of coefficients and lot
effects is found by Newton steps; Laplace's formula weighs these values (nested approximation after Rue, Martino &
Chopin 2009, J. R. Stat. Soc. B 71:319). Leave-one-out is the first-order formula with the joint leverage of
coefficients and lots (Pregibon 1981, Ann. Stat. 9:705).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.inference.bayes import Posterior
from stirfall.inference.blocks import dot, times, weighted_gram, weighted_sum
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.grouped import expit
from stirfall.inference.loo import GateLoo, log_score
from stirfall.inference.lot_draws import MOST_LOTS, half_normal, standard_normals
from stirfall.inference.lot_kernel import LotRows, lot_rows
from stirfall.inference.newton import Lots, slopes_in_lots

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_DRAWS = 2048
# From the first number of rows on where lots are large, from the second on in any case; the errors are then below
# two hundredths of a posterior standard deviation (measured against importance sampling).
_MANY = (400, 1500)
_LARGE_LOT = 20
_STEPS = 40
_SETTLED = 1e-10
_SCORES = (-4.0, 6.0)
_NODES = np.linspace(-3.0, 3.0, 7)
_HALF_STEP = 0.25


class _Slopes(NamedTuple):
    """Height and derivatives of a log posterior in beta (p,) and z (J,): gradients, A (p, p), C (p, J), D (J,)."""

    height: float
    beta: FloatArray
    z: FloatArray
    A: FloatArray
    C: FloatArray
    D: FloatArray


@dataclass(frozen=True)
class Node:
    """The joint mode at one score of the lots' sd: ``root`` is a root of the covariance of beta given the sd.

    ``mean_beta`` and ``mean_z`` are the means, which differ from the modes by the skewness of the likelihood.
    """

    score: float
    sd: float
    beta: FloatArray
    z: FloatArray
    slopes: _Slopes
    root: FloatArray
    log_density: float
    mean_beta: FloatArray
    mean_z: FloatArray


@dataclass(frozen=True)
class LaplaceFit:
    """A fit of many rows: the nodes over the sd (one without lots), and the rows that it was made of."""

    rows: LotRows
    nodes: tuple[Node, ...]
    prior_sd: FloatArray
    lot_sd_prior: float

    @property
    def best(self) -> Node:
        """The node of the highest density."""
        return max(self.nodes, key=lambda node: node.log_density)

    @property
    def spread(self) -> tuple[float, float]:
        """The score of the best node and the distance of the nodes, for a fit of other terms to start from."""
        step = self.nodes[1].score - self.nodes[0].score if len(self.nodes) > 1 else 0.0
        return self.best.score, step


@dataclass(frozen=True, eq=False)
class NormalLots:
    """Lots in such a posterior; as ``LotDraws``."""

    names: tuple[str, ...]
    sd: FloatArray
    attempts: tuple[int, ...]
    z: FloatArray
    seed: int

    def effects(self, picks: IntArray) -> FloatArray:
        """Return (len(picks), J) draws of every lot's effect, one for each picked draw of the coefficients."""
        return np.asarray(self.sd[picks, None] * self.z[picks])

    def new_lot(self, picks: IntArray) -> FloatArray:
        """Return (len(picks),) draws of the effect of a lot that was not seen yet."""
        return np.asarray(self.sd[picks] * standard_normals(len(picks), 1, self.seed + 1)[:, 0])


def is_many(rows: GateRows) -> bool:
    """Whether a gate has so many rows that they are fitted this way; never in the ordinal form."""
    count = len(rows.k)
    if rows.grade is not None or count <= _MANY[0]:
        return False
    lots = max(1, len(np.unique(rows.group[rows.group >= 0])))
    return count > _MANY[1] or (count >= _LARGE_LOT * lots and bool((rows.group >= 0).all() or not rows.has_lots))


def fit_many(
    rows: GateRows,
    prior_sd: FloatArray,
    *,
    lot_names: tuple[str, ...] = (),
    lot_sd_prior: float = 1.0,
    near: LaplaceFit | None = None,
    token: CancelToken | None = None,
) -> LaplaceFit:
    """Fit the binary rows of a gate; ``near`` is the fit of other terms to the same gate, whose sd is near.

    Lots count where ``lot_names`` are given and the rows belong to two or more. Raises Cancelled.
    """
    has_lots = bool(lot_names) and rows.has_lots
    sorted_by = rows if has_lots else replace(rows, group=np.zeros_like(rows.group), groups=1)
    prepared = lot_rows(sorted_by, merge=False)
    search = _Search(prepared, prior_sd, lot_sd_prior, token)
    if not has_lots:
        return LaplaceFit(prepared, (search.at(None),), prior_sd, lot_sd_prior)
    if near is not None and len(near.nodes) > 1:
        center, step = near.spread
    else:
        center, step = search.locate()
    scores = center + step * _NODES
    return LaplaceFit(prepared, tuple(search.at(float(score)) for score in scores), prior_sd, lot_sd_prior)


class _Search:
    def __init__(self, rows: LotRows, prior_sd: FloatArray, lot_sd_prior: float, token: CancelToken | None) -> None:
        self._rows, self._prior_sd, self._scale, self._token = rows, prior_sd, lot_sd_prior, token
        self._beta = np.zeros(len(prior_sd))
        self._z = np.zeros(rows.lots)

    def locate(self) -> tuple[float, float]:
        """Return the score of the highest density and the distance of nodes: its standard deviation."""
        from scipy.optimize import minimize_scalar

        found = minimize_scalar(
            lambda score: -self.at(float(score), means=False).log_density,
            bounds=_SCORES,
            method="bounded",
            options={"xatol": 0.02},
        )
        center = float(found.x)
        below, middle, above = (
            self.at(center + step, means=False).log_density for step in (-_HALF_STEP, 0.0, _HALF_STEP)
        )
        bend = (2.0 * middle - below - above) / _HALF_STEP**2
        return center, 1.0 / math.sqrt(max(bend, 0.5))

    def at(self, score: float | None, *, means: bool = True) -> Node:
        """Climb to the joint mode at one score (None: no lots), from where the last search ended.

        ``means=False`` leaves the modes in the place of the means, where only the density is asked for.
        """
        sd = 0.0 if score is None else float(half_normal(np.array([score]), self._scale)[0])
        beta, z = self._beta, self._z
        here = self._slopes(beta, z, sd)
        for _ in range(_STEPS):
            if self._token is not None:
                self._token.raise_if_cancelled()
            step_beta, step_z = _newton_step(here)
            gain = float(here.beta @ step_beta + here.z @ step_z)
            if gain < _SETTLED * max(1.0, abs(here.height)):
                break
            share = 1.0
            there = self._slopes(beta + step_beta, z + step_z, sd)
            while there.height < here.height and share > 1e-6:
                share /= 2.0
                there = self._slopes(beta + share * step_beta, z + share * step_z, sd)
            beta, z, here = beta + share * step_beta, z + share * step_z, there
        self._beta, self._z = beta, z
        node = self._node(score, sd, beta, z, here)
        if not means:
            return node
        mean_beta, mean_z = self._means(sd, beta, z, here, node.root)
        return replace(node, mean_beta=mean_beta, mean_z=mean_z)

    def _node(self, score: float | None, sd: float, beta: FloatArray, z: FloatArray, slopes: _Slopes) -> Node:
        precision = slopes.A - (slopes.C / slopes.D) @ slopes.C.T
        lower = np.linalg.cholesky(precision)
        root = np.linalg.inv(lower).T
        log_density = (
            slopes.height
            - float(np.log(self._prior_sd).sum())
            - float(np.log(np.diag(lower)).sum())
            - 0.5 * float(np.log(slopes.D).sum())
        )
        if score is not None:
            log_density += -0.5 * score * score - 0.5 * math.log(2.0 * math.pi)
        return Node(score or 0.0, sd, beta, z, slopes, root, log_density, beta, z)

    def _means(
        self, sd: float, beta: FloatArray, z: FloatArray, slopes: _Slopes, root: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return the means to the next order: minus half the third derivatives times the variances of the rows.

        The first-order correction of Laplace's approximation (Tierney & Kadane 1986, JASA 81:82).
        """
        rows = self._rows
        p = expit(dot(rows.X, beta) + (sd * z)[rows.lot])
        spread = _row_variances(rows.X, rows.lot, sd, slopes, root)
        pull = -0.5 * rows.n * p * (1.0 - p) * (1.0 - 2.0 * p) * spread
        bent = slopes._replace(beta=weighted_sum(pull, rows.X), z=sd * np.add.reduceat(pull, rows.starts))
        step_beta, step_z = _newton_step(bent)
        return beta + step_beta, z + step_z

    def _slopes(self, beta: FloatArray, z: FloatArray, sd: float) -> _Slopes:
        rows, shrink = self._rows, self._prior_sd**-2.0
        found, lots = slopes_in_lots(rows.X, rows.k, rows.n, beta, Lots(rows.lot, rows.starts, sd * z))
        return _Slopes(
            found.height - 0.5 * float((shrink * beta) @ beta) - 0.5 * float(z @ z),
            found.gradient - shrink * beta,
            sd * lots.residual - z,
            found.information + np.diag(shrink),
            sd * lots.cross,
            sd * sd * lots.weight + 1.0,
        )


def _row_variances(X: FloatArray, lot: IntArray, sd: float, slopes: _Slopes, root: FloatArray) -> FloatArray:
    """Return the (r,) variances of the linear predictors of rows whose lots are known."""
    inner = sd / slopes.D
    reduced = times(X, root) - times((slopes.C * inner).T, root)[lot]
    return np.asarray(np.einsum("ij,ij->i", reduced, reduced) + (sd * inner)[lot])


def _newton_step(here: _Slopes) -> tuple[FloatArray, FloatArray]:
    through = here.C / here.D
    precision = here.A - through @ here.C.T
    beta = np.asarray(np.linalg.solve(precision, here.beta - through @ here.z), dtype=float)
    return beta, (here.z - here.C.T @ beta) / here.D


def posterior_of(fit: LaplaceFit, rows: GateRows, lot_names: tuple[str, ...], *, seed: int = 0) -> Posterior:
    """Return the fit as draws, equally weighted; ``pareto_k`` is NaN, for nothing was reweighed."""
    shares, log_marginal = _shares(fit)
    counts = np.floor(np.cumsum(shares) * _DRAWS + 1e-9).astype(int)
    counts[-1] = _DRAWS
    which = np.repeat(np.arange(len(shares)), np.diff(np.r_[0, counts]))
    p = len(fit.prior_sd)
    normals = standard_normals(_DRAWS, p, 5 + 2 * seed)
    draws = np.empty((_DRAWS, p))
    z = standard_normals(_DRAWS, fit.rows.lots if len(lot_names) <= MOST_LOTS else 0, 6 + 2 * seed)
    sd = np.empty(_DRAWS)
    width = fit.spread[1]
    jitter = standard_normals(_DRAWS, 1, 7 + 2 * seed)[:, 0]
    for place, node in enumerate(fit.nodes):
        chosen = which == place
        away = times(normals[chosen], node.root.T)
        draws[chosen] = node.mean_beta + away
        if z.shape[1]:
            z[chosen] /= np.sqrt(node.slopes.D)
            z[chosen] += node.mean_z - times(away, node.slopes.C / node.slopes.D)
        score = node.score + width * (_uniform(jitter[chosen]) - 0.5)
        sd[chosen] = half_normal(score, fit.lot_sd_prior) if len(fit.nodes) > 1 else 0.0
    mean = draws.mean(axis=0)
    return Posterior(
        draws=draws,
        weights=np.full(_DRAWS, 1.0 / _DRAWS),
        mode=fit.best.beta,
        covariance=weighted_gram(draws - mean, np.full(_DRAWS, 1.0 / _DRAWS)),
        prior_sd=fit.prior_sd,
        log_marginal=log_marginal,
        effective_sample_size=float(_DRAWS),
        pareto_k=math.nan,
        n_rows=len(rows.k),
        n_trials=round(float(rows.n.sum())),
        lots=_lots(fit, rows, lot_names, (z, sd), seed) if len(fit.nodes) > 1 else None,
    )


def _lots(
    fit: LaplaceFit, rows: GateRows, names: tuple[str, ...], drawn: tuple[FloatArray, FloatArray], seed: int
) -> NormalLots:
    z, sd = drawn
    whole = standard_normals(_DRAWS, len(names) if z.shape[1] else 0, 8 + 2 * seed)
    if z.shape[1]:
        known = fit.rows.named >= 0
        whole[:, fit.rows.named[known]] = z[:, known]
    attempts = np.bincount(rows.group[rows.group >= 0], minlength=len(names))
    return NormalLots(names, sd, tuple(int(n) for n in attempts), whole, 2 * seed)


def _shares(fit: LaplaceFit) -> tuple[FloatArray, float]:
    """Return the share of every node, and the log marginal likelihood by the trapezoid over the nodes."""
    logs = np.array([node.log_density for node in fit.nodes])
    top = float(logs.max())
    density = np.exp(logs - top)
    step = fit.spread[1] if len(logs) > 1 else 1.0
    return density / density.sum(), top + math.log(float(density.sum()) * step)


def _uniform(normal: FloatArray) -> FloatArray:
    from scipy.special import ndtr

    return np.asarray(ndtr(normal))


def leave_one_out_of_many(fit: LaplaceFit, rows: GateRows) -> GateLoo:
    """Return the leave-one-out probabilities of rows of the same terms, each of a lot of the fit or of none."""
    node = fit.best
    place = np.full(rows.groups + 1, -1, dtype=np.intp)
    known = np.flatnonzero(fit.rows.named >= 0)
    place[fit.rows.named[known]] = known
    lot = place[rows.group]
    seen = lot >= 0 if len(fit.nodes) > 1 else np.zeros(len(lot), dtype=bool)
    sd = node.sd
    eta = dot(rows.X, node.mean_beta) + np.where(seen, sd * node.mean_z[lot], 0.0)
    of_new = np.square(times(rows.X, node.root)).sum(axis=1) + sd * sd
    spread = np.where(seen, _row_variances(rows.X, lot, sd, node.slopes, node.root), of_new)
    # A single trial: 1 / E[1 / P(seen)] with eta normal, and E[1 / expit(eta)] = 1 + e^(variance / 2 - mean).
    side = np.where(rows.k > 0, 1.0, -1.0)
    seen_again = expit(np.clip(side * eta - 0.5 * spread, -30.0, 30.0))
    single = np.where(rows.k > 0, seen_again, 1.0 - seen_again)
    success = np.where(rows.n == 1, single, _left_out_counts(rows, eta, spread))
    return GateLoo(success, log_score(rows.k, rows.n, success), np.full(len(eta), np.nan), is_exact=False)


def _left_out_counts(rows: GateRows, eta: FloatArray, spread: FloatArray) -> FloatArray:
    """Return the probability of a success in rows of several trials, or none, by the one-step formula."""
    p = expit(eta)
    weight = rows.n * p * (1.0 - p)
    leverage = np.minimum(weight * spread, 0.99)
    left_spread = spread / (1.0 - leverage)
    left_eta = eta - left_spread * (rows.k - rows.n * p)
    # The mean of expit over a normal law, to about a hundredth (MacKay 1992, Neural Computation 4:720).
    return expit(np.clip(left_eta / np.sqrt(1.0 + math.pi / 8.0 * left_spread), -30.0, 30.0))
