"""Importance sampling: Student-t points from scrambled Sobol sequences, and the health of the weights."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.psis import plain_pareto_fit, tail_length

FloatArray = NDArray[np.float64]


def degrees_of_freedom(dimension: int) -> float:
    """Return the degrees of the proposal: heavy tails keep Pareto k low, light ones the effective size high.

    Ten more than the dimension was the best of several rules tried for 4 to 30 coefficients.
    """
    return 10.0 + dimension


@lru_cache(maxsize=24)
def student_points(count: int, dimension: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Return (count, dimension) standard multivariate-t points and their (count,) log densities.

    A scrambled Sobol sequence gives the normals, one more of its dimensions the chi-square divisor. The arrays are
    shared between calls and read-only. Loads ``scipy.stats``, which is slow the first time.
    """
    from scipy.special import gammaincinv, gammaln, ndtri
    from scipy.stats.qmc import Sobol

    degrees = degrees_of_freedom(dimension)
    engine = Sobol(dimension + 1, scramble=True, seed=seed)
    whole = engine.random_base2(max(0, math.ceil(math.log2(count))))[:count]
    uniform = np.clip(whole, 2.0**-34, 1.0 - 2.0**-34)
    chi_square = 2.0 * gammaincinv(degrees / 2.0, uniform[:, -1])
    points = ndtri(uniform[:, :-1]) * np.sqrt(degrees / chi_square)[:, None]
    constant = (
        gammaln((degrees + dimension) / 2) - gammaln(degrees / 2) - dimension / 2 * math.log(degrees * math.pi)
    )
    squares = np.einsum("ij,ij->i", points, points)
    log_density = constant - (degrees + dimension) / 2 * np.log1p(squares / degrees)
    points.setflags(write=False)
    log_density.setflags(write=False)
    return points, log_density


def normalised(log_ratios: FloatArray) -> tuple[FloatArray, float]:
    """Return weights that sum to one, and the log of the mean ratio."""
    top = float(log_ratios.max())
    ratios = np.exp(log_ratios - top)
    total = float(ratios.sum())
    return ratios / total, top + math.log(total / len(ratios))


def tempered(weights: FloatArray, fewest: float) -> FloatArray:
    """Return weights raised to the power, at most one, at which their effective size is at least ``fewest``.

    A first proposal that misses leaves its whole weight on a few draws; their moments would mislead the next one.
    """
    if effective_size(weights) >= fewest:
        return weights
    logs = np.log(np.maximum(weights, 1e-300))
    low, high = 0.0, 1.0
    for _ in range(20):
        middle = 0.5 * (low + high)
        enough = effective_size(normalised(middle * logs)[0]) >= fewest
        low, high = (middle, high) if enough else (low, middle)
    return normalised(low * logs)[0]


def effective_size(weights: FloatArray) -> float:
    """Return the effective sample size 1 / sum w^2 of normalised weights (Kong 1992)."""
    return float(1.0 / np.square(weights).sum())


def pareto_k(weights: FloatArray) -> float:
    """Return the shape of a generalised Pareto law fitted to the largest weights; below 0.7 is sound.

    The tail is the largest min(m / 5, 3 sqrt m) weights (Vehtari, Simpson, Gelman, Yao & Gabry, "Pareto smoothed
    importance sampling"), the fit that of Zhang & Stephens 2009, Technometrics 51:316. A tail that is too short or
    flat gives 0.
    """
    tail = tail_length(len(weights))
    if not tail:
        return 0.0
    ordered = np.sort(weights)[-tail - 1 :]
    excess = ordered[1:] - ordered[0]
    if not excess[-1] > 1e-12 * ordered[-1]:
        return 0.0
    return generalised_pareto_shape(excess)


def generalised_pareto_shape(excess: FloatArray) -> float:
    """Return the shape k of sorted excesses over a threshold, after Zhang & Stephens 2009; above 0: heavy tail."""
    return float(plain_pareto_fit(excess[:, None])[0][0])
