"""What the attempts cannot tell apart: conditions that moved with the calendar, with practice, or with each other.

The limits from which something is said are our own proposal: 0.7 (half of the scatter shared) with an interval that
keeps to one side of zero, and 0.9 for two conditions that always varied together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

STRONG = 0.7
INSEPARABLE = 0.9
# Fewer attempts lie on a line too easily.
FEWEST = 5
# For each level of a choice an association needs so many attempts; one attempt per level explains everything.
_PER_LEVEL = 3


@dataclass(frozen=True)
class Interval:
    """A correlation with its interval at the level asked for; the ends are None with fewer than four attempts."""

    value: float
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class Correlation:
    """How two columns moved together over ``n`` attempts; None where one of them never varied.

    ``pearson`` is on the scales that were handed in, ``spearman`` on ranks.
    """

    pearson: Interval | None
    spearman: Interval | None
    n: int
    level: float

    @property
    def strongest(self) -> Interval | None:
        """The larger of the two in size."""
        known = [each for each in (self.pearson, self.spearman) if each is not None]
        return max(known, key=lambda each: abs(each.value), default=None)

    @property
    def is_strong(self) -> bool:
        """Whether it deserves a warning: at least five attempts, 0.7 or more, zero outside the interval."""
        most = self.strongest
        if most is None or most.lower is None or most.upper is None or self.n < FEWEST:
            return False
        return abs(most.value) >= STRONG and (most.lower > 0.0 or most.upper < 0.0)


def correlation(first: ArrayLike, second: ArrayLike, *, level: float = 0.95) -> Correlation:
    """Correlate two columns (n,) over the places where both are finite.

    Intervals by Fisher's z (Fisher 1921, Metron 1:3), for ranks with the variance of Bonett & Wright 2000
    (Psychometrika 65:23). A perfect correlation is first moved in by half of what one swap of neighbours changes,
    3 x 2 / (n^3 - n), so that its interval is never of width zero (our proposal).
    """
    x, y = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    known = np.isfinite(x) & np.isfinite(y)
    x, y = x[known], y[known]
    n = len(x)
    plain = _pearson(x, y)
    ranked = None if plain is None else _pearson(ranks(x), ranks(y))
    return Correlation(
        pearson=None if plain is None else _with_interval(plain, n, level, ranked=False),
        spearman=None if ranked is None else _with_interval(ranked, n, level, ranked=True),
        n=n,
        level=level,
    )


def ranks(values: FloatArray) -> FloatArray:
    """Return the (n,) ranks from 1, equal values sharing their mean rank."""
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(counts).astype(float)
    return np.asarray((last - 0.5 * (counts - 1.0))[inverse])


def association(numbers: FloatArray, choices: IntArray) -> float | None:
    """Return the correlation ratio (n,) of a number over the levels of a choice, 0 to 1; None where too few.

    The root of the share of the scatter that lies between levels (Fisher 1925, Statistical Methods for Research
    Workers). At least three attempts per level are asked for.
    """
    known = np.isfinite(numbers) & (choices >= 0)
    x, levels = numbers[known], np.unique(choices[known], return_inverse=True)[1]
    count = int(levels.max(initial=-1)) + 1
    if count < 2 or len(x) < _PER_LEVEL * count:
        return None
    scaled = _centred(x)
    if scaled is None:
        return None
    sums = np.bincount(levels, weights=scaled, minlength=count)
    sizes = np.bincount(levels, minlength=count)
    return math.sqrt(min(1.0, float((sums**2 / sizes).sum() / (scaled @ scaled))))


def choice_association(first: IntArray, second: IntArray) -> float | None:
    """Return Cramer's V of two choices (n,), 0 to 1 (Cramer 1946); None where one never varied or too few."""
    known = (first >= 0) & (second >= 0)
    rows = np.unique(first[known], return_inverse=True)[1]
    columns = np.unique(second[known], return_inverse=True)[1]
    shape = int(rows.max(initial=-1)) + 1, int(columns.max(initial=-1)) + 1
    n = len(rows)
    if min(shape) < 2 or n < _PER_LEVEL * max(shape):
        return None
    seen = np.zeros(shape)
    np.add.at(seen, (rows, columns), 1.0)
    expected = seen.sum(axis=1, keepdims=True) * seen.sum(axis=0) / n
    chi_squared = float(((seen - expected) ** 2 / expected).sum())
    return math.sqrt(min(1.0, chi_squared / (n * (min(shape) - 1))))


def days_of(moments: FloatArray, *, pause_h: float = 6.0) -> IntArray:
    """Return the place of each attempt (n,) within its day of work, from 0, and -1 where its time is unknown.

    ``moments`` in hours; a pause of ``pause_h`` begins a new day, so neither midnight nor a time zone matters.
    """
    place = np.full(len(moments), -1, dtype=np.intp)
    known = np.flatnonzero(np.isfinite(moments))
    order = known[np.argsort(moments[known], kind="stable")]
    at, before = 0, -math.inf
    for row in order:
        at = 0 if moments[row] - before >= pause_h else at + 1
        before = float(moments[row])
        place[row] = at
    return place


def _centred(values: FloatArray) -> FloatArray | None:
    """Return values less their mean, scaled to at most one; None where they never varied."""
    if not len(values):
        return None
    spread = float(np.ptp(values))
    if not spread > 1e-12 * float(np.abs(values).max()):
        return None
    scaled = (values - values.min()) / spread
    return np.asarray(scaled - scaled.mean())


def _pearson(x: FloatArray, y: FloatArray) -> float | None:
    first, second = _centred(x), _centred(y)
    if first is None or second is None:
        return None
    value = float(first @ second / math.sqrt(float(first @ first) * float(second @ second)))
    return min(1.0, max(-1.0, value))


def _with_interval(value: float, n: int, level: float, *, ranked: bool) -> Interval:
    if n < 4:
        return Interval(value, None, None)
    inner = 1.0 - 6.0 / (n**3 - n)
    kept = min(inner, max(-inner, value))
    variance = (1.0 + 0.5 * kept**2 if ranked else 1.0) / (n - 3.0)
    reach = NormalDist().inv_cdf(0.5 + level / 2.0) * math.sqrt(variance)
    middle = math.atanh(kept)
    lower, upper = math.tanh(middle - reach), math.tanh(middle + reach)
    return Interval(value, min(lower, value), max(upper, value))
