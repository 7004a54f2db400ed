"""What each difference between two attempts does to the log odds of a gate, by the draws of the answer."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.records import LOT_EFFECT_BENCH, LOT_EFFECT_JAR, LOT_EFFECT_LOT, Attempt, bench_of
from stirfall.inference.gate_rows import GateName
from stirfall.inference.probability import weighted_interval
from stirfall.inference.stack import StackedModel
from stirfall.session.analysis import Analysis
from stirfall.session.surprises_found import Shift

FloatArray = NDArray[np.float64]

_SAFE = 1e-12


def model_gate(analysis: Analysis, gate: GateName) -> GateName:
    """Return the gate itself where the model has it, else "clean", the whole."""
    return gate if any(each.name == gate for each in analysis.model.gates) else "clean"


def shifts_of(
    analysis: Analysis, here: Attempt, there: Attempt, gate: GateName
) -> tuple[Mapping[str, Shift], Shift | None]:
    """Return the shift of each factor that the model knows and that differs, and that of all together with the lot.

    Each is the log odds of the gate at ``here`` less those at ``here`` with this one value taken from ``there``.
    Empty where ``here`` or ``there`` lacks a value that the model needs.
    """
    names = [factor.name for factor in analysis.model.design.factors]
    columns = analysis.model.design.columns([here.conditions, there.conditions])
    if any(not np.isfinite(columns[name]).all() for name in names):
        return {}, None
    differing = [name for name in names if columns[name][0] != columns[name][1]]
    rows = [np.array([columns[name][0] for name in names])]
    for name in differing:
        swapped = rows[0].copy()
        swapped[names.index(name)] = columns[name][1]
        rows.append(swapped)
    rows.append(np.array([columns[name][1] for name in names]))
    table = np.array(rows)
    points = {name: table[:, place].copy() for place, name in enumerate(names)}
    log_odds, weights = _log_odds(analysis, points, len(rows), model_gate(analysis, gate))
    apart = log_odds[:, :1] - log_odds[:, 1:]
    found = {name: _shift(analysis, apart[:, place], weights, gate) for place, name in enumerate(differing)}
    whole = apart[:, -1]
    lot = _lot_draws(analysis, here, there, gate)
    if lot is not None and len(lot) == len(whole):
        found[analysis.table.grouping] = _shift(analysis, lot, weights, gate)
        whole = whole + lot
    return found, _shift(analysis, whole, weights, gate) if found else None


def _log_odds(
    analysis: Analysis, points: dict[str, FloatArray], rows: int, gate: GateName
) -> tuple[FloatArray, FloatArray]:
    """Return (m, rows) draws of the log odds of a gate with their weights; without factors all are one point."""
    model = analysis.model
    if any(each.name == gate for each in model.gates):
        found = model.coefficients(gate)
        return found.draws @ found.design.matrix(points, rows=rows).T, found.weights
    whole = np.prod([model.gate_draws(points)[each.name] for each in model.gates], axis=0)
    whole = np.clip(np.broadcast_to(whole, (len(whole), rows)), _SAFE, 1.0 - _SAFE)
    return np.log(whole) - np.log1p(-whole), model.weights


def _lot_draws(analysis: Analysis, here: Attempt, there: Attempt, gate: GateName) -> FloatArray | None:
    """Return draws (m,) of the effect of one shared level less that of the other; None where it is not known."""
    model = analysis.model
    names = [shared_level(analysis, each) for each in (here, there)]
    if not isinstance(model, StackedModel) or names[0] == names[1] or gate not in [g.name for g in model.gates]:
        return None
    if any(name not in model.lot_names for name in names):
        return None
    effects = model.lot_effects(gate)
    first, second = (effects[:, model.lot_names.index(str(name))] for name in names)
    return np.asarray(first - second)


def shared_level(analysis: Analysis, attempt: Attempt) -> str | None:
    """Return the lot, the jar, the bench or the level that an attempt shares with others in the model."""
    grouping = analysis.table.grouping
    if grouping == LOT_EFFECT_LOT:
        return attempt.lot_id
    if grouping == LOT_EFFECT_JAR:
        return attempt.jar_id
    if grouping == LOT_EFFECT_BENCH:
        return bench_of(attempt, analysis.state.settings)
    level = attempt.conditions.get(grouping)
    return level if isinstance(level, str) else None


def _shift(analysis: Analysis, draws: FloatArray, weights: FloatArray, gate: GateName) -> Shift:
    mean = float(weights @ draws)
    lower, upper = weighted_interval(draws[:, None], weights, analysis.model.level)
    below = float(weights @ np.where(draws == 0, 0.5, (draws < 0).astype(float)))
    asked = model_gate(analysis, gate)
    fits = analysis.model.gates
    n = next((each.n for each in fits if each.name == asked), fits[0].n)
    return Shift(
        asked, mean, min(float(lower[0]), mean), max(float(upper[0]), mean), analysis.model.level, below, n
    )
