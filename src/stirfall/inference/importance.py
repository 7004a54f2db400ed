"""Importance sampling: Student-t points from scrambled Sobol sequences, and the health of the weights."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

# Heavier tails keep Pareto k low, lighter ones the effective size high; measured for 4 to 20 coefficients.
DEGREES = 14.0


@lru_cache(maxsize=24)
def student_points(count: int, dimension: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Return (count, dimension) standard multivariate-t points and their (count,) log densities.

    A scrambled Sobol sequence gives the normals, one more of its dimensions the chi-square divisor. The arrays are
    shared between calls and read-only. Loads ``scipy.stats``, which is slow the first time.
    """
    from scipy.special import gammaincinv, gammaln, ndtri
    from scipy.stats.qmc import Sobol

    engine = Sobol(dimension + 1, scramble=True, seed=seed)
    whole = engine.random_base2(max(0, math.ceil(math.log2(count))))[:count]
    uniform = np.clip(whole, 2.0**-34, 1.0 - 2.0**-34)
    chi_square = 2.0 * gammaincinv(DEGREES / 2.0, uniform[:, -1])
    points = ndtri(uniform[:, :-1]) * np.sqrt(DEGREES / chi_square)[:, None]
    constant = (
        gammaln((DEGREES + dimension) / 2) - gammaln(DEGREES / 2) - dimension / 2 * math.log(DEGREES * math.pi)
    )
    squares = np.einsum("ij,ij->i", points, points)
    log_density = constant - (DEGREES + dimension) / 2 * np.log1p(squares / DEGREES)
    points.setflags(write=False)
    log_density.setflags(write=False)
    return points, log_density


def normalised(log_ratios: FloatArray) -> tuple[FloatArray, float]:
    """Return weights that sum to one, and the log of the mean ratio."""
    top = float(log_ratios.max())
    ratios = np.exp(log_ratios - top)
    total = float(ratios.sum())
    return ratios / total, top + math.log(total / len(ratios))


def effective_size(weights: FloatArray) -> float:
    """Return the effective sample size 1 / sum w^2 of normalised weights (Kong 1992)."""
    return float(1.0 / np.square(weights).sum())


def pareto_k(weights: FloatArray) -> float:
    """Return the shape of a generalised Pareto law fitted to the largest weights; below 0.7 is sound.

    The tail is the largest min(m / 5, 3 sqrt m) weights (Vehtari, Simpson, Gelman, Yao & Gabry, "Pareto smoothed
    importance sampling"), the fit that of Zhang & Stephens 2009, Technometrics 51:316. A tail that is too short or
    flat gives 0.
    """
    count = len(weights)
    tail = min(count // 5, math.ceil(3.0 * math.sqrt(count)))
    if tail < 5:
        return 0.0
    ordered = np.sort(weights)[-tail - 1 :]
    excess = ordered[1:] - ordered[0]
    if not excess[-1] > 1e-12 * ordered[-1]:
        return 0.0
    return generalised_pareto_shape(excess)


def generalised_pareto_shape(excess: FloatArray) -> float:
    """Return the shape k of sorted excesses over a threshold, after Zhang & Stephens 2009; above 0: heavy tail."""
    count = len(excess)
    x = np.maximum(excess, 1e-14 * excess[-1])
    grid = 30 + int(math.sqrt(count))
    quartile = x[int(count / 4 + 0.5) - 1]
    steps = np.arange(1, grid + 1, dtype=float)
    theta = 1.0 / x[-1] + (1.0 - np.sqrt(grid / (steps - 0.5))) / (3.0 * quartile)
    shape = np.log1p(-theta[:, None] * x).mean(axis=1)
    profile = count * (np.log(-theta / shape) - shape - 1.0)
    weight = np.exp(profile - profile.max())
    best = float((theta * weight).sum() / weight.sum())
    return float(np.log1p(-best * x).mean())
