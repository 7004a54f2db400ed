"""The tried attempt that is nearest to a suggestion, and in what the two differ."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stirfall.bench.factors import Factor, Value
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.planning.box import Box, Columns
from stirfall.planning.candidates import known_columns, take
from stirfall.planning.first_design import distances, squared_gaps

_NO_RESULT = (Outcome.ABORTED, Outcome.NOT_GRADED)


@dataclass(frozen=True)
class FactorGap:
    """One factor in which a suggestion differs from an attempt.

    ``difference`` is here minus there in the factor's unit, None for a choice and where the attempt's value
    ``there`` is not known.
    """

    factor: str
    unit: str
    here: Value
    there: Value | None
    difference: float | None


@dataclass(frozen=True)
class Nearest:
    """The nearest tried attempt; ``distance`` in shares of the ranges, as a first design measures it.

    ``gaps`` are the factors that differ, the largest share of its range first.
    """

    attempt_id: str
    number: int
    outcome: Outcome
    distance: float
    gaps: tuple[FactorGap, ...]


@dataclass(frozen=True, eq=False)
class TriedAttempts:
    """The attempts with a result, as columns of the box, newest first."""

    attempts: tuple[Attempt, ...]
    columns: Columns


def tried_attempts(box: Box, attempts: Sequence[Attempt], *, most: int = 20_000) -> TriedAttempts:
    """Return the attempts that have a result and at least one known value; struck-out ones are no attempts.

    Where some attempts have all values, those with unknown ones are left out: nothing is nearer for being unknown.
    """
    told = [a for a in reversed(attempts) if not a.is_struck and a.outcome not in _NO_RESULT][:most]
    columns = known_columns(box, [attempt.conditions for attempt in told], most=most)
    if not told or not box.varied:
        return TriedAttempts(tuple(told), columns)
    known = np.stack([~np.isnan(columns[factor.name]) for factor in box.varied], axis=1)
    kept = np.flatnonzero(known.all(axis=1) if known.all(axis=1).any() else known.any(axis=1))
    return TriedAttempts(tuple(told[row] for row in kept), take(columns, kept))


def nearest_tried(box: Box, tried: TriedAttempts, columns: Columns) -> Nearest | None:
    """Return the tried attempt nearest to one candidate, the newest of equals; None where nothing was tried."""
    if not tried.attempts:
        return None
    away = distances(box, box.encode(columns), box.encode(tried.columns))[0]
    index = int(np.argmin(away))
    attempt = tried.attempts[index]
    sizes = squared_gaps(box, box.encode(columns), box.encode(take(tried.columns, index)))[0, 0]
    ordered = [box.varied[axis] for axis in np.argsort(-sizes, kind="stable")]
    gaps = [_gap(factor, columns, tried.columns, index, box) for factor in ordered]
    told = tuple(gap for gap in gaps if gap is not None)
    return Nearest(attempt.id, attempt.number, attempt.outcome, float(away[index]), told)


def _gap(factor: Factor, columns: Columns, tried: Columns, index: int, box: Box) -> FactorGap | None:
    here = box.conditions(columns, 0)[factor.name]
    there = float(tried[factor.name][index])
    if math.isnan(there):
        return FactorGap(factor.name, factor.unit, here, None, None)
    if isinstance(here, str):
        level = factor.levels[int(there)]
        return None if level == here else FactorGap(factor.name, factor.unit, here, level, None)
    if abs(here - there) <= 1e-9 * max(abs(here), abs(there), 1e-9):
        return None
    return FactorGap(factor.name, factor.unit, here, there, here - there)
