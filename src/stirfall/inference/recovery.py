"""Recovery of clean attempts: a normal linear model of its logit with a conjugate prior, all in closed form.

Model: logit(recovery) = x beta + error, error ~ N(0, s2). Prior: beta | s2 ~ N(m0, s2 P0^-1) and
s2 ~ inverse gamma(a0, b0). Posterior, with P = P0 + X'X (Gelman et al., Bayesian Data Analysis, 3rd ed. 2013,
chapter 14; Bishop, Pattern Recognition and Machine Learning, 2006, exercises 3.12 and 3.13; from memory):

    m = P^-1 (P0 m0 + X'y),  a = a0 + n/2,  b = b0 + ((y - X m)'(y - X m) + (m - m0)' P0 (m - m0)) / 2

The logit of a new attempt at x is Student-t with 2a degrees of freedom around x m, with scale squared
(b / a) (1 + x P^-1 x').
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError

FloatArray = NDArray[np.float64]

# Above this a recovery cannot be told from 1 by weighing (0.2 % of the charge, or oil on the metal); at and below
# the lower one the logit would only measure the balance. Our own choice.
HIGHEST = 0.995
LOWEST = 0.005

_QUANTILES = 2048
_NODES = 32


@dataclass(frozen=True)
class RecoveryPrior:
    """The conjugate prior: ``mean`` (p,), ``precision`` (p,) in units of 1 / s2, ``shape`` a0 and ``scale`` b0.

    Precision 0, shape -p/2 and scale 0 make the flat prior 1 / s2, which gives ordinary least squares.
    """

    mean: FloatArray
    precision: FloatArray
    shape: float
    scale: float


def default_prior(terms: int) -> RecoveryPrior:
    """Return our own weak prior for an intercept and ``terms`` - 1 effects over half the campaign's range.

    No source: it is worth a ninth of an attempt. The logit of the mean recovery lies around that of 0.85 with
    standard deviation 1.5 (95 % between about 0.23 and 0.99), each effect around zero with 1.0, and the scatter
    from attempt to attempt around 0.5 (the prior of its square has four degrees of freedom).
    """
    scatter = 0.5
    sd = np.full(terms, 1.0)
    mean = np.zeros(terms)
    if terms:
        sd[0], mean[0] = 1.5, logit(np.array([0.85]))[0]
    return RecoveryPrior(mean, (scatter / sd) ** 2, 2.0, scatter**2)


@dataclass(frozen=True)
class RecoveryFit:
    """The posterior: ``mean`` (p,), ``covariance`` (p, p) in units of s2, ``shape`` a, ``scale`` b, ``n`` rows."""

    mean: FloatArray
    covariance: FloatArray
    shape: float
    scale: float
    n: int


@dataclass(frozen=True)
class RecoveryBands:
    """Mean recovery at the points with interval bounds, each array (points,), as shares of what was there."""

    mean: FloatArray
    lower: FloatArray
    upper: FloatArray


def logit(share: FloatArray) -> FloatArray:
    """Return ln(r / (1 - r))."""
    return np.log(share) - np.log1p(-share)


def expit(value: FloatArray) -> FloatArray:
    """Return 1 / (1 + exp(-v)) without overflow."""
    return 0.5 * (1.0 + np.tanh(0.5 * value))


def held(recovery: FloatArray) -> FloatArray:
    """Return recoveries (n,) held between 0.005 and 0.995, where their logit still means something."""
    return np.clip(recovery, LOWEST, HIGHEST)


def fit_recovery(X: FloatArray, recovery: FloatArray, prior: RecoveryPrior | None = None) -> RecoveryFit:
    """Fit the recoveries (n,), held as ``held`` does, at design rows X (n, p); n may be 0.

    Raises InputError ``rows.shape`` or ``rows.not_finite``.
    """
    X, recovery = np.asarray(X, dtype=float), np.asarray(recovery, dtype=float)
    if X.ndim != 2 or recovery.shape != (len(X),):
        raise InputError("rows.shape", rows=str(X.shape), counts=str(recovery.shape))
    if not (np.isfinite(X).all() and np.isfinite(recovery).all()):
        raise InputError("rows.not_finite")
    return fit_normal(X, logit(held(recovery)), prior or default_prior(X.shape[1]))


def fit_normal(X: FloatArray, y: FloatArray, prior: RecoveryPrior) -> RecoveryFit:
    """Return the conjugate posterior of y (n,) at rows X (n, p); see the head of this module."""
    precision = np.diag(prior.precision) + X.T @ X
    covariance = np.linalg.inv(precision)
    mean = covariance @ (prior.precision * prior.mean + X.T @ y)
    residual, shift = y - X @ mean, mean - prior.mean
    scale = prior.scale + 0.5 * float(residual @ residual + shift @ (prior.precision * shift))
    return RecoveryFit(mean, (covariance + covariance.T) / 2.0, prior.shape + len(y) / 2.0, scale, len(y))


def predictive(fit: RecoveryFit, X: FloatArray) -> tuple[FloatArray, FloatArray, float]:
    """Return location and scale (points,) and degrees of freedom of the Student-t logit of a new attempt."""
    leverage = np.einsum("ij,jk,ik->i", X, fit.covariance, X)
    return X @ fit.mean, np.sqrt(fit.scale / fit.shape * (1.0 + leverage)), 2.0 * fit.shape


def new_attempt(fit: RecoveryFit, X: FloatArray, level: float) -> RecoveryBands:
    """Return mean and interval of the recovery of one new clean attempt at each row of X (points, p).

    Bounds are exact quantiles; the mean is the average over the midpoints of 2,048 equal parts of the law. It is
    held inside the interval, which only a very skew law can leave.
    """
    from scipy.special import stdtrit

    location, scale, degrees = predictive(fit, X)
    shares = (np.arange(_QUANTILES) + 0.5) / _QUANTILES
    mean = expit(location[:, None] + scale[:, None] * stdtrit(degrees, shares)).mean(axis=1)
    reach = scale * float(stdtrit(degrees, 0.5 + level / 2.0))
    lower, upper = expit(location - reach), expit(location + reach)
    return RecoveryBands(mean, np.minimum(lower, mean), np.maximum(upper, mean))


def mean_draws(fit: RecoveryFit, X: FloatArray, *, draws: int = 2048, seed: int = 0) -> FloatArray:
    """Return (draws, points) equally likely draws of the mean recovery of clean attempts at rows X (points, p).

    For each draw of beta and s2 (exact, from a scrambled Sobol sequence) the scatter from attempt to attempt is
    averaged out by Gauss-Hermite quadrature.
    """
    beta, s2 = posterior_draws(fit, draws=draws, seed=seed)
    nodes, node_weights = np.polynomial.hermite_e.hermegauss(_NODES)
    node_weights = node_weights / node_weights.sum()
    eta, sd = beta @ X.T, np.sqrt(s2)
    mean = np.zeros_like(eta)
    for node, weight in zip(nodes, node_weights, strict=True):
        mean += weight * expit(eta + (node * sd)[:, None])
    return mean


def posterior_draws(fit: RecoveryFit, *, draws: int = 2048, seed: int = 0) -> tuple[FloatArray, FloatArray]:
    """Return draws of beta (draws, p) and of s2 (draws,) from the posterior."""
    from scipy.special import gammaincinv, ndtri
    from scipy.stats.qmc import Sobol

    terms = len(fit.mean)
    engine = Sobol(terms + 1, scramble=True, seed=seed)
    uniform = engine.random_base2(max(0, math.ceil(math.log2(draws))))[:draws]
    uniform = np.clip(uniform, 2.0**-34, 1.0 - 2.0**-34)
    s2 = fit.scale / gammaincinv(fit.shape, uniform[:, -1])
    root = np.linalg.cholesky(fit.covariance)
    beta = fit.mean + (ndtri(uniform[:, :-1]) @ root.T) * np.sqrt(s2)[:, None]
    return np.asarray(beta, dtype=float), np.asarray(s2, dtype=float)


def mean_recovery(fit: RecoveryFit, X: FloatArray, level: float) -> RecoveryBands:
    """Return the mean recovery over clean attempts with its interval at each row of X (points, p)."""
    draws = mean_draws(fit, X)
    tail = (1.0 - level) / 2.0
    lower, upper = np.quantile(draws, [tail, 1.0 - tail], axis=0)
    mean = draws.mean(axis=0)
    return RecoveryBands(mean, np.minimum(lower, mean), np.maximum(upper, mean))
