"""What a posterior says of lots: their spread, the effect of each known one, and that of a lot not seen yet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.lot_kernel import LotRows, lot_draws

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

# More lots than this are allowed for, but not told apart one by one: nobody reads as many, and draws fill memory.
MOST_LOTS = 500
# More lots than this get pseudo-random instead of quasi-random numbers.
_MOST_QUASI = 64
# Beyond this score a normal tail is no float any more; the sd is then 37 times its scale.
_HIGHEST_SCORE = 37.0


class Lots(Protocol):
    """What a posterior of m draws says of its lots."""

    @property
    def names(self) -> tuple[str, ...]:
        """The J lots of the campaign."""
        ...

    @property
    def sd(self) -> FloatArray:
        """The (m,) draws of the standard deviation of their effects on the log odds."""
        ...

    @property
    def attempts(self) -> tuple[int, ...]:
        """The rows of each lot in this gate."""
        ...

    def effects(self, picks: IntArray) -> FloatArray:
        """Return (len(picks), J) draws of every lot's effect, one for each picked draw of the coefficients."""
        ...

    def new_lot(self, picks: IntArray) -> FloatArray:
        """Return (len(picks),) draws of the effect of a lot that was not seen yet."""
        ...


@dataclass(frozen=True, eq=False)
class LotDraws:
    """Lots in one posterior: ``names`` (J,), ``sd`` (m,) draws of the sd of their effects on the log odds.

    ``rows``, ``beta`` (m, p) and ``distance`` are what the effects are drawn from when they are asked for;
    ``attempts`` (J,) counts the rows of each lot in this gate.
    """

    names: tuple[str, ...]
    sd: FloatArray
    rows: LotRows
    beta: FloatArray
    distance: FloatArray | None
    attempts: tuple[int, ...]
    seed: int

    def effects(self, picks: IntArray) -> FloatArray:
        """Return (len(picks), J) draws of every lot's effect, one for each picked draw of the coefficients."""
        beta, sd = self.beta[picks], self.sd[picks]
        distance = None if self.distance is None else self.distance[picks]
        uniforms = uniform_points(len(picks), len(self.names), self.seed)
        out = sd[:, None] * _normal(uniforms)
        known = self.rows.named >= 0
        places = self.rows.named[known]
        if len(places):
            wanted = np.full((len(picks), self.rows.lots), 0.5)
            wanted[:, known] = uniforms[:, places]
            out[:, places] = lot_draws(self.rows, beta, sd, wanted, distance=distance)[:, known]
        return out

    def new_lot(self, picks: IntArray) -> FloatArray:
        """Return (len(picks),) draws of the effect of a lot that was not seen yet."""
        return np.asarray(self.sd[picks] * _normal(uniform_points(len(picks), 1, self.seed + 1))[:, 0])


def half_normal(score: FloatArray, scale: float) -> FloatArray:
    """Return the value of a half-normal law of this scale at a standard normal score: its prior is then N(0, 1).

    The law of the sd is the half-normal one, whatever it is computed from; on this scale the sampler's proposal
    fits.
    """
    from scipy.special import ndtr, ndtri

    return np.asarray(-scale * ndtri(0.5 * ndtr(-np.minimum(score, _HIGHEST_SCORE))))


def half_normal_score(sd: float, scale: float) -> float:
    """Invert ``half_normal``."""
    from scipy.special import ndtr, ndtri

    return float(-ndtri(2.0 * ndtr(-sd / scale)))


def uniform_points(count: int, dimension: int, seed: int) -> FloatArray:
    """Return (count, dimension) points in (0, 1), evenly spread and in random order, the same for the same seed."""
    rng = np.random.default_rng(77_000 + seed)
    if dimension > _MOST_QUASI:
        return rng.random((count, dimension))
    from scipy.stats.qmc import Sobol

    engine = Sobol(max(dimension, 1), scramble=True, seed=seed)
    whole = engine.random_base2(max(0, math.ceil(math.log2(max(count, 1)))))[:count, :dimension]
    return np.asarray(rng.permutation(np.clip(whole, 1e-9, 1.0 - 1e-9)))


def standard_normals(count: int, dimension: int, seed: int) -> FloatArray:
    """Return (count, dimension) standard normal numbers, evenly spread and in random order."""
    return _normal(uniform_points(count, dimension, seed))


def _normal(uniforms: FloatArray) -> FloatArray:
    from scipy.special import ndtri

    return np.asarray(ndtri(np.clip(uniforms, 1e-12, 1.0 - 1e-12)))
