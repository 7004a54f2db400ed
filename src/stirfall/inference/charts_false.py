"""How often a chart shows a signal although nothing has changed, by simulating charts of the same shape.

Limits are made from the simulated attempts themselves, as on the real chart, so that what is not known of the
centre is paid for.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.inference.charts import D2, D4, any_signal

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
