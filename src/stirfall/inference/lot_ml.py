"""Maximum likelihood where attempts share lots: logistic regression with one normal random intercept per lot.

The marginal likelihood is that of ``lot_kernel``: adaptive Gauss-Hermite quadrature (Pinheiro & Bates 1995,
J. Comput. Graph. Stat. 4:12), of which one node is the Laplace approximation. It is maximised over coefficients and
sd of the lots together, and standard errors come from its Hessian in all of them, so that the uncertainty of the sd
widens those of the coefficients.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.inference.ascent import Summit, Surface, climb, hessian_at
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_bounds import bounds_of_last
from stirfall.inference.lot_kernel import LotRows, lot_modes, lot_rows, marginal_log_likelihood
from stirfall.inference.ml import fit_ml
from stirfall.inference.separation import separation_reason

FloatArray = NDArray[np.float64]

DEFAULT_NODES = 25
MOST_NODES = 100
_STARTS = np.array([0.3, 0.7, 1.5, 3.0, 6.0, 10.0])
# Beyond the first an sd is suspect, beyond the second it has stopped meaning anything and quadrature is blind.
_SUSPECT = 6.0
_WIDEST = 20.0
# So many lots are never all separated by accident, and the linear programme would be large.
_MOST_LOTS_ASKED = 200
_NARROWEST = 1e-3
# 16 sqrt(3) / (15 pi): a logistic curve averaged over a normal effect is about a flatter logistic curve
# (Zeger, Liang & Albert 1988, Biometrics 44:1049); used for starting values only.
_FLATTER = (16.0 * math.sqrt(3.0) / (15.0 * math.pi)) ** 2


@dataclass(frozen=True)
class LotMlFit:
    """The fit, or the reason why there is none (``exists`` False); then all numbers are NaN and not to be shown.

    ``estimate`` and ``se`` (p,), ``covariance`` (p + 1, p + 1) with the sd of the lots last, zeros there where it
    is at its bound 0. ``lot_sd`` on the log-odds scale, with ``lot_sd_se`` (NaN at the bound) and bounds by
    profile likelihood, the upper one infinite where the data set none. ``log_likelihood`` contains the binomial
    coefficients; ``log_likelihood_alone`` is that without lots; ``nodes_gap`` is how far it moves with twice the
    nodes. ``effects`` and ``effect_sd`` (J,) are the conditional modes of the lots that have rows and their sds
    given the estimates, ``named`` (J,) the place of each among the lots of the rows, -1 for a row of unknown lot.
    ``reason`` with ``exists`` True is "lot_ml.no_spread": the sd is 0.
    """

    estimate: FloatArray
    se: FloatArray
    covariance: FloatArray
    lot_sd: float
    lot_sd_se: float
    lot_sd_lower: float
    lot_sd_upper: float
    log_likelihood: float
    log_likelihood_alone: float
    nodes: int
    nodes_gap: float
    exists: bool
    reason: Reason | None
    effects: FloatArray
    effect_sd: FloatArray
    named: NDArray[np.intp]

    @property
    def deviance(self) -> float:
        """Minus twice the log-likelihood, binomial coefficients included."""
        return -2.0 * self.log_likelihood


def fit_lot_ml(
    rows: GateRows, *, nodes: int = DEFAULT_NODES, start: FloatArray | None = None, level: float = 0.95
) -> LotMlFit:
    """Fit the rows of one gate by maximum likelihood over the coefficients and the sd of the lots, 0 included.

    ``start`` (p + 1,) may give coefficients and sd to begin with; ``level`` is that of the bounds on the sd. The
    ordinal form is not fitted: partly counts as failed. Raises InputError ``lot_ml.nodes_outside`` and ``rows.*``.
    """
    if not 1 <= nodes <= MOST_NODES:
        raise InputError("lot_ml.nodes_outside", most=MOST_NODES)
    rows = _with_trials(rows)
    plain = fit_ml(rows.X, rows.k, rows.n)
    reason = plain.reason or _too_few(rows)
    if reason is not None:
        return _nothing(rows.X.shape[1], nodes, reason)
    hill = _Hill(rows, nodes)
    alone = float(hill.surface(np.r_[plain.estimate * hill.scale, 0.0][None])[0])
    summit = _search(hill, plain.estimate * hill.scale, start)
    sd = abs(float(summit.point[-1]))
    if _is_endless(rows, summit):
        return _nothing(rows.X.shape[1], nodes, Reason("lot_ml.endless_spread", {}))
    if not (summit.converged or sd < _NARROWEST):
        return _nothing(rows.X.shape[1], nodes, Reason("lot_ml.no_convergence", {}))
    if sd < _NARROWEST or summit.height <= alone + 1e-9:
        return _at_zero(hill, _Found(np.r_[plain.estimate * hill.scale, 0.0], alone, alone), level)
    return _inside(hill, _Found(np.r_[summit.point[:-1], sd], summit.height, alone), level)


class _Hill:
    """The log-likelihood of scaled coefficients and lot sd, whose sign makes no difference."""

    def __init__(self, rows: GateRows, nodes: int) -> None:
        self.scale = np.sqrt(np.square(rows.X).mean(axis=0))
        self.nodes = nodes
        self.rows: LotRows = lot_rows(replace(rows, X=rows.X / self.scale))
        self.constant = _log_choices(rows.k, rows.n)

    def surface(self, points: FloatArray, *, nodes: int | None = None) -> FloatArray:
        beta, sd = np.ascontiguousarray(points[:, :-1]), np.abs(points[:, -1])
        return marginal_log_likelihood(self.rows, beta, sd, nodes=nodes or self.nodes, exact_modes=True)

    def at_sd(self, sd: float) -> Surface:
        """Return the surface over the coefficients alone, the sd held."""

        def section(points: FloatArray) -> FloatArray:
            return self.surface(np.column_stack([points, np.full(len(points), sd)]))

        return section


def _search(hill: _Hill, beta: FloatArray, start: FloatArray | None) -> Summit:
    """Climb from the best of several sds; from a small one again where 0 turns out to be no top."""
    if start is not None:
        begin = np.r_[np.asarray(start[:-1], dtype=float) * hill.scale, start[-1]]
    else:
        steeper = np.sqrt(1.0 + _FLATTER * _STARTS**2)
        points = np.column_stack([beta * steeper[:, None], _STARTS])
        begin = points[int(np.argmax(hill.surface(points)))]
    summit = climb(hill.surface, begin)
    if abs(summit.point[-1]) < _NARROWEST and summit.hessian[-1, -1] > 0.0:
        summit = climb(hill.surface, np.r_[summit.point[:-1], 0.05])
    return summit


class _Found(NamedTuple):
    """What the search found: the point (p + 1,) on the scaled coefficients, its height, and that without lots."""

    point: FloatArray
    height: float
    alone: float


def _inside(hill: _Hill, found: _Found, level: float) -> LotMlFit:
    size = np.r_[hill.scale, 1.0]
    covariance = np.linalg.inv(-hessian_at(hill.surface, found.point)) / size[:, None] / size
    spread = math.sqrt(covariance[-1, -1])
    return _fit(hill, found, covariance, (spread, *_bounds(hill, found, level)), None)


def _at_zero(hill: _Hill, found: _Found, level: float) -> LotMlFit:
    """Return the fit without lots: the sd is 0, which also is its lower bound."""
    covariance = np.zeros((len(found.point), len(found.point)))
    scaled = np.linalg.inv(-hessian_at(hill.at_sd(0.0), found.point[:-1]))
    covariance[:-1, :-1] = scaled / hill.scale[:, None] / hill.scale
    about_sd = (math.nan, *_bounds(hill, found, level))
    return _fit(hill, found, covariance, about_sd, Reason("lot_ml.no_spread", {}))


def _fit(
    hill: _Hill,
    found: _Found,
    covariance: FloatArray,
    about_sd: tuple[float, float, float],
    reason: Reason | None,
) -> LotMlFit:
    beta, sd = found.point[:-1], float(found.point[-1])
    mode, scale = lot_modes(hill.rows, beta[None], np.array([sd]))
    finer = hill.surface(found.point[None], nodes=max(DEFAULT_NODES, 2 * hill.nodes + 1))
    return LotMlFit(
        estimate=beta / hill.scale,
        se=np.sqrt(np.diag(covariance)[:-1]),
        covariance=covariance,
        lot_sd=sd,
        lot_sd_se=about_sd[0],
        lot_sd_lower=about_sd[1],
        lot_sd_upper=about_sd[2],
        log_likelihood=found.height + hill.constant,
        log_likelihood_alone=found.alone + hill.constant,
        nodes=hill.nodes,
        nodes_gap=float(finer[0]) - found.height,
        exists=True,
        reason=reason,
        effects=mode[:, 0],
        effect_sd=scale[:, 0],
        named=hill.rows.named,
    )


def _bounds(hill: _Hill, found: _Found, level: float) -> tuple[float, float]:
    """Return the sds at which the profile likelihood has fallen by half the chi-square quantile of ``level``."""
    fall = 0.5 * NormalDist().inv_cdf((1.0 + level) / 2.0) ** 2
    return bounds_of_last(hill.surface, found.point, found.height, fall=fall, at_zero=found.alone, widest=_WIDEST)


def _with_trials(rows: GateRows) -> GateRows:
    some = rows.n > 0
    return GateRows(rows.X[some], rows.k[some], rows.n[some], rows.group[some], rows.groups, rows.rows[some])


def _too_few(rows: GateRows) -> Reason | None:
    """Return why these rows cannot tell lots apart: only one lot, or no lot with two trials."""
    if not (rows.group >= 0).any():
        return Reason("lot_ml.no_lots", {})
    trials = np.bincount(_lot_of(rows), weights=rows.n)
    trials = trials[trials > 0]
    if len(trials) < 2:
        return Reason("lot_ml.one_lot", {})
    return Reason("lot_ml.lots_of_one", {}) if trials.max() < 2 else None


def _lot_of(rows: GateRows) -> NDArray[np.intp]:
    """Return the lot of every row, a row of unknown lot being a lot of its own."""
    return np.where(rows.group < 0, rows.groups + np.arange(len(rows.k)), rows.group)


def _is_endless(rows: GateRows, summit: Summit) -> bool:
    """Whether the likelihood still rises as the sd goes to infinity: lots and conditions part all outcomes."""
    sd = abs(float(summit.point[-1]))
    own = _lot_of(rows)[:, None] == np.unique(_lot_of(rows))
    if sd <= _SUSPECT or sd > _WIDEST or own.shape[1] > _MOST_LOTS_ASKED:
        return sd > _WIDEST
    reason = separation_reason(np.column_stack([rows.X, own]), rows.k, rows.n)
    if reason is None or reason.code != "ml.complete_separation":
        return False
    fine = _Hill(rows, MOST_NODES)
    here = climb(fine.at_sd(sd), summit.point[:-1])
    return climb(fine.at_sd(_WIDEST), here.point * (_WIDEST / sd)).height > here.height


def _nothing(columns: int, nodes: int, reason: Reason) -> LotMlFit:
    none, nan = np.full(columns, math.nan), math.nan
    return LotMlFit(
        estimate=none,
        se=none,
        covariance=np.full((columns + 1, columns + 1), nan),
        lot_sd=nan,
        lot_sd_se=nan,
        lot_sd_lower=nan,
        lot_sd_upper=nan,
        log_likelihood=nan,
        log_likelihood_alone=nan,
        nodes=nodes,
        nodes_gap=nan,
        exists=False,
        reason=reason,
        effects=np.empty(0),
        effect_sd=np.empty(0),
        named=np.empty(0, dtype=np.intp),
    )


def _log_choices(k: FloatArray, n: FloatArray) -> float:
    from scipy.special import gammaln

    return float((gammaln(n + 1.0) - gammaln(k + 1.0) - gammaln(n - k + 1.0)).sum())
