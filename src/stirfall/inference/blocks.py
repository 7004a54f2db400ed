"""Products of tall arrays in small blocks.

Blocks that stay inside a processor's cache are several times faster than one large product, and too small for the
threads of a linear-algebra library: on a busy machine those wait for each other, and their number would change the
last digits of an answer.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

# Multiplications in one product; common libraries start threads above about 2^18.
_SMALL_PRODUCT = 2**18
_LONGEST = 512


def _keep_freed_memory() -> None:
    """Make the usual C library keep what work arrays free, instead of handing it back to the system each time.

    It asks the system for every array above a size that grows with the first large one that is freed. Getting and
    clearing fresh pages took a fifth of a refresh. The array is never touched, so that it costs nothing itself.
    """
    np.empty(2**21)


_keep_freed_memory()


def slices(count: int, size: int) -> Iterator[slice]:
    """Yield the slices that cut ``count`` things into blocks of at most ``size``."""
    for start in range(0, count, size):
        yield slice(start, min(count, start + size))


def block_size(per_row: int, longest: int = _LONGEST) -> int:
    """Return how many rows fit into a small product when each row costs ``per_row`` multiplications."""
    return max(1, min(longest, _SMALL_PRODUCT // max(1, per_row)))


def times(tall: FloatArray, small: FloatArray) -> FloatArray:
    """Return ``tall`` (n, p) times ``small`` (p, q)."""
    out = np.empty((len(tall), small.shape[1]))
    for rows in slices(len(tall), block_size(small.size)):
        out[rows] = tall[rows] @ small
    return out


def dot(tall: FloatArray, vector: FloatArray) -> FloatArray:
    """Return ``tall`` (n, p) times ``vector`` (p,)."""
    return np.asarray(np.einsum("ij,j->i", tall, vector))


def weighted_sum(weights: FloatArray, tall: FloatArray) -> FloatArray:
    """Return the (p,) sum over the rows of ``tall`` (n, p), weighted."""
    return np.asarray(np.einsum("i,ij->j", weights, tall))


def weighted_gram(tall: FloatArray, weights: FloatArray) -> FloatArray:
    """Return the (p, p) sum over the rows x of ``tall`` (n, p) of weight times x x^T."""
    columns = tall.shape[1]
    total = np.zeros((columns, columns))
    for rows in slices(len(tall), block_size(columns * columns)):
        total += (tall[rows].T * weights[rows]) @ tall[rows]
    return total
