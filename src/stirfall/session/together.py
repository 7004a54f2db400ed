"""What the attempts of a campaign cannot tell apart: ages that follow the calendar, conditions in step."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Role, Scale
from stirfall.inference.confounding import (
    INSEPARABLE,
    association,
    choice_association,
    correlation,
    days_of,
)
from stirfall.inference.table import AttemptTable
from stirfall.session.health_records import Confounding, Inseparable, TimeCorrelation

FloatArray = NDArray[np.float64]

_EXPOSURES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.HOT_TIME)


def confounding_of(state: CampaignState, table: AttemptTable, *, level: float) -> Confounding:
    """Return how the attempts that are used hang together with time and with each other.

    Exposures, age first, are held against the date, the attempt's number, and its place within the day; attempts
    whose time is unknown are left out of the first and the last.
    """
    columns = _columns(state, table)
    clocks = _clocks(state, table)
    with_time = tuple(
        _with_time(column, against, clock, level)
        for role in _EXPOSURES
        for column in columns
        if column.factor is not None and column.factor.role is role and not column.is_choice
        for against, clock in clocks.items()
    )
    never = tuple(column.name for column in columns if column.factor is not None and not column.varied)
    return Confounding(with_time, tuple(_pairs(columns)), never)


@dataclass(frozen=True)
class _Column:
    """One condition, on the factor's own scale; a choice, or the lot (no factor), as the place of its level."""

    name: str
    values: FloatArray
    factor: Factor | None

    @property
    def is_choice(self) -> bool:
        return self.factor is None or self.factor.is_choice

    @property
    def choices(self) -> NDArray[np.intp]:
        return np.where(np.isfinite(self.values), self.values, -1.0).astype(np.intp)

    @property
    def varied(self) -> bool:
        return len(self.values) < 2 or bool(np.ptp(self.values) > 0)


def _columns(state: CampaignState, table: AttemptTable) -> list[_Column]:
    columns = []
    for factor in state.visible_factors:
        if factor.name in table.columns:
            values = table.columns[factor.name]
            on_log = not factor.is_choice and factor.scale is Scale.LOG
            columns.append(_Column(factor.name, np.log(values) if on_log else values, factor))
    if table.group is not None and len(table.group_names) > 1:
        columns.append(_Column(table.grouping, table.group.astype(float), None))
    return columns


def _clocks(state: CampaignState, table: AttemptTable) -> Mapping[str, FloatArray]:
    """Return hours since the first attempt, attempt numbers, and the place of each attempt within its day."""
    by_id = {attempt.id: attempt for attempt in state.attempts}
    rows = [by_id[attempt_id] for attempt_id in table.ids]
    stamps = [np.nan if row.started_at is None else as_utc(row.started_at).timestamp() / 3600.0 for row in rows]
    hours = np.array(stamps, dtype=float)
    place = days_of(hours).astype(float)
    return {
        "date": hours,
        "run_number": np.array([row.number for row in rows], dtype=float),
        "place_in_day": np.where(place >= 0, place, np.nan),
    }


def _with_time(column: _Column, against: str, clock: FloatArray, level: float) -> TimeCorrelation:
    found = correlation(column.values, clock, level=level)
    most, warning = found.strongest, None
    if most is not None and found.is_strong:
        way = "rises" if most.value > 0 else "falls"
        params = {"factor": column.name, "correlation": round(most.value, 2), "n": found.n}
        warning = Reason(f"confounding.{against}_{way}", params)
    on_log = column.factor is not None and column.factor.scale is Scale.LOG
    return TimeCorrelation(column.name, "log" if on_log else "linear", against, found, warning)


def _pairs(columns: list[_Column]) -> Iterator[Inseparable]:
    for first, second in combinations(columns, 2):
        strength, n = _strength(first, second)
        if strength is None or strength <= INSEPARABLE:
            continue
        code = "with_group" if second.factor is None else "pair"
        params = {"factor": first.name, "other": second.name, "correlation": round(strength, 2), "n": n}
        yield Inseparable(first.name, second.name, strength, n, Reason(f"confounding.{code}", params))


def _strength(first: _Column, second: _Column) -> tuple[float | None, int]:
    n = int((np.isfinite(first.values) & np.isfinite(second.values)).sum())
    if first.is_choice and second.is_choice:
        return choice_association(first.choices, second.choices), n
    if first.is_choice or second.is_choice:
        number, choice = (second, first) if first.is_choice else (first, second)
        return association(number.values, choice.choices), n
    found = correlation(first.values, second.values)
    if found.pearson is None or not found.is_strong:
        return None, n
    return abs(found.pearson.value), n
