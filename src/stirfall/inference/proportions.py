"""Two shares compared: intervals of each and of their difference, and the chance that one is larger.

Everything is right at zero cells, where textbook formulas give intervals of width zero. The exact tests stand in
``proportions_exact`` and what is compared within lots in ``proportions_lots``; both are named here too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.inference.proportions_exact import Chances, barnard, boschloo, fisher, score_test
from stirfall.inference.proportions_lots import Stratified, Stratum, stratified
from stirfall.inference.proportions_score import score_bounds

__all__ = [
    "Better",
    "Chances",
    "Span",
    "Stratified",
    "Stratum",
    "barnard",
    "boschloo",
    "fisher",
    "newcombe_hybrid",
    "posterior_better",
    "score_difference",
    "score_test",
    "stratified",
    "wilson",
]

FloatArray = NDArray[np.float64]

_NODES = 400
_GRID = 512


@dataclass(frozen=True)
class Span:
    """A value with its interval at ``level``; ``n`` is what it rests on."""

    value: float
    lower: float
    upper: float
    level: float
    n: int


@dataclass(frozen=True)
class Better:
    """What two independent shares are to each other: ``probability`` that the first is larger, and the difference.

    ``a`` and ``b`` are the Beta prior's, the same for both.
    """

    probability: float
    difference: Span
    a: float
    b: float


def wilson(k: int, n: int, level: float = 0.95) -> Span:
    """Return a share k/n with Wilson's score interval; raises InputError ``proportions.*``.

    Wilson 1927, Journal of the American Statistical Association 22:209; method 3 of Newcombe 1998, Statistics in
    Medicine 17:857.
    """
    _check(k, n)
    z = _z(level)
    share = k / n
    middle = (k + 0.5 * z * z) / (n + z * z)
    reach = z / (n + z * z) * math.sqrt(k * (n - k) / n + 0.25 * z * z)
    lower = 0.0 if k == 0 else max(0.0, middle - reach)
    upper = 1.0 if k == n else min(1.0, middle + reach)
    return Span(share, lower, upper, level, n)


def newcombe_hybrid(k1: int, n1: int, k2: int, n2: int, level: float = 0.95) -> Span:
    """Return the difference k1/n1 - k2/n2 with the interval put together of both Wilson intervals.

    Method 10 of Newcombe 1998, Statistics in Medicine 17:873.
    """
    first, second = wilson(k1, n1, level), wilson(k2, n2, level)
    value = first.value - second.value
    below = math.hypot(first.value - first.lower, second.upper - second.value)
    above = math.hypot(first.upper - first.value, second.value - second.lower)
    return Span(value, max(-1.0, value - below), min(1.0, value + above), level, n1 + n2)


def score_difference(
    k1: int,
    n1: int,
    k2: int,
    n2: int,
    level: float = 0.95,
    *,
    method: Literal["mee", "miettinen_nurminen"] = "mee",
) -> Span:
    """Return the difference k1/n1 - k2/n2 with its asymptotic score interval.

    ``mee``: Mee 1984, Biometrics 40:1175; ``miettinen_nurminen``: Miettinen & Nurminen 1985, Statistics in Medicine
    4:213, whose variance is N/(N - 1) times as large. The shares under a given difference are the exact
    maximum-likelihood ones, so that a cell of zero is no special case: 0 of n1 against 0 of n2 gives the Wilson
    limits of 0 of n2 below and of 0 of n1 above.
    """
    _check(k1, n1)
    _check(k2, n2)
    corrected = method == "miettinen_nurminen"
    bounds = score_bounds(*(np.array([float(each)]) for each in (k1, n1, k2, n2)), z=_z(level), corrected=corrected)
    return Span(k1 / n1 - k2 / n2, *bounds, level, n1 + n2)


def posterior_better(
    k1: int, n1: int, k2: int, n2: int, level: float = 0.95, *, a: float = 0.5, b: float = 0.5
) -> Better:
    """Return the posterior chance that the first share is the larger, under independent Beta(a, b) priors.

    a = b = 1/2 is Jeffreys's prior (Jeffreys 1961, Theory of Probability). The chance is an integral over the
    quantiles of one law (Gauss-Legendre), the interval of the difference that of a grid of equally likely pairs.
    Groups may be empty. Raises InputError ``proportions.*``.
    """
    from scipy.special import betainc, betaincinv

    for k, n in ((k1, n1), (k2, n2)):
        if not 0 <= k <= n:
            raise InputError("proportions.count", k=k, n=n)
    first, second = (a + k1, b + n1 - k1), (a + k2, b + n2 - k2)
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    shares = betaincinv(*first, 0.5 * (nodes + 1.0))
    probability = float(0.5 * weights @ betainc(*second, shares))
    even = (np.arange(_GRID) + 0.5) / _GRID
    pairs = np.subtract.outer(betaincinv(*first, even), betaincinv(*second, even)).ravel()
    tail = 0.5 * (1.0 - level)
    lower, upper = np.quantile(pairs, (tail, 1.0 - tail))
    mean = first[0] / sum(first) - second[0] / sum(second)
    difference = Span(mean, float(lower), float(upper), level, n1 + n2)
    return Better(min(1.0, max(0.0, probability)), difference, a, b)


def _z(level: float) -> float:
    return NormalDist().inv_cdf(0.5 + 0.5 * level)


def _check(k: int, n: int) -> None:
    if n < 1:
        raise InputError("proportions.empty")
    if not 0 <= k <= n:
        raise InputError("proportions.count", k=k, n=n)
