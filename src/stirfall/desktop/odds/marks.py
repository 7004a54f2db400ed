"""Attempts as marks: which lane an outcome has, and a jitter that hides no mark and is always the same."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stirfall.bench.outcomes import Outcome

LANES_ABOVE = (Outcome.CLEAN,)
"""Outcomes on the rail above the curve."""
LANES_BELOW = (
    Outcome.PARTED_BEADS,
    Outcome.NOT_CLEAN,
    Outcome.PARTLY_PARTED,
    Outcome.NOTHING_PARTED,
    Outcome.NOT_GRADED,
    Outcome.ABORTED,
)
"""Outcomes on the rails below the curve, from the top one down."""
LANE_WORDS = {
    Outcome.CLEAN: "clean",
    Outcome.PARTED_BEADS: "beads",
    Outcome.NOT_CLEAN: "not clean",
    Outcome.PARTLY_PARTED: "partly",
    Outcome.NOTHING_PARTED: "nothing",
    Outcome.NOT_GRADED: "not graded",
    Outcome.ABORTED: "aborted",
}
LANE_ROWS, LANE_ROWS_LOW = 3, 2
MOST_DRAWN = 2000
"""More marks than these are not drawn one by one: they would lie on one another, and the window would wait."""
_FEWEST_DRAWN = 20
_GOLDEN_ANGLE = math.pi * (3.0 - math.sqrt(5.0))


@dataclass(frozen=True)
class Spot:
    """One attempt on a picture: what it was, and its place on the axes (axis positions).

    ``y`` is the share of clean results for a counted attempt on the curve, the second position on the map.
    """

    attempt_id: str
    number: int
    outcome: Outcome
    x: float
    y: float


def lanes_in_use(spots: Sequence[Spot]) -> tuple[tuple[Outcome, ...], tuple[Outcome, ...]]:
    """Return the lanes above (always with the clean one) and below the curve that these attempts need."""
    seen = {spot.outcome for spot in spots}
    below = tuple(outcome for outcome in LANES_BELOW if outcome in seen)
    return LANES_ABOVE, below


def drawn(spots: Sequence[Spot]) -> list[Spot]:
    """Return the marks that are drawn: all of them, or of very many an even share of each outcome, ends included.

    A hundred thousand marks lie on one another and take seconds; ``MOST_DRAWN`` show the same. The answer depends
    on the marks alone, so a picture drawn twice is the same.
    """
    if len(spots) <= MOST_DRAWN:
        return list(spots)
    by_outcome: dict[Outcome, list[int]] = {}
    for place in sorted(range(len(spots)), key=lambda at: spots[at].x):
        by_outcome.setdefault(spots[place].outcome, []).append(place)
    kept: set[int] = set()
    for places in by_outcome.values():
        count = min(len(places), max(_FEWEST_DRAWN, round(MOST_DRAWN * len(places) / len(spots))))
        last = max(count - 1, 1)
        kept.update(places[round(at * (len(places) - 1) / last)] for at in range(count))
    return [spots[place] for place in sorted(kept)]


def lane_places(shares: Sequence[float], *, gap: float, rows: int = LANE_ROWS) -> list[tuple[int, float]]:
    """Return the row of its lane and the place along it for each mark, so that no mark hides another.

    ``shares`` are places along the axis in [0, 1]; marks closer than ``gap`` go to different rows, middle row
    first. When all rows are full a mark moves on by as little as needed, at most ``4 * gap``. The answer depends
    on nothing else, so a picture drawn twice is the same.
    """
    order = sorted(range(len(shares)), key=lambda index: (shares[index], index))
    preference = sorted(range(rows), key=lambda row: (abs(row - (rows - 1) / 2), row))
    last = [-math.inf] * rows
    places = [(0, 0.0)] * len(shares)
    for index in order:
        share = shares[index]
        free = [row for row in preference if share - last[row] >= gap]
        row = free[0] if free else min(preference, key=lambda one: last[one])
        place = max(share, min(last[row] + gap, share + 4 * gap))
        places[index] = (row, place)
        last[row] = place
    return places


def spread(points: Sequence[tuple[float, float]], *, gap: float) -> list[tuple[float, float]]:
    """Return offsets (in units of ``gap``) that part marks lying on one another on the map.

    ``points`` are in [0, 1] on both axes. The first mark of a cell of size ``gap`` stays where it is; later ones
    go round it on a sunflower spiral.
    """
    seen: dict[tuple[int, int], int] = {}
    offsets: list[tuple[float, float]] = []
    for x, y in points:
        cell = (round(x / gap), round(y / gap))
        count = seen.get(cell, 0)
        seen[cell] = count + 1
        radius = 0.9 * math.sqrt(count)
        offsets.append((radius * math.cos(count * _GOLDEN_ANGLE), radius * math.sin(count * _GOLDEN_ANGLE)))
    return offsets
