"""Exact tests of two shares: Fisher's, Barnard's and Boschloo's, and the region in which Boschloo's refuses.

The unconditional tests are the supremum over the common share of the chance of all tables at least as extreme; that
chance is a polynomial in it, whose coefficients are worked out once. Above ``MOST_CELLS`` tables (about 600 per
group) the pooled score test answers for Barnard and Boschloo where both groups are large; else Fisher's, which is
right for every size. Both say so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MOST_CELLS = 360_000
"""With more possible tables, (n1 + 1)(n2 + 1), the score test or Fisher's stands for the unconditional ones."""
MOST_TRIALS = 2_000
"""Likewise with more trials than this in both groups together: a few against very many."""
LEAST_EXPECTED = 100.0
"""The score test stands in only where at least so many successes and failures are expected in either group."""

_TIE = 1e-7
_GRID = 257
_FINE, _ROUNDS = 17, 4
_KEPT = 100_000


@dataclass(frozen=True)
class Chances:
    """How often chance alone gives a table at least as extreme, if both shares were the same.

    ``greater``: in favour of the first group, ``less``: of the second, ``two_sided``: of either. ``statistic`` is
    what orders the tables. ``method`` says how it was worked out.
    """

    two_sided: float
    greater: float
    less: float
    statistic: float
    method: Literal["fisher", "barnard", "boschloo", "score"]


@dataclass(frozen=True)
class _Tables:
    """All tables of two groups: per (k1, k2) the chance given their sum, and the tails of k1 given the sum."""

    n1: int
    n2: int
    chance: FloatArray
    upper: FloatArray
    lower: FloatArray

    @property
    def sums(self) -> NDArray[np.intp]:
        """Return k1 + k2 of every table."""
        return np.add.outer(np.arange(self.n1 + 1), np.arange(self.n2 + 1))

    def largest_chance(self, region: BoolArray, *, rough: bool = False) -> float:
        """Return the largest chance of a region over all common shares; ``rough`` may be a trifle too small."""
        total = self.n1 + self.n2
        weights = np.bincount(self.sums[region], weights=self.chance[region], minlength=total + 1).astype(float)
        return _largest(weights, total, rough=rough)


def fisher(k1: int, n1: int, k2: int, n2: int) -> Chances:
    """Return Fisher's exact test, of k1 given the sum k1 + k2; two-sided: all tables that are no more likely.

    Fisher 1935, The Design of Experiments, chapter 2. ``statistic`` is the chance of the very table. Raises
    InputError ``proportions.*``.
    """
    _check(k1, n1, k2, n2)
    first = max(0, k1 + k2 - n2)
    law = given_sum(n1, n2, k1 + k2)
    at = k1 - first
    two_sided = float(law[law <= law[at] * (1.0 + _TIE)].sum())
    greater, less = float(law[at:].sum()), float(law[: at + 1].sum())
    return Chances(min(1.0, two_sided), min(1.0, greater), min(1.0, less), float(law[at]), "fisher")


def given_sum(n1: int, n2: int, total: int) -> FloatArray:
    """Return the chances of k1 = max(0, total - n2) ... min(n1, total) where all orders are equally likely."""
    from scipy.special import gammaln

    k = np.arange(max(0, total - n2), min(n1, total) + 1, dtype=float)
    logs = -(gammaln(k + 1) + gammaln(n1 - k + 1) + gammaln(total - k + 1) + gammaln(n2 - total + k + 1))
    law = np.exp(logs - logs.max())
    return np.asarray(law / law.sum())


def barnard(k1: int, n1: int, k2: int, n2: int) -> Chances:
    """Return Barnard's unconditional exact test, tables ordered by the pooled z statistic.

    Barnard 1947, Biometrika 34:123. Raises InputError ``proportions.*``.
    """
    _check(k1, n1, k2, n2)
    if _is_too_large(n1, n2):
        return _instead(k1, n1, k2, n2)
    tables = _tables(n1, n2)
    z = _pooled_z(np.arange(n1 + 1)[:, None], n1, np.arange(n2 + 1)[None, :], n2)
    own = float(z[k1, k2])
    near = _TIE * max(1.0, abs(own))
    return Chances(
        tables.largest_chance(np.abs(z) >= abs(own) - near),
        tables.largest_chance(z >= own - near),
        tables.largest_chance(z <= own + near),
        own,
        "barnard",
    )


