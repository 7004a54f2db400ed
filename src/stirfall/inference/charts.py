"""Charts over time: centre and limits for numbers and for shares, and the signals of the run rules.

The formulas are those of the NIST/SEMATECH e-Handbook of Statistical Methods, chapter 6.3 (individuals and moving
range 6.3.2.2, proportions 6.3.3.2, Western Electric rules 6.3.2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

# Of a range of two normal numbers: its mean in standard deviations, and the upper limit of ranges in mean ranges.
D2, D4 = 1.128, 3.267
WIDTH = 3.0
RULES = ("beyond_3", "two_of_three", "four_of_five", "eight_in_row")
"""One point beyond 3 sd, two of three beyond 2, four of five beyond 1, eight in a row on one side."""


@dataclass(frozen=True)
class Chart:
    """Points in time with centre and limits, (m,) each: ``values``, ``centre``, ``sd``, ``lower``, ``upper``."""

    values: FloatArray
    centre: FloatArray
    sd: FloatArray
    lower: FloatArray
    upper: FloatArray

    @property
    def scores(self) -> FloatArray:
        """How many standard deviations each point lies from the centre, (m,); 0 where nothing scatters."""
        apart = self.values - self.centre
        return np.divide(apart, self.sd, out=np.zeros_like(apart), where=self.sd > 0)


@dataclass(frozen=True)
class Ranges:
    """Moving ranges: ``values`` (m - 1,), the first between points 0 and 1, their ``mean`` and ``upper`` limit."""

    values: FloatArray
    mean: float
    upper: float

    @property
    def beyond(self) -> NDArray[np.intp]:
        """The places of points whose step from the one before is longer than the limit."""
        return np.flatnonzero(self.values > self.upper) + 1 if self.upper > 0 else np.zeros(0, dtype=np.intp)


@dataclass(frozen=True)
class Signal:
    """A run rule that is met at the point ``at``; ``since`` is the first point of the run, ``way`` +1 or -1."""

    rule: str
    at: int
    since: int
    way: int


def moving_ranges(values: ArrayLike) -> Ranges:
    """Return the moving ranges of numbers (m,) in order, with their mean and 3.267 times it as upper limit."""
    steps = np.abs(np.diff(np.asarray(values, dtype=float)))
    mean = float(steps.mean()) if len(steps) else 0.0
    return Ranges(steps, mean, D4 * mean)


def individuals(values: ArrayLike, *, base: int | None = None) -> Chart:
    """Return the individuals chart of numbers (m,): the mean, and the mean -+ 3 / 1.128 mean moving ranges.

    Centre and limits come from the first ``base`` numbers, None: from all of them.
    """
    numbers = np.asarray(values, dtype=float)
    known = numbers if base is None else numbers[:base]
    centre = float(known.mean()) if len(known) else 0.0
    sd = moving_ranges(known).mean / D2
    return chart_around(numbers, np.full(len(numbers), centre), np.full(len(numbers), sd))


def proportions(k: ArrayLike, n: ArrayLike, *, base: int | None = None) -> Chart:
    """Return the p chart of ``k`` of ``n`` trials per point, (m,) each, whose n may differ from point to point.

    The limits p -+ 3 sqrt(p (1 - p) / n) are kept within 0 and 1. The share p is that of the first ``base``
    points, None: of all.
    """
    hits, trials = np.asarray(k, dtype=float), np.asarray(n, dtype=float)
    total = float(trials[:base].sum())
    share = float(hits[:base].sum()) / total if total else 0.0
    sd = np.sqrt(share * (1.0 - share) / trials)
    return chart_around(hits / trials, np.full(len(hits), share), sd, lowest=0.0, highest=1.0)


def chart_around(
    values: FloatArray,
    centre: FloatArray,
    sd: FloatArray,
    *,
    lowest: float = -np.inf,
    highest: float = np.inf,
) -> Chart:
    """Return the chart of points (m,) whose centre and standard deviation (m,) are known, limits at 3 of them."""
    lower = np.maximum(centre - WIDTH * sd, lowest)
    upper = np.minimum(centre + WIDTH * sd, highest)
    return Chart(values, centre, sd, lower, upper)


def run_signals(scores: ArrayLike) -> tuple[Signal, ...]:
    """Return where the run rules are met by points that lie so many standard deviations from the centre, (m,).

    A rule is told at the first point of a stretch in which it stays met, per side. Points on the centre belong to
    no side. Source: Western Electric rules as in the NIST/SEMATECH e-Handbook, 6.3.2.
    """
    z = np.asarray(scores, dtype=float)
    found = []
    for way in (1, -1):
        side = way * z
        for rule, met, width in _met(side):
            begins = np.flatnonzero(met & ~np.concatenate(([False], met[:-1])))
            found += [Signal(rule, int(at), max(int(at) - width + 1, 0), way) for at in begins]
    return tuple(sorted(found, key=lambda each: (each.at, RULES.index(each.rule), -each.way)))


def any_signal(scores: FloatArray) -> NDArray[np.bool_]:
    """Return for charts (c, m) of scores whether any run rule is met on either side, (c,)."""
    met = np.zeros(len(scores), dtype=bool)
    for way in (1.0, -1.0):
        for _, where, _ in _met(way * scores):
            met |= where.any(axis=-1)
    return met


def _met(side: FloatArray) -> list[tuple[str, NDArray[np.bool_], int]]:
    """Return rule, where it is met (..., m) on the upper side, and how many points it looks at."""
    return [
        ("beyond_3", side > 3.0, 1),
        ("two_of_three", (side > 2.0) & (_of_last(side > 2.0, 3) >= 2), 3),
        ("four_of_five", (side > 1.0) & (_of_last(side > 1.0, 5) >= 4), 5),
        ("eight_in_row", _of_last(side > 0.0, 8) >= 8, 8),
    ]


def _of_last(met: NDArray[np.bool_], width: int) -> NDArray[np.intp]:
    """Return how many of the last ``width`` points up to each one are met, (..., m)."""
    total = np.cumsum(met, axis=-1)
    before = np.zeros_like(total)
    before[..., width:] = total[..., :-width]
    return total - before
