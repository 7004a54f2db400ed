"""The probability that a proportion or a mean changed once, and when, against no change at all.

Every moment between two points may be that of the change, all equally likely beforehand, so that the many moments
looked at are paid for: the marginal likelihood of "a change" is their average.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

PRIOR_CHANCE = 0.5
"""The probability of a change before anything is seen."""
_CERTAIN = 1e-6
# Of the logarithm of an odds ratio: what was foretold may be wrong by about a factor of e either way.
_OFFSET_SD = 1.0
_NODES = 81
_REACH = 5.0


@dataclass(frozen=True)
class ChangePoint:
    """Whether and when something changed: ``probability`` of a change, and of each moment given one.

    ``moments`` (m,): the probability, given a change, that point i is the first one after it; moments[0] is 0.
    ``at`` is the likeliest such point, ``first`` to ``last`` an interval of moments that holds ``level``.
    ``log_factor`` is the logarithm of the Bayes factor of a change against none.
    """

    probability: float
    moments: FloatArray
    at: int
    first: int
    last: int
    level: float
    log_factor: float


def change_of_share(
    k: ArrayLike, n: ArrayLike, *, prior: tuple[float, float] = (1.0, 1.0), chance: float = PRIOR_CHANCE
) -> ChangePoint | None:
    """Return the change point of ``k`` of ``n`` passes per point, (m,) each; None with fewer than two points.

    Each stretch has one share with a Beta(a, b) prior, so that its marginal likelihood is B(a + k, b + n - k) /
    B(a, b) (Beta-Bernoulli; the classic coal-mining example has Poisson counts in its place).
    """
    from scipy.special import betaln

    hits, trials = _sums(k), _sums(n)
    if len(hits) < 3:
        return None
    a, b = prior

    def marginal(passed: FloatArray, tried: FloatArray) -> FloatArray:
        return np.asarray(betaln(a + passed, b + tried - passed) - betaln(a, b), dtype=float)

    before = marginal(hits[1:-1], trials[1:-1])
    after = marginal(hits[-1] - hits[1:-1], trials[-1] - trials[1:-1])
    none = float(marginal(hits[-1:], trials[-1:])[0])
    return _weighed(before + after - none, chance)


def change_of_mean(
    values: ArrayLike, *, effect_sd: float = 1.0, chance: float = PRIOR_CHANCE
) -> ChangePoint | None:
    """Return the change point of the mean of numbers (m,); None with fewer than three, or where none differs.

    Normal with one unknown mean and sd for all (flat and 1/sd priors, shared by both hypotheses), plus after the
    change a shift that is normal with ``effect_sd`` standard deviations. With c the centred step and r its
    correlation with the numbers, the Bayes factor is (1 + g S)^(-1/2) (1 - r² g S / (1 + g S))^(-(m-1)/2), where
    g = effect_sd² and S = c'c (Gönen et al. 2005, The American Statistician 59:252, as a regression).
    """
    y = np.asarray(values, dtype=float)
    m = len(y)
    if m < 3:
        return None
    y = y - y.mean()
    total = float(y @ y)
    if total <= 0.0:
        return None
    later = np.arange(1, m)
    size = later * (m - later) / m
    # The step that is 1 from point i on: its product with centred numbers is their sum from i on.
    product = np.cumsum(y[::-1])[::-1][1:]
    share = np.clip(product**2 / (size * total), 0.0, 1.0)
    g = effect_sd**2 * size
    factors = -0.5 * np.log1p(g) - 0.5 * (m - 1) * np.log1p(-share * g / (1.0 + g))
    return _weighed(factors, chance)


def change_beyond(
    k: ArrayLike, n: ArrayLike, foretold: ArrayLike, *, chance: float = PRIOR_CHANCE
) -> ChangePoint | None:
    """Return the change point of what is left of ``k`` of ``n`` passes beyond what was foretold, (m,) each.

    Each stretch has one shift of the log odds of what was foretold, normal with sd 1, integrated over by 81 nodes
    within 5 sd. None with fewer than two points.
    """
    hits, trials = np.asarray(k, dtype=float), np.asarray(n, dtype=float)
    if len(hits) < 2:
        return None
    p = np.clip(np.asarray(foretold, dtype=float), _CERTAIN, 1.0 - _CERTAIN)
    shifts = np.linspace(-_REACH, _REACH, _NODES) * _OFFSET_SD
    log_prior = -0.5 * (shifts / _OFFSET_SD) ** 2
    log_prior -= _log_sum(log_prior)
    odds = np.log(p / (1.0 - p))[:, None] + shifts
    told = hits[:, None] * odds - trials[:, None] * np.logaddexp(0.0, odds)
    so_far = np.cumsum(told, axis=0)
    whole = so_far[-1]
    before = _log_sum(so_far[:-1] + log_prior)
    after = _log_sum(whole - so_far[:-1] + log_prior)
    return _weighed(before + after - float(_log_sum(whole + log_prior)), chance)


def _sums(values: ArrayLike) -> FloatArray:
    return np.concatenate(([0.0], np.cumsum(np.asarray(values, dtype=float))))


def _log_sum(logs: FloatArray) -> FloatArray:
    """Return the logarithm of the sum of e^logs over the last axis."""
    top = logs.max(axis=-1, keepdims=True)
    return np.asarray(np.log(np.exp(logs - top).sum(axis=-1)) + top[..., 0])


def _weighed(factors: FloatArray, chance: float, level: float = 0.8) -> ChangePoint:
    """Return the change point from the (m - 1,) log Bayes factors of its moments, moment 0 being point 1."""
    average = float(_log_sum(factors)) - float(np.log(len(factors)))
    log_odds = average + float(np.log(chance) - np.log1p(-chance))
    moments = np.concatenate(([0.0], np.exp(factors - _log_sum(factors))))
    first, last = _interval(moments, level)
    probability = 1.0 / (1.0 + float(np.exp(-np.clip(log_odds, -700.0, 700.0))))
    return ChangePoint(probability, moments, int(np.argmax(moments)), first, last, level, average)


def _interval(moments: FloatArray, level: float) -> tuple[int, int]:
    """Return the ends of the moments that it takes, likeliest first, to hold a level."""
    order = np.argsort(-moments, kind="stable")
    needed = int(np.searchsorted(np.cumsum(moments[order]), level)) + 1
    kept = order[:needed]
    return int(kept.min()), int(kept.max())