def boschloo(k1: int, n1: int, k2: int, n2: int) -> Chances:
    """Return Boschloo's unconditional exact test, tables ordered by Fisher's one-sided chance.

    Boschloo 1970, Statistica Neerlandica 24:1; two-sided it is twice the smaller of the two sides, at most 1. Never
    less sharp than Fisher's. ``statistic`` is Fisher's chance on the sharper side. Raises ``proportions.*``.
    """
    _check(k1, n1, k2, n2)
    if _is_too_large(n1, n2):
        return _instead(k1, n1, k2, n2)
    tables = _tables(n1, n2)
    sides = [
        tables.largest_chance(tail <= float(tail[k1, k2]) * (1.0 + _TIE)) for tail in (tables.upper, tables.lower)
    ]
    statistic = min(float(tables.upper[k1, k2]), float(tables.lower[k1, k2]))
    return Chances(min(1.0, 2.0 * min(sides)), sides[0], sides[1], statistic, "boschloo")


def score_test(k1: int, n1: int, k2: int, n2: int) -> Chances:
    """Return the pooled z test, the chi-squared test of two shares: good where both groups are large."""
    _check(k1, n1, k2, n2)
    z = float(_pooled_z(np.array(float(k1)), n1, np.array(float(k2)), n2))
    below = NormalDist().cdf(z)
    return Chances(min(1.0, 2.0 * min(below, 1.0 - below)), 1.0 - below, below, z, "score")


def _is_too_large(n1: int, n2: int) -> bool:
    return (n1 + 1) * (n2 + 1) > MOST_CELLS or n1 + n2 > MOST_TRIALS


def _instead(k1: int, n1: int, k2: int, n2: int) -> Chances:
    """Return the score test where its normal law holds, else Fisher's: 1 of 4 against 1000 of 100,000 needs it."""
    share = (k1 + k2) / (n1 + n2)
    if min(n1, n2) * min(share, 1.0 - share) >= LEAST_EXPECTED:
        return score_test(k1, n1, k2, n2)
    return fisher(k1, n1, k2, n2)


@lru_cache(maxsize=128)
def refused_by_boschloo(n1: int, n2: int, alpha: float) -> BoolArray:
    """Return for each table (n1 + 1, n2 + 1) whether Boschloo's two-sided test finds p at most ``alpha``."""
    tables = _tables(n1, n2)
    upper = _side(tables, tables.upper, alpha)
    return upper | (upper.T if n1 == n2 else _side(tables, tables.lower, alpha))


def _side(tables: _Tables, tail: FloatArray, alpha: float) -> BoolArray:
    """Return the largest region of one side whose chance is at most half of alpha."""
    levels = np.unique(tail)  # the chance of a region is at most its level, and often far below

    def region(count: int) -> BoolArray:
        return np.asarray(tail <= (levels[count - 1] * (1.0 + _TIE) if count else -1.0))

    low, high = (
        0,
        len(levels),
    )  # the first ``low`` levels seem to be refused, those after the first ``high`` are not
    while low < high:
        middle = (low + high + 1) // 2
        if tables.largest_chance(region(middle), rough=True) <= 0.5 * alpha:
            low = middle
        else:
            high = middle - 1
    while low and tables.largest_chance(region(low)) > 0.5 * alpha:
        low -= 1
    return region(low)


def _pooled_z(k1: NDArray[np.generic], n1: int, k2: NDArray[np.generic], n2: int) -> FloatArray:
    first, second = np.asarray(k1, dtype=float), np.asarray(k2, dtype=float)
    pooled = (first + second) / (n1 + n2)
    spread = np.sqrt(pooled * (1.0 - pooled) * (1.0 / n1 + 1.0 / n2))
    off = first / n1 - second / n2
    return np.asarray(np.divide(off, spread, out=np.zeros(np.shape(off)), where=spread > 0), dtype=float)


