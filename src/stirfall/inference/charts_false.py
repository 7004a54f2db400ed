"""How often a chart shows a signal although nothing has changed, by simulating charts of the same shape.

Limits are made from the simulated attempts themselves, as on the real chart, so that what is not known of the
centre is paid for.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.inference.charts import D2, D4, any_signal
from stirfall.inference.charts_sums import ALLOWANCE, EWMA_WIDTH, LIMIT, WEIGHT

FloatArray = NDArray[np.float64]

_DRAWS = 400
_LONGEST = 600


def false_share_of_counts(n: ArrayLike, p: ArrayLike, starts: Sequence[int], *, seed: int = 0) -> float | None:
    """Return the share of p charts with a run-rule signal when attempts (m,) pass with probability ``p`` each.

    ``starts`` (g,) are the places at which the groups begin. ``p`` is one number, and the limits are then those of
    the simulated share; or one per attempt, and the limits are those of what was foretold. None above 600 attempts.
    400 charts are drawn, so that the share is known to about 2 points.
    """
    trials, chances = np.asarray(n, dtype=float), np.asarray(p, dtype=float)
    if len(trials) > _LONGEST or not len(trials):
        return None
    rng = np.random.default_rng(seed)
    told = np.broadcast_to(chances, trials.shape)
    hits = rng.binomial(trials.astype(int), told, size=(_DRAWS, len(trials))).astype(float)
    groups = np.add.reduceat(hits, list(starts), axis=1)
    totals = np.add.reduceat(trials, list(starts))
    if chances.ndim:
        expected = np.add.reduceat(trials * told, list(starts))
        spread = np.sqrt(np.add.reduceat(trials * told * (1.0 - told), list(starts)))
        scores = (groups - expected) / spread
    else:
        share = hits.sum(axis=1, keepdims=True) / trials.sum()
        sd = np.sqrt(share * (1.0 - share) / totals)
        apart = groups / totals - share
        scores = np.divide(apart, sd, out=np.zeros_like(apart), where=sd > 0)
    return float(any_signal(scores).mean())


def false_share_of_numbers(m: int, *, seed: int = 0) -> float | None:
    """Return the share of individuals charts of ``m`` normal numbers with a run-rule signal or too long a range.

    None above 600 numbers, and below two.
    """
    if not 2 <= m <= _LONGEST:
        return None
    numbers = np.random.default_rng(seed).standard_normal((_DRAWS, m))
    steps = np.abs(np.diff(numbers, axis=1))
    mean = steps.mean(axis=1, keepdims=True)
    scores = (numbers - numbers.mean(axis=1, keepdims=True)) / (mean / D2)
    return float((any_signal(scores) | (steps > D4 * mean).any(axis=1)).mean())


def false_share_of_sums(m: int, base: int, *, seed: int = 0) -> float | None:
    """Return the share of series of ``m`` normal numbers whose CUSUM or EWMA alarms, made from the first ``base``.

    None above 600 numbers, and where fewer than two are the base.
    """
    if not 2 <= base <= m <= _LONGEST:
        return None
    numbers = np.random.default_rng(seed).standard_normal((_DRAWS, m))
    first = numbers[:, :base]
    sd = np.abs(np.diff(first, axis=1)).mean(axis=1, keepdims=True) / D2
    scores = (numbers - first.mean(axis=1, keepdims=True)) / sd
    alarmed = _passes(scores - ALLOWANCE, LIMIT) | _passes(-scores - ALLOWANCE, LIMIT)
    return float((alarmed | _strays(scores, np.ones(m), WEIGHT, 0.0)).mean())


def false_share_of_odds_sums(
    n: ArrayLike,
    p: ArrayLike,
    base: int,
    *,
    odds_ratio: float,
    limit: float,
    weight: float,
    least: float,
    seed: int = 0,
) -> float | None:
    """Return the share of series whose sum of passes or average alarms when attempts pass with probability ``p``.

    ``n`` (m,) trials each; ``p`` is one number, and the aim is then made from the first ``base`` of each series; or
    one per attempt, and it is known. The average alarms where its sd is above ``least``. None above 600 attempts.
    """
    trials, chances = np.asarray(n, dtype=float), np.asarray(p, dtype=float)
    if not 0 < len(trials) <= _LONGEST:
        return None
    told = np.broadcast_to(chances, trials.shape)
    hits = np.random.default_rng(seed).binomial(trials.astype(int), told, size=(_DRAWS, len(trials))).astype(float)
    aim = told[None, :] + np.zeros_like(hits)
    if not chances.ndim:
        aim = (hits[:, :base].sum(axis=1, keepdims=True) + 1.0) / (trials[:base].sum() + 2.0) + np.zeros_like(hits)
    alarmed = np.zeros(_DRAWS, dtype=bool)
    for ratio in (odds_ratio, 1.0 / odds_ratio):
        alarmed |= _passes(hits * np.log(ratio) - trials * np.log1p(aim * (ratio - 1.0)), limit)
    sd = np.sqrt(aim * (1.0 - aim) / trials)
    return float((alarmed | _strays(hits / trials - aim, sd, weight, least)).mean())


def _passes(increments: FloatArray, limit: float) -> NDArray[np.bool_]:
    """Return for increments (c, m) whether their sum, never below zero, passes the limit, (c,)."""
    total, met = np.zeros(len(increments)), np.zeros(len(increments), dtype=bool)
    for step in increments.T:
        total = np.maximum(0.0, total + step)
        met |= total > limit
    return met


def _strays(apart: FloatArray, sd: FloatArray, weight: float, least: float) -> NDArray[np.bool_]:
    """Return for distances from the aim (c, m), with their sd, whether the moving average strays too far, (c,)."""
    spread = np.broadcast_to(sd, apart.shape)
    z, variance = np.zeros(len(apart)), np.zeros(len(apart))
    met = np.zeros(len(apart), dtype=bool)
    for step, own in zip(apart.T, spread.T, strict=True):
        z = weight * step + (1.0 - weight) * z
        variance = weight**2 * own**2 + (1.0 - weight) ** 2 * variance
        exact = np.sqrt(variance)
        met |= (np.abs(z) > EWMA_WIDTH * exact + 1e-12) & (exact > least)
    return met
