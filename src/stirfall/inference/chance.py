"""How often outcomes that have nothing to do with the factors would come out as tidily separated.

That of a border is exact; the others are bounds, the chances of all ways added up (Bonferroni), at most 1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence


def of_border(value_trials: Sequence[int], successes: int) -> float:
    """Return the chance that a number parts the outcomes: all successes on one side, all failures on the other.

    ``value_trials`` are the trials at its distinct values, in their order; at one value both outcomes may be seen.
    Exact where all orders of the outcomes are equally likely.
    """
    trials = sum(value_trials)
    whole = _log_ways(trials, successes)
    total, below = 0.0, 0
    for count in value_trials:
        above = trials - below - count
        for here in (successes - above, successes - below):
            if 0 <= here < count:
                total += math.exp(_log_ways(count, here) - whole)
        below += count
    return min(1.0, total)


def of_range(trials: int, successes: int, values: int) -> float:
    """Return the chance that the successes, or the failures, alone fill one range of the ``values`` of a number."""
    return _at_most_one(math.log(values * (values + 1)) - _log_ways(trials, successes))


def of_level(trials: int, successes: int, level_trials: Sequence[int]) -> float:
    """Return the chance that one or more levels with so many trials each have only successes or only failures."""
    total = 0.0
    for count in level_trials:
        for kind in (successes, trials - successes):
            total += math.exp(_log_ways(kind, count) - _log_ways(trials, count))
    return min(1.0, total)


def of_plane(trials: int, columns: int) -> float:
    """Return the share of all outcomes that some plane parts: trials in general position, intercept included.

    Cover 1965, IEEE Transactions on Electronic Computers 14:326.
    """
    half = (trials - 1) * math.log(2.0)
    return min(1.0, sum(math.exp(_log_ways(trials - 1, place) - half) for place in range(min(columns, trials))))


def _log_ways(of: int, chosen: int) -> float:
    """Return the log of the number of ways to choose, -inf where there is none."""
    if not 0 <= chosen <= of:
        return -math.inf
    return math.lgamma(of + 1) - math.lgamma(chosen + 1) - math.lgamma(of - chosen + 1)


def _at_most_one(log: float) -> float:
    return math.exp(min(0.0, log))
