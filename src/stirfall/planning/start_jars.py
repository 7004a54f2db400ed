"""Which ages to start jars for, so that several come due on one evening: the choices, plain values in and out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from stirfall.planning.box import Numbers

# A step of two in age is what a home campaign can tell apart: 20 % in age is 10 % in film, far below the scatter of
# jars and operators (our proposal). A tenth less still counts as two: clocks are changed, and days are whole.
AGE_STEP = 2.0
_ALMOST = 1.1
# The soonest evening that is worth nine tenths of the best. What an age is worth counts less the more its start
# asks of the person: a jar that stands already comes before a new one, a start at the bench before one at the same
# hour of another day, and that before one for which somebody must come. All our proposal.
NEAR_BEST = 0.9
AT_HAND, AT_THE_BENCH, AT_ITS_HOUR, AT_ANY_HOUR = -1, 0, 1, 2
_SHARE_OF_WORTH = {AT_HAND: 1.05, AT_THE_BENCH: 1.0, AT_ITS_HOUR: 0.95, AT_ANY_HOUR: 0.85}
_PER_DOUBLING = 4
_LITTLE = 0.005
_FARTHEST = 2.0  # doublings; farther from what was tried is not worth more


@dataclass(frozen=True)
class StartOption:
    """One way to have a jar: its age when it comes due, and by ``rank`` what its start asks of the person."""

    age_h: float
    rank: int


@dataclass(frozen=True)
class Batch:
    """The options chosen for one evening, in the order of choosing, and what they count together."""

    chosen: tuple[int, ...]
    worth: float


def sparse_ages(options: Sequence[StartOption]) -> list[int]:
    """Return the places of at most four options per doubling of the age, the least troublesome of each, by age."""
    kept: dict[int, int] = {}
    for place, option in enumerate(options):
        bin_ = math.floor(math.log2(option.age_h) * _PER_DOUBLING)
        other = kept.get(bin_)
        if other is None or (option.rank, option.age_h) < (options[other].rank, options[other].age_h):
            kept[bin_] = place
    return [kept[bin_] for bin_ in sorted(kept)]


def choose_ages(count: int, options: Sequence[StartOption], score: Callable[[Sequence[int]], Numbers]) -> Batch:
    """Return up to ``count`` options, chosen one by one, whose ages lie at least a step of two apart.

    ``score`` gives the worth of every option, (n,), when those at the given places were chosen before.
    """
    chosen: list[int] = []
    total = 0.0
    shares = np.array([_SHARE_OF_WORTH[option.rank] for option in options])
    while len(chosen) < count:
        counts = np.array(score(chosen), dtype=float) * shares
        apart = [all(_apart(options[at].age_h, options[one].age_h) for one in chosen) for at in range(len(options))]
        counts = np.where(apart, counts, -np.inf)
        place = int(np.argmax(counts)) if len(counts) else 0
        if not len(counts) or not np.isfinite(counts[place]):
            break
        total += float(counts[place])
        chosen.append(place)
    return Batch(tuple(chosen), total)


def _apart(first_h: float, second_h: float) -> bool:
    low, high = sorted((first_h, second_h))
    return high >= low * AGE_STEP / _ALMOST


def soonest_good(worths: Sequence[float]) -> int | None:
    """Return the place of the first evening worth nearly as much as the best; None where none is worth anything."""
    most = max(worths, default=0.0)
    if most <= 0.0:
        return None
    return next(place for place, worth in enumerate(worths) if worth >= NEAR_BEST * most)


def spread_of_ages(options: Sequence[StartOption], known_h: Sequence[float], usual_h: float) -> Numbers:
    """Return how many doublings each age lies from the nearest one known, (n,), at most two.

    Of ages as far away, those nearer to the usual one are worth a little more.
    """
    ages = np.log2([option.age_h for option in options])
    little = _LITTLE * np.abs(ages - math.log2(usual_h))
    if not known_h:
        return np.asarray(_FARTHEST - little)
    gaps = np.abs(ages[:, None] - np.log2(np.asarray(known_h, dtype=float))[None, :]).min(axis=1)
    return np.asarray(np.minimum(gaps, _FARTHEST) - little)
