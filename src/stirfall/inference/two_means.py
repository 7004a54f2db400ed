"""Two means compared: Welch's interval, permutations (within lots where wanted), and a Bayesian estimate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.inference.proportions import Span

FloatArray = NDArray[np.float64]

MOST_ARRANGEMENTS = 200_000
"""With more ways to divide the attempts than this, ``SHUFFLES`` of them are drawn at random."""
SHUFFLES = 20_000
_DRAWS = 40_000
_BLOCK = 2_000_000
_TIE = 1e-9


@dataclass(frozen=True)
class Permuted:
    """How often a random division of the attempts gives a difference at least as large.

    ``value`` is the difference of means, first less second; within lots it is their mean, weighted n1 n2/(n1 + n2).
    ``greater`` and ``less`` are one-sided. ``p_se`` is the standard error of a drawn ``p``, 0 where all
    ``arrangements`` were gone through. ``used`` names the lots that have both groups ("" without lots),
    ``left_out`` counts the attempts of the others.
    """

    value: float
    p: float
    greater: float
    less: float
    p_se: float
    exact: bool
    arrangements: int
    used: tuple[str, ...]
    left_out: int


@dataclass(frozen=True)
class LargerMean:
    """The posterior of two means: ``probability`` that the first is larger, and the difference."""

    probability: float
    difference: Span


def welch(first: Sequence[float], second: Sequence[float], level: float = 0.95) -> Span | None:
    """Return mean(first) - mean(second) with Welch's interval; None with fewer than two values, or without scatter.

    Welch 1938, Biometrika 29:350; degrees of freedom by Satterthwaite 1946, Biometrics Bulletin 2:110. Numbers that
    are all alike in both groups do not say how exact they are, so that an interval of width zero would be untrue.
    """
    from scipy.stats import t

    x, y = _values(first), _values(second)
    if min(len(x), len(y)) < 2 or not _scatters(x, y):
        return None
    value = float(x.mean() - y.mean())
    parts = [float(each.var(ddof=1)) / len(each) for each in (x, y)]
    variance = sum(parts)
    freedom = variance**2 / sum(part**2 / (len(each) - 1) for part, each in zip(parts, (x, y), strict=True))
    reach = float(t.ppf(0.5 + 0.5 * level, freedom)) * math.sqrt(variance)
    return Span(value, value - reach, value + reach, level, len(x) + len(y))


def mean_span(values: Sequence[float], level: float = 0.95) -> Span | None:
    """Return a mean with Student's interval; ends are infinite for one value, None for none."""
    from scipy.stats import t

    x = _values(values)
    if not len(x):
        return None
    value = float(x.mean())
    if len(x) == 1:
        return Span(value, -math.inf, math.inf, level, 1)
    reach = float(t.ppf(0.5 + 0.5 * level, len(x) - 1)) * math.sqrt(float(x.var(ddof=1)) / len(x))
    return Span(value, value - reach, value + reach, level, len(x))


def permuted(
    first: Sequence[float],
    second: Sequence[float],
    *,
    lots: tuple[Sequence[str], Sequence[str]] | None = None,
    seed: int = 0,
    token: CancelToken | None = None,
) -> Permuted | None:
    """Return the permutation test of two means; None where no group, or no lot, can be divided.

    Exact where at most ``MOST_ARRANGEMENTS`` divisions exist, else ``SHUFFLES`` are drawn and p is (b + 1)/(m + 1)
    (Davison & Hinkley 1997, Bootstrap Methods and their Application, section 4.2). ``lots`` names the lot of every
    value; divisions are then made within lots only (Pitman 1937, Supplement to the Journal of the Royal Statistical
    Society 4:119). Same seed, same answer. Raises Cancelled.
    """
    strata, left_out = _strata(_values(first), _values(second), lots)
    if not strata:
        return None
    ways = math.prod(math.comb(n1 + n2, n1) for _, _, n1, n2 in strata)
    weights = np.array([n1 * n2 / (n1 + n2) for _, _, n1, n2 in strata])
    weights = weights / weights.sum()
    own = float(
        sum(w * (pool[:n1].mean() - pool[n1:].mean()) for w, (_, pool, n1, _) in zip(weights, strata, strict=True))
    )
    exact = ways <= MOST_ARRANGEMENTS
    if exact:
        law = _all_divisions(strata, weights, token)
    else:
        law = _drawn_divisions(strata, weights, np.random.default_rng(seed), token)
    scale = max(float(np.abs(pool).max()) for _, pool, _, _ in strata)
    near = _TIE * max(scale, 1e-300)
    counts = [int(found.sum()) for found in (np.abs(law) >= abs(own) - near, law >= own - near, law <= own + near)]
    p, greater, less = (count / len(law) if exact else (count + 1) / (len(law) + 1) for count in counts)
    p_se = 0.0 if exact else math.sqrt(p * (1.0 - p) / len(law))
    names = tuple(name for name, _, _, _ in strata)
    return Permuted(own, p, greater, less, p_se, exact, ways if exact else len(law), names, left_out)


