"""The log-likelihood with the Jeffreys penalty, with its derivatives, at many points at once.

Penalised log-likelihood: l(b) + 1/2 log det I(b), with I(b) the expected information (Firth 1993, Biometrika
80:27). A binomial row counts as its trials.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.blocks import slices

FloatArray = NDArray[np.float64]

# Numbers in one block of row products, so that it stays in a cache or at least in memory.
_BLOCK = 2**20
_KEPT = 2**22
# Above so many row products the curvature of the penalty is negligible beside that of so many rows, and left out.
_MOST_CURVED = 2**23
# Below this determinant (natural log) the information cannot be inverted safely; no sensible point is there.
_FLAT = -600.0


@dataclass(frozen=True)
class Points:
    """Value and derivatives at m points.

    ``value`` (m,) is -inf where the information vanishes. ``gradient`` is (m, p), ``information`` and ``curvature``
    are (m, p, p), the latter minus the second derivatives, which need not be positive definite.
    """

    value: FloatArray
    gradient: FloatArray
    information: FloatArray
    curvature: FloatArray

    def take(self, places: NDArray[np.intp]) -> Points:
        """Return some of the points."""
        return Points(self.value[places], self.gradient[places], self.information[places], self.curvature[places])


@dataclass(frozen=True)
class _Part:
    """Some rows at m points: residuals k - n p and slopes 1/2 - p, weights n p (1 - p), each (m, rows)."""

    rows: slice
    residual: FloatArray
    slope: FloatArray
    weight: FloatArray
    spread: FloatArray


class PenalisedRows:
    """Binomial rows ``X`` (n, p), ``k`` of ``n``, ready to be evaluated; columns of size one are wanted."""

    def __init__(self, X: FloatArray, k: FloatArray, n: FloatArray) -> None:
        self._X, self._k, self._n = X, k, n
        count, self._p = X.shape
        self.columns = self._p
        self._block = max(1, min(count, _BLOCK // self._p**2))
        whole = slice(0, count)
        self._pairs = self._make_products(whole) if count <= self._block else None
        self._is_short = self._pairs is not None and 2 * count <= self._p**2
        self.is_curved = self._is_short or count * self._p**3 <= _MOST_CURVED
        is_kept = self.is_curved and not self._is_short and count * self._p**3 <= _KEPT
        self._triples = self._make_cubes(whole) if is_kept else None

    def at(self, theta: FloatArray) -> Points:
        """Return value and derivatives at coefficient vectors ``theta`` (m, p), without binomial constants."""
        count, p = theta.shape
        value = np.zeros(count)
        information = np.zeros((count, p * p))
        parts = []
        for rows in self._slices(count):
            height, part = self._part(theta, rows)
            value += height
            information += part.weight @ self._products(rows)
            parts.append(part)
        matrices = information.reshape(count, p, p)
        sign, log_det = np.linalg.slogdet(matrices)
        sound = (sign > 0) & (log_det > _FLAT) & np.isfinite(value)
        matrices[~sound] = np.eye(p)
        value = np.where(sound, value + 0.5 * np.where(sound, log_det, 0.0), -np.inf)
        gradient, extra = self._penalty(parts, np.linalg.inv(matrices))
        return Points(value, gradient, matrices, matrices - extra)

    def _penalty(self, parts: list[_Part], inverse: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the (m, p) modified score and the (m, p, p) second derivatives of the penalty."""
        count, p = inverse.shape[:2]
        gradient = np.zeros((count, p))
        bend = np.zeros((count, p * p))
        flat = inverse.reshape(count, p * p)
        for part in parts:
            pairs = self._products(part.rows)
            reach = flat @ pairs.T
            gradient += (part.residual + part.weight * reach * part.slope) @ self._X[part.rows]
            if self.is_curved:
                bend += (0.5 * part.weight * (1.0 - 6.0 * part.spread) * reach) @ pairs
        if not self.is_curved:
            return gradient, bend.reshape(count, p, p)
        turn = self._turn_by_rows(parts[0], inverse) if self._is_short else self._turn_by_columns(parts, inverse)
        return gradient, bend.reshape(count, p, p) - 0.5 * turn

    def _turn_by_rows(self, part: _Part, inverse: FloatArray) -> FloatArray:
        """Return tr(I^-1 dI/da I^-1 dI/db) for all a and b, (m, p, p), by pairs of rows; for few rows."""
        X, change = self._X, 2.0 * part.weight * part.slope
        turn = np.empty_like(inverse)
        for some in slices(len(inverse), max(1, _BLOCK // len(X) ** 2)):
            between = np.square(X @ inverse[some] @ X.T)
            moved = X * change[some][:, :, None]
            turn[some] = moved.swapaxes(1, 2) @ (between @ moved)
        return turn

    def _turn_by_columns(self, parts: list[_Part], inverse: FloatArray) -> FloatArray:
        """Return the same by the derivatives of the information; for many rows of few columns."""
        count, p = inverse.shape[:2]
        cubes = np.zeros((count, p * p * p))
        for part in parts:
            self._add_cubes(cubes, part)
        turned = inverse[:, None] @ cubes.reshape(count, p, p, p)
        left = turned.reshape(count, p, p * p)
        right = turned.swapaxes(2, 3).reshape(count, p, p * p)
        return np.asarray(left @ right.swapaxes(1, 2))

    def _add_cubes(self, cubes: FloatArray, part: _Part) -> None:
        change = 2.0 * part.weight * part.slope
        if self._triples is not None:
            cubes += change @ self._triples[part.rows]
            return
        step = max(1, _BLOCK // self._p**3)
        for some in slices(change.shape[1], step):
            rows = slice(part.rows.start + some.start, part.rows.start + some.stop)
            cubes += change[:, some] @ self._make_cubes(rows)

    def _part(self, theta: FloatArray, rows: slice) -> tuple[FloatArray, _Part]:
        """Return the (m,) log-likelihood of some rows, and what the derivatives need of them."""
        k, n = self._k[rows], self._n[rows]
        eta = theta @ self._X[rows].T
        size = np.abs(eta)
        small = np.exp(-size)
        other = 1.0 / (1.0 + small)
        spread = small * other * other
        chance = np.where(eta >= 0, other, small * other)
        height = eta @ (k - 0.5 * n) - (0.5 * size + np.log1p(small)) @ n
        return height, _Part(rows, k - n * chance, 0.5 - chance, n * spread, spread)

    def _slices(self, points: int) -> Iterator[slice]:
        if self._pairs is not None:
            return iter([slice(0, len(self._k))])
        return slices(len(self._k), max(1, min(self._block, _BLOCK // points)))

    def _products(self, rows: slice) -> FloatArray:
        return self._make_products(rows) if self._pairs is None else self._pairs

    def _make_products(self, rows: slice) -> FloatArray:
        """Return x_a x_b of each row, (rows, p * p)."""
        some = self._X[rows]
        return (some[:, :, None] * some[:, None, :]).reshape(len(some), self._p**2)

    def _make_cubes(self, rows: slice) -> FloatArray:
        """Return x_a x_b x_c of each row, (rows, p * p * p)."""
        some = self._X[rows]
        pairs = (some[:, :, None] * some[:, None, :]).reshape(len(some), self._p**2)
        return (some[:, :, None] * pairs[:, None, :]).reshape(len(some), self._p**3)
