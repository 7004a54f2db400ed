"""Two groups under the same other conditions, through the model: shares standardised over what both really had.

Every recorded condition of both groups is asked twice, once as of the first group and once as of the second; the
mean over them, draw by draw of the posterior, is what each group would have reached in the same circumstances
(standardisation: Lane & Nelder 1982, Biometrics 38:613). What the groups are about is set so: a factor of the model
to the two levels (of a number: to the median of each group), what attempts share to the two lots, jars or benches.
Anything else, such as an operator or a day, is added to a model of the attempts of both groups as a choice of two.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.comparisons import Group, Measure
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor
from stirfall.bench.units import Amount
from stirfall.inference.odds import OddsModel, fit_odds
from stirfall.inference.probability import weighted_interval
from stirfall.inference.proportions import Span
from stirfall.inference.stack import FittedModel
from stirfall.inference.table import AttemptTable, table_of
from stirfall.planning.box import ordered_exposures
from stirfall.session.comparing_groups import FACTOR, factor_of
from stirfall.session.comparing_records import Adjusted, Side

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
Columns = dict[str, FloatArray]
_How = Literal["factor", "shared", "refit"]

MOST_ROWS = 400
"""So many recorded conditions are gone through at most, evenly picked."""
_MOST_LOTS = 40
_GROUP = "group of the comparison"
_FIRST, _SECOND = "first", "second"
_LEAST = 2


@dataclass(frozen=True)
class _Twice:
    """The recorded conditions as of each group: draws (m,) of the mean share, and their weights."""

    first: FloatArray
    second: FloatArray
    weights: FloatArray


def adjusted(
    analysis: Analysis,
    measure: Measure,
    first: Side,
    second: Side,
    *,
    seed: int = 0,
    token: CancelToken | None = None,
) -> Adjusted | Reason:
    """Return both groups under the same other conditions, or why that cannot be said. Raises Cancelled."""
    if min(len(first.dots), len(second.dots)) < _LEAST:
        return Reason("compare.adjust_too_few")
    if measure is not Measure.CLEAN and analysis.table.gates == 1:
        return Reason("compare.adjust_one_gate")
    if measure is not Measure.CLEAN and all(gate.name != str(measure) for gate in analysis.model.gates):
        analysis = replace(
            analysis, model=analysis.base
        )  # the refined answer rests on one gate; the first has both
    found = _by_factor(analysis, measure, first, second) or _by_sharing(analysis, measure, first, second)
    if found is None:
        found = _by_refit(analysis, measure, first, second, seed=seed, token=token)
    return found


# ------------------------------------------------------------------------------------------- a factor of the model


def _by_factor(analysis: Analysis, measure: Measure, first: Side, second: Side) -> Adjusted | Reason | None:
    factor = factor_of(analysis.state, first.group)
    other = factor_of(analysis.state, second.group)
    known = {each.name: each for each in analysis.model.design.factors}
    if factor is None or factor != other or factor.name not in known:
        return None
    factor = known[factor.name]
    rows = _rows(analysis.table, first, second)
    if not len(rows):
        return Reason("compare.adjust_too_few")
    if factor.is_choice:
        names = [_level_of(factor, side.group) for side in (first, second)]
        if None in names:
            return None
        values = [float(factor.levels.index(name)) for name in names if name is not None]
        told: list[object] = list(names)
    else:
        medians = [_median_of(analysis, factor, side) for side in (first, second)]
        if None in medians or medians[0] == medians[1]:
            return Reason("compare.adjust_same_value", {"name": factor.name})
        values = [value for value in medians if value is not None]
        told = [Amount(value, factor.unit) for value in values]
    columns = [_with_value(analysis, rows, factor, value) for value in values]
    as_first, as_second = (_mean_draws(analysis, measure, each, rows) for each in columns)
    twice = _Twice(as_first, as_second, analysis.model.weights)
    at = [Reason("compare.adjust_at", {"name": factor.name, "value": value}) for value in told]
    return _answer("factor", twice, len(rows), analysis.model.level, at=at)


def _level_of(factor: Factor, group: Group) -> str | None:
    wanted = " ".join(group.level.split()).casefold()
    return next((level for level in factor.levels if " ".join(level.split()).casefold() == wanted), None)


def _median_of(analysis: Analysis, factor: Factor, side: Side) -> float | None:
    ids = {dot.attempt_id for dot in side.dots}
    places = [row for row, each in enumerate(analysis.table.ids) if each in ids]
    if not places:
        return None
    return float(np.median(analysis.table.columns[factor.name][places]))


def _with_value(analysis: Analysis, rows: IntArray, factor: Factor, value: float) -> Columns:
    """Return the recorded conditions with one factor set; an age and its oil exposure keep to what can be."""
    columns = _columns(analysis.table, analysis.model, rows)
    columns[factor.name] = np.full(len(rows), value)
    for exposure, age, per_age in ordered_exposures(analysis.limits):
        if exposure in columns and age in columns:
            if age == factor.name:
                columns[exposure] = np.minimum(columns[exposure], columns[age] * per_age)
            elif exposure == factor.name:
                columns[age] = np.maximum(columns[age], columns[exposure] / per_age)
    follows = analysis.follows
    if follows is not None and follows != factor.name and factor.role is not None and factor.role.is_exposure:
        columns[follows] = np.full(len(rows), np.nan)  # what follows from the ages is told anew
    return columns


# ------------------------------------------------------------------------------------------- what attempts share


def _by_sharing(analysis: Analysis, measure: Measure, first: Side, second: Side) -> Adjusted | Reason | None:
    sharing = analysis.table.grouping
    names = [_shared_name(side.group, sharing, analysis.model.lot_names) for side in (first, second)]
    if None in names:
        return None
    rows = _rows(analysis.table, first, second)
    if not len(rows):
        return Reason("compare.adjust_too_few")
    columns = _columns(analysis.table, analysis.model, rows)
    as_first, as_second = (_gate_mean(analysis.model.for_lot(name), measure, columns) for name in names)
    at = [Reason("compare.adjust_at", {"name": sharing, "value": name}) for name in names]
    twice = _Twice(as_first, as_second, analysis.model.weights)
    return _answer("shared", twice, len(rows), analysis.model.level, at=at)


def _shared_name(group: Group, sharing: str, names: tuple[str, ...]) -> str | None:
    if group.what.removeprefix(FACTOR) != sharing:
        return None
    wanted = " ".join(group.level.split()).casefold()
    return next((name for name in names if " ".join(name.split()).casefold() == wanted), None)


# ------------------------------------------------------------------------------------------- added to the model


def _by_refit(
    analysis: Analysis, measure: Measure, first: Side, second: Side, *, seed: int, token: CancelToken | None
) -> Adjusted | Reason:
    state = analysis.state
    names = {
        side_name: {dot.attempt_id for dot in side.dots} for side_name, side in ((_FIRST, first), (_SECOND, second))
    }
    about = [each for each in (factor_of(state, first.group), factor_of(state, second.group)) if each is not None]
    left_out = {each.name for each in about} | {analysis.follows}
    group = Factor(_free_name(state), levels=(_FIRST, _SECOND))
    factors = tuple(each for each in state.visible_factors if each.name not in left_out)
    attempts = [
        replace(each, conditions=each.conditions.with_value(group.name, name))
        for each in state.attempts
        for name, ids in names.items()
        if each.id in ids
    ]
    design, table = table_of((*factors, group), attempts, state.settings, gates=analysis.table.gates)
    place = next(column for name, column in table.columns.items() if name == group.name)
    if min(int((place == 0).sum()), int((place == 1).sum())) < _LEAST:
        return Reason("compare.adjust_too_few")
    model = fit_odds(table, design, state.settings, seed=seed, token=token)
    rows = _picked(np.arange(table.rows, dtype=np.intp))
    columns = _columns(table, model, rows)
    as_first, as_second = (
        _gate_mean(model, measure, {**columns, group.name: np.full(len(rows), float(at))}, token) for at in (0, 1)
    )
    return _answer("refit", _Twice(as_first, as_second, model.weights), len(rows), model.level)


def _free_name(state: CampaignState) -> str:
    name = _GROUP
    while any(factor.name.casefold() == name.casefold() for factor in state.factors):
        name += "_"
    return name


# ------------------------------------------------------------------------------------------- means over conditions


def _rows(table: AttemptTable, first: Side, second: Side) -> IntArray:
    ids = {dot.attempt_id for side in (first, second) for dot in side.dots}
    return _picked(np.array([row for row, each in enumerate(table.ids) if each in ids], dtype=np.intp))


def _picked(rows: IntArray) -> IntArray:
    if len(rows) <= MOST_ROWS:
        return rows
    return np.asarray(rows[np.linspace(0, len(rows) - 1, MOST_ROWS).round().astype(np.intp)])


def _columns(table: AttemptTable, model: FittedModel, rows: IntArray) -> Columns:
    return {factor.name: table.columns[factor.name][rows] for factor in model.design.factors}


def _mean_draws(analysis: Analysis, measure: Measure, columns: Columns, rows: IntArray) -> FloatArray:
    """Return (m,) draws of the mean share over the rows, each row answered for its own lot where lots are known."""
    model, group = analysis.model, analysis.table.group
    if group is None or not 0 < len(model.lot_names) <= _MOST_LOTS:
        return _gate_mean(model, measure, columns)
    names = analysis.table.group_names
    total: FloatArray | None = None
    for place in np.unique(group[rows]):
        mine = group[rows] == place
        name = names[place] if place >= 0 else None
        part = {key: column[mine] for key, column in columns.items()}
        draws = _gate_mean(model.for_lot(name), measure, part) * float(mine.mean())
        total = draws if total is None else total + draws
    assert total is not None, "there are rows"
    return total


def _gate_mean(
    model: FittedModel | OddsModel, measure: Measure, columns: Columns, token: CancelToken | None = None
) -> FloatArray:
    """Return (m,) draws of the mean share of a measure over columns (rows,)."""
    if token is not None:
        token.raise_if_cancelled()
    ask: Callable[[Columns], FloatArray] = model.probability_draws
    draws = ask(columns) if measure is Measure.CLEAN else model.gate_draws(columns)[str(measure)]
    return np.asarray(draws.mean(axis=1))


def _answer(how: _How, twice: _Twice, rows: int, level: float, *, at: Sequence[Reason] = ()) -> Adjusted:
    off = twice.first - twice.second
    weights = twice.weights / twice.weights.sum()
    probability = float(weights @ (off > 0) + 0.5 * (weights @ (off == 0)))
    first, second, difference = (_span(draws, weights, level, rows) for draws in (twice.first, twice.second, off))
    found = Adjusted(how, min(1.0, probability), first, second, difference, rows)
    return replace(found, first_at=at[0], second_at=at[1]) if at else found


def _span(draws: FloatArray, weights: FloatArray, level: float, rows: int) -> Span:
    lower, upper = weighted_interval(draws[:, None], weights, level)
    mean = float(weights @ draws)
    return Span(mean, min(float(lower[0]), mean), max(float(upper[0]), mean), level, rows)
