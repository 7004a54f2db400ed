"""What so many attempts can tell: the smallest difference that shows, and the attempts that a difference needs.

For shares the power is that of Boschloo's two-sided test, exact where a group has at most ``MOST_EXACT`` attempts
(or one at most 40) and by the normal law above; for means that of the two-sided t test. "Can tell" means power 80 %
at the 5 % level.
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.inference.proportions_exact import refused_by_boschloo

FloatArray = NDArray[np.float64]

ALPHA, POWER = 0.05, 0.80
MOST_EXACT = 160
"""Up to so many attempts per group the power is exact."""
_FEW, _BESIDE = 40, 600
_MOST_NEEDED = 1_000_000
_WALK = 12


def power_of_shares(n1: int, p1: float, n2: int, p2: float, *, alpha: float = ALPHA) -> float:
    """Return the chance that Boschloo's two-sided test tells two shares apart; raises InputError ``needed.*``."""
    if min(n1, n2) < 1:
        raise InputError("needed.empty")
    if not (0.0 <= p1 <= 1.0 and 0.0 <= p2 <= 1.0):
        raise InputError("needed.share", first=p1, second=p2)
    if max(n1, n2) > MOST_EXACT and min(n1, n2) <= _FEW:
        # No normal law for a few; and beside them 600 tell as good as any more.
        n1, n2 = min(n1, _BESIDE), min(n2, _BESIDE)
    elif max(n1, n2) > MOST_EXACT:
        return _normal_power(n1, p1, n2, p2, alpha)
    refused = refused_by_boschloo(n1, n2, alpha).astype(float)
    return float(_binomial(n1, p1) @ refused @ _binomial(n2, p2))


def pair_around(middle: float, difference: float) -> tuple[float, float]:
    """Return two shares that differ by ``difference`` around a middle, moved where one would leave [0, 1]."""
    half = 0.5 * abs(difference)
    low = min(max(middle - half, 0.0), 1.0 - 2.0 * half)
    pair = low, min(1.0, low + 2.0 * half)
    return (pair[1], pair[0]) if difference >= 0 else pair


def smallest_share_difference(
    n1: int, n2: int, middle: float, *, alpha: float = ALPHA, power: float = POWER
) -> float | None:
    """Return the smallest difference, in whole per cent as a share, that would be told whichever group is better.

    ``middle`` is where the shares lie. None where not even 0 against 100 % would. Raises ``needed.*``.
    """

    def is_told(points: int) -> bool:
        ways = (pair_around(middle, sign * points / 100.0) for sign in (1.0, -1.0))
        return all(power_of_shares(n1, first, n2, second, alpha=alpha) >= power for first, second in ways)

    if not is_told(100):
        return None
    low, high = 0, 100
    while high - low > 1:
        half = (low + high) // 2
        low, high = (low, half) if is_told(half) else (half, high)
    return high / 100.0


def needed_for_shares(
    middle: float, difference: float, *, alpha: float = ALPHA, power: float = POWER
) -> int | None:
    """Return how many attempts each group needs to tell a difference of shares; None for no difference.

    Exact up to ``MOST_EXACT``: the smallest number from which on the power holds for the next ones too, for an
    exact power goes up in teeth. Above, the normal law with unequal variances (Fleiss 1981, Statistical Methods for
    Rates and Proportions, chapter 3).
    """
    if not 0.0 < abs(difference) <= 1.0:
        return None
    first, second = pair_around(middle, difference)
    rough = _normal_needed(first, second, alpha, power)
    if rough is None or rough > MOST_EXACT:
        return rough
    enough = [
        n
        for n in range(max(2, rough - _WALK), rough + _WALK + 1)
        if power_of_shares(n, first, n, second, alpha=alpha) >= power
    ]
    if not enough:
        return rough + _WALK
    # The first of the run that goes to the end without a gap.
    start = len(enough) - 1
    while start > 0 and enough[start - 1] == enough[start] - 1:
        start -= 1
    return enough[start]


