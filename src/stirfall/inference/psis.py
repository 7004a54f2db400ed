"""Leave-one-out from posterior draws: Pareto-smoothed importance sampling, all rows at once.

Vehtari, Gelman & Gabry 2017, Statistics and Computing 27:1413, with the tail length and the weakly informed fit of
Vehtari, Simpson, Gelman, Yao & Gabry (Pareto smoothed importance sampling); the fit of the tail after Zhang &
Stephens 2009, Technometrics 51:316.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_SHORTEST_TAIL = 5
# The weakly informed prior of the tail's shape: ten draws' worth of a shape of one half.
_PRIOR_DRAWS = 10.0
_PRIOR_SHAPE = 0.5


def smoothed_weights(log_ratios: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return normalised weights (m, n) for log importance ratios (m, n), and the Pareto k of each column (n,).

    The largest min(m / 5, 3 sqrt m) ratios of each column are replaced by the quantiles of a generalised Pareto law
    fitted to them, none above the largest seen. Columns whose ratios are flat have k = 0 and stay as they are.
    """
    draws, rows = log_ratios.shape
    weights = np.exp(log_ratios - log_ratios.max(axis=0))
    shape = np.zeros(rows)
    tail = tail_length(draws)
    if tail and rows:
        order = np.argpartition(weights, draws - tail - 1, axis=0)[draws - tail - 1 :]
        largest = np.take_along_axis(weights, order, axis=0)
        inner = np.argsort(largest, axis=0, kind="stable")
        order, largest = np.take_along_axis(order, inner, axis=0), np.take_along_axis(largest, inner, axis=0)
        excess = largest[1:] - largest[0]
        heavy = excess[-1] > 1e-9 * largest[-1]
        if heavy.any():
            k, scale = pareto_fit(excess[:, heavy])
            shape[heavy] = k
            smooth = largest[0, heavy] + _quantiles(k, scale, tail)
            np.minimum(smooth, largest[-1, heavy], out=smooth)
            columns = np.flatnonzero(heavy)
            weights[order[1:, columns], columns] = smooth
    return weights / weights.sum(axis=0), shape


def tail_length(count: int) -> int:
    """Return how many of m weights are the tail: min(m / 5, 3 sqrt m), 0 where that is too short for a fit."""
    tail = min(count // 5, math.ceil(3.0 * math.sqrt(count)))
    return tail if tail >= _SHORTEST_TAIL else 0


def pareto_fit(excess: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return shape and scale (n,) of Pareto laws fitted to sorted excesses (t, n), with the weak prior."""
    count = len(excess)
    k, scale = plain_pareto_fit(excess)
    return (count * k + _PRIOR_DRAWS * _PRIOR_SHAPE) / (count + _PRIOR_DRAWS), scale


def plain_pareto_fit(excess: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return shape and scale (n,) after Zhang & Stephens from sorted excesses (t, n), ascending; above 0: heavy."""
    count = len(excess)
    x = np.maximum(excess, 1e-14 * excess[-1])
    grid = 30 + int(math.sqrt(count))
    quartile = x[int(count / 4 + 0.5) - 1]
    steps = np.arange(1, grid + 1, dtype=float)[:, None]
    theta = 1.0 / x[-1] + (1.0 - np.sqrt(grid / (steps - 0.5))) / (3.0 * quartile)
    shape = np.log1p(-theta[:, None, :] * x[None]).mean(axis=1)
    profile = count * (np.log(-theta / shape) - shape - 1.0)
    weight = np.exp(profile - profile.max(axis=0))
    best = (theta * weight).sum(axis=0) / weight.sum(axis=0)
    k = np.log1p(-best * x).mean(axis=0)
    return k, -k / best


def _quantiles(shape: FloatArray, scale: FloatArray, count: int) -> FloatArray:
    """Return the (count, n) quantiles of generalised Pareto laws at (i - 1/2) / count."""
    log_survival = np.log1p(-(np.arange(1, count + 1) - 0.5) / count)[:, None]
    safe = np.where(np.abs(shape) < 1e-9, 1e-9, shape)
    return np.asarray(scale * np.expm1(-safe * log_survival) / safe)
