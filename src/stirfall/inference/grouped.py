"""Binomial rows in a canonical order: equal rows collapsed, the log-likelihood evaluated in bounded memory."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.inference.blocks import block_size, dot, slices, weighted_sum

FloatArray = NDArray[np.float64]

_FEW_ROWS = 64
_CHECKED_AT_ONCE = 8192


@dataclass(frozen=True)
class GroupedRows:
    """Distinct rows ``X`` (r, p) with ``k`` successes of ``n`` trials; ``source_rows`` were given."""

    X: FloatArray
    k: FloatArray
    n: FloatArray
    source_rows: int


def checked_rows(
    X: ArrayLike, successes: ArrayLike, trials: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return X (n, p), successes (n,) and trials (n,) as floats; a single number of trials is repeated.

    Raises InputError ``rows.shape``, ``rows.not_finite`` or ``rows.count_outside``.
    """
    matrix = np.asarray(X, dtype=float)
    k = np.asarray(successes, dtype=float)
    if matrix.ndim != 2 or k.shape != (len(matrix),):
        raise InputError("rows.shape", rows=str(matrix.shape), counts=str(k.shape))
    n = np.broadcast_to(np.asarray(trials, dtype=float), k.shape)
    if not (_is_finite(matrix) and _is_finite(k) and _is_finite(n)):
        raise InputError("rows.not_finite")
    if (k < 0).any() or (k > n).any():
        raise InputError("rows.count_outside")
    return matrix, k, n


def _is_finite(values: FloatArray) -> bool:
    return all(np.isfinite(values[rows]).all() for rows in slices(len(values), _CHECKED_AT_ONCE))


def collapse(X: ArrayLike, successes: ArrayLike, trials: ArrayLike) -> GroupedRows:
    """Merge equal rows and sort the rest, so that neither row order nor grouping can change an answer."""
    matrix, k, n = checked_rows(X, successes, trials)
    matrix = matrix + 0.0  # minus zero and zero are the same row
    order = np.lexsort(matrix.T[::-1])
    ordered = matrix[order]
    starts = np.ones(len(ordered), dtype=bool)
    starts[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    first = np.flatnonzero(starts)
    if not len(first):
        return GroupedRows(ordered, k[order], n[order], 0)
    return GroupedRows(
        ordered[first], np.add.reduceat(k[order], first), np.add.reduceat(n[order], first), len(matrix)
    )


def log_likelihood(rows: GroupedRows, beta: FloatArray, token: CancelToken | None = None) -> FloatArray:
    """Return the (m,) Bernoulli log-likelihoods of coefficient vectors ``beta`` (m, p), without binomial constants.

    Stable for any linear predictor eta: log(1 + e^eta) is split into (eta + |eta|) / 2 and log(1 + e^-|eta|).
    """
    total = dot(beta, weighted_sum(rows.k - 0.5 * rows.n, rows.X))
    parts = [_Part(rows.X[part], rows.n[part]) for part in slices(len(rows.k), _FEW_ROWS)]
    size = block_size(_FEW_ROWS * beta.shape[1])
    for draws in slices(len(beta), size):
        if token is not None:
            token.raise_if_cancelled()
        some = np.ascontiguousarray(beta[draws].T)
        for part in parts:
            total[draws] += part.log_likelihood(some)
    return total


class _Part:
    """A few rows ``X`` (r, p) that are evaluated together, with ``n`` trials (r,)."""

    def __init__(self, X: FloatArray, n: FloatArray) -> None:
        self._X, self._n = X, n
        self._alike = float(n[0]) if (n == n[0]).all() else None

    def log_likelihood(self, beta: FloatArray) -> FloatArray:
        """Return (m,) sums of -n (|eta| / 2 + log(1 + e^-|eta|)) for coefficients ``beta`` (p, m).

        Where all rows have as many trials, one logarithm of the product serves all of them: it is at most 2^64.
        """
        eta = self._X @ beta
        np.abs(eta, out=eta)
        np.negative(eta, out=eta)
        if self._alike is not None:
            halves = 0.5 * np.add.reduce(eta, axis=0)
            np.exp(eta, out=eta)
            eta += 1.0
            return np.asarray(self._alike * (halves - np.log(np.multiply.reduce(eta, axis=0))))
        total = weighted_sum(0.5 * self._n, eta)
        np.exp(eta, out=eta)
        eta += 1.0
        np.log(eta, out=eta)
        total -= weighted_sum(self._n, eta)
        return total


def expit(eta: FloatArray) -> FloatArray:
    """Return 1 / (1 + e^-eta), exact at both ends and never warning."""
    small = np.exp(-np.abs(eta))
    return np.where(eta >= 0, 1.0, small) / (1.0 + small)
