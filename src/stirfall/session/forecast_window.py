"""The readiness window of a curve of chances over time: where it stays near its best, if any time stands out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

# All three are our proposal, no source. Within a tenth of the best chance a jar is as good as ready; where even the
# best time gives less than one in four, no time is announced; an end of the window is announced when the best time
# beats the worst one beyond that end in nine draws of ten.
NEAR_BEST = 0.9
WORTH_SAYING = 0.25
SURE = 0.9


@dataclass(frozen=True)
class Window:
    """Hours where the chance stays near its best, around ``best_h``.

    None at an end: it stays so up to the first or last of the hours that were looked at.
    """

    best_h: float
    opens_h: float | None
    closes_h: float | None


def window_of(hours: FloatArray, means: FloatArray) -> Window | None:
    """Return the window around the highest of ``means`` (n,) at rising ``hours`` (n,); None where all is inside.

    It ends where the straight line between two points crosses nine tenths of the highest mean; a second stretch
    that is as good, apart from the first, does not belong to it.
    """
    best = int(np.argmax(means))
    level = NEAR_BEST * means[best]
    below = np.flatnonzero(means < level)
    if not len(below):
        return None
    before, after = below[below < best], below[below > best]
    opens = _crossing(hours, means, int(before[-1]), int(before[-1]) + 1, level) if len(before) else None
    closes = _crossing(hours, means, int(after[0]) - 1, int(after[0]), level) if len(after) else None
    return Window(float(hours[best]), opens, closes)


def _crossing(hours: FloatArray, means: FloatArray, left: int, right: int, level: float) -> float:
    share = (level - means[left]) / (means[right] - means[left])
    return float(hours[left] + share * (hours[right] - hours[left]))


def worst_outside(hours: FloatArray, means: FloatArray, window: Window) -> tuple[float | None, float | None]:
    """Return the hours of the lowest mean before the window opens and after it closes, None where it has no end."""
    before = np.flatnonzero(hours < window.opens_h) if window.opens_h is not None else np.zeros(0, int)
    after = np.flatnonzero(hours > window.closes_h) if window.closes_h is not None else np.zeros(0, int)
    first, last = (float(hours[part[np.argmin(means[part])]]) if len(part) else None for part in (before, after))
    return first, last


def stands_out(best: FloatArray, worst: FloatArray, weights: FloatArray) -> bool:
    """Whether the best time beats the worst beyond doubt: in nine of ten paired draws (m,) with ``weights`` (m,).

    The best time is held against the worst one beyond an end of the window, not against now: a jar that is at its
    best now differs in nothing from now, and yet its window will close.
    """
    return bool(weights[best > worst].sum() >= SURE * weights.sum())


def supported(window: Window, opens: bool, closes: bool) -> Window | None:
    """Return the window with the ends that the attempts bear out; None where they bear out neither."""
    if not (opens or closes):
        return None
    return Window(window.best_h, window.opens_h if opens else None, window.closes_h if closes else None)
