"""Score bounds of a difference of shares, over one table or over many with a common difference."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_STEPS = 60


def constrained_shares(
    k1: FloatArray, n1: FloatArray, k2: FloatArray, n2: FloatArray, difference: float
) -> tuple[FloatArray, FloatArray]:
    """Return the maximum-likelihood shares (m,) of both groups of m tables where they differ by ``difference``.

    The closed form of Miettinen & Nurminen 1985, Statistics in Medicine 4:213 (appendix): the root of a cubic.
    """
    d, total, clean = difference, n1 + n2, k1 + k2
    second = (n1 + 2.0 * n2) * d - total - clean
    first = (n2 * d - total - 2.0 * k2) * d + clean
    zeroth = k2 * d * (1.0 - d)
    third = second / (3.0 * total)
    q = third**3 - first * second / (6.0 * total**2) + zeroth / (2.0 * total)
    p = np.where(q < 0, -1.0, 1.0) * np.sqrt(np.maximum(third**2 - first / (3.0 * total), 0.0))
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.where(p != 0.0, q / p**3, 0.0)
    angle = (np.pi + np.arccos(np.clip(ratio, -1.0, 1.0))) / 3.0
    share = np.clip(2.0 * p * np.cos(angle) - third, max(0.0, -d), min(1.0, 1.0 - d))
    return np.clip(share + d, 0.0, 1.0), share


def score_at(
    k1: FloatArray, n1: FloatArray, k2: FloatArray, n2: FloatArray, difference: float, *, corrected: bool
) -> float:
    """Return the score statistic of a common difference; ``corrected`` multiplies variances by N/(N - 1).

    Tables are weighted by n1 n2/(n1 + n2), as Mantel & Haenszel do. Without variance it is 0 or infinite.
    """
    weights = n1 * n2 / (n1 + n2)
    first, second = constrained_shares(k1, n1, k2, n2, difference)
    variance = first * (1.0 - first) / n1 + second * (1.0 - second) / n2
    if corrected:
        variance = variance * (n1 + n2) / np.maximum(n1 + n2 - 1.0, 1.0)
    off = float(weights @ (k1 / n1 - k2 / n2 - difference))
    spread = float(weights**2 @ variance)
    if spread <= 0.0:
        return 0.0 if abs(off) < 1e-12 else float(np.copysign(np.inf, off))
    return off / float(np.sqrt(spread))


def score_bounds(
    k1: FloatArray, n1: FloatArray, k2: FloatArray, n2: FloatArray, *, z: float, corrected: bool
) -> tuple[float, float]:
    """Return the differences at which the score statistic of m tables is ``z`` and ``-z``, within [-1, 1]."""
    weights = n1 * n2 / (n1 + n2)
    value = float(weights @ (k1 / n1 - k2 / n2) / weights.sum())

    def bound(outside: float, sign: float) -> float:
        inside = value
        if abs(inside - outside) < 1e-15:
            return outside
        for _ in range(_STEPS):
            middle = 0.5 * (inside + outside)
            if sign * score_at(k1, n1, k2, n2, middle, corrected=corrected) < z:
                inside = middle
            else:
                outside = middle
        return 0.5 * (inside + outside)

    return bound(-1.0, 1.0), bound(1.0, -1.0)
