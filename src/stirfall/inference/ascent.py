"""Climb a smooth function that is cheap at many points at once: Newton's method with central differences.

Every step asks for all points of one finite-difference star in a single call, and then for a whole ladder of step
lengths in another, which is what a likelihood vectorised over parameter vectors does best.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Surface = Callable[[FloatArray], FloatArray]

# Parameters are of size one. Truncation (~h^2) and rounding (~1e-16 f/h^2) both stay far below a standard error.
_GAP = 1e-3
_STEPS = 60
_LONGEST = 2.0
_LADDER = np.r_[0.0, 2.0, 1.0, 0.5 ** np.arange(1, 12)]
_DONE = 1e-11


class Summit(NamedTuple):
    """Where the climb ended: the point (q,), the height there, the Hessian (q, q), and whether it is a top."""

    point: FloatArray
    height: float
    hessian: FloatArray
    converged: bool


def climb(surface: Surface, start: FloatArray) -> Summit:
    """Climb ``surface``, which maps points (m, q) to heights (m,), from ``start`` (q,) to the next top.

    A direction in which the surface does not bend down is taken with the size of its bend, so that saddles are
    left; steps are no longer than 2 in any parameter. ``converged`` is False where the slope never died out.
    """
    point = np.asarray(start, dtype=float)
    for _ in range(_STEPS):
        height, slope, hessian = star(surface, point)
        step = _uphill(slope, hessian)
        if 0.5 * float(slope @ step) < _DONE * max(1.0, abs(height)):
            return _top(surface, point, step, height, hessian)
        step *= min(1.0, _LONGEST / float(np.abs(step).max()))
        ladder = point + _LADDER[:, None] * step
        heights = surface(ladder)
        best = int(np.argmax(np.where(np.isfinite(heights), heights, -np.inf)))
        if best == 0:
            return Summit(point, height, hessian, False)
        point = ladder[best]
    return Summit(point, height, hessian, False)


def _top(surface: Surface, point: FloatArray, step: FloatArray, height: float, hessian: FloatArray) -> Summit:
    """Return the top: one last full step settles the remaining digits."""
    last = float(surface((point + step)[None])[0])
    if last >= height:
        point, height = point + step, last
    return Summit(point, height, hessian, bool(np.linalg.eigvalsh(-hessian).min() > 0.0))


def hessian_at(surface: Surface, point: FloatArray) -> FloatArray:
    """Return the (q, q) matrix of second derivatives at ``point`` (q,), by central differences."""
    return star(surface, point)[2]


def star(surface: Surface, point: FloatArray) -> tuple[float, FloatArray, FloatArray]:
    """Return height, slope (q,) and Hessian (q, q) at ``point`` (q,) from one call at 1 + 2q + q(q - 1) points."""
    size = len(point)
    gap = _GAP * np.maximum(1.0, np.abs(point))
    axes = np.diag(gap)
    first, second = np.triu_indices(size, 1)
    corners = axes[first] + axes[second]
    heights = surface(point + np.vstack([np.zeros((1, size)), axes, -axes, corners, -corners]))
    height, plus, minus = float(heights[0]), heights[1 : size + 1], heights[size + 1 : 2 * size + 1]
    both, neither = heights[2 * size + 1 :].reshape(2, -1)
    hessian = np.diag((plus - 2.0 * height + minus) / gap**2)
    mixed = both + neither + 2.0 * height - plus[first] - minus[first] - plus[second] - minus[second]
    hessian[first, second] = hessian[second, first] = mixed / (2.0 * gap[first] * gap[second])
    return height, (plus - minus) / (2.0 * gap), hessian


def _uphill(slope: FloatArray, hessian: FloatArray) -> FloatArray:
    values, vectors = np.linalg.eigh(-hessian)
    bend = np.maximum(np.abs(values), 1e-8 * max(1.0, float(np.abs(values).max())))
    return np.asarray(vectors @ ((vectors.T @ slope) / bend))
