"""Candidates where single posterior draws have their optimum: the conditions that may turn out to be the best."""

from __future__ import annotations

import numpy as np

from stirfall.planning.box import Box, Columns, Numbers
from stirfall.planning.candidates import take
from stirfall.planning.draws import ThinDraws

_REACHES = (0.3, 0.15)
_MOVES = 6


def draw_optima(box: Box, draws: ThinDraws, columns: Columns, *, count: int, seed: int) -> Columns:
    """Return for each of the first ``count`` draws conditions where its own P(clean) is high, repeats kept.

    Each draw starts at its best candidate of ``columns`` and climbs for itself: to the ends of every factor and by
    random steps that shrink. A few hundred candidates spread over six factors are coarse; these lie where an
    answer is wanted (as in Thompson sampling, Thompson 1933, Biometrika 25:285). Same arguments, same answer.
    """
    few = draws.few(min(count, draws.size))
    if not box.varied:
        return take(columns, np.zeros(few.size, dtype=np.intp))
    rng = np.random.default_rng([seed, 41])
    clean = few.clean(columns)
    points = box.encode(take(columns, clean.argmax(axis=1)))
    heights = clean.max(axis=1).astype(float)
    for reach in _REACHES:
        moved = _moves(points, reach, rng)
        tried = box.decode(moved.reshape(-1, moved.shape[2]))
        values = np.where(box.inside(tried), few.own_clean(tried), -np.inf).reshape(moved.shape[:2])
        tops = values.argmax(axis=1)
        rows = np.arange(few.size)
        better = values[rows, tops] > heights
        heights = np.where(better, values[rows, tops], heights)
        points = np.where(better[:, None], moved[rows, tops], points)
    return box.decode(points)


def _moves(points: Numbers, reach: float, rng: np.random.Generator) -> Numbers:
    """Return (k, s, d) points around each of (k, d): one factor at either end, and random steps."""
    count, d = points.shape
    moved = np.repeat(points[:, None, :], 2 * d + _MOVES, axis=1)
    for axis in range(d):
        moved[:, 2 * axis, axis] = 0.0
        moved[:, 2 * axis + 1, axis] = 1.0
    moved[:, 2 * d :] += reach * rng.standard_normal((count, _MOVES, d))
    return np.clip(moved, 0.0, 1.0)
