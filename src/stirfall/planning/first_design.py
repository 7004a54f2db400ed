"""A first design: attempts spread over the box while nothing is known."""

from __future__ import annotations

import numpy as np

from stirfall.planning.box import Box, Columns, Numbers
from stirfall.planning.candidates import candidate_columns, join, take

_CANDIDATES = 1024
# Two levels of a choice are as far apart as this share of a number's range (our proposal).
_LEVEL_GAP = 0.7


def spread_out(box: Box, known: Columns, *, count: int, seed: int) -> list[tuple[Columns, Columns]]:
    """Return ``count`` candidates chosen one by one, each with what was known before it.

    Each is the candidate farthest from its nearest neighbour among the tried and the chosen ones: the maximin
    distance design of Johnson, Moore & Ylvisaker 1990, J. Stat. Plan. Inference 26:131, built greedily. The first
    of all is the usual values of the campaign. Steps and limits hold because the candidates keep them.
    """
    columns = candidate_columns(box, (), count=_CANDIDATES, seed=seed)
    points = box.encode(columns)
    chosen: list[tuple[Columns, Columns]] = []
    if not len(points):
        return chosen
    while len(chosen) < count:
        if len(next(iter(known.values()), np.empty(0))):
            nearest = distances(box, points, box.encode(known)).min(axis=1)
            if chosen and nearest.max() <= 0:
                break
            pick = take(columns, int(np.argmax(nearest)))
        else:
            pick = usual_columns(box, columns)
        chosen.append((pick, known))
        known = join(known, pick)
    return chosen


def usual_columns(box: Box, columns: Columns) -> Columns:
    """Return the usual values of the campaign, or the candidate nearest to them where a film index forbids them.

    ``columns`` holds at least one candidate.
    """
    resting = box.resting_columns()
    if box.inside(resting).all() or not box.varied:
        return resting
    return take(columns, int(np.argmin(distances(box, box.encode(columns), box.encode(resting))[:, 0])))


def distances(box: Box, points: Numbers, others: Numbers) -> Numbers:
    """Return (c, k) distances in the unit cube; a factor that is unknown in ``others`` is left out."""
    return np.asarray(np.sqrt(squared_gaps(box, points, others).sum(axis=2)))


def squared_gaps(box: Box, points: Numbers, others: Numbers) -> Numbers:
    """Return (c, k, d) squared differences per factor; an unknown value differs from nothing."""
    gaps = points[:, None, :] - others[None, :, :]
    for axis, factor in enumerate(box.varied):
        if factor.is_choice:
            known = np.isfinite(gaps[:, :, axis])
            gaps[:, :, axis] = np.where(known & (np.abs(gaps[:, :, axis]) > 1e-9), _LEVEL_GAP, 0.0)
    return np.nan_to_num(gaps**2, nan=0.0)
