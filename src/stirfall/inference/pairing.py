"""Pairing the weighted draws of independent posteriors without favour and without chance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.bayes import Posterior

FloatArray = NDArray[np.float64]

_SHUFFLE_SEED = 20_011


def systematic_picks(weights: FloatArray, size: int) -> NDArray[np.intp]:
    """Return the indices of ``size`` draws in which draw i comes floor(size w) or ceil(size w) times.

    Systematic resampling (Carpenter, Clifford & Fearnhead 1999, IEE Proc. Radar Sonar Navig. 146:2); with equal
    weights and the size of the whole every draw is kept.

    Draws come in the order of a Sobol sequence, of which every eighth point lies in one narrow slab of the first
    coefficient: equal steps through that order would take a slab for the whole. So the sequence is read crosswise,
    the first point of every run of ``size``, then the second: equal weights then pick one such run, which is spread
    evenly in all directions.
    """
    order = np.argsort(np.arange(len(weights)) % size, kind="stable")
    shares = np.cumsum(weights[order])
    steps = (np.arange(size) + 0.5) / size * shares[-1]
    return np.asarray(order[np.minimum(np.searchsorted(shares, steps), len(weights) - 1)], dtype=np.intp)


def resample(posterior: Posterior) -> FloatArray:
    """Return (m, p) equally weighted draws by systematic resampling."""
    picked = systematic_picks(posterior.weights, len(posterior.weights))
    return np.asarray(posterior.draws[picked], dtype=float)


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
