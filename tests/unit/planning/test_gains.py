"""The worth of one more attempt, held against exact sums, invariances and independent algorithms."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from stirfall.planning.gains import (
    fantasy_weights,
    information,
    likely_best,
    look_ahead,
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


def by_bayes_rule(classes, evaluated, weights, chance):
    """Gain and movement of each candidate with Bayes' rule written out, one number at a time."""
    before = [sum(weights * evaluated[:, a]) for a in range(evaluated.shape[1])]
    best = before.index(max(before))
    gains, movements = [], []
    for column in range(classes[0].shape[1]):
        gain, movement = -max(before), 0.0
        for p in classes:
            outcome = sum(weights * p[:, column])
            posterior = weights * p[:, column] / outcome
            after = [sum(posterior * evaluated[:, a]) for a in range(evaluated.shape[1])]
            gain += outcome * max(after)
            ahead = [(x - after[best]) - (y - before[best]) for x, y in zip(after, before, strict=True)]
            movement += outcome * sum(c * change**2 for c, change in zip(chance, ahead, strict=True))
        gains.append(gain)
        movements.append(movement)
    return gains, movements


def test_look_ahead_agrees_with_bayes_rule_written_out(gates):
    classes = outcome_classes(gates)
    weights = np.random.default_rng(8).dirichlet(np.ones(40)).astype(np.float32)
    chance = np.random.default_rng(9).dirichlet(np.ones(7)).astype(np.float32)
    gain, movement = look_ahead(classes, classes[0], weights, chance)
    wanted = by_bayes_rule(*(np.asarray(each, dtype=float) for each in (classes, classes[0], weights, chance)))
    np.testing.assert_allclose(gain, wanted[0], atol=3e-6)
    np.testing.assert_allclose(movement, wanted[1], atol=3e-6)


def test_look_ahead_on_a_beta_prior_is_known_in_closed_form():
    # One arm with p ~ Beta(a, b) on a fine grid beside an arm of known 0.5. After one trial the first has mean
    # (a + 1)/(a + b + 1) or a/(a + b + 1): conjugate updating, any textbook; the expected squared change,
    # a b / ((a + b)^2 (a + b + 1)^2), is worked from these two values.
    a, b = 2.0, 3.0
    p = ((np.arange(4000) + 0.5) / 4000).astype(np.float32)
    weights = stats.beta(a, b).pdf(p)
    weights = (weights / weights.sum()).astype(np.float32)
    clean = np.stack([p, np.full_like(p, 0.5)], axis=1)
    mean = a / (a + b)
    exact = mean * max((a + 1) / (a + b + 1), 0.5) + (1 - mean) * max(a / (a + b + 1), 0.5) - 0.5
    gain, movement = look_ahead(outcome_classes((clean,)), clean, weights, np.array([1.0, 0.0], dtype=np.float32))
    assert gain[0] == pytest.approx(exact, abs=1e-4)
    assert gain[1] == pytest.approx(0.0, abs=1e-4)
    assert movement[0] == pytest.approx(a * b / ((a + b) ** 2 * (a + b + 1) ** 2), abs=1e-4)
    assert movement[1] == pytest.approx(0.0, abs=1e-6)


def test_movement_is_no_more_than_the_variance_of_the_differences(gates):
    # Law of total variance.
    classes = outcome_classes(gates)
    ahead = classes[0] - classes[0][:, [int(np.argmax(classes[0].mean(axis=0)))]]
    for at in range(7):
        only = np.eye(7, dtype=np.float32)[at]
        _, movement = look_ahead(classes, classes[0], even(40), only)
        assert (movement <= ahead[:, at].var() + 1e-6).all()


def test_two_draws_worked_by_hand():
    # Two draws, two conditions: P(clean) 0.8 and 0.4 in the first draw, 0.2 and 0.4 in the second: the means are
    # 0.5 and 0.4. An attempt at the first is clean with 0.5; then the first draw has 0.8 / (0.8 + 0.2) = 0.8 and
    # the means are 0.68 and 0.4; not clean, they are 0.32 and 0.4. Gain: (0.68 + 0.4) / 2 - 0.5 = 0.04. The second
    # is 0.10 behind before, 0.28 behind or 0.08 ahead after: movement 0.18^2 = 0.0324, half of that as its chance
    # is 0.5. An attempt at the second tells nothing.
    clean = np.array([[0.8, 0.4], [0.2, 0.4]], dtype=np.float32)
    gain, movement = look_ahead(outcome_classes((clean,)), clean, even(2), np.array([0.5, 0.5], dtype=np.float32))
    np.testing.assert_allclose(gain, [0.04, 0.0], atol=1e-6)
    np.testing.assert_allclose(movement, [0.0162, 0.0], atol=1e-6)


def test_what_moves_all_conditions_alike_is_no_movement():
    # The second condition is 0.1 below the first in every draw: an attempt changes both means, their order never.
    first = np.linspace(0.2, 0.9, 50, dtype=np.float32)
    clean = np.stack([first, first - np.float32(0.1)], axis=1)
    gain, movement = look_ahead(outcome_classes((clean,)), clean, even(50), np.full(2, 0.5, dtype=np.float32))
    np.testing.assert_allclose(movement, 0.0, atol=1e-7)
    np.testing.assert_allclose(gain, 0.0, atol=1e-6)


def test_order_of_draws_and_candidates_does_not_matter(gates):
    draws, columns = np.random.default_rng(1).permutation(40), np.random.default_rng(2).permutation(7)
    classes = outcome_classes(gates)
    shuffled = outcome_classes(tuple(gate[draws][:, columns] for gate in gates))
    chance = np.full(7, 1 / 7, dtype=np.float32)
    for worth in (
        lambda c: information(c, even(40)),
        lambda c: look_ahead(c, c[0], even(40), chance)[0],
        lambda c: look_ahead(c, c[0], even(40), chance)[1],
    ):
        np.testing.assert_allclose(worth(shuffled), worth(classes)[columns], atol=3e-6)


def test_likely_best_counts_the_draws_that_each_candidate_wins():
    clean = np.array([[0.2, 0.6, 0.55], [0.9, 0.1, 0.55], [0.1, 0.7, 0.65]], dtype=np.float32)
    weights = np.array([0.2, 0.5, 0.3], dtype=np.float32)
    winners, chance = likely_best(clean, weights)
    # The third never wins, but has the highest mean (0.58), so it is looked at as well.
    assert list(winners) == [0, 1, 2]
    np.testing.assert_allclose(chance, [0.5, 0.5, 0.0], atol=1e-6)


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
        *look_ahead(classes, classes[0], even(5), np.full(3, 1 / 3, dtype=np.float32)),
        likely_best(classes[0], even(5))[1],
        fantasy_weights(classes, 0, even(5)),
    ):
        assert np.isfinite(values).all()
