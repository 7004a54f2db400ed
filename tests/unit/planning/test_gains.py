"""The worth of one more attempt, held against exact sums, invariances and independent algorithms."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from stirfall.planning.gains import (
    expected_best,
    fantasy_weights,
    information,
    optimum_information,
    outcome_classes,
)


def even(count: int) -> np.ndarray:
    return np.full(count, 1.0 / count, dtype=np.float32)


@pytest.fixture
def gates() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(3)
    return rng.uniform(0.02, 0.98, (40, 7)).astype(np.float32), rng.uniform(0.02, 0.98, (40, 7)).astype(np.float32)


def test_outcome_classes_sum_to_one_and_multiply_the_gates(gates):
    clean, beads, nothing = outcome_classes(gates)
    np.testing.assert_allclose(clean + beads + nothing, 1.0, atol=1e-6)
    np.testing.assert_allclose(clean, gates[0] * gates[1], rtol=1e-6)
    np.testing.assert_allclose(nothing, 1.0 - gates[0], atol=1e-6)


def test_information_is_the_relative_entropy_of_joint_and_product(gates):
    # Independent algorithm: mutual information as the relative entropy between the joint law of (draw, outcome) and
    # the product of its margins, by scipy.stats.entropy.
    classes = outcome_classes(gates)
    weights = np.random.default_rng(5).dirichlet(np.ones(40)).astype(np.float32)
    found = information(classes, weights)
    for column in range(7):
        joint = np.stack([weights * p[:, column] for p in classes])
        product = np.outer(joint.sum(axis=1), joint.sum(axis=0))
        assert found[column] == pytest.approx(stats.entropy(joint.ravel(), product.ravel()), abs=2e-6)


def test_information_of_two_certain_opposite_draws_is_one_bit():
    # Exactly known: a fair coin that the outcome reveals carries log 2 nats.
    clean = np.array([[0.0], [1.0]], dtype=np.float32)
    assert information(outcome_classes((clean,)), even(2))[0] == pytest.approx(math.log(2.0), abs=1e-4)


def test_information_is_nothing_where_all_draws_agree():
    clean = np.full((9, 1), 0.3, dtype=np.float32)
    assert information(outcome_classes((clean,)), even(9))[0] == pytest.approx(0.0, abs=1e-6)


def test_information_of_three_outcomes_is_no_less_than_of_clean_or_not(gates):
    # Data processing: merging two outcomes cannot add information.
    classes = outcome_classes(gates)
    assert (information(classes, even(40)) >= information((classes[0], 1 - classes[0]), even(40)) - 1e-6).all()


def brute_expected_best(classes, evaluated, weights):
    total = []
    for column in range(classes[0].shape[1]):
        value = 0.0
        for p in classes:
            chance = sum(w * q for w, q in zip(weights, p[:, column], strict=True))
            means = [
                sum(w * q * e for w, q, e in zip(weights, p[:, column], evaluated[:, a], strict=True)) / chance
                for a in range(evaluated.shape[1])
            ]
            value += chance * max(means)
        total.append(value)
    return total


def test_expected_best_agrees_with_bayes_rule_written_out(gates):
    classes = outcome_classes(gates)
    weights = np.random.default_rng(8).dirichlet(np.ones(40))
    found = expected_best(classes, classes[0], weights.astype(np.float32))
    np.testing.assert_allclose(found, brute_expected_best(classes, classes[0], weights), atol=2e-6)


def test_expected_best_of_a_beta_prior_is_known_in_closed_form():
    # One arm with p ~ Beta(a, b) on a fine grid beside an arm of known 0.5. After one trial the first has mean
    # (a + 1)/(a + b + 1) or a/(a + b + 1): conjugate updating, any textbook.
    a, b = 2.0, 3.0
    p = ((np.arange(4000) + 0.5) / 4000).astype(np.float32)
    weights = stats.beta(a, b).pdf(p)
    weights = (weights / weights.sum()).astype(np.float32)
    clean = np.stack([p, np.full_like(p, 0.5)], axis=1)
    mean = a / (a + b)
    exact = mean * max((a + 1) / (a + b + 1), 0.5) + (1 - mean) * max(a / (a + b + 1), 0.5)
    found = expected_best(outcome_classes((clean,)), clean, weights)
    assert found[0] == pytest.approx(exact, abs=1e-4)
    assert found[1] == pytest.approx(0.5, abs=1e-4)


def test_an_attempt_never_lowers_the_expected_best(gates):
    classes = outcome_classes(gates)
    assert (expected_best(classes, classes[0], even(40)) >= classes[0].mean(axis=0).max() - 1e-6).all()


def test_order_of_draws_and_candidates_does_not_matter(gates):
    draws, columns = np.random.default_rng(1).permutation(40), np.random.default_rng(2).permutation(7)
    classes = outcome_classes(gates)
    shuffled = outcome_classes(tuple(gate[draws][:, columns] for gate in gates))
    for worth in (
        lambda c: information(c, even(40)),
        lambda c: expected_best(c, c[0], even(40)),
        lambda c: optimum_information(c, c[0], even(40)),
    ):
        np.testing.assert_allclose(worth(shuffled), worth(classes)[columns], atol=3e-6)


def test_information_on_the_optimum_agrees_with_a_sum_over_groups(gates):
    classes = outcome_classes(gates)
    clean = classes[0]
    found = optimum_information(classes, clean, even(40))
    winners = clean.argmax(axis=1)
    for column in range(7):
        joint = np.array(
            [[p[winners == winner, column].sum() / 40 for winner in np.unique(winners)] for p in classes]
        )
        product = np.outer(joint.sum(axis=1), joint.sum(axis=0))
        assert found[column] == pytest.approx(stats.entropy(joint.ravel(), product.ravel()), abs=2e-6)


def test_information_on_the_optimum_is_at_most_the_whole_information(gates):
    # Data processing: the best condition is a function of the parameters.
    classes = outcome_classes(gates)
    assert (optimum_information(classes, classes[0], even(40)) <= information(classes, even(40)) + 1e-5).all()


def test_information_on_the_optimum_is_nothing_when_every_draw_agrees_on_it():
    clean = np.array([[0.2, 0.6], [0.4, 0.9], [0.1, 0.7]], dtype=np.float32)
    found = optimum_information(outcome_classes((clean,)), clean, even(3))
    np.testing.assert_allclose(found, 0.0, atol=1e-6)


def test_imagined_attempt_favours_draws_that_expect_its_mean_and_takes_information_away():
    rng = np.random.default_rng(11)
    clean = rng.uniform(0.01, 0.99, (400, 1)).astype(np.float32)
    classes = outcome_classes((clean,))
    weights = fantasy_weights(classes, 0, even(400))
    assert weights.sum() == pytest.approx(1.0, abs=1e-5)
    near, far = np.abs(clean[:, 0] - clean.mean()) < 0.1, np.abs(clean[:, 0] - clean.mean()) > 0.4
    assert weights[near].min() > weights[far].max()
    assert information(classes, weights)[0] < information(classes, even(400))[0]


@pytest.mark.parametrize("extreme", list(itertools.product([0.0, 1.0], repeat=2)))
def test_certain_gates_give_finite_figures(extreme):
    gates = tuple(np.full((5, 3), value, dtype=np.float32) for value in extreme)
    classes = outcome_classes(gates)
    for values in (
        information(classes, even(5)),
        expected_best(classes, classes[0], even(5)),
        optimum_information(classes, classes[0], even(5)),
        fantasy_weights(classes, 0, even(5)),
    ):
        assert np.isfinite(values).all()
