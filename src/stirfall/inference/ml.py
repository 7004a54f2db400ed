"""Maximum-likelihood logistic regression, which says so when it does not exist.

Existence (Albert & Anderson 1984, Biometrika 71:1) is proved by the slopes at the summit where they can, else
decided by linear programming (Konis 2007, thesis, Oxford), never guessed from large numbers.

The proof: along a direction d that parts the outcomes, x.d has the sign of each pure row's residual r and is zero
in mixed rows. So gradient.d = sum |r x.d| >= sum n p (1-p) |x.d| >= d'I d / max |x.d|: there is no such d when the
least eigenvalue of the information I exceeds the length of the gradient times that of the longest row. Any scale of
the columns will do; that which gives I a unit diagonal is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.estimates import Reason
from stirfall.inference.blocks import dot, slices, weighted_gram
from stirfall.inference.grouped import checked_rows, expit
from stirfall.inference.newton import Summit, climb
from stirfall.inference.separation import separation_reason

FloatArray = NDArray[np.float64]

_STEPS = 60
_BLOCK = 4096
# Larger numbers than this are brought to one size before they are squared.
_LARGE = 1e60
# Least eigenvalue, on columns of one size, at which no rounding can have made columns look independent.
_INDEPENDENT = 1e-8
# The proof of existence must hold by this factor.
_MARGIN = 10.0
_EPSILON = float(np.finfo(float).eps)


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
    if not (n > 0).all():
        matrix, k, n = matrix[n > 0], k[n > 0], n[n > 0]
    rows, columns = matrix.shape
    if rows == 0:
        return _nothing(columns, rows, Reason("ml.no_rows"))
    if not 0 < k.sum() < n.sum():
        return _nothing(columns, rows, Reason("ml.one_outcome", {"clean": int(k.sum()), "trials": int(n.sum())}))
    if rows >= columns and _largest(matrix) < _LARGE:
        summit = climb(matrix, k, n, steps=_STEPS)
        if _proves_itself(summit, matrix, float(n.sum())):
            return _found(summit, matrix, k, n, np.ones(columns))
    return _fit_with_care(matrix, k, n)


def _fit_with_care(matrix: FloatArray, k: FloatArray, n: FloatArray) -> MlFit:
    """Fit columns of one size, and find out why where there is no fit."""
    rows, columns = matrix.shape
    scale = np.maximum(matrix.max(axis=0), -matrix.min(axis=0))
    scaled = matrix / np.where(scale > 0, scale, 1.0)
    if (scale == 0).any() or _rank(scaled) < columns:
        return _nothing(columns, rows, Reason("ml.collinear", {"columns": columns, "rows": rows}))
    summit = climb(scaled, k, n, steps=_STEPS)
    if not _proves_itself(summit, scaled, float(n.sum())):
        reason = separation_reason(scaled, k, n)
        if reason is None and not summit.is_reached:
            reason = Reason("ml.no_convergence", {"steps": _STEPS})
        if reason is not None:
            return _nothing(columns, rows, reason)
    return _found(summit, scaled, k, n, scale)


def _found(summit: Summit, X: FloatArray, k: FloatArray, n: FloatArray, scale: FloatArray) -> MlFit:
    size = np.sqrt(np.diag(summit.slopes.information)) * scale
    alike = np.linalg.inv(summit.slopes.information * (scale / size) * (scale / size)[:, None])
    with np.errstate(over="ignore"):
        covariance = alike / size / size[:, None]
    mixed = np.flatnonzero((k > 0) & (k < n))
    deviance = -2.0 * summit.slopes.height if not len(mixed) else _deviance(X, k, n, summit.beta)
    return MlFit(
        estimate=summit.beta / scale,
        se=np.sqrt(np.diag(alike)) / size,
        covariance=covariance,
        deviance=deviance,
        null_deviance=_null_deviance(k, n, mixed),
        df=len(X) - X.shape[1],
        log_likelihood=_saturated(k[mixed], n[mixed]) - 0.5 * deviance,
        exists=True,
    )


def _proves_itself(summit: Summit, X: FloatArray, trials: float) -> bool:
    """Whether the slopes at the summit prove that columns are independent and no direction parts the outcomes."""
    information = summit.slopes.information
    size = np.sqrt(np.diag(information))
    if not summit.is_reached or not (size > 0).all():
        return False
    least = float(np.linalg.eigvalsh(information / size / size[:, None])[0])
    if least < _INDEPENDENT:
        return False
    slope = float(np.linalg.norm(summit.slopes.gradient / size))

    def is_enough(longest: float) -> bool:
        return least > _MARGIN * (slope + _EPSILON * trials * longest) * longest

    # A bound on the longest row settles it as a rule.
    return is_enough(_largest(X) * float(np.linalg.norm(1.0 / size))) or is_enough(
        max(math.sqrt(float(np.square(X[rows] / size).sum(axis=1).max())) for rows in slices(len(X), _BLOCK))
    )


def _largest(X: FloatArray) -> float:
    return max(float(X.max(initial=0.0)), -float(X.min(initial=0.0)))


def _rank(scaled: FloatArray) -> int:
    """Return the rank of columns whose largest number is one; by their products where these leave no doubt."""
    gram = weighted_gram(scaled, np.ones(len(scaled)))
    size = np.sqrt(np.diag(gram))
    if np.linalg.eigvalsh(gram / size / size[:, None])[0] > _INDEPENDENT:
        return len(gram)
    return int(np.linalg.matrix_rank(scaled / size))


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


def _deviance(X: FloatArray, k: FloatArray, n: FloatArray, beta: FloatArray) -> float:
    """Twice the log-likelihood ratio of the saturated model, row by row so that nothing large cancels."""
    total = 0.0
    for rows in slices(len(k), _BLOCK):
        eta = dot(X[rows], beta)
        total += _lost(k[rows], n[rows], expit(eta)) + _lost(n[rows] - k[rows], n[rows], expit(-eta))
    return 2.0 * total


def _null_deviance(k: FloatArray, n: FloatArray, mixed: NDArray[np.intp]) -> float:
    """Return the deviance of one probability for all; only rows with both outcomes are looked at one by one."""
    yes, no = float(k.sum()), float((n - k).sum())
    some_k, some_n = k[mixed], n[mixed]
    p, q = np.full(len(mixed), yes / (yes + no)), np.full(len(mixed), no / (yes + no))
    pure_yes, pure_no = yes - float(some_k.sum()), no - float((some_n - some_k).sum())
    pure = pure_yes * math.log(yes / (yes + no)) + pure_no * math.log(no / (yes + no))
    return 2.0 * (_lost(some_k, some_n, p) + _lost(some_n - some_k, some_n, q) - pure)


def _lost(k: FloatArray, n: FloatArray, p: FloatArray) -> float:
    """Return the sum of k log(k / (n p)), with 0 log 0 = 0."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(np.where(k > 0, k * np.log(k / (n * p)), 0.0).sum())


def _saturated(k: FloatArray, n: FloatArray) -> float:
    """Return the log-likelihood of the saturated model with the binomial coefficients; pure rows add nothing."""
    from scipy.special import gammaln, xlogy

    choose = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    return float((choose + xlogy(k, k / n) + xlogy(n - k, (n - k) / n)).sum())
