"""Lots within benches: both spreads come back where they were planted, and one level alone is the usual fit."""

from __future__ import annotations

import numpy as np
import pytest

from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_laplace import fit_many, posterior_of
from stirfall.inference.nested import NestedFit, fit_nested

PRIOR = np.array([2.5, 2.0])


def simulated(
    between: float, within: float, *, seed: int, benches: int = 8, lots: int = 6, each: int = 15
) -> tuple[GateRows, np.ndarray, np.ndarray]:
    """Return rows with lots, the bench of each, and the effects of the benches."""
    rng = np.random.default_rng(seed)
    lot = np.repeat(np.arange(benches * lots), each)
    bench = lot // lots
    effect = between * rng.normal(size=benches)
    inner = within * rng.normal(size=benches * lots)
    x = rng.uniform(-1.0, 1.0, len(lot))
    chance = 1.0 / (1.0 + np.exp(-(0.2 + x + effect[bench] + inner[lot])))
    won = (rng.random(len(lot)) < chance).astype(float)
    rows = GateRows(
        np.column_stack([np.ones(len(lot)), x]), won, np.ones(len(lot)), lot, benches * lots, np.arange(len(lot))
    )
    return rows, bench, effect


def fitted(rows: GateRows, bench: np.ndarray, *, scale: float = 1.0) -> NestedFit:
    names = tuple(str(lot) for lot in range(rows.groups))
    return fit_nested(rows, bench, int(bench.max()) + 1, PRIOR, lot_names=names, scale=scale)


def test_both_spreads_are_found_where_they_were_planted() -> None:
    # Simulation: all four intervals at 95 % for each sd but at most one shall hold what was planted.
    held = np.zeros(2, dtype=int)
    for seed in range(2):
        for between, within in ((1.0, 0.5), (0.5, 1.0)):
            rows, bench, _ = simulated(between, within, seed=seed, each=10)
            fit = fitted(rows, bench)
            for place, (sd, planted) in enumerate(((fit.outer_sd, between), (fit.inner_sd, within))):
                low, high = np.quantile(sd, [0.025, 0.975])
                held[place] += low < planted < high
    assert held.min() >= 3


def test_benches_that_do_not_differ_are_not_said_to() -> None:
    rows, bench, _ = simulated(0.0, 0.9, seed=3)
    fit = fitted(rows, bench)
    assert np.median(fit.outer_sd) < 0.35
    assert np.median(fit.inner_sd) > 0.6


def test_the_effects_of_benches_are_found() -> None:
    rows, bench, effect = simulated(1.2, 0.4, seed=5)
    fit = fitted(rows, bench)
    found = fit.outer.mean(axis=0)
    assert np.corrcoef(found, effect)[0, 1] > 0.9


def test_with_a_tiny_prior_of_both_sds_it_is_the_plain_fit() -> None:
    # A limiting case: without spread of either level nothing but the coefficients is left.
    rows, bench, _ = simulated(0.0, 0.0, seed=2)
    fit = fitted(rows, bench, scale=1e-3)
    plain = posterior_of(fit_many(rows.without_lots(), PRIOR), rows, ())
    assert fit.beta.mean(axis=0) == pytest.approx(plain.mean, abs=0.01)
    assert fit.beta.std(axis=0) == pytest.approx(plain.sd, rel=0.05)


def test_a_new_lot_of_a_new_bench_is_less_sure_than_either_alone() -> None:
    rows, bench, _ = simulated(1.0, 0.8, seed=1)
    fit = fitted(rows, bench)
    row = np.array([1.0, 0.0])
    spread = fit.eta_of_new(row).var()
    expected = (fit.beta @ row).var() + (fit.outer_sd**2).mean() + (fit.inner_sd**2).mean()
    assert spread == pytest.approx(expected, rel=0.15)


def test_same_rows_same_answer() -> None:
    rows, bench, _ = simulated(1.0, 0.5, seed=9, benches=3, lots=3, each=8)
    assert np.array_equal(fitted(rows, bench).outer_sd, fitted(rows, bench).outer_sd)
