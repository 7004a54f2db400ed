"""Borders in one factor: where one outcome ends and the other begins, found by sorting and counting, exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Border:
    """All trials above ``high`` came out one way and all below ``low`` the other way.

    So did those at the ends themselves where these differ; where they are equal both outcomes were seen at
    that value. ``success_above`` says which way; ``trials`` lie off the border (all of them where there is a gap).
    ``has_above`` and ``has_below`` say whether any lie there.
    """

    low: float
    high: float
    success_above: bool
    trials: int
    has_above: bool = True
    has_below: bool = True


@dataclass(frozen=True)
class Levels:
    """A level (its index) whose ``trials`` all came out one way; of several the one with the most trials.

    ``level_trials`` are the trials of all levels.
    """

    level: int
    success: bool
    trials: int
    level_trials: tuple[int, ...]


def border_of(values: FloatArray, k: FloatArray, n: FloatArray) -> Border | None:
    """Return the border of a number ``values`` (r,), ``k`` of ``n`` successes; None without one.

    Both outcomes must have been seen.
    """
    won, lost = values[k > 0], values[k < n]
    if len(np.unique(values)) < 2:
        return None
    if won.min() >= lost.max():
        return _border(values, n, (float(lost.max()), float(won.min())), success_above=True)
    if lost.min() >= won.max():
        return _border(values, n, (float(won.max()), float(lost.min())), success_above=False)
    return None


def _border(values: FloatArray, n: FloatArray, ends: tuple[float, float], *, success_above: bool) -> Border:
    low, high = ends
    if low < high:
        return Border(low, high, success_above, round(float(n.sum())))
    above, below = values > high, values < low
    trials = round(float(n[above | below].sum()))
    return Border(low, high, success_above, trials, bool(above.any()), bool(below.any()))


def range_of(values: FloatArray, k: FloatArray, n: FloatArray) -> Border | None:
    """Return the range from ``low`` to ``high`` with one outcome only inside and the other only outside.

    ``success_above`` then says that the successes are inside. Both ends belong to the inside.
    """
    won, lost = values[k > 0], values[k < n]
    for inside, outside, success in ((won, lost, True), (lost, won, False)):
        low, high = float(inside.min()), float(inside.max())
        if low < high and not ((outside >= low) & (outside <= high)).any():
            return Border(low, high, success, round(float(n.sum())))
    return None


def levels_of(index: FloatArray, k: FloatArray, n: FloatArray) -> Levels | None:
    """Return the level of a choice, ``index`` (r,), whose trials all came out alike; None without one."""
    levels = np.unique(index)
    counts = [(float(k[index == level].sum()), float(n[index == level].sum())) for level in levels]
    alike = [place for place, (yes, trials) in enumerate(counts) if yes in (0.0, trials)]
    if not alike:
        return None
    best = max(alike, key=lambda place: counts[place][1])
    yes, trials = counts[best]
    return Levels(int(levels[best]), yes > 0, round(trials), tuple(round(count) for _, count in counts))
