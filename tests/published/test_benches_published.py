"""Benches as random intercepts, held against lme4's published fit; a large pooled session against statsmodels."""

from __future__ import annotations

import csv
import importlib.util
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.gate_rows import rows_of_gates
from stirfall.inference.lot_ml import fit_lot_ml
from stirfall.inference.table import build_table
from stirfall.session.analysis import analyse
from stirfall.session.pooling import PoolSource, pool

DATA = Path(__file__).parent / "data"
BENCHMARK = Path(__file__).resolve().parents[1] / "benchmarks" / "pool.py"


def herd_sources() -> list[PoolSource]:
    """Return each herd of the cattle data as the session of one bench, its periods as a choice."""
    with (DATA / "cbpp.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    sources = []
    for herd in dict.fromkeys(row["herd"] for row in rows):
        attempts = tuple(
            Attempt(
                f"{herd}-{number}",
                number,
                Conditions({"period": row["period"]}),
                successes=int(row["incidence"]),
                trials=int(row["size"]),
            )
            for number, row in enumerate((row for row in rows if row["herd"] == herd), start=1)
        )
        factors = (Factor("period", levels=("1", "2", "3", "4")),)
        settings = CampaignSettings(gates=1, bench_name=f"Herd {herd}")
        sources.append(PoolSource(f"{herd}.stirfall", CampaignState(settings, factors, attempts=attempts)))
    return sources


def test_cattle_in_herds_pooled_as_benches() -> None:
    # cbpp: the documentation of lme4, glmer(..., nAGQ = 9); printed figures from memory, recomputed
    state = pool(herd_sources()).raise_if_refused()
    design, table = build_table(state)
    assert (table.grouping, len(table.group_names)) == ("bench", 15)
    rows = rows_of_gates(table, design)["clean"]
    fit = fit_lot_ml(rows, nodes=9)
    # The matrix of the program codes levels in its own way: the chance of each period is the same.
    assert fit.lot_sd == pytest.approx(0.64752, abs=5.1e-6)
    assert fit.log_likelihood == pytest.approx(-91.98337, abs=5.1e-6)
    periods = [int(row[0]) for row in _first_of_each_period(table.columns["period"])]
    eta = rows.X[periods] @ fit.estimate
    assert eta == pytest.approx(-1.39923 + np.array([0.0, -0.99140, -1.12782, -1.57947]), abs=2e-5)


def _first_of_each_period(column: np.ndarray) -> list[np.ndarray]:
    return [np.flatnonzero(column == level) for level in range(4)]


def test_herds_are_told_apart_as_the_data_tell_them() -> None:
    # The spread that lme4 finds (0.6475) lies in the interval of the posterior, whose prior is half-normal.
    analysis = analyse(pool(herd_sources()).raise_if_refused(), refined=True)
    spread = analysis.lot_spread["clean"]
    assert spread.lower < 0.6475 < spread.upper


def benchmark() -> ModuleType:
    spec = importlib.util.spec_from_file_location("pool_benchmark", BENCHMARK)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look for their module
    spec.loader.exec_module(module)
    return module


@pytest.mark.slow
def test_twenty_thousand_pooled_attempts_are_fitted_right() -> None:
    # statsmodels' GLM on the same rows; the priors move an estimate by less than a fiftieth of its standard error.
    made = benchmark()
    state = pool(made.bench_sources(20_000), made_at=made.MADE).raise_if_refused()
    first = analyse(state)
    assert max(made.coefficient_gaps(first).values()) < 0.02
    alone = analyse(replace(state, settings=replace(state.settings, lot_effect="none", form="")), refined=True)
    assert alone.lot_spread == {}
    lots = analyse(state, refined=True).lots
    for gate, planted in made.bench_effects().items():
        found = np.array([each.mean for each in lots if each.gate == gate])
        # 2,500 attempts of a bench tell its effect to about 0.06; the mean of all is the intercept's.
        assert np.abs((found - found.mean()) - (planted - planted.mean())).max() < 0.25
