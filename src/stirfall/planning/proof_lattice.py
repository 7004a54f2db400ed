"""All ways in which attempts can go under a stopping rule: exact chances, durations and bounds, by counting paths.

A point is (attempts made, failures). From each point that is no end an attempt leads to the next one. Sums over
ends are exact, also where Wald's formulas only approximate. The order of the ends that bounds need is that of
Jennison & Turnbull 1983 (Technometrics 25:49), by stages: shown early is best, refused early is worst.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_NEAREST = 1e-15
_BLOCK = 2_000_000
_HALVINGS = 60


@dataclass(frozen=True)
class Lattice:
    """The ends of a stopping rule, best first: further attempts, further failures, whether shown, log weight.

    The weight of an end is its probability at the failure rate ``at``; that at another rate follows from it.
    """

    made: IntArray
    failures: IntArray
    shown: NDArray[np.bool_]
    log_weight: FloatArray
    at: float

    def probabilities(self, rate: ArrayLike) -> FloatArray:
        """Return (rates, ends): the probability of every end at failure rates (rates,)."""
        p = np.clip(np.atleast_1d(np.asarray(rate, dtype=float)), _NEAREST, 1.0 - _NEAREST)[:, None]
        failed = np.log(p / self.at)
        clean = np.log((1.0 - p) / (1.0 - self.at))
        exponent = self.log_weight + self.failures * failed + (self.made - self.failures) * clean
        return np.asarray(np.exp(exponent), dtype=float)

    def chance_to_show(self, rate: ArrayLike) -> FloatArray:
        """Return P(shown) at failure rates, in their shape."""
        return self._summed(rate, self.shown.astype(float))

    def expected_attempts(self, rate: ArrayLike) -> FloatArray:
        """Return the expected number of further attempts at failure rates, in their shape."""
        return self._summed(rate, self.made.astype(float))

    def highest_rate(self, end: int, confidence: float) -> float:
        """Return the rate at which an end as good as this one, or better, has probability 1 - confidence."""
        return self._rate_at(slice(0, end + 1), 1.0 - confidence, falling=True)

    def lowest_rate(self, end: int, confidence: float) -> float:
        """Return the rate at which an end as bad as this one, or worse, has probability 1 - confidence."""
        return self._rate_at(slice(end, None), 1.0 - confidence, falling=False)

    def end(self, made: int, failures: int) -> int | None:
        """Return the place of an end in the order, None where the point is none."""
        found = np.flatnonzero((self.made == made) & (self.failures == failures))
        return int(found[0]) if len(found) else None

    def _rate_at(self, ends: slice, probability: float, *, falling: bool) -> float:
        """Halve the range of rates: the chance of the best ends falls with the rate, that of the worst rises."""
        low, high = 0.0, 1.0
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            above = float(self.probabilities(middle)[0, ends].sum()) > probability
            low, high = (middle, high) if above is falling else (low, middle)
        if not falling and low == 0.0:
            return 0.0
        return high if falling else low

    def _summed(self, rate: ArrayLike, values: FloatArray) -> FloatArray:
        given = np.asarray(rate, dtype=float)
        flat = given.ravel()
        total = np.empty(len(flat))
        for rows in _blocks(len(flat), len(values)):
            total[rows] = self.probabilities(flat[rows]) @ values
        return total.reshape(given.shape)


def _blocks(rows: int, columns: int) -> Iterator[slice]:
    size = max(1, _BLOCK // max(columns, 1))
    return (slice(start, start + size) for start in range(0, rows, size))


def walk(shown_at: IntArray, refused_at: IntArray, *, at: float, made: int = 0, failures: int = 0) -> Lattice:
    """Return the ends that can be reached from (``made``, ``failures``), counted from there.

    ``shown_at`` (N + 1,): after n attempts it is shown with so few failures or fewer (-1: never there);
    ``refused_at`` (N + 1,): refused with so many or more. What is open after N attempts is refused. ``at`` is the
    failure rate of the weights, best one between those of interest.
    """
    most = len(shown_at) - 1
    weight = np.ones(1)  # of the points still open, by failures from ``first`` on
    first = failures
    kept: list[tuple[IntArray, IntArray, NDArray[np.bool_], FloatArray]] = []
    for n in range(made + 1, most + 1):
        weight = np.append(weight, 0.0) * (1.0 - at) + np.append(0.0, weight) * at
        x = first + np.arange(len(weight))
        shown = x <= shown_at[n]
        ends = shown | (x >= refused_at[n]) if n < most else np.ones(len(x), dtype=bool)
        taken = ends & (weight > 0.0)
        if taken.any():
            kept.append((np.full(int(taken.sum()), n - made), x[taken] - failures, shown[taken], weight[taken]))
        first += int(np.argmin(ends)) if not ends.all() else 0
        weight = weight[~ends]
        if not len(weight):
            break
    return _in_order(kept, at)


def _in_order(kept: list[tuple[IntArray, IntArray, NDArray[np.bool_], FloatArray]], at: float) -> Lattice:
    if not kept:
        nothing = np.zeros(0, dtype=np.int64)
        return Lattice(nothing, nothing, np.zeros(0, dtype=bool), np.zeros(0), at)
    made, failures, shown, weight = (np.concatenate(parts) for parts in zip(*kept, strict=True))
    order = np.lexsort((failures, np.where(shown, made, -made), ~shown))
    return Lattice(made[order], failures[order], shown[order], np.log(weight[order]), at)
