from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, special

from stirfall.inference.bayes import posterior_mode
from stirfall.inference.grouped import collapse
from stirfall.inference.influence import MOST_FLAGS, influence
from stirfall.inference.ml import fit_ml

PRIOR = np.array([2.5, 2.0, 2.0])


def mode_of(X, k, n, prior_sd=PRIOR):
    return posterior_mode(collapse(X, k, n), prior_sd)[0]


@pytest.fixture
def campaign(made_up):
    X, y = made_up(24, 3, seed=4)
    return X, y, np.ones(24)


# Witness 1: exactly known. With an intercept alone leaving one of n out is arithmetic.


def test_intercept_alone_has_leverage_one_over_n():
    y = np.array([1.0, 0.0, 0.0, 1.0, 0.0])
    fit = fit_ml(np.ones((5, 1)), y, 1)
    found = influence(np.ones((5, 1)), y, 1, fit.estimate)
    assert found.leverage == pytest.approx(np.full(5, 0.2))
    assert found.fitted == pytest.approx(np.full(5, 0.4))
    assert found.pearson == pytest.approx((y - 0.4) / np.sqrt(0.24))
    assert found.deviance[0] == pytest.approx(np.sqrt(-2 * np.log(0.4)))
    assert found.deviance[1] == pytest.approx(-np.sqrt(-2 * np.log(0.6)))


def test_leverages_of_maximum_likelihood_add_up_to_the_coefficients(campaign):
    X, y, n = campaign
    fit = fit_ml(X, y, n)
    assert fit.exists
    assert influence(X, y, n, fit.estimate).leverage.sum() == pytest.approx(3.0)


def test_a_strong_prior_takes_the_leverage_away(campaign):
    X, y, n = campaign
    free = influence(X, y, n, mode_of(X, y, n), PRIOR)
    tight = influence(X, y, n, mode_of(X, y, n, PRIOR / 50), PRIOR / 50)
    assert free.leverage.sum() < 3.0
    assert tight.leverage.max() < 0.01
    assert np.abs(tight.fitted - tight.without).max() < 0.01


def test_perfect_fit_has_no_residual():
    X = np.column_stack([np.ones(3), [-1.0, 0.0, 1.0]])
    found = influence(X, np.array([2.0, 5.0, 8.0]), 10, np.array([0.0, special.logit(0.8)]))
    assert np.abs([found.pearson, found.deviance, found.pull]).max() < 1e-6


# Witness 2: invariances.


def test_row_order_and_scale_of_a_column_do_not_matter(campaign):
    X, y, n = campaign
    order = np.random.default_rng(0).permutation(len(y))
    scale = np.array([1.0, 1e6, 1e-6])
    one = influence(X, y, n, mode_of(X, y, n), PRIOR)
    other = influence((X * scale)[order], y[order], n, mode_of(X, y, n) / scale, PRIOR / scale)
    for name in ("fitted", "without", "leverage", "pearson", "deviance", "pull", "distance"):
        assert getattr(one, name)[order] == pytest.approx(getattr(other, name), rel=1e-7, abs=1e-9)


def test_a_very_wide_prior_is_maximum_likelihood(campaign):
    X, y, n = campaign
    fit = fit_ml(X, y, n)
    plain = influence(X, y, n, fit.estimate)
    wide = influence(X, y, n, mode_of(X, y, n, PRIOR * 1e5), PRIOR * 1e5)
    assert wide.pull == pytest.approx(plain.pull, rel=1e-4, abs=1e-6)


# Witness 3: an independent algorithm. Leaving the attempt out and fitting again with a general optimiser.


def refit_without(row, X, k, n, prior_sd):
    keep = np.arange(len(k)) != row

    def height(beta):
        eta = X[keep] @ beta
        return np.sum(n[keep] * np.logaddexp(0, eta) - k[keep] * eta) + 0.5 * np.sum((beta / prior_sd) ** 2)

    return optimize.minimize(height, np.zeros(X.shape[1]), method="BFGS", options={"gtol": 1e-9}).x


def test_one_step_is_near_the_exact_refit(campaign):
    X, y, n = campaign
    mode = mode_of(X, y, n)
    found = influence(X, y, n, mode, PRIOR)
    assert found.flagged.sum() <= MOST_FLAGS
    for row in range(len(y)):
        exact = refit_without(row, X, y, n, PRIOR)
        assert found.without[row] == pytest.approx(special.expit(X[row] @ exact), abs=0.03)
        gone = mode - exact
        assert found.change[row] == pytest.approx(gone, abs=0.15 * np.abs(gone).max() + 0.01)


