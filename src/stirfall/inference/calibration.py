"""Whether what was said came about: predicted probabilities against observed shares, in bins that few trials allow.

The rules of the bins are our own proposal (common practice, no source): equal counts, at least five trials in each,
at most five of them, and a single one below ten trials.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.estimates import Reason, whole_percent
from stirfall.inference.scores import checked_scores, wilson_interval

FloatArray = NDArray[np.float64]

FEWEST_IN_BIN = 5
MOST_BINS = 5
FEWEST_TRIALS = 2 * FEWEST_IN_BIN


@dataclass(frozen=True)
class CalibrationBin:
    """Attempts that were given similar probabilities: what was said on average, and what came about.

    ``observed`` is the share of clean trials with its Wilson interval. ``low`` and ``high`` are the smallest and
    the largest probability in the bin, ``rows`` the places of its attempts in the arrays that were given.
    ``is_off``: what was said lies outside an interval that is widened for the number of bins looked at.
    """

    predicted: float
    low: float
    high: float
    observed: float
    lower: float
    upper: float
    attempts: int
    trials: int
    rows: tuple[int, ...]
    is_off: bool


@dataclass(frozen=True)
class Calibration:
    """All bins from low to high, and everything together in ``overall``, with what to make of it."""

    overall: CalibrationBin
    bins: tuple[CalibrationBin, ...]
    level: float
    verdict: Reason


def calibration(
    probability: ArrayLike, successes: ArrayLike, trials: ArrayLike = 1.0, *, level: float = 0.95
) -> Calibration | None:
    """Compare ``probability`` (r,) with ``successes`` of ``trials`` (r,); None without trials.

    Rows with equal probabilities stay in one bin, so the order of the rows cannot matter. Raises InputError as
    ``scores.checked_scores``.
    """
    known = np.broadcast_to(np.asarray(trials, dtype=float), np.shape(successes)) > 0
    p, k, n = checked_scores(probability, successes, trials)
    if not len(p):
        return None
    said = _Said(p, k, n, np.flatnonzero(known))
    order = np.argsort(p, kind="stable")
    parts = [order[start:stop] for start, stop in pairwise(_cuts(p[order], n[order]))]
    bins = tuple(said.bin(part, level, looked_at=len(parts)) for part in parts)
    overall = said.bin(order, level, looked_at=1)
    return Calibration(overall, bins, level, _verdict(overall, bins))


def _cuts(p: FloatArray, n: FloatArray) -> list[int]:
    """Return where bins of sorted probabilities begin and end, cut only between unequal ones."""
    total = float(n.sum())
    count = max(1, min(MOST_BINS, int(total // FEWEST_IN_BIN)))
    allowed = np.flatnonzero(np.diff(p) > 0) + 1
    before = np.concatenate([[0.0], np.cumsum(n)])
    cuts = [0]
    for wanted in total * np.arange(1, count) / count:
        if not len(allowed):
            break
        cut = int(allowed[np.argmin(np.abs(before[allowed] - wanted))])
        enough = before[cut] - before[cuts[-1]] >= FEWEST_IN_BIN and total - before[cut] >= FEWEST_IN_BIN
        if cut > cuts[-1] and enough:
            cuts.append(cut)
    return [*cuts, len(p)]


@dataclass(frozen=True)
class _Said:
    """The rows with trials, and their places among those that were given."""

    p: FloatArray
    k: FloatArray
    n: FloatArray
    places: NDArray[np.intp]

    def bin(self, part: NDArray[np.intp], level: float, *, looked_at: int) -> CalibrationBin:
        """Return one bin; it is off where an interval for ``looked_at`` bins together misses what was said."""
        clean, trials = float(self.k[part].sum()), float(self.n[part].sum())
        said = float(self.p[part] @ self.n[part]) / trials
        lower, upper = wilson_interval(clean, trials, level=level) or (0.0, 1.0)
        widest = wilson_interval(clean, trials, level=1.0 - (1.0 - level) / looked_at) or (0.0, 1.0)
        return CalibrationBin(
            predicted=said,
            low=float(self.p[part].min()),
            high=float(self.p[part].max()),
            observed=clean / trials,
            lower=lower,
            upper=upper,
            attempts=len(part),
            trials=round(trials),
            rows=tuple(int(place) for place in np.sort(self.places[part])),
            is_off=not widest[0] <= said <= widest[1],
        )


def _verdict(overall: CalibrationBin, bins: tuple[CalibrationBin, ...]) -> Reason:
    if overall.trials < FEWEST_TRIALS:
        return Reason("calibration.too_few", _params(overall))
    if overall.is_off:
        kind = "too_hopeful" if overall.predicted > overall.observed else "too_gloomy"
        return Reason(f"calibration.{kind}", _params(overall))
    off = [part for part in bins if part.is_off]
    if off:
        worst = max(off, key=lambda part: abs(part.predicted - part.observed))
        return Reason("calibration.off_in_places", _params(worst))
    return Reason("calibration.fits", _params(overall))


def _params(part: CalibrationBin) -> dict[str, object]:
    return {
        "predicted": whole_percent(part.predicted),
        "clean": round(part.observed * part.trials),
        "trials": part.trials,
    }