def larger_mean(
    first: Sequence[float], second: Sequence[float], level: float = 0.95, *, seed: int = 0
) -> LargerMean | None:
    """Return the posterior of mean(first) - mean(second); None with fewer than two values, or without scatter.

    Each group is normal with its own mean and variance under the reference prior, uniform in the mean and the log
    of the standard deviation: the difference of two shifted Student laws (Behrens 1929; Jeffreys 1961, Theory of
    Probability; Gelman et al., Bayesian Data Analysis, section 3.2). Evenly spread quantiles, paired at random.
    """
    from scipy.stats import t

    x, y = _values(first), _values(second)
    if min(len(x), len(y)) < 2 or not _scatters(x, y):
        return None
    even = (np.arange(_DRAWS) + 0.5) / _DRAWS
    rng = np.random.default_rng(seed)
    draws = []
    for each in (x, y):
        spread = math.sqrt(float(each.var(ddof=1)) / len(each))
        draws.append(each.mean() + spread * t.ppf(even, len(each) - 1)[rng.permutation(_DRAWS)])
    off = draws[0] - draws[1]
    probability = float((off > 0).mean() + 0.5 * (off == 0).mean())
    lower, upper = np.quantile(off, (0.5 * (1.0 - level), 0.5 * (1.0 + level)))
    value = float(x.mean() - y.mean())
    return LargerMean(probability, Span(value, float(lower), float(upper), level, len(x) + len(y)))


def _scatters(x: FloatArray, y: FloatArray) -> bool:
    return bool(np.ptp(x) > 0.0 or np.ptp(y) > 0.0)


_Stratum = tuple[str, FloatArray, int, int]


def _strata(
    x: FloatArray, y: FloatArray, lots: tuple[Sequence[str], Sequence[str]] | None
) -> tuple[list[_Stratum], int]:
    """Return per lot its name, the values with the first group in front, and both counts; and who has no match."""
    if lots is None:
        return ([("", np.concatenate([x, y]), len(x), len(y))] if len(x) and len(y) else []), 0
    labels = [np.array(each, dtype=object) for each in lots]
    found: list[_Stratum] = []
    left_out = 0
    for name in sorted({str(label) for each in lots for label in each}):
        mine, other = x[labels[0] == name], y[labels[1] == name]
        if len(mine) and len(other):
            found.append((name, np.concatenate([mine, other]), len(mine), len(other)))
        else:
            left_out += len(mine) + len(other)
    return found, left_out


def _all_divisions(strata: list[_Stratum], weights: FloatArray, token: CancelToken | None) -> FloatArray:
    law = np.zeros(1)
    for weight, (_, pool, n1, n2) in zip(weights, strata, strict=True):
        if token is not None:
            token.raise_if_cancelled()
        places = np.array(list(combinations(range(n1 + n2), n1)), dtype=np.intp)
        sums = pool[places].sum(axis=1)
        law = np.add.outer(law, weight * _difference(sums, float(pool.sum()), n1, n2)).ravel()
    return law


def _drawn_divisions(
    strata: list[_Stratum], weights: FloatArray, rng: np.random.Generator, token: CancelToken | None
) -> FloatArray:
    law = np.zeros(SHUFFLES)
    for weight, (_, pool, n1, n2) in zip(weights, strata, strict=True):
        block = max(1, min(SHUFFLES, _BLOCK // (n1 + n2)))
        for start in range(0, SHUFFLES, block):
            if token is not None:
                token.raise_if_cancelled()
            rows = min(block, SHUFFLES - start)
            mixed = rng.permuted(np.broadcast_to(pool, (rows, n1 + n2)), axis=1)
            sums = mixed[:, :n1].sum(axis=1)
            law[start : start + rows] += weight * _difference(sums, float(pool.sum()), n1, n2)
    return law


def _difference(sums: FloatArray, total: float, n1: int, n2: int) -> FloatArray:
    return np.asarray(sums / n1 - (total - sums) / n2)


def _values(given: Sequence[float]) -> FloatArray:
    values = np.asarray(given, dtype=float)
    if not np.isfinite(values).all():
        raise InputError("means.not_finite")
    return values
