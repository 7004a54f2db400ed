"""Level contrasts against a model that is coded that way from the start."""

from __future__ import annotations

import numpy as np
import pytest

from stirfall.bench.factors import Factor
from stirfall.inference.design import Design
from stirfall.inference.level_contrasts import at_first_levels, level_contrasts
from stirfall.inference.ml import fit_ml


def rows_of(design, seed=0, rows=200):
    rng = np.random.default_rng(seed)
    columns = {
        factor.name: rng.integers(0, len(factor.levels), rows).astype(float)
        if factor.is_choice
        else rng.uniform(*factor.bounds, rows)
        for factor in design.factors
    }
    return columns, rng.integers(0, 2, rows).astype(float)


OIL = Factor("oil", levels=("a", "b", "c"))
TOOL = Factor("tool", levels=("rod", "fork"))
HEAT = Factor("heat", low=0.0, high=4.0)


def dummies(columns):
    oil, tool = columns["oil"], columns["tool"]
    return np.column_stack([np.ones(len(oil)), oil == 1, oil == 2, tool == 1, columns["heat"]]).astype(float)


def test_they_are_the_coefficients_of_treatment_coding():
    design = Design((OIL, TOOL, HEAT))
    columns, y = rows_of(design)
    fit = fit_ml(design.matrix(columns), y, 1)
    coded = fit_ml(dummies(columns), y, 1)
    found = level_contrasts(design, fit.estimate, fit.covariance)
    assert [(each.term, each.against) for each in found] == [
        ("oil: b", "oil: a"),
        ("oil: c", "oil: a"),
        ("tool: fork", "tool: rod"),
    ]
    assert [each.estimate for each in found] == pytest.approx(coded.estimate[1:4], abs=1e-8)
    assert [each.se for each in found] == pytest.approx(coded.se[1:4], abs=1e-8)
    first = at_first_levels(design, fit.estimate, fit.covariance)
    assert first.levels == {"oil": "a", "tool": "rod"}
    assert (first.estimate, first.se) == pytest.approx((coded.estimate[0], coded.se[0]), abs=1e-8)


def test_the_reference_counts_products_of_first_levels():
    design = Design((OIL, TOOL, HEAT), products=(("oil", "tool"), ("tool", "heat")))
    columns, y = rows_of(design, 1, 400)
    fit = fit_ml(design.matrix(columns), y, 1)
    X = dummies(columns)
    coded = fit_ml(np.column_stack([X, X[:, 1] * X[:, 3], X[:, 2] * X[:, 3], X[:, 3] * X[:, 4]]), y, 1)
    first = at_first_levels(design, fit.estimate, fit.covariance)
    assert (first.estimate, first.se) == pytest.approx((coded.estimate[0], coded.se[0]), abs=1e-8)


def test_without_a_choice_there_is_nothing_to_compare():
    design = Design((HEAT,))
    assert level_contrasts(design, np.zeros(2), np.eye(2)) == ()
    assert at_first_levels(design, np.zeros(2), np.eye(2)) is None
