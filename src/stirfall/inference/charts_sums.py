"""Charts that remember: cumulative sums (CUSUM) and exponentially weighted moving averages (EWMA)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

# The usual design: tuned to a shift of one standard deviation.
ALLOWANCE, LIMIT = 0.5, 5.0
WEIGHT, EWMA_WIDTH = 0.2, 3.0
_CERTAIN = 1e-9
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Cusum:
    """Two one-sided sums, (m,) each, that alarm above ``limit``: ``high`` for a rise, ``low`` for a fall.

    ``alarms`` are (place, way) of the first point of each stretch above the limit; ``since`` says for each alarm
    where its sum last left zero, which is the usual guess of when the shift began.
    """

    high: FloatArray
    low: FloatArray
    limit: float
    alarms: tuple[tuple[int, int], ...]
    since: tuple[int, ...]


@dataclass(frozen=True)
class Ewma:
    """An exponentially weighted average, (m,), with its centre, exact sd and limits, (m,) each."""

    values: FloatArray
    centre: FloatArray
    sd: FloatArray
    lower: FloatArray
    upper: FloatArray

    @property
    def alarms(self) -> tuple[tuple[int, int], ...]:
        """(place, way) of the first point of each stretch outside the limits."""
        slack = _ROUNDING * np.maximum(np.abs(self.centre), 1.0)  # where nothing scatters, rounding is no signal
        found = [(at, 1) for at in _begins(self.values > self.upper + slack)]
        found += [(at, -1) for at in _begins(self.values < self.lower - slack)]
        return tuple(sorted(found))


def tabular_cusum(
    values: ArrayLike,
    *,
    target: float,
    sd: float,
    allowance: float = ALLOWANCE,
    limit: float = LIMIT,
    head_start: float = 0.0,
) -> Cusum:
    """Return the tabular CUSUM of numbers (m,) around ``target``; sums are in the numbers' own unit.

    Allowance k and limit h are in standard deviations: S+ = max(0, S+ + x - target - k sd), alarm above h sd, and
    likewise downwards. ``head_start`` (0 to 1) is the share of the limit that both sums begin with (fast initial
    response, Lucas and Crosier 1982, Technometrics 24:199). Source: NIST/SEMATECH e-Handbook 6.3.2.3.
    """
    apart = np.asarray(values, dtype=float) - target
    step = allowance * sd
    return two_sums(apart - step, -apart - step, limit * sd, head_start)


def odds_cusum(
    k: ArrayLike, n: ArrayLike, foretold: ArrayLike, *, odds_ratio: float, limit: float, head_start: float = 0.0
) -> Cusum:
    """Return the CUSUM on the log likelihood ratio of ``k`` of ``n`` passes, (m,) each, foretold with ``foretold``.

    ``high`` tests for odds multiplied by ``odds_ratio`` R > 1, ``low`` for odds divided by it. Each attempt adds
    k ln R - n ln(1 - p + R p). With one p for all it is the Bernoulli CUSUM (Reynolds and Stoumbos 1999, J. Qual.
    Technol. 31:87); with a p of its own for each it is risk adjusted (Steiner et al. 2000, Biostatistics 1:441).
    """
    hits, trials = np.asarray(k, dtype=float), np.asarray(n, dtype=float)
    p = np.clip(np.broadcast_to(np.asarray(foretold, dtype=float), hits.shape), _CERTAIN, 1.0 - _CERTAIN)
    up = hits * math.log(odds_ratio) - trials * np.log1p(p * (odds_ratio - 1.0))
    down = -hits * math.log(odds_ratio) - trials * np.log1p(p * (1.0 / odds_ratio - 1.0))
    return two_sums(up, down, limit, head_start)


def two_sums(up: FloatArray, down: FloatArray, limit: float, head_start: float = 0.0) -> Cusum:
    """Return the two sums of the increments ``up`` and ``down`` (m,), each never below zero."""
    high, high_left = _sum(up, head_start * limit)
    low, low_left = _sum(down, head_start * limit)
    found = [(at, 1, int(high_left[at])) for at in _begins(high > limit)] if limit > 0 else []
    found += [(at, -1, int(low_left[at])) for at in _begins(low > limit)] if limit > 0 else []
    found.sort()
    return Cusum(high, low, limit, tuple((at, way) for at, way, _ in found), tuple(since for _, _, since in found))


def ewma(
    values: ArrayLike,
    *,
    centre: ArrayLike,
    sd: ArrayLike,
    weight: float = WEIGHT,
    width: float = EWMA_WIDTH,
    lowest: float = -math.inf,
    highest: float = math.inf,
) -> Ewma:
    """Return the EWMA of numbers (m,) that begins at the centre: z = weight x + (1 - weight) z.

    ``centre`` and ``sd`` are one number or one per point. The limits are the average of the centres -+ ``width``
    times the exact standard deviation so far; with equal sd that is
    sd sqrt(w / (2 - w) (1 - (1 - w)^(2 i))). Source: NIST/SEMATECH e-Handbook 6.3.2.4.
    """
    x = np.asarray(values, dtype=float)
    aims = np.broadcast_to(np.asarray(centre, dtype=float), x.shape)
    spreads = np.broadcast_to(np.asarray(sd, dtype=float), x.shape)
    z, middle, variance = np.empty_like(x), np.empty_like(x), np.empty_like(x)
    at = aim = float(aims[0]) if len(x) else 0.0
    var = 0.0
    keep = 1.0 - weight
    for place in range(len(x)):
        at = weight * float(x[place]) + keep * at
        aim = weight * float(aims[place]) + keep * aim
        var = weight**2 * float(spreads[place]) ** 2 + keep**2 * var
        z[place], middle[place], variance[place] = at, aim, var
    exact = np.sqrt(variance)
    half = width * exact
    return Ewma(z, middle, exact, np.maximum(middle - half, lowest), np.minimum(middle + half, highest))


def _sum(increments: FloatArray, start: float) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the sum that never falls below zero, and for each place where it last rose from zero."""
    total, since = start, 0
    sums, left = np.empty(len(increments)), np.zeros(len(increments), dtype=np.intp)
    for place, increment in enumerate(increments.tolist()):
        if total <= 0.0:
            since = place
        total = max(0.0, total + increment)
        sums[place], left[place] = total, since
    return sums, left


def _begins(met: NDArray[np.bool_]) -> list[int]:
    """Return the first place of each stretch in which something holds."""
    return [int(at) for at in np.flatnonzero(met & ~np.concatenate(([False], met[:-1])))]
