"""Two shares compared within lots, so that every lot is compared with itself alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.inference.proportions_exact import given_sum
from stirfall.inference.proportions_score import score_bounds

FloatArray = NDArray[np.float64]

_TIE = 1e-7
_LONGEST = 20_000
"""With more possible counts than this the normal law stands for the exact one; that needs 20,000 attempts."""


@dataclass(frozen=True)
class Stratum:
    """One lot: ``k1`` of ``n1`` of the first group, ``k2`` of ``n2`` of the second."""

    name: str
    k1: int
    n1: int
    k2: int
    n2: int

    @property
    def has_both(self) -> bool:
        """Whether the lot can be compared with itself."""
        return self.n1 > 0 and self.n2 > 0


@dataclass(frozen=True)
class Stratified:
    """A common difference within lots, first less second, and how often chance alone gives as much within lots.

    ``value`` is the Mantel-Haenszel difference of shares, ``lower`` and ``upper`` its stratified score interval at
    ``level``, ``se`` its standard error by Sato (0 where all lots agree wholly: then only the interval tells).
    ``p`` is two-sided: all divisions within the lots that are no more likely; ``greater`` and ``less`` are
    one-sided. ``exact`` is False where the normal law stood in. ``used`` are the lots that have both groups,
    ``left_out`` counts the attempts of the others.
    """

    value: float
    lower: float
    upper: float
    level: float
    se: float
    p: float
    greater: float
    less: float
    exact: bool
    used: tuple[Stratum, ...]
    left_out: int

    @property
    def attempts(self) -> int:
        """How many attempts it rests on."""
        return sum(each.n1 + each.n2 for each in self.used)


def stratified(strata: Sequence[Stratum], level: float = 0.95) -> Stratified | None:
    """Return the comparison within lots, None where no lot has both groups.

    Common difference: Mantel-Haenszel weights n1 n2/(n1 + n2), as in Greenland & Robins 1985 (Biometrics 41:55);
    interval: the stratified score interval of Miettinen & Nurminen 1985 (Statistics in Medicine 4:213), right at
    zero cells and for lots of two attempts; standard error: Sato 1989 (Biometrics 45:1323). The test is the exact
    conditional one of a common difference of none (Cox 1970, Analysis of Binary Data; Gart 1970, Biometrika
    57:471): the sum of first-group successes given every lot's own sums. Raises InputError ``proportions.count``.
    """
    for each in strata:
        if not (0 <= each.k1 <= each.n1 and 0 <= each.k2 <= each.n2):
            raise InputError("proportions.count", k=each.k1 + each.k2, n=each.n1 + each.n2)
    used = tuple(each for each in strata if each.has_both)
    if not used:
        return None
    k1, n1, k2, n2 = (np.array([float(getattr(each, name)) for each in used]) for name in ("k1", "n1", "k2", "n2"))
    weights = n1 * n2 / (n1 + n2)
    value = float(weights @ (k1 / n1 - k2 / n2) / weights.sum())
    lower, upper = score_bounds(k1, n1, k2, n2, z=NormalDist().inv_cdf(0.5 + 0.5 * level), corrected=True)
    p, greater, less, exact = _within(used)
    left_out = sum(each.n1 + each.n2 for each in strata if not each.has_both)
    return Stratified(
        value, lower, upper, level, _sato(k1, n1, k2, n2, value), p, greater, less, exact, used, left_out
    )


def _sato(k1: FloatArray, n1: FloatArray, k2: FloatArray, n2: FloatArray, value: float) -> float:
    total = n1 + n2
    first = float(((n1**2 * k2 - n2**2 * k1 + 0.5 * n1 * n2 * (n2 - n1)) / total**2).sum())
    second = float(((k1 * (n2 - k2) + k2 * (n1 - k1)) / (2.0 * total)).sum())
    return math.sqrt(max(0.0, value * first + second)) / float((n1 * n2 / total).sum())


def _within(used: Sequence[Stratum]) -> tuple[float, float, float, bool]:
    """Return two-sided, greater and less chances of the sum over lots, and whether they are exact."""
    sums = [each.k1 + each.k2 for each in used]
    lows = [max(0, total - each.n2) for each, total in zip(used, sums, strict=True)]
    highs = [min(each.n1, total) for each, total in zip(used, sums, strict=True)]
    at = sum(each.k1 for each in used) - sum(lows)
    if sum(highs) - sum(lows) > _LONGEST:
        return _normal(used)
    law = np.ones(1)
    for each, total in zip(used, sums, strict=True):
        law = np.convolve(law, given_sum(each.n1, each.n2, total))
    two_sided = float(law[law <= law[at] * (1.0 + _TIE)].sum())
    return min(1.0, two_sided), min(1.0, float(law[at:].sum())), min(1.0, float(law[: at + 1].sum())), True


def _normal(used: Sequence[Stratum]) -> tuple[float, float, float, bool]:
    off = variance = 0.0
    for each in used:
        total, clean = each.n1 + each.n2, each.k1 + each.k2
        off += each.k1 - each.n1 * clean / total
        variance += each.n1 * each.n2 * clean * (total - clean) / (total**2 * max(total - 1, 1))
    below = NormalDist().cdf(off / math.sqrt(variance)) if variance > 0 else 0.5
    return min(1.0, 2.0 * min(below, 1.0 - below)), 1.0 - below, below, False
