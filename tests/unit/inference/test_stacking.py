"""Weights of forms: closed form, a general optimiser, invariances, and what few attempts may not do."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from stirfall.inference.stacking import PSEUDO_ATTEMPTS, stacking_weights


def log_scores(rows=20, forms=4, seed=0, spread=1.0):
    rng = np.random.default_rng(seed)
    return np.log(rng.uniform(0.05, 0.95, (rows, forms))) * spread


def height(scores, weights, pseudo):
    top = scores.max(axis=1)
    mixed = np.log(np.exp(scores - top[:, None]) @ weights) + top
    return mixed.sum() + pseudo * np.log(weights).sum()


def by_slsqp(scores, pseudo):
    forms = scores.shape[1]
    found = minimize(
        lambda weights: -height(scores, weights, pseudo),
        np.full(forms, 1.0 / forms),
        method="SLSQP",
        bounds=[(1e-9, 1.0)] * forms,
        constraints={"type": "eq", "fun": lambda weights: weights.sum() - 1.0},
        options={"ftol": 1e-14, "maxiter": 500},
    )
    return found.x


@pytest.mark.parametrize("forms", [1, 2, 7])
def test_without_attempts_all_forms_weigh_the_same(forms):
    assert stacking_weights(np.zeros((0, forms))) == pytest.approx(np.full(forms, 1.0 / forms))


def test_forms_that_foretell_alike_weigh_the_same():
    assert stacking_weights(np.repeat(log_scores(30, 1), 5, axis=1)) == pytest.approx(np.full(5, 0.2))


def test_a_single_form_has_all_the_weight():
    assert stacking_weights(log_scores(5, 1)).tolist() == [1.0]


@pytest.mark.parametrize("ratio", [0.0, 0.1, 0.5, 0.9, 1.0])
@pytest.mark.parametrize("c", [PSEUDO_ATTEMPTS, 0.1, 2.0])
def test_two_forms_and_one_attempt_have_a_closed_form(ratio, c):
    # d/dw of log(w + r (1 - w)) + c log w + c log(1 - w) is zero: a quadratic in w with one root in (0, 1).
    a = 1.0 - ratio
    roots = np.roots([-a - 2 * c * a, a + c * a - 2 * c * ratio, c * ratio])
    wanted = next(root.real for root in roots if 0 < root.real < 1)
    scores = np.array([[math.log(0.8), math.log(0.8 * ratio) if ratio else -math.inf]])
    assert stacking_weights(scores, pseudo=c)[0] == pytest.approx(wanted, abs=1e-6)


def test_half_an_imagined_attempt_leaves_a_quarter_after_one_that_excludes_a_form():
    # r = 0, c = 1/2: the roots of -2 w^2 + 1.5 w are 0 and 3/4.
    assert stacking_weights(np.array([[0.0, -math.inf]])) == pytest.approx([0.75, 0.25], abs=1e-6)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("rows", "forms"), [(1, 3), (5, 2), (20, 5), (200, 11)])
@pytest.mark.parametrize("pseudo", [PSEUDO_ATTEMPTS, 0.05])
def test_a_general_optimiser_finds_the_same_weights(rows, forms, seed, pseudo):
    scores = log_scores(rows, forms, seed)
    found = stacking_weights(scores, pseudo=pseudo)
    other = by_slsqp(scores, pseudo)
    assert height(scores, found, pseudo) >= height(scores, other, pseudo) - 1e-9
    assert found == pytest.approx(other, abs=2e-3)


@given(st.integers(1, 30), st.integers(2, 8), st.integers(0, 10), st.sampled_from([0.01, 1.0, 20.0, 300.0]))
def test_at_the_summit_every_direction_along_the_simplex_is_level(rows, forms, seed, spread):
    scores = log_scores(rows, forms, seed, spread)
    weights = stacking_weights(scores)
    assert weights.sum() == pytest.approx(1.0)
    assert (weights > 0).all()
    density = np.exp(scores - scores.max(axis=1, keepdims=True))
    slope = (density / (density @ weights)[:, None]).sum(axis=0) + PSEUDO_ATTEMPTS / weights
    # Lagrange: the slope is the same for every form; it is the attempts and the imagined ones together.
    assert weights * slope == pytest.approx(weights * (rows + PSEUDO_ATTEMPTS * forms), abs=1e-3)


def test_the_order_of_forms_and_attempts_does_not_matter():
    scores = log_scores(15, 6)
    weights = stacking_weights(scores)
    rng = np.random.default_rng(2)
    forms, rows = rng.permutation(6), rng.permutation(15)
    assert stacking_weights(scores[:, forms]) == pytest.approx(weights[forms], abs=1e-7)
    assert stacking_weights(scores[rows]) == pytest.approx(weights, abs=1e-7)


def test_what_is_common_to_all_forms_does_not_matter():
    scores = log_scores(15, 4)
    shift = np.linspace(-500.0, 500.0, 15)[:, None]
    assert stacking_weights(scores + shift) == pytest.approx(stacking_weights(scores), abs=1e-7)


def test_a_form_given_twice_shares_its_weight():
    scores = log_scores(40, 3)
    twice = stacking_weights(np.column_stack([scores, scores[:, 0]]), pseudo=1e-4)
    once = stacking_weights(scores, pseudo=1e-4)
    assert twice[0] == pytest.approx(twice[3], abs=1e-6)
    assert twice[0] + twice[3] == pytest.approx(once[0], abs=1e-3)
    assert twice[1:3] == pytest.approx(once[1:], abs=1e-3)


def test_many_attempts_give_the_weight_to_the_form_that_foretells_all_of_them_better():
    scores = np.log(np.column_stack([np.full(300, 0.8), np.full(300, 0.5), np.full(300, 0.4)]))
    weights = stacking_weights(scores)
    assert weights[0] > 0.98
    assert weights[0] > weights[1] > weights[2] > 0


def test_forms_that_are_right_on_different_attempts_share_the_weight():
    # Each form says 0.9 on half of the attempts and 0.1 on the others: by symmetry both weigh one half.
    right = np.arange(40) % 2 == 0
    scores = np.log(np.column_stack([np.where(right, 0.9, 0.1), np.where(right, 0.1, 0.9)]))
    assert stacking_weights(scores) == pytest.approx([0.5, 0.5])
