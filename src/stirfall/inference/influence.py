"""Which attempts pull the fit: leverage, residuals, and what one step of leaving an attempt out would change.

Pregibon 1981, Ann. Stat. 9:705, also for a penalised fit: there the precision of the posterior at its mode stands
where the information stands otherwise, and the prior stays while the attempt goes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.inference.blocks import dot, times, weighted_gram
from stirfall.inference.grouped import checked_rows, expit

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

# Our proposal, after the size-adjusted limit of Belsley, Kuh & Welsch 1980 (Regression Diagnostics): look at an
# attempt when leaving it out moves the log odds at its own conditions by more than one of their standard deviations
# and more than 2.5 roots of the mean leverage, and the probability there by more than 5 points; at the strongest
# few only. In simulated campaigns of 6 to 40 attempts whose model was right that was about one at most.
FLAG_SDS = 1.0
FLAG_ROOTS = 2.5
FLAG_CHANGE = 0.05
MOST_FLAGS = 3
# An attempt that alone settles a coefficient has leverage one; its one step would be infinite.
_HIGHEST_LEVERAGE = 1.0 - 1e-9


@dataclass(frozen=True)
class Influence:
    """Per row (r,): how far it lies out, how badly it is fitted, and how far the fit follows it.

    ``fitted`` is the probability with the row, ``without`` the probability at its conditions after one step without
    it. ``pearson`` and ``deviance`` are residuals, ``pull`` the change of the linear predictor there (with minus
    without the row) in standard deviations, ``distance`` Cook's for the whole fit: the change of all coefficients
    in the metric of the precision, per coefficient. ``change`` (r, p) is coefficients with minus without the row.
    """

    fitted: FloatArray
    without: FloatArray
    leverage: FloatArray
    pearson: FloatArray
    deviance: FloatArray
    pull: FloatArray
    distance: FloatArray
    change: FloatArray
    flagged: BoolArray


def influence(
    X: ArrayLike,
    successes: ArrayLike,
    trials: ArrayLike,
    estimate: FloatArray,
    prior_sd: FloatArray | None = None,
) -> Influence:
    """Return the influence of each row ``X`` (r, p) on a fit with coefficients ``estimate`` (p,).

    ``prior_sd`` (p,) is that of a posterior mode, None for maximum likelihood, whose information must not be
    singular. Raises InputError ``rows.*``. No rows give empty arrays.
    """
    matrix, k, n = checked_rows(X, successes, trials)
    eta = dot(matrix, estimate)
    p = expit(eta)
    weight = n * p * (1.0 - p)
    precision = weighted_gram(matrix, weight)
    if prior_sd is not None:
        precision = precision + np.diag(1.0 / prior_sd**2)
    spread = times(matrix, _inverse(precision))
    variance = np.einsum("ij,ij->i", spread, matrix)
    leverage = np.clip(weight * variance, 0.0, _HIGHEST_LEVERAGE)
    residual = k - n * p
    step = residual / (1.0 - leverage)
    shift = variance * step
    without = expit(eta - shift)
    pull = np.sqrt(variance) * step
    distance = variance * step**2 / max(1, matrix.shape[1])
    return Influence(
        fitted=p,
        without=without,
        leverage=leverage,
        pearson=residual / np.sqrt(np.maximum(weight, np.finfo(float).tiny)),
        deviance=_deviance_residuals(eta, k, n),
        pull=pull,
        distance=distance,
        change=spread * step[:, None],
        flagged=_flags(pull, p - without, leverage),
    )


def _inverse(precision: FloatArray) -> FloatArray:
    """Return the inverse of a positive definite matrix whose columns may be on very different scales."""
    scale = 1.0 / np.sqrt(np.diag(precision))
    scaled = precision * scale[:, None] * scale
    return np.asarray(np.linalg.inv(scaled) * scale[:, None] * scale)


def _deviance_residuals(eta: FloatArray, k: FloatArray, n: FloatArray) -> FloatArray:
    """Return signed roots of twice the log-likelihood below the saturated one, stable for any ``eta``."""
    seen = np.maximum(n, 1.0)
    share = k / seen
    yes = np.where(k > 0, k * np.log(np.where(k > 0, share, 1.0)), 0.0) + k * np.logaddexp(0.0, -eta)
    failures = n - k
    no = np.where(failures > 0, failures * np.log(np.where(failures > 0, 1.0 - share, 1.0)), 0.0)
    no = no + failures * np.logaddexp(0.0, eta)
    sign = np.sign(k - n * expit(eta))
    return np.asarray(sign * np.sqrt(np.maximum(0.0, 2.0 * (yes + no))))


def _flags(pull: FloatArray, change: FloatArray, leverage: FloatArray) -> BoolArray:
    """Flag the strongest few of the rows that pass all limits."""
    limit = max(FLAG_SDS, FLAG_ROOTS * float(np.sqrt(leverage.mean()))) if len(leverage) else FLAG_SDS
    passes = (np.abs(pull) > limit) & (np.abs(change) > FLAG_CHANGE)
    strongest = np.argsort(-np.abs(pull), kind="stable")
    flagged = np.zeros(len(pull), dtype=bool)
    flagged[[place for place in strongest if passes[place]][:MOST_FLAGS]] = True
    return flagged