def _tables(n1: int, n2: int) -> _Tables:
    return _kept_tables(n1, n2) if (n1 + 1) * (n2 + 1) <= _KEPT else _make_tables(n1, n2)


def _make_tables(n1: int, n2: int) -> _Tables:
    from scipy.special import gammaln

    ways1, ways2, ways = (
        gammaln(n + 1.0) - gammaln(np.arange(n + 1.0) + 1.0) - gammaln(n - np.arange(n + 1.0) + 1.0)
        for n in (n1, n2, n1 + n2)
    )
    rows, columns = np.arange(n1 + 1)[:, None], np.arange(n2 + 1)[None, :]
    chance = np.exp(ways1[:, None] + ways2[None, :] - ways[rows + columns])
    # By the sum of both counts, so that tails of k1 are sums along a column.
    by_sum = np.zeros((n1 + 1, n1 + n2 + 1))
    by_sum[np.broadcast_to(rows, chance.shape), rows + columns] = chance
    upper = np.cumsum(by_sum[::-1], axis=0)[::-1][rows, rows + columns]
    lower = np.cumsum(by_sum, axis=0)[rows, rows + columns]
    return _Tables(n1, n2, chance, np.minimum(upper, 1.0), np.minimum(lower, 1.0))


_kept_tables = lru_cache(maxsize=32)(_make_tables)


def _largest(weights: FloatArray, total: int, *, rough: bool) -> float:
    """Return the largest value over p of the sum of ``weights`` times the binomial chances of ``total`` trials."""
    angles, law = _binomial_grid(total)
    values = law @ weights
    best = float(values.max())
    if rough:
        return min(1.0, best)
    step = float(angles[1] - angles[0])
    for at in np.argsort(values)[-2:]:
        best = max(best, _climb(weights, total, float(angles[at]), step))
    return min(1.0, best)


def _climb(weights: FloatArray, total: int, middle: float, reach: float) -> float:
    """Return the largest value around an angle, on finer and finer grids."""
    best = 0.0
    for _ in range(_ROUNDS):
        angles = middle + reach * np.linspace(-1.0, 1.0, _FINE)
        values = _binomial(angles, total) @ weights
        at = int(np.argmax(values))
        best, middle, reach = max(best, float(values[at])), float(angles[at]), 2.0 * reach / (_FINE - 1)
    return best


@lru_cache(maxsize=256)
def _ways(total: int) -> FloatArray:
    from scipy.special import gammaln

    k = np.arange(total + 1.0)
    return np.asarray(gammaln(total + 1.0) - gammaln(k + 1.0) - gammaln(total - k + 1.0))


@lru_cache(maxsize=64)
def _binomial_grid(total: int) -> tuple[FloatArray, FloatArray]:
    """Return angles (g,) with p = sin(angle)^2, and the binomial chances (g, total + 1) at them."""
    points = max(_GRID, 8 * int(math.sqrt(total)) + 1)
    angles = np.linspace(0.0, 0.5 * math.pi, points)
    return angles, _binomial(angles, total)


def _binomial(angles: FloatArray, total: int) -> FloatArray:
    share = np.clip(np.sin(angles) ** 2, 1e-300, 1.0)[:, None]
    rest = np.clip(np.cos(angles) ** 2, 1e-300, 1.0)[:, None]
    k = np.arange(total + 1.0)[None, :]
    return np.asarray(np.exp(_ways(total)[None, :] + k * np.log(share) + (total - k) * np.log(rest)))


def _check(k1: int, n1: int, k2: int, n2: int) -> None:
    for k, n in ((k1, n1), (k2, n2)):
        if n < 1:
            raise InputError("proportions.empty")
        if not 0 <= k <= n:
            raise InputError("proportions.count", k=k, n=n)
