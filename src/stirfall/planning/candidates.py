"""Candidate conditions: spread over the box, tried ones, and better ones found near the best."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale, Value
from stirfall.planning.box import Box, Columns, Numbers, snap_inside

Score = Callable[[Columns], Numbers]

# Attempts that are candidates themselves: the newest, so that an old long campaign stays quick.
_MOST_TRIED = 100
_MOST_KNOWN = 300
_CORNERS = 128
_LINE_STOPS = 9
_MOVES = 48
_MOST_JARS, _PER_JAR = 8, 32


@lru_cache(maxsize=16)
def spread_points(dimensions: int, count: int, seed: int) -> Numbers:
    """Return ``count`` scrambled Sobol points of the unit cube, read-only; the same seed gives the same points.

    Kept, because planning asks for the same ones again and again and the making takes longer than their use.
    """
    from scipy.stats import qmc

    size = 1 << max(0, (count - 1).bit_length())
    points = np.asarray(qmc.Sobol(dimensions, rng=np.random.default_rng(seed)).random(size)[:count], dtype=float)
    points.setflags(write=False)
    return points


def candidate_columns(box: Box, tried: Sequence[Conditions], *, count: int, seed: int) -> Columns:
    """Return distinct candidates: Sobol points, corners of the box, and tried conditions that the limits allow.

    None of them where what follows from the varied factors nowhere lies inside its own range.
    """
    if not box.varied:
        return _within(box, box.resting_columns())
    points = spread_points(len(box.varied), count, seed)
    corners = np.unique(np.round(points[:_CORNERS]), axis=0)
    # A choice keeps all of its levels in the corners; only numbers go to their ends.
    for index, factor in enumerate(box.varied):
        if factor.is_choice:
            corners[:, index] = points[: len(corners), index]
    columns = box.decode(np.vstack([points, corners]))
    known = tried_columns(box, tried)
    return _within(box, distinct({name: np.concatenate([column, known[name]]) for name, column in columns.items()}))


def with_ages(box: Box, columns: Columns, ages: Sequence[Mapping[str, float]]) -> Columns:
    """Return the candidates and, for each of the newest few sets of ages, some of them with these ages.

    A jar has its age for a moment only, so that spread candidates would seldom hit it.
    """
    names = {factor.name: factor for factor in box.varied}
    for given in ages[-_MOST_JARS:]:
        step = max(1, size_of(columns) // _PER_JAR)
        some = take(columns, np.arange(0, size_of(columns), step)[:_PER_JAR])
        for name in names.keys() & given.keys():
            low, high = box.limits.ranges[name]
            some[name] = snap_inside(names[name], np.full(size_of(some), given[name]), low, high)
        columns = join(columns, _within(box, box.settle(some)))
    return columns


def _within(box: Box, columns: Columns) -> Columns:
    return take(columns, np.flatnonzero(box.inside(columns)))


def tried_columns(box: Box, tried: Sequence[Conditions]) -> Columns:
    """Return the newest tried conditions that are whole and allowed; factors that stay put are put in place."""
    columns = known_columns(box, tried[-_MOST_TRIED:])
    whole = np.flatnonzero(~np.isnan(np.stack(list(columns.values()), axis=1)).any(axis=1))
    keep = [int(row) for row in whole if box.limits.allows(box.conditions(columns, int(row)))]
    return take(columns, keep)


def known_columns(box: Box, tried: Sequence[Conditions], *, most: int = _MOST_KNOWN) -> Columns:
    """Return the newest tried conditions as columns of the varied factors, NaN where a value is not known.

    What follows from other factors is that of the usual jar here, so that tried and new conditions compare.
    """
    rows = tried[-most:]
    columns = {name: np.full(len(rows), value) for name, value in box.fixed.items()}
    for factor in box.varied:
        columns[factor.name] = np.array([_number(factor, row.get(factor.name)) for row in rows], dtype=float)
    return box.follow(columns)


def _number(factor: Factor, value: Value | None) -> float:
    if isinstance(value, str):
        return float(factor.levels.index(value)) if value in factor.levels else math.nan
    positive = value is not None and (factor.scale is not Scale.LOG or value > 0)
    return math.nan if value is None or factor.is_choice or not positive else value


def distinct(columns: Columns) -> Columns:
    """Return the candidates without repeats, in a settled order."""
    names = list(columns)
    rows = np.stack([columns[name] for name in names], axis=1)
    return dict(zip(names, np.unique(rows, axis=0).T, strict=True))


def take(columns: Columns, index: int | list[int] | npt.NDArray[np.intp]) -> Columns:
    """Return some candidates of all."""
    rows = np.atleast_1d(np.asarray(index, dtype=np.intp))
    return {name: column[rows] for name, column in columns.items()}


def join(first: Columns, second: Columns) -> Columns:
    """Return the candidates of both, repeats kept."""
    return {name: np.concatenate([column, second[name]]) for name, column in first.items()}


def size_of(columns: Columns) -> int:
    """Return the number of candidates."""
    return len(next(iter(columns.values())))


def tried_conditions(state: CampaignState) -> list[Conditions]:
    """Return the conditions of all attempts that were not struck out."""
    return [attempt.conditions for attempt in state.attempts if not attempt.is_struck]


def climb(
    box: Box,
    start: Columns,
    score: Score,
    *,
    rounds: int = 4,
    seed: int = 0,
    reach: float = 0.3,
    lines: bool = True,
) -> tuple[Columns, float]:
    """Improve each starting candidate on the continuous box; return the best one found and its score.

    Every round tries all levels of each choice, with ``lines`` stops along each number, and steps in random
    directions that shrink from round to round, beginning with ``reach`` as a share of the ranges. Never leaves the
    box, never gets worse. All starts are scored together: few large calls.
    """
    rng = np.random.default_rng(seed)
    count = size_of(start)
    here = {name: column.copy() for name, column in start.items()}
    score = _inside_only(box, score)
    heights = np.array(score(here), dtype=float)
    for turn in range(rounds):
        points = box.encode(here)
        around = box.decode(
            np.vstack([_around(box, point, reach / 2.5**turn, rng, lines=lines) for point in points])
        )
        found = np.asarray(score(around)).reshape(count, -1)
        tops = found.argmax(axis=1)
        better = np.flatnonzero(found[np.arange(count), tops] > heights)
        rows = better * found.shape[1] + tops[better]
        heights[better] = found[better, tops[better]]
        for name, column in here.items():
            column[better] = around[name][rows]
    top = int(np.argmax(heights))
    return take(here, top), float(heights[top])


def _inside_only(box: Box, score: Score) -> Score:
    """Return the score with minus infinity where what follows from other factors leaves its range."""
    if box.filler is None:
        return score

    def scored(columns: Columns) -> Numbers:
        return np.where(box.inside(columns), score(columns), -np.inf)

    return scored


def _around(box: Box, point: Numbers, reach: float, rng: np.random.Generator, *, lines: bool) -> Numbers:
    along = []
    for index, factor in enumerate(box.varied):
        if not (lines or factor.is_choice):
            continue
        count = len(factor.levels) if factor.is_choice else _LINE_STOPS
        stops = np.tile(point, (count, 1))
        stops[:, index] = (np.arange(count) + 0.5) / count if factor.is_choice else np.linspace(0.0, 1.0, count)
        along.append(stops)
    moves = point + reach * rng.standard_normal((_MOVES, len(point)))
    for index, factor in enumerate(box.varied):
        if factor.is_choice:
            moves[:, index] = point[index]
    return np.clip(np.vstack([*along, moves]), 0.0, 1.0)
