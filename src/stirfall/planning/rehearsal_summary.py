"""What rehearsed campaigns add up to: distributions with their Monte-Carlo errors, and orders set side by side."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Estimate, Reason
from stirfall.planning.orders import Order
from stirfall.planning.rehearsal_play import Played
from stirfall.planning.rehearsal_task import RehearsalTask

FloatArray = NDArray[np.float64]

BASELINE = Order.SPACE_FILLING
QUANTILES = (0.1, 0.5, 0.9)


@dataclass(frozen=True)
class Quantile:
    """A quantile over campaigns with its interval; None: beyond what was played, so "more than" the most."""

    share: float
    value: float | None
    lower: float | None
    upper: float | None


@dataclass(frozen=True, eq=False)
class Distribution:
    """How long it took, over n campaigns: ``values`` (n,), infinite where the target was not reached.

    ``reached`` is the share that reached it. ``most`` is what was played at the most: ``mean`` counts the rest as
    ``most``, with its standard error. ``x`` and ``not_yet`` with ``lower`` and ``upper`` are the steps of the
    survival curve: the share of campaigns that had not reached the target after ``x``.
    """

    values: FloatArray
    reached: Estimate
    quantiles: tuple[Quantile, ...]
    most: float
    mean: float
    standard_error: float
    x: FloatArray
    not_yet: FloatArray
    lower: FloatArray
    upper: FloatArray

    @property
    def median(self) -> Quantile:
        """The middle one of the quantiles."""
        return self.quantiles[1]


@dataclass(frozen=True)
class Against:
    """An order set against another one on the same truths with the same luck.

    ``saved`` is the mean number of attempts saved (what was not reached counts as the most that were played), with
    its standard error and interval; ``saved_weeks`` likewise. ``ratio`` is the mean divided by the other's mean,
    with its standard error. Of ``campaigns``, so many were ``quicker``, the ``same`` and ``slower``.
    """

    order: str
    campaigns: int
    saved: float
    saved_se: float
    saved_lower: float
    saved_upper: float
    saved_weeks: float
    saved_weeks_se: float
    ratio: float
    ratio_se: float
    quicker: int
    same: int
    slower: int


@dataclass(frozen=True)
class OrderRehearsed:
    """One order: attempts and weeks until the target is reached for the first time, and until it stays reached.

    ``against`` sets it against space filling, None for that itself or where that was not played.
    """

    order: str
    campaigns: int
    attempts: Distribution
    weeks: Distribution
    settled: Distribution
    against: Against | None


@dataclass(frozen=True)
class Rehearsed:
    """The answer of a rehearsal; orders as they were asked for.

    ``campaigns`` were asked for per order; ``is_whole`` is False where it was stopped before all were played.
    ``reachable`` is the share of truths that have conditions within the limits at which the target is reached at
    all. ``source``: "posterior", "prior" or "guess". ``already`` is the share whose recipe of today is good enough.
    """

    orders: tuple[OrderRehearsed, ...]
    campaigns: int
    target: float
    most: int
    seed: int
    level: float
    source: str
    begun_at: datetime
    reachable: Estimate
    already: Estimate
    assumed: tuple[Reason, ...]
    is_whole: bool

    def order(self, name: str) -> OrderRehearsed:
        """Return one order by its word; raises KeyError."""
        for each in self.orders:
            if each.order == name:
                return each
        raise KeyError(name)


def summarise(task: RehearsalTask, orders: Sequence[str], played: Iterable[Played]) -> Rehearsed | None:
    """Return what the campaigns played so far add up to; None where an order has none yet.

    Order and number of each decide, not the order in which they were finished.
    """
    found: dict[str, dict[int, Played]] = {order: {} for order in orders}
    for each in sorted(played, key=lambda campaign: campaign.number):
        if each.order in found and each.number < len(task.truths):
            found[each.order][each.number] = each
    if not all(found.values()):
        return None
    rules, level = task.rules, task.level
    baseline = found.get(BASELINE, {})
    told = tuple(_of_order(order, found[order], baseline, rules.most, level) for order in orders)
    truths = list({number: each for some in found.values() for number, each in some.items()}.values())
    return Rehearsed(
        told,
        len(task.truths),
        rules.target,
        rules.most,
        rules.seed,
        level,
        task.source,
        task.begun_at,
        share(sum(each.ceiling >= rules.target for each in truths), len(truths), level),
        share(sum(each.first == 0 for each in truths), len(truths), level),
        task.assumed,
        all(len(some) == len(task.truths) for some in found.values()),
    )


def _of_order(
    order: str, mine: Mapping[int, Played], baseline: Mapping[int, Played], most: int, level: float
) -> OrderRehearsed:
    rows = list(mine.values())
    first = np.array([math.inf if each.first is None else each.first for each in rows])
    settled = np.array([math.inf if each.settled is None else each.settled for each in rows])
    weeks = np.array([math.inf if each.first is None else each.weeks[each.first] for each in rows])
    longest = max((each.weeks[-1] for each in rows), default=0.0)
    both = [number for number in mine if number in baseline]
    against = None
    if order != BASELINE and len(both) > 1:
        against = _against([mine[at] for at in both], [baseline[at] for at in both], most, level)
    return OrderRehearsed(
        order,
        len(rows),
        distribution(first, np.full(len(rows), float(most)), float(most), level),
        distribution(weeks, np.array([each.weeks[-1] for each in rows]), longest, level),
        distribution(settled, np.full(len(rows), float(most)), float(most), level),
        against,
    )


def distribution(values: FloatArray, at_end: FloatArray, most: float, level: float) -> Distribution:
    """Return the law of ``values`` (n,), infinite where not reached; ``at_end`` (n,) counts in its place there."""
    n = len(values)
    restricted = np.where(np.isfinite(values), values, at_end)
    steps = np.unique(np.concatenate([[0.0], values[np.isfinite(values)], [most]]))
    later = np.array([int((values > at).sum()) for at in steps])
    shares = [share(int(count), n, level) for count in later]
    return Distribution(
        values,
        share(int(np.isfinite(values).sum()), n, level),
        tuple(quantile(values, at, level) for at in QUANTILES),
        most,
        float(restricted.mean()),
        _error(restricted),
        steps,
        later / n,
        np.array([each.lower for each in shares]),
        np.array([each.upper for each in shares]),
    )


def quantile(values: FloatArray, at: float, level: float) -> Quantile:
    """Return a quantile of n values and its interval by order statistics, which needs no form of the law.

    The value is the smallest one with at least ``at`` of all values at or below it. The interval runs between the
    order statistics whose ranks a binomial count B(n, at) leaves out with at most half of 1 - ``level`` at each end
    (the usual distribution-free interval, Conover's "Practical Nonparametric Statistics"; quoted from memory).
    """
    from scipy.stats import binom

    ordered, n = np.sort(values), len(values)
    tail = (1.0 - level) / 2.0
    rank = max(1, math.ceil(at * n - 1e-9))
    low, high = int(binom.ppf(tail, n, at)), int(binom.ppf(1.0 - tail, n, at)) + 1
    lower = 0.0 if low < 1 else float(ordered[low - 1])
    upper = math.inf if high > n else float(ordered[high - 1])
    return Quantile(at, _or_none(float(ordered[rank - 1])), _or_none(lower), _or_none(upper))


def share(count: int, n: int, level: float) -> Estimate:
    """Return the share ``count`` of ``n`` campaigns with its exact interval.

    Clopper & Pearson 1934, Biometrika 26:404.
    """
    from scipy.special import betaincinv

    tail = (1.0 - level) / 2.0
    lower = 0.0 if count == 0 else float(betaincinv(count, n - count + 1, tail))
    upper = 1.0 if count == n else float(betaincinv(count + 1, n - count, 1.0 - tail))
    return Estimate(count / n, lower, upper, level, n)


def _against(mine: Sequence[Played], other: Sequence[Played], most: int, level: float) -> Against:
    from scipy.special import stdtrit

    took, base = (np.array([_restricted(each, most) for each in rows], dtype=float) for rows in (mine, other))
    weeks = np.array([_weeks(b) - _weeks(a) for a, b in zip(mine, other, strict=True)])
    saved, n = base - took, len(took)
    error = _error(saved)
    reach = error * float(stdtrit(n - 1, 0.5 + level / 2.0))
    middle = float(saved.mean())
    ratio = float(took.mean() / base.mean()) if base.any() else 1.0
    ratio_se = _error((took - ratio * base) / base.mean()) if base.any() else 0.0
    return Against(
        str(BASELINE),
        n,
        middle,
        error,
        middle - reach,
        middle + reach,
        float(weeks.mean()),
        _error(weeks),
        ratio,
        ratio_se,
        int((saved > 0).sum()),
        int((saved == 0).sum()),
        int((saved < 0).sum()),
    )


def _restricted(each: Played, most: int) -> float:
    return float(most if each.first is None else each.first)


def _weeks(each: Played) -> float:
    return each.weeks[-1 if each.first is None else each.first]


def _error(values: FloatArray) -> float:
    """Return the standard error of the mean over campaigns; NaN for a single one."""
    return float(values.std(ddof=1) / math.sqrt(len(values))) if len(values) > 1 else math.nan


def _or_none(value: float) -> float | None:
    return value if math.isfinite(value) else None
