"""From coefficient draws to probabilities at points: draws, weighted means and intervals, in small blocks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.blocks import block_size, slices, weighted_sum

FloatArray = NDArray[np.float64]

# A linear predictor beyond this gives a probability that is shown as the same anyway, and never becomes 0 or 1.
STEEPEST = 30.0
POINTS_BLOCK = 64


def probability_draws(beta: FloatArray, matrix: FloatArray) -> FloatArray:
    """Return the (m, points) probabilities of draws ``beta`` (m, p) at design rows ``matrix`` (points, p)."""
    draws = np.empty((len(beta), len(matrix)))
    size = block_size(POINTS_BLOCK * beta.shape[1])
    for rows in slices(len(beta), size):
        for points in slices(len(matrix), POINTS_BLOCK):
            draws[rows, points] = _logistic(beta[rows] @ matrix[points].T)
    return draws


def weighted_means(beta: FloatArray, weights: FloatArray, matrix: FloatArray) -> FloatArray:
    """Return the (points,) weighted means of the probabilities without holding all draws of them."""
    mean = np.zeros(len(matrix))
    size = block_size(POINTS_BLOCK * beta.shape[1])
    for points in slices(len(matrix), POINTS_BLOCK):
        for rows in slices(len(beta), size):
            mean[points] += weighted_sum(weights[rows], _logistic(beta[rows] @ matrix[points].T))
    return mean


def weighted_interval(draws: FloatArray, weights: FloatArray, level: float) -> tuple[FloatArray, FloatArray]:
    """Return the (points,) equal-tailed bounds of weighted draws (m, points): quantiles of the stepped law."""
    tail = (1.0 - level) / 2.0
    values = np.array(draws.T, order="C")  # a copy in any case, for it is sorted in place
    size = len(weights)
    if (weights == weights[0]).all():
        low = max(0, int(np.ceil(tail * size)) - 1)
        values.partition((low, size - 1 - low), axis=1)
        return values[:, low].copy(), values[:, size - 1 - low].copy()
    order = np.argsort(values, axis=1)
    shares = np.cumsum(weights[order], axis=1)
    points = np.arange(len(values))
    low_at = (shares < tail * shares[:, -1:]).sum(axis=1)
    high_at = np.minimum((shares < (1.0 - tail) * shares[:, -1:]).sum(axis=1), size - 1)
    return values[points, order[points, low_at]], values[points, order[points, high_at]]


def _logistic(eta: FloatArray) -> FloatArray:
    """Turn linear predictors into probabilities, in place."""
    np.clip(eta, -STEEPEST, STEEPEST, out=eta)
    np.negative(eta, out=eta)
    np.exp(eta, out=eta)
    eta += 1.0
    return np.reciprocal(eta, out=eta)
