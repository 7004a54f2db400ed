"""Binomial tails and exact bounds of a proportion, for failures that are counted.

Bounds: Clopper & Pearson 1934 (Biometrika 26:404), by the quantiles of the beta law.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def at_most(failures: ArrayLike, attempts: ArrayLike, rate: ArrayLike) -> FloatArray:
    """Return P(X <= failures) of X ~ binomial(attempts, rate), exactly; the arguments are broadcast."""
    from scipy.special import betainc

    k, n, p = np.broadcast_arrays(*(np.asarray(each, dtype=float) for each in (failures, attempts, rate)))
    inside = (k >= 0) & (k < n)
    tail = betainc(np.where(inside, n - k, 1.0), np.where(inside, k + 1.0, 1.0), 1.0 - p)
    return np.where(inside, tail, np.where(k >= n, 1.0, 0.0))


def more_than(failures: ArrayLike, attempts: ArrayLike, rate: ArrayLike) -> FloatArray:
    """Return P(X > failures) of X ~ binomial(attempts, rate), exactly, also where it is tiny."""
    from scipy.special import betainc

    k, n, p = np.broadcast_arrays(*(np.asarray(each, dtype=float) for each in (failures, attempts, rate)))
    inside = (k >= 0) & (k < n)
    tail = betainc(np.where(inside, k + 1.0, 1.0), np.where(inside, n - k, 1.0), p)
    return np.where(inside, tail, np.where(k >= n, 0.0, 1.0))


def highest_rate(failures: int, attempts: int, confidence: float) -> float:
    """Return the failure rate at which so few failures or fewer have the chance 1 - confidence; 1 for all."""
    from scipy.special import betaincinv

    if failures >= attempts:
        return 1.0
    return float(betaincinv(failures + 1.0, attempts - failures, confidence))


def lowest_rate(failures: int, attempts: int, confidence: float) -> float:
    """Return the failure rate at which so many failures or more have the chance 1 - confidence; 0 for none."""
    from scipy.special import betaincinv

    if failures <= 0:
        return 0.0
    return float(betaincinv(failures, attempts - failures + 1.0, 1.0 - confidence))
