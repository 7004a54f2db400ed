"""Equally weighted draws of one or two gates, gathered from several fitted forms in proportion to their weights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.bayes import Posterior
from stirfall.inference.pairing import systematic_picks
from stirfall.inference.probability import probability_draws

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_SHUFFLE_SEED = 31_007


@dataclass(frozen=True)
class FittedGate:
    """The posterior of one gate in one form, and where its p coefficients stand among those of all forms."""

    posterior: Posterior
    places: IntArray


@dataclass(frozen=True)
class Particles:
    """M draws in random order: per gate the coefficients (M, p) and, where lots count, their effects.

    ``lots`` holds per gate (M, J) effects of known lots, ``new_lots`` per gate (M,) that of a lot not seen yet.
    """

    betas: tuple[FloatArray, ...]
    lots: tuple[FloatArray, ...]
    new_lots: tuple[FloatArray, ...]

    @property
    def size(self) -> int:
        """The number of draws M."""
        return len(self.betas[0])

    def for_lot(self, place: int | None) -> tuple[FloatArray, ...]:
        """Return the coefficients with the effect of one lot in the intercept; None: of a new lot."""
        shifted = []
        for beta, known, new in zip(self.betas, self.lots, self.new_lots, strict=True):
            moved = beta.copy()
            moved[:, 0] += new if place is None or known.shape[1] == 0 else known[:, place]
            shifted.append(moved)
        return tuple(shifted)


def gather(
    forms: Sequence[tuple[float, tuple[FittedGate, ...]]], *, size: int, columns: int, lots: int
) -> Particles:
    """Return ``size`` draws of forms with as many gates each, (weight, fitted gates), over ``columns`` terms.

    Every form gives draws in proportion to its weight (largest remainders), by systematic resampling; its gates are
    paired at random, being independent. ``lots`` is J; without lots in a posterior its effects are zero.
    """
    counts = shares([weight for weight, _ in forms], size)
    gates = len(forms[0][1])
    rng = np.random.default_rng(_SHUFFLE_SEED)
    order = rng.permutation(size)
    betas, known, new = [], [], []
    for gate in range(gates):
        beta = np.zeros((size, columns))
        effects = np.zeros((size, lots))
        fresh = np.zeros(size)
        start = 0
        for count, (_, fitted) in zip(counts, forms, strict=True):
            rows = slice(start, start + count)
            posterior, places = fitted[gate].posterior, fitted[gate].places
            picks = (
                rng.permutation(systematic_picks(posterior.weights, count)) if count else np.zeros(0, dtype=np.intp)
            )
            beta[rows, places] = posterior.draws[picks]
            if posterior.lots is not None and count:
                if lots:
                    effects[rows] = posterior.lots.effects(picks)
                fresh[rows] = posterior.lots.new_lot(picks)
            start += count
        betas.append(beta[order])
        known.append(effects[order])
        new.append(fresh[order])
    return Particles(tuple(betas), tuple(known), tuple(new))


def shares(weights: Sequence[float], size: int) -> list[int]:
    """Return whole numbers that sum to ``size``, in proportion to the weights, by largest remainders."""
    exact = np.asarray(weights, dtype=float) / float(np.sum(weights)) * size
    whole = np.floor(exact).astype(int)
    rest = size - int(whole.sum())
    for place in np.argsort(-(exact - whole), kind="stable")[:rest]:
        whole[place] += 1
    return [int(count) for count in whole]


def clean_draws(betas: Sequence[FloatArray], matrix: FloatArray) -> FloatArray:
    """Return (M, points) draws of P(clean): the product over gates at design rows ``matrix`` (points, p)."""
    draws = probability_draws(betas[0], matrix)
    for beta in betas[1:]:
        draws *= probability_draws(beta, matrix)
    return draws
