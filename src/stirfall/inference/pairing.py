"""Pairing the weighted draws of independent posteriors without favour and without chance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.bayes import Posterior

FloatArray = NDArray[np.float64]

_SHUFFLE_SEED = 20_011


def resample(posterior: Posterior) -> FloatArray:
    """Return (m, p) equally weighted draws by systematic resampling.

    Draw i appears floor(m w) or ceil(m w) times, so that equal weights keep every draw (Carpenter, Clifford &
    Fearnhead 1999, IEE Proc. Radar Sonar Navig. 146:2).
    """
    size = len(posterior.weights)
    shares = np.cumsum(posterior.weights)
    picks = (np.arange(size) + 0.5) / size * shares[-1]
    return np.asarray(posterior.draws[np.searchsorted(shares, picks)], dtype=float)


def pair_draws(posteriors: Sequence[Posterior]) -> tuple[FloatArray, ...]:
    """Return one (m, p) array of equally weighted draws per posterior, row i of each belonging together.

    The later ones are shuffled by fixed permutations: the posteriors are independent, so any pairing is right that
    does not look at the values. m is the smallest number of draws.
    """
    size = min(len(posterior.weights) for posterior in posteriors)
    paired = []
    for index, posterior in enumerate(posteriors):
        rows = resample(posterior)
        if index or len(rows) > size:
            rows = rows[np.random.default_rng(_SHUFFLE_SEED + index).permutation(len(rows))]
        paired.append(rows[:size])
    return tuple(paired)