def power_of_means(n1: int, n2: int, difference: float, sd: float, *, alpha: float = ALPHA) -> float:
    """Return the power of the two-sided t test of two means with a common standard deviation; noncentral t law."""
    from scipy.stats import nct, t

    freedom = n1 + n2 - 2
    if min(n1, n2) < 1 or freedom < 1:
        return 0.0
    if sd <= 0.0:
        return float(difference != 0.0)
    shift = abs(difference) / (sd * math.sqrt(1.0 / n1 + 1.0 / n2))
    if shift > 30.0:  # far beyond any power that is asked for, and the noncentral law is not known there
        return 1.0
    bound = float(t.ppf(1.0 - 0.5 * alpha, freedom))
    return float(nct.sf(bound, freedom, shift) + nct.cdf(-bound, freedom, shift))


def smallest_mean_difference(
    n1: int, n2: int, sd: float, *, alpha: float = ALPHA, power: float = POWER
) -> float | None:
    """Return the smallest difference of means that would be told; None where there is no scatter to go by."""
    if min(n1, n2) < 1 or n1 + n2 < 3 or not sd > 0.0:
        return None
    low, high = 0.0, sd
    while power_of_means(n1, n2, high, sd, alpha=alpha) < power:
        low, high = high, 2.0 * high
    for _ in range(40):
        half = 0.5 * (low + high)
        low, high = (low, half) if power_of_means(n1, n2, half, sd, alpha=alpha) >= power else (half, high)
    return high


def needed_for_means(difference: float, sd: float, *, alpha: float = ALPHA, power: float = POWER) -> int | None:
    """Return how many attempts each group needs to tell a difference of means; None where nothing tells."""
    if not (abs(difference) > 0.0 and sd > 0.0):
        return None
    low, high = 1, 2
    while power_of_means(high, high, difference, sd, alpha=alpha) < power:
        low, high = high, 2 * high
        if high > _MOST_NEEDED:
            return None
    while high - low > 1:
        half = (low + high) // 2
        enough = power_of_means(half, half, difference, sd, alpha=alpha) >= power
        low, high = (low, half) if enough else (half, high)
    return high


def _normal_power(n1: int, p1: float, n2: int, p2: float, alpha: float) -> float:
    normal = NormalDist()
    pooled = (n1 * p1 + n2 * p2) / (n1 + n2)
    under_none = math.sqrt(pooled * (1.0 - pooled) * (1.0 / n1 + 1.0 / n2))
    own = math.sqrt(p1 * (1.0 - p1) / n1 + p2 * (1.0 - p2) / n2)
    off = abs(p1 - p2) - normal.inv_cdf(1.0 - 0.5 * alpha) * under_none
    if own <= 0.0:
        return float(off > 0.0)
    return normal.cdf(off / own)


def _normal_needed(p1: float, p2: float, alpha: float, power: float) -> int | None:
    normal = NormalDist()
    pooled = 0.5 * (p1 + p2)
    first = normal.inv_cdf(1.0 - 0.5 * alpha) * math.sqrt(2.0 * pooled * (1.0 - pooled))
    second = normal.inv_cdf(power) * math.sqrt(p1 * (1.0 - p1) + p2 * (1.0 - p2))
    needed = math.ceil(((first + second) / (p1 - p2)) ** 2)
    return max(2, needed) if needed <= _MOST_NEEDED else None


@lru_cache(maxsize=4096)
def _binomial(n: int, p: float) -> FloatArray:
    k = np.arange(n + 1)
    if p in (0.0, 1.0):
        return np.asarray(k == round(n * p), dtype=float)
    ways = np.array([math.lgamma(n + 1) - math.lgamma(each + 1) - math.lgamma(n - each + 1) for each in k])
    return np.asarray(np.exp(ways + k * math.log(p) + (n - k) * math.log(1.0 - p)))
