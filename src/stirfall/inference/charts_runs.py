"""How long a chart runs before it alarms: average run lengths, exact up to the fineness of a grid.

The run length is the number of points up to and with the first alarm. With nothing changed it should be long.
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.charts_sums import ALLOWANCE, EWMA_WIDTH, LIMIT, WEIGHT

FloatArray = NDArray[np.float64]

_STATES = 201
_FINE = 400
_MOST_LIMIT = 12.0
# The zones of a point that does not lie beyond 3 sd, from below upwards, by their lower ends.
_EDGES = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)
_State = tuple[tuple[int, ...], int]


def cusum_run_length(
    shift: float = 0.0,
    *,
    allowance: float = ALLOWANCE,
    limit: float = LIMIT,
    head_start: float = 0.0,
    two_sided: bool = True,
) -> float:
    """Return the average run length of a tabular CUSUM of normal points whose mean is off by ``shift`` sd.

    Solves the integral equation of one side on a grid of 201 states (Brook and Evans 1972, Biometrika 59:539); two
    sides without a head start combine as 1 / (1 / L+ + 1 / L-), which is exact for them (Lucas and Crosier 1982).
    With a head start the two sides are taken as if they ran apart, so that the length is a little too short.
    """
    up = _one_side(shift, allowance, limit, head_start)
    if not two_sided:
        return up
    down = _one_side(-shift, allowance, limit, head_start)
    return 1.0 / (1.0 / up + 1.0 / down)


def _one_side(shift: float, allowance: float, limit: float, head_start: float) -> float:
    width = 2.0 * limit / (2 * _STATES - 1)
    centres = width * np.arange(_STATES)
    upper = centres[None, :] + width / 2 - centres[:, None] - (shift - allowance)
    lower = upper - width
    lower[:, 0] = -np.inf
    lengths = np.linalg.solve(np.eye(_STATES) - (_normal(upper) - _normal(lower)), np.ones(_STATES))
    return float(np.interp(head_start * limit, centres, lengths))


def ewma_run_length(shift: float = 0.0, *, weight: float = WEIGHT, width: float = EWMA_WIDTH) -> float:
    """Return the average run length of an EWMA with its final limits, of normal points off by ``shift`` sd.

    By the Markov chain of Lucas and Saccucci 1990 (Technometrics 32:1) on 201 states.
    """
    reach = width * math.sqrt(weight / (2.0 - weight))
    step = 2.0 * reach / _STATES
    centres = -reach + step * (np.arange(_STATES) + 0.5)
    start = (1.0 - weight) * centres[:, None]
    upper = (centres[None, :] + step / 2 - start) / weight - shift
    lower = (centres[None, :] - step / 2 - start) / weight - shift
    lengths = np.linalg.solve(np.eye(_STATES) - (_normal(upper) - _normal(lower)), np.ones(_STATES))
    return float(lengths[_STATES // 2])


def rules_run_length(shift: float = 0.0, rules: tuple[int, ...] = (1, 2, 3, 4)) -> float:
    """Return the average run length under run rules, of normal points off by ``shift`` sd.

    Rules by number: 1 one beyond 3 sd, 2 two of three beyond 2, 3 four of five beyond 1, 4 eight in a row. Exact:
    a Markov chain over the zones of the last four points and the length of the run (Champ and Woodall 1987,
    Technometrics 29:393).
    """
    edges = [NormalDist(shift).cdf(edge) for edge in _EDGES]
    beyond = edges[0] + 1.0 - edges[-1] if 1 in rules else 0.0
    chances = np.diff(edges)
    if 1 not in rules:  # what lies beyond 3 sd is then only beyond 2
        chances[0], chances[-1] = edges[1], 1.0 - edges[-2]
    places: dict[_State, int] = {((), 0): 0}
    found: list[tuple[int, int, float]] = []
    waiting: list[_State] = [((), 0)]
    while waiting:
        state = waiting.pop()
        for zone, chance in enumerate(chances.tolist()):
            following = _next(state, zone, rules)
            if following is None:
                continue
            if following not in places:
                places[following] = len(places)
                waiting.append(following)
            found.append((places[state], places[following], chance))
    assert abs(beyond + float(chances.sum()) - 1.0) < 1e-9
    return _solved(found, len(places))


def _next(state: _State, zone: int, rules: tuple[int, ...]) -> _State | None:
    """Return the state after one more point, None where a rule other than the first is met."""
    last, run = state
    recent = (*last, zone)
    way = 1 if zone >= 3 else -1
    run = run + way if run * way > 0 else way
    far = [_beyond(each) for each in recent]
    if 2 in rules and abs(far[-1]) >= 2 and sum(each * way >= 2 for each in far[-3:]) >= 2:
        return None
    if 3 in rules and abs(far[-1]) >= 1 and sum(each * way >= 1 for each in far[-5:]) >= 4:
        return None
    if 4 in rules and abs(run) >= 8:
        return None
    kept = recent[-4:] if 3 in rules else recent[-2:] if 2 in rules else ()
    return kept, run if 4 in rules else 0


def _beyond(zone: int) -> int:
    """Return how many whole sd a zone lies out: -2, -1, 0, 0, 1, 2."""
    return (-2, -1, 0, 0, 1, 2)[zone]


def _solved(found: list[tuple[int, int, float]], states: int) -> float:
    from scipy.sparse import csr_matrix, identity
    from scipy.sparse.linalg import spsolve

    rows, columns, chances = zip(*found, strict=True)
    moves = csr_matrix((chances, (rows, columns)), shape=(states, states))
    return float(spsolve((identity(states) - moves).tocsc(), np.ones(states))[0])


def odds_run_length(p: float, *, foretold: float, odds_ratio: float, limit: float) -> float:
    """Return the average run length of a CUSUM of single passes with probability ``p``, told ``foretold``.

    For ``odds_ratio`` above 1 it is the sum that waits for a rise, below 1 the one that waits for a fall. The
    equation L(s) = 1 + p L(s + up) + (1 - p) L(s + down) is solved on 401 points with straight lines between them.
    """
    passed = math.log(odds_ratio) - math.log1p(foretold * (odds_ratio - 1.0))
    failed = -math.log1p(foretold * (odds_ratio - 1.0))
    grid = np.linspace(0.0, limit, _FINE + 1)
    moves = np.zeros((len(grid), len(grid)))
    for chance, step in ((p, passed), (1.0 - p, failed)):
        there = np.maximum(grid + step, 0.0)
        inside = there <= limit
        at = np.minimum((there / limit * _FINE).astype(int), _FINE - 1)
        part = there / limit * _FINE - at
        rows = np.flatnonzero(inside)
        np.add.at(moves, (rows, at[inside]), chance * (1.0 - part[inside]))
        np.add.at(moves, (rows, at[inside] + 1), chance * part[inside])
    return float(np.linalg.solve(np.eye(len(grid)) - moves, np.ones(len(grid)))[0])


@lru_cache(maxsize=64)
def odds_limit(foretold: float, odds_ratio: float, run_length: float) -> float:
    """Return the limit at which two sums, for odds times and by ``odds_ratio``, alarm once in ``run_length``.

    By halving, to two digits, with nothing changed; the two sides are taken to run apart.
    """
    low, high = 0.2, _MOST_LIMIT
    while high - low > 0.01:
        middle = (low + high) / 2.0
        sides = [
            odds_run_length(foretold, foretold=foretold, odds_ratio=ratio, limit=middle)
            for ratio in (odds_ratio, 1.0 / odds_ratio)
        ]
        if 1.0 / sum(1.0 / max(side, 1.0) for side in sides) < run_length:
            low = middle
        else:
            high = middle
    return round(high, 2)


def _normal(x: FloatArray) -> FloatArray:
    from scipy.special import ndtr

    return np.asarray(ndtr(x), dtype=float)
