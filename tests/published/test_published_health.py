"""Published influence, and scores and intervals of proportions, reproduced to the printed digits.

The printed figures are quoted from memory of the sources named beside each; they were recomputed independently and
agree. ``data/SOURCES.md`` says where the table comes from.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from stirfall.inference.grouped import expit
from stirfall.inference.influence import influence
from stirfall.inference.ml import fit_ml
from stirfall.inference.scores import auc, brier_score, wilson_interval

DATA = Path(__file__).parent / "data"


@pytest.fixture
def vasoconstriction():
    with (DATA / "vasoconstriction.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    volume, rate, y = (np.array([float(row[name]) for row in rows]) for name in ("Volume", "Rate", "Y"))
    X = np.column_stack([np.ones(len(y)), np.log(volume), np.log(rate)])
    return X, y, fit_ml(X, y, 1)


@pytest.mark.parametrize(
    ("observation", "fitted", "leverage", "pearson", "deviance_residual"),
    [(4, 0.0748, 0.0867, 3.5181, 2.2775), (18, 0.1059, 0.0954, 2.9062, 2.1192)],
)
def test_vasoconstriction_influence(vasoconstriction, observation, fitted, leverage, pearson, deviance_residual):
    # Pregibon 1981, Ann. Stat. 9:705
    X, y, fit = vasoconstriction
    found = influence(X, y, 1, fit.estimate)
    row = observation - 1
    assert y[row] == 1
    assert found.fitted[row] == pytest.approx(fitted, abs=0.51e-4)
    assert found.leverage[row] == pytest.approx(leverage, abs=0.51e-4)
    assert found.pearson[row] == pytest.approx(pearson, abs=0.51e-4)
    assert found.deviance[row] == pytest.approx(deviance_residual, abs=0.51e-4)
    # leverage is the diagonal of the hat matrix, so it checks the covariance too
    p = expit(X @ fit.estimate)
    assert p[row] * (1 - p[row]) * X[row] @ fit.covariance @ X[row] == pytest.approx(found.leverage[row], rel=1e-7)


def test_the_two_observations_that_pregibon_singles_out_pull_most(vasoconstriction):
    # Pregibon 1981: observations 4 and 18 are the ones that the fit hangs on
    X, y, fit = vasoconstriction
    found = influence(X, y, 1, fit.estimate)
    assert set(np.argsort(-np.abs(found.pull))[:2] + 1) == {4, 18}
    assert set(np.argsort(-found.distance)[:2] + 1) == {4, 18}
    assert set(np.flatnonzero(found.flagged) + 1) <= {4, 18}


def test_vasoconstriction_scores(vasoconstriction):
    # Finney 1947, Biometrika 34:320 (data); the figures are computed, no printed ones are known to us
    X, y, fit = vasoconstriction
    p = expit(X @ fit.estimate)
    assert auc(p, y).value == pytest.approx(0.936842, abs=0.51e-6)
    assert brier_score(p, y) == pytest.approx(0.117791, abs=0.51e-6)


@pytest.mark.parametrize(("k", "n", "lower", "upper"), [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605)])
def test_wilson_intervals(k, n, lower, upper):
    # Newcombe 1998, Stat. Med. 17:857, score method without continuity correction
    assert wilson_interval(k, n) == pytest.approx((lower, upper), abs=0.51e-4)
