"""Products of tall arrays in small blocks.

Blocks that stay inside a processor's cache are several times faster than one large product, and too small for a
threaded product, so that no answer depends on the number of threads.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

ROWS_BLOCK = 512


def slices(count: int, size: int) -> Iterator[slice]:
    """Yield the slices that cut ``count`` things into blocks of at most ``size``."""
    for start in range(0, count, size):
        yield slice(start, min(count, start + size))


def times(tall: FloatArray, small: FloatArray) -> FloatArray:
    """Return ``tall`` (n, p) times ``small`` (p, q) or (p,)."""
    out = np.empty((len(tall), *small.shape[1:]))
    for rows in slices(len(tall), ROWS_BLOCK):
        out[rows] = tall[rows] @ small
    return out


def weighted_gram(tall: FloatArray, weights: FloatArray) -> FloatArray:
    """Return the (p, p) sum over the rows x of ``tall`` (n, p) of weight times x x^T."""
    total = np.zeros((tall.shape[1], tall.shape[1]))
    for rows in slices(len(tall), ROWS_BLOCK):
        total += (tall[rows].T * weights[rows]) @ tall[rows]
    return total
