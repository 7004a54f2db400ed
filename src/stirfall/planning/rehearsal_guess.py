"""A stated guess of how an unknown process behaves, in plain numbers, for rehearsals before anything is known."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, Scale, Value

# The width of a hump where none is stated: a quarter of the range (our proposal).
_USUAL_WIDTH = 0.25
# What another level of a choice keeps of the best one's probability where nothing is stated (our proposal).
_USUAL_SHARE = 0.5


@dataclass(frozen=True)
class Hump:
    """Where one factor is at its best, and how quickly it gets worse on both sides.

    ``place`` is in the factor's unit, or a level of a choice; None: somewhere in the limits, another place in every
    campaign. At ``width`` from it the probability has fallen to 61 % of its best (a normal curve). The width is in
    the factor's unit, on a log scale a ratio (2 means at half and at double), of a choice the share that other
    levels keep. None is a quarter of the range, or a half.
    """

    factor: str
    place: Value | None = None
    width: float | None = None


@dataclass(frozen=True)
class Guess:
    """The probability of a clean separation is ``best`` where every hump is at its best, and falls off around.

    Factors without a hump do not matter. Raises InputError ``rehearsal.guess_best``.
    """

    best: float = 0.95
    humps: tuple[Hump, ...] = ()

    def __post_init__(self) -> None:
        """Check the probability."""
        if not 0 < self.best < 1:
            raise InputError("rehearsal.guess_best", value=self.best)

    def check(self, factors: Iterable[Factor]) -> None:
        """Raise InputError ``rehearsal.guess_*`` where a hump does not fit the factors of the campaign."""
        known = {factor.name: factor for factor in factors}
        for hump in self.humps:
            factor = known.get(hump.factor)
            if factor is None:
                raise InputError("rehearsal.guess_factor", factor=hump.factor, known=", ".join(known))
            if hump.place is not None and not factor.holds(hump.place):
                raise InputError("rehearsal.guess_place", factor=factor.name, value=hump.place)
            if hump.width is not None and not hump.width > _least_width(factor):
                raise InputError("rehearsal.guess_width", factor=factor.name, value=hump.width)


def _least_width(factor: Factor) -> float:
    return 1.0 if factor.scale is Scale.LOG and not factor.is_choice else 0.0


def scale_of(hump: Hump, factor: Factor) -> float:
    """Return the width of a hump as a share of the factor's range on its own scale; of a choice the share kept."""
    if factor.is_choice:
        return _USUAL_SHARE if hump.width is None else min(hump.width, 1.0)
    if hump.width is None:
        return _USUAL_WIDTH
    low, high = factor.bounds
    if factor.scale is Scale.LOG:
        return math.log(hump.width) / math.log(high / low)
    return hump.width / (high - low)
