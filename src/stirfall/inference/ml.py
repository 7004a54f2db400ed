"""Maximum-likelihood logistic regression, which says so when it does not exist.

Existence (Albert & Anderson 1984, Biometrika 71:1) is decided by linear programming (Konis 2007, thesis, Oxford),
never guessed from large numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.estimates import Reason
from stirfall.inference.grouped import checked_rows, expit
from stirfall.inference.separation import separation_reason

FloatArray = NDArray[np.float64]

_STEPS = 60
# A linear predictor this steep is rare in a fit that exists, so the linear programme is asked.
_SUSPECT = 10.0


@dataclass(frozen=True)
class MlFit:
    """The fit, or the reason why there is none; then all numbers are NaN and not to be shown.

    ``estimate`` and ``se`` (p,), ``covariance`` (p, p) the inverse of the expected information. ``deviance`` is
    against the saturated model of the rows as given, ``null_deviance`` that of the intercept alone, ``df`` the
    rows with trials minus p. ``log_likelihood`` contains the binomial coefficients (zero for single trials).
    """

    estimate: FloatArray
    se: FloatArray
    covariance: FloatArray
    deviance: float
    null_deviance: float
    df: int
    log_likelihood: float
    exists: bool
    reason: Reason | None = None


def fit_ml(X: ArrayLike, successes: ArrayLike, trials: ArrayLike) -> MlFit:
    """Fit rows ``X`` (n, p) with ``successes`` of ``trials`` (n,) by Newton steps.

    Raises InputError ``rows.*``. Separation, collinear columns or too little data give ``exists=False`` and why.
    """
    matrix, k, n = checked_rows(X, successes, trials)
    matrix, k, n = matrix[n > 0], k[n > 0], n[n > 0]
    rows, columns = matrix.shape
    reason = _no_fit_at_all(matrix, k, n)
    if reason is not None:
        return _nothing(columns, rows, reason)
    scale = np.sqrt(np.square(matrix).mean(axis=0))
    scaled = matrix / scale
    beta, converged = _climb(scaled, k, n)
    if not converged or np.abs(scaled @ beta).max() > _SUSPECT:
        reason = separation_reason(scaled, k, n)
        if reason is None and not converged:
            reason = Reason("ml.no_convergence", {"steps": _STEPS})
        if reason is not None:
            return _nothing(columns, rows, reason)
    covariance = np.linalg.inv(_information(scaled, n, expit(scaled @ beta))) / scale[:, None] / scale
    fitted = expit(scaled @ beta)
    overall = np.full(rows, k.sum() / n.sum())
    return MlFit(
        estimate=beta / scale,
        se=np.sqrt(np.diag(covariance)),
        covariance=covariance,
        deviance=_deviance(k, n, fitted),
        null_deviance=_deviance(k, n, overall),
        df=rows - columns,
        log_likelihood=_saturated(k, n) - 0.5 * _deviance(k, n, fitted),
        exists=True,
    )


def _nothing(columns: int, rows: int, reason: Reason) -> MlFit:
    none = np.full(columns, math.nan)
    return MlFit(
        none,
        none,
        np.full((columns, columns), math.nan),
        math.nan,
        math.nan,
        rows - columns,
        math.nan,
        False,
        reason,
    )


def _no_fit_at_all(matrix: FloatArray, k: FloatArray, n: FloatArray) -> Reason | None:
    rows, columns = matrix.shape
    if rows == 0:
        return Reason("ml.no_rows")
    if not 0 < k.sum() < n.sum():
        return Reason("ml.one_outcome", {"clean": int(k.sum()), "trials": int(n.sum())})
    scale = np.sqrt(np.square(matrix).sum(axis=0))
    rank = 0 if (scale == 0).any() else int(np.linalg.matrix_rank(matrix / scale))
    if rank < columns:
        return Reason("ml.collinear", {"columns": columns, "rows": rows})
    return None


def _climb(X: FloatArray, k: FloatArray, n: FloatArray) -> tuple[FloatArray, bool]:
    beta = np.zeros(X.shape[1])
    height = -math.inf
    for _ in range(_STEPS):
        eta = X @ beta
        p = expit(eta)
        gradient = X.T @ (k - n * p)
        try:
            step = np.linalg.solve(_information(X, n, p), gradient)
        except np.linalg.LinAlgError:
            return beta, False
        height = _height(eta, k, n)
        gain = float(gradient @ step)
        if gain < 1e-14 * max(1.0, abs(height)):
            return beta + step, True  # Newton steps converge quadratically: the last one settles all digits
        size = 1.0
        while _height(X @ (beta + size * step), k, n) < height and size > 1e-6:
            size /= 2.0
        if size <= 1e-6:
            return beta, gain < 1e-10 * max(1.0, abs(height))
        beta = beta + size * step
    return beta, False


def _height(eta: FloatArray, k: FloatArray, n: FloatArray) -> float:
    return float(k @ eta - n @ np.logaddexp(0.0, eta))


def _information(X: FloatArray, n: FloatArray, p: FloatArray) -> FloatArray:
    return np.asarray((X.T * (n * p * (1.0 - p))) @ X)


def _deviance(k: FloatArray, n: FloatArray, p: FloatArray) -> float:
    """Twice the log-likelihood ratio of the saturated model, with 0 log 0 = 0."""
    with np.errstate(divide="ignore", invalid="ignore"):
        yes = np.where(k > 0, k * np.log(k / (n * p)), 0.0)
        no = np.where(k < n, (n - k) * np.log((n - k) / (n * (1.0 - p))), 0.0)
    return float(2.0 * (yes.sum() + no.sum()))


def _saturated(k: FloatArray, n: FloatArray) -> float:
    """Return the log-likelihood of the saturated model with the binomial coefficients."""
    from scipy.special import gammaln, xlogy

    choose = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    return float((choose + xlogy(k, k / n) + xlogy(n - k, (n - k) / n)).sum())
