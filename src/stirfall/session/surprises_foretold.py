"""What all the other attempts foretell of each attempt, gate by gate, from the draws of the answer.

The draws are weighed anew as if the attempt had not been made: leave-one-out by importance sampling with
Pareto-smoothed weights (Vehtari, Gelman & Gabry 2017, Statistics and Computing 27:1413). A partly parted attempt of
the ordinal form counts as not parted here. Attempts of a known lot are foretold for that lot.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Estimate
from stirfall.inference.gate_rows import GateName
from stirfall.inference.probability import weighted_interval
from stirfall.inference.psis import smoothed_weights
from stirfall.inference.table import AttemptTable
from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_BLOCK = 64
_SAFE = 1e-12
_PICKS = 200


@dataclass(frozen=True)
class Foretold:
    """What the others say of one row of the attempt table: the clean separation, and each gate of the model.

    ``counts`` are, of a row of several trials, the probabilities of 0, 1, ... clean ones; what is not known of the
    probability itself is in them. Empty for one trial.
    """

    clean: Estimate
    gates: Mapping[GateName, Estimate]
    counts: tuple[float, ...] = ()


def foretell(analysis: Analysis, rows: IntArray) -> dict[int, Foretold]:
    """Return what was foretold of rows (r,) of the attempt table, by the row."""
    found: dict[int, Foretold] = {}
    for name, members in _by_lot(analysis, rows):
        answering = analysis.for_lot(name)
        for start in range(0, len(members), _BLOCK):
            found.update(_foretell_block(answering, members[start : start + _BLOCK]))
    return found


def seen_at(table: AttemptTable, gate: GateName, rows: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return successes and trials (r,) of rows at a gate; no trial where it was not observed."""
    if gate == "clean":
        return table.clean_k[rows], table.clean_n[rows]
    values = table.parted[rows] if gate == "parted" else table.pooled[rows]
    reached = np.isfinite(values) if gate == "parted" else np.isfinite(values) & (table.parted[rows] == 1)
    return np.where(reached, np.nan_to_num(values), 0.0), reached.astype(float)


def _by_lot(analysis: Analysis, rows: IntArray) -> Iterator[tuple[str | None, IntArray]]:
    group = analysis.table.group
    if group is None or not analysis.model.lot_names:
        yield None, rows
        return
    for place in np.unique(group[rows]):
        name = None if place < 0 else analysis.table.group_names[place]
        yield name, rows[group[rows] == place]


def _foretell_block(analysis: Analysis, rows: IntArray) -> dict[int, Foretold]:
    table, model = analysis.table, analysis.model
    columns = {name: column[rows] for name, column in table.columns.items()}
    told = model.gate_draws(columns)
    # A model without factors has one point for all rows.
    shape = len(model.weights), len(rows)
    draws = {gate.name: np.broadcast_to(told[gate.name], shape) for gate in model.gates}
    log_likelihood = np.zeros(shape)
    for name, probability in draws.items():
        k, n = seen_at(table, name, rows)
        p = np.clip(probability, _SAFE, 1.0 - _SAFE)
        log_likelihood += k * np.log(p) + (n - k) * np.log1p(-p)
    start = np.log(np.maximum(model.weights, 1e-300))[:, None]
    weights = smoothed_weights(start - log_likelihood)[0]
    whole = np.ones_like(log_likelihood)
    for probability in draws.values():
        whole = whole * probability
    clean = _estimates(analysis, whole, weights, rows, next(iter(draws)), means=_loo_means(analysis, rows))
    gates = {name: _estimates(analysis, each, weights, rows, name) for name, each in draws.items()}
    return {
        int(row): Foretold(
            clean[place],
            {name: each[place] for name, each in gates.items()},
            _counts(whole[:, place], weights[:, place], int(table.clean_n[row])),
        )
        for place, row in enumerate(rows)
    }


def _counts(draws: FloatArray, weights: FloatArray, trials: int) -> tuple[float, ...]:
    """Return the law of so many trials: binomial, its probability spread as the weighted draws (m,) are."""
    if trials < 2:
        return ()
    from scipy.stats import binom

    order = np.argsort(draws)
    upto = np.cumsum(weights[order])
    places = np.searchsorted(upto, (np.arange(_PICKS) + 0.5) / _PICKS * upto[-1])
    picks = draws[order][np.minimum(places, len(draws) - 1)]
    return tuple(binom.pmf(np.arange(trials + 1), trials, picks[:, None]).mean(axis=0).tolist())


def _loo_means(analysis: Analysis, rows: IntArray) -> FloatArray:
    """Return the leave-one-out probability of a clean separation that the refined answer has, NaN elsewhere."""
    means = np.full(len(rows), np.nan)
    if analysis.loo is not None and len(analysis.loo.rows):
        places = np.searchsorted(analysis.loo.rows, rows)
        places = np.minimum(places, len(analysis.loo.rows) - 1)
        there = analysis.loo.rows[places] == rows
        means[there] = analysis.loo.probability[places[there]]
    return means


def _estimates(
    analysis: Analysis,
    draws: FloatArray,
    weights: FloatArray,
    rows: IntArray,
    gate: GateName,
    *,
    means: FloatArray | None = None,
) -> list[Estimate]:
    model = analysis.model
    mean = np.einsum("ij,ij->j", weights, draws)
    if means is not None:
        mean = np.where(np.isnan(means), mean, means)
    _, own = seen_at(analysis.table, gate, rows)
    behind = next(each.n for each in model.gates if each.name == gate)
    found = []
    for place in range(len(rows)):
        lower, upper = weighted_interval(draws[:, place : place + 1], weights[:, place], model.level)
        low, high = min(float(lower[0]), mean[place]), max(float(upper[0]), mean[place])
        n = behind - round(float(own[place]))
        found.append(Estimate(float(mean[place]), float(low), float(high), model.level, n, model.of_trials))
    return found