def test_one_step_is_a_newton_step_of_the_fit_without_the_attempt(campaign):
    X, y, n = campaign
    mode = mode_of(X, y, n)
    found = influence(X, y, n, mode, PRIOR)
    for row in (0, 7, 23):
        keep = np.arange(len(y)) != row
        p = special.expit(X[keep] @ mode)
        gradient = X[keep].T @ (y[keep] - p) - mode / PRIOR**2
        precision = (X[keep].T * (p * (1 - p))) @ X[keep] + np.diag(1 / PRIOR**2)
        step = np.linalg.solve(precision, gradient)
        assert -found.change[row] == pytest.approx(step, rel=1e-8, abs=1e-9)
        full = (X.T * (special.expit(X @ mode) * special.expit(-X @ mode))) @ X + np.diag(1 / PRIOR**2)
        assert found.distance[row] == pytest.approx(step @ full @ step / 3, rel=1e-8, abs=1e-12)
        sd = np.sqrt(X[row] @ np.linalg.solve(full, X[row]))
        assert found.pull[row] == pytest.approx(-(X[row] @ step) / sd, rel=1e-8, abs=1e-9)


def test_grouped_row_leaves_out_all_its_trials():
    X = np.column_stack([np.ones(4), [-1.0, -0.3, 0.3, 1.0]])
    k, n, prior = np.array([1.0, 3.0, 2.0, 9.0]), np.array([6.0, 8.0, 7.0, 10.0]), np.array([2.5, 2.0])
    mode = mode_of(X, k, n, prior)
    found = influence(X, k, n, mode, prior)
    for row in range(4):
        exact = refit_without(row, X, k, n, prior)
        assert found.without[row] == pytest.approx(special.expit(X[row] @ exact), abs=0.05)


# The rule: what is worth a look, and how often a right model is questioned.


def test_one_failure_among_successes_at_the_far_end_is_flagged():
    age = np.concatenate([np.linspace(-1.0, -0.2, 7), np.linspace(-0.2, 0.3, 7), [1.0]])
    y = np.concatenate([np.zeros(7), np.ones(7), [0.0]])
    X = np.column_stack([np.ones(15), age])
    prior = np.array([2.5, 2.0])
    found = influence(X, y, 1, mode_of(X, y, np.ones(15), prior), prior)
    assert list(np.flatnonzero(found.flagged)) == [14]
    assert found.without[14] - found.fitted[14] > 0.05


def test_a_wrong_record_among_many_right_ones_is_mostly_found():
    rng, found = np.random.default_rng(2), 0
    for _ in range(40):
        X = np.column_stack([np.ones(14), rng.uniform(-1, 1, (14, 2))])
        direction = rng.normal(size=3)
        chance = special.expit(5 * X @ direction / np.linalg.norm(direction))
        y = (rng.random(14) < chance).astype(float)
        wrong = int(np.argmax(np.abs(chance - 0.5)))
        y[wrong] = float(chance[wrong] < 0.5)
        found += influence(X, y, 1, mode_of(X, y, np.ones(14)), PRIOR).flagged[wrong]
    assert found / 40 > 0.6


@pytest.mark.parametrize("rows", [8, 20, 60])
def test_a_right_model_is_seldom_questioned(rows):
    rng = np.random.default_rng(rows)
    flags = 0
    for _ in range(40):
        X = np.column_stack([np.ones(rows), rng.uniform(-1, 1, (rows, 2))])
        y = (rng.random(rows) < special.expit(X @ (1.5 * rng.normal(size=3)))).astype(float)
        flags += influence(X, y, 1, mode_of(X, y, np.ones(rows)), PRIOR).flagged.sum()
    assert flags / 40 < 0.5


def test_no_rows_are_no_influence():
    found = influence(np.zeros((0, 3)), [], 1, np.zeros(3), PRIOR)
    assert found.pull.shape == (0,)
    assert found.change.shape == (0, 3)


@given(
    st.lists(
        st.tuples(st.floats(-1e3, 1e3), st.sampled_from([0.0, 1.0]), st.integers(0, 3), st.integers(0, 3)),
        min_size=1,
        max_size=10,
    )
)
@settings(max_examples=150, deadline=None)
def test_any_rows_give_finite_numbers_in_range(rows):
    X = np.array([[1.0, row[0], row[1]] for row in rows])
    k = np.array([row[2] for row in rows], dtype=float)
    n = k + np.array([row[3] for row in rows])
    found = influence(X, k, n, mode_of(X, k, n), PRIOR)
    for name in ("fitted", "without", "leverage", "pearson", "deviance", "pull", "distance", "change"):
        assert np.isfinite(getattr(found, name)).all()
    for share in (found.fitted, found.without, found.leverage):
        assert ((share >= 0) & (share <= 1)).all()
    assert found.flagged.sum() <= MOST_FLAGS
