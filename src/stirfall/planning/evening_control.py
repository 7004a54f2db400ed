"""The reference condition of a campaign, which an evening repeats as its control."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stirfall.bench.factors import Conditions
from stirfall.bench.records import Attempt
from stirfall.planning.box import Box, Numbers
from stirfall.planning.candidates import known_columns

# Closer than this share of a range is the same value: for ages over a range of 1 to 500 about an eighth. The
# suggestions take the same share for "the same conditions again" (our proposal).
SAME_SHARE = 0.02
_MOST = 300


@dataclass(frozen=True)
class Repeated:
    """The conditions that were made most often, and how often; of equally frequent ones the newest.

    ``lots`` are the lots that they were made with, the most frequent first.
    """

    conditions: Conditions
    times: int
    lots: tuple[str, ...]


def most_repeated(box: Box, attempts: Sequence[Attempt]) -> Repeated | None:
    """Return the condition that graded attempts repeated most often, None where none was made twice.

    Two attempts repeat each other when every factor of the box is the same to ``SAME_SHARE`` of its range, and
    every choice the same level; an unknown value is like nothing but an unknown one. The newest attempts count.
    """
    made = [each for each in attempts if each.clean_count is not None][-_MOST:]
    if len(made) < 2 or not box.varied:
        return None
    alike = _alike(box.encode(known_columns(box, [each.conditions for each in made], most=_MOST)))
    counts = alike.sum(axis=1)
    if counts.max() < 2:
        return None
    newest = int(np.flatnonzero(counts == counts.max())[-1])
    lots = [each.lot_id for each, same in zip(made, alike[newest], strict=True) if same and each.lot_id is not None]
    ordered = sorted(dict.fromkeys(lots), key=lambda lot: -lots.count(lot))
    return Repeated(made[newest].conditions, int(counts.max()), tuple(ordered))


def _alike(points: Numbers) -> np.ndarray:
    """Return (n, n) whether two rows of points (n, d) are the same conditions."""
    alike = np.ones((len(points), len(points)), dtype=bool)
    for column in points.T:
        gaps = np.abs(column[:, None] - column[None, :])
        unknown = np.isnan(column)
        alike &= np.where(np.isnan(gaps), unknown[:, None] & unknown[None, :], gaps <= SAME_SHARE)
    return alike


def held_gaps(box: Box, reference: Conditions, held: Numbers) -> Numbers:
    """Return how far jars with encoded values ``held`` (j, d) lie from the reference, (j,): the largest share.

    Factors that the jars do not fix are NaN in ``held`` and count nothing, nor do those that the reference does not
    name.
    """
    wanted = box.encode(known_columns(box, [reference]))[0]
    gaps = np.abs(held - wanted[None, :])
    return np.asarray(np.where(np.isnan(gaps), 0.0, gaps).max(axis=1, initial=0.0))
