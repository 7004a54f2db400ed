"""Draws of several forms in proportion to their weights, and the model that answers from them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import expit

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor
from stirfall.inference.bayes import Posterior
from stirfall.inference.design import Design
from stirfall.inference.lot_laplace import NormalLots
from stirfall.inference.odds import GateFit, Health
from stirfall.inference.particles import FittedGate, Particles, clean_draws, gather, shares
from stirfall.inference.stack import StackedModel
from stirfall.inference.table import AttemptCounts

SIZE = 4096
DESIGN = Design((Factor("age", "h", 0.0, 10.0),), humps=("age",))
AT = {"age": np.array([5.0, 10.0])}


def posterior(draws, weights=None, lots=None):
    draws = np.asarray(draws, float)
    m, p = draws.shape
    weights = np.full(m, 1.0 / m) if weights is None else np.asarray(weights, float)
    return Posterior(
        draws, weights, draws.mean(axis=0), np.eye(p), np.full(p, 2.0), -1.0, float(m), 0.1, 5, 5, lots=lots
    )


def normal_posterior(center, *, seed, m=2048, skew=False, lots=None):
    rng = np.random.default_rng(seed)
    draws = rng.standard_normal((m, len(center))) * 0.5 + center
    weights = rng.gamma(0.7, size=m) if skew else np.ones(m)
    return posterior(draws, weights / weights.sum(), lots)


def known_lots(m=2048, *, sd=1.0, means=(1.5, -1.5), spread=0.2, seed=3):
    z = np.asarray(means) / sd + spread * np.random.default_rng(seed).standard_normal((m, len(means)))
    names = tuple(f"L{place + 1}" for place in range(len(means)))
    return NormalLots(names, np.full(m, sd), (6,) * len(means), z, seed)


def everyone(count):
    return np.arange(count, dtype=np.intp)


@given(
    st.lists(st.floats(0.0, 1.0), min_size=1, max_size=12).filter(lambda weights: sum(weights) > 1e-3),
    st.integers(1, 5000),
)
def test_shares_are_whole_sum_up_and_are_near_what_is_due(weights, size):
    found = shares(weights, size)
    due = np.asarray(weights) / sum(weights) * size
    assert sum(found) == size
    assert (np.abs(np.asarray(found) - due) < 1.0 + 1e-9).all()
    assert all(count == 0 for count, weight in zip(found, weights, strict=True) if weight == 0)


def test_largest_remainders_get_what_is_left():
    assert shares([0.5, 0.3, 0.2], 4) == [2, 1, 1]
    assert shares([1.0, 1.0, 1.0], 4) == [2, 1, 1]
    assert shares([0.999, 0.001], 10) == [10, 0]


@pytest.mark.parametrize("skew", [False, True])
def test_gathered_draws_have_the_means_of_the_mixture(skew):
    first, second = (normal_posterior([c, 0.5 * c], seed=seed, skew=skew) for seed, c in ((1, 2.0), (2, -1.0)))
    places = np.array([0, 1])
    found = gather(
        [(0.7, (FittedGate(first, places),)), (0.3, (FittedGate(second, places),))], size=SIZE, columns=2, lots=0
    )
    exact = 0.7 * first.weights @ first.draws + 0.3 * second.weights @ second.draws
    assert found.betas[0].mean(axis=0) == pytest.approx(exact, abs=0.02)
    exact_square = 0.7 * first.weights @ first.draws**2 + 0.3 * second.weights @ second.draws**2
    assert (found.betas[0] ** 2).mean(axis=0) == pytest.approx(exact_square, rel=0.03)
    assert found.size == SIZE


def test_each_form_stands_over_its_own_terms_and_has_its_share():
    first, second = normal_posterior([5.0, 1.0], seed=1), normal_posterior([-5.0, 1.0], seed=2)
    found = gather(
        [
            (0.25, (FittedGate(first, np.array([0, 1])),)),
            (0.75, (FittedGate(second, np.array([0, 2])),)),
        ],
        size=SIZE,
        columns=3,
        lots=0,
    ).betas[0]
    is_first = found[:, 0] > 0
    assert is_first.sum() == SIZE / 4
    assert (found[is_first, 2] == 0).all()
    assert (found[~is_first, 1] == 0).all()


def test_draws_come_in_random_order():
    first, second = normal_posterior([5.0], seed=1), normal_posterior([-5.0], seed=2)
    place = np.array([0])
    found = gather(
        [(0.5, (FittedGate(first, place),)), (0.5, (FittedGate(second, place),))], size=SIZE, columns=1, lots=0
    ).betas[0][:, 0]
    for part in np.split(found, 8):
        assert (part > 0).mean() == pytest.approx(0.5, abs=0.1)


def test_gates_are_paired_without_regard_to_their_values():
    same = normal_posterior([0.0], seed=1)
    gate = FittedGate(same, np.array([0]))
    found = gather([(1.0, (gate, gate))], size=2048, columns=1, lots=0)
    assert np.corrcoef(found.betas[0][:, 0], found.betas[1][:, 0])[0, 1] == pytest.approx(0.0, abs=0.08)
    # With equal weights and the size of the whole, every draw is kept once.
    assert np.sort(found.betas[0][:, 0]) == pytest.approx(np.sort(same.draws[:, 0]))


def test_a_form_of_hardly_any_weight_gives_no_draws():
    first, second = normal_posterior([5.0], seed=1), normal_posterior([-5.0], seed=2, lots=known_lots())
    place = np.array([0])
    found = gather(
        [(1.0, (FittedGate(first, place),)), (1e-9, (FittedGate(second, place),))], size=SIZE, columns=1, lots=2
    )
    assert (found.betas[0] > 0).all()
    assert (found.lots[0] == 0).all()


def test_lots_move_the_intercept_alone_and_stay_with_their_draws():
    m = 2048
    draws = np.column_stack([np.linspace(-3, 3, m), np.ones(m)])
    # The effect of the lot is minus the intercept: with it every draw has the intercept zero.
    lots = NormalLots(("L1",), np.ones(m), (4,), -draws[:, [0]], 0)
    found = gather([(1.0, (FittedGate(posterior(draws, lots=lots), np.array([0, 1])),))], size=m, columns=2, lots=1)
    assert found.for_lot(0)[0] == pytest.approx(np.column_stack([np.zeros(m), np.ones(m)]))
    new = found.for_lot(None)[0]
    assert new[:, 1] == pytest.approx(np.ones(m))
    assert new[:, 0].std() == pytest.approx(math.sqrt(3.0 + 1.0), rel=0.03)
    assert found.betas[0][:, 0].std() == pytest.approx(math.sqrt(3.0), rel=0.01)


def test_without_lots_all_lots_are_alike():
    gate = FittedGate(normal_posterior([0.3], seed=1), np.array([0]))
    found = gather([(1.0, (gate,))], size=SIZE, columns=1, lots=3)
    assert np.array_equal(found.for_lot(None)[0], found.for_lot(2)[0])


def test_clean_is_the_product_of_the_gates():
    rng = np.random.default_rng(0)
    betas = [rng.normal(size=(50, 2)) for _ in range(2)]
    matrix = rng.normal(size=(7, 2))
    exact = expit(betas[0] @ matrix.T) * expit(betas[1] @ matrix.T)
    assert clean_draws(betas, matrix) == pytest.approx(exact)
    assert clean_draws(betas[:1], matrix) == pytest.approx(expit(betas[0] @ matrix.T))


def constant(*intercepts, size=SIZE, lots=0):
    betas = []
    for intercept in intercepts:
        beta = np.zeros((size, 3))
        beta[:, 0] = intercept
        betas.append(beta)
    count = len(intercepts)
    return Particles(tuple(betas), (np.zeros((size, lots)),) * count, (np.zeros(size),) * count)


def model(main, other=None, share=0.0, *, gates=("clean",), lot_names=(), n=20):
    fits = tuple(GateFit(name, posterior(np.zeros((8, 3))), 3, n) for name in gates)
    counts = AttemptCounts(used=20)
    return StackedModel(DESIGN, fits, main, other, share, counts, 0.95, n, Health(900.0, 0.1, 1000), lot_names)


def logit(p):
    return math.log(p / (1 - p))


def test_forms_with_another_number_of_gates_are_mixed_in_by_their_share():
    two, one = constant(logit(0.9), logit(0.8)), constant(logit(0.2))
    stacked = model(two, one, 0.25, gates=("parted", "pooled"))
    assert stacked.means(AT) == pytest.approx([0.75 * 0.72 + 0.25 * 0.2] * 2, abs=1e-3)
    draws = stacked.probability_draws(AT)
    assert draws.shape == (SIZE, 2)
    assert (np.abs(draws - 0.2) < 1e-9).mean() == pytest.approx(0.25, abs=1e-3)
    assert stacked.gate_estimates(AT)["parted"].mean == pytest.approx([0.9, 0.9])
    assert stacked.gate_draws(AT)["pooled"] == pytest.approx(np.full((SIZE, 2), 0.8))


def test_the_answer_does_not_depend_on_which_points_are_asked_together():
    stacked = lots_model()
    together = stacked.estimates(AT)
    for place in (0, 1):
        alone = stacked.estimates({"age": AT["age"][[place]]})
        assert alone.mean[0] == pytest.approx(together.mean[place], rel=1e-12)
        assert alone.lower[0] == pytest.approx(together.lower[place], rel=1e-12)


def lots_model(**others):
    fitted = FittedGate(normal_posterior([0.0, 0.4], seed=1, lots=known_lots(**others)), np.array([0, 1]))
    particles = gather([(1.0, (fitted,))], size=SIZE, columns=3, lots=2)
    return model(particles, lot_names=("L1", "L2"))


def test_a_known_lot_is_answered_for_by_its_effect_and_a_new_one_is_wider():
    stacked = lots_model()
    new, good, bad = (stacked.for_lot(name) for name in (None, "L1", "L2"))
    assert (new.lot, good.lot, bad.lot) == (None, "L1", "L2")
    bands = {name: each.estimates(AT) for name, each in (("new", new), ("good", good), ("bad", bad))}
    assert bands["good"].mean[0] > bands["new"].mean[0] > bands["bad"].mean[0]
    width = {name: logit(band.upper[0]) - logit(band.lower[0]) for name, band in bands.items()}
    assert width["new"] > width["good"]
    assert width["new"] > width["bad"]
    exact = expit(np.random.default_rng(9).normal(0.0, math.sqrt(0.25 + 1.0), 400_000)).mean()
    assert bands["new"].mean[0] == pytest.approx(exact, abs=0.02)
    exact = expit(np.random.default_rng(9).normal(1.5, math.sqrt(0.25 + 0.04), 400_000)).mean()
    assert bands["good"].mean[0] == pytest.approx(exact, abs=0.02)


@pytest.mark.parametrize("name", ["L9", "", None, "l1"])
def test_a_lot_without_attempts_is_answered_for_as_a_new_one(name):
    stacked = lots_model()
    assert stacked.for_lot(name).lot is None
    assert np.array_equal(stacked.for_lot("L1").for_lot(name).probability_draws(AT), stacked.probability_draws(AT))


def test_coefficients_and_effects_do_not_depend_on_the_lot_asked_for():
    stacked = lots_model()
    for each in (stacked, stacked.for_lot("L2")):
        found = each.coefficients("clean")
        assert found.design == DESIGN
        assert found.draws.shape == (SIZE, 3)
        assert found.weights.sum() == pytest.approx(1.0)
        assert found.draws[:, 0].mean() == pytest.approx(0.0, abs=0.05)
        assert each.lot_effects("clean").mean(axis=0) == pytest.approx([1.5, -1.5], abs=0.05)


@pytest.mark.parametrize("size", [1, 10, SIZE, 3 * SIZE + 5])
def test_equal_draws_are_as_many_as_asked_and_hold_the_lot(size):
    stacked = lots_model().for_lot("L1")
    (draws,) = stacked.equal_draws(size)
    assert draws.shape == (size, 3)
    if size >= SIZE:
        assert draws[:SIZE, 0].mean() == pytest.approx(1.5, abs=0.05)


@pytest.mark.parametrize("intercept", [-1e6, -40.0, 40.0, 1e6])
def test_probabilities_never_reach_zero_or_one(intercept):
    stacked = model(constant(intercept))
    draws = stacked.probability_draws(AT)
    assert ((draws > 0) & (draws < 1)).all()
    band = stacked.estimates(AT)
    assert (band.lower <= band.mean).all()
    assert (band.mean <= band.upper).all()


def test_an_estimate_carries_level_and_counts():
    found = model(constant(0.0)).estimate(AT)
    assert (found.mean, found.level, found.n, found.of_trials) == (0.5, 0.95, 20, False)
    assert model(constant(0.0), n=31).estimate(AT).of_trials


def test_an_unknown_value_is_named():
    with pytest.raises(InputError) as caught:
        model(constant(0.0)).means({"age": np.array([math.nan])})
    assert (caught.value.code, caught.value.params["factors"]) == ("odds.value_missing", "age")


def test_intervals_have_their_level():
    rng = np.random.default_rng(5)
    beta = np.column_stack([rng.standard_normal(SIZE), np.zeros(SIZE), np.zeros(SIZE)])
    particles = Particles((beta,), (np.zeros((SIZE, 0)),), (np.zeros(SIZE),))
    band = replace(model(particles), level=0.8).estimates(AT)
    assert logit(band.lower[0]) == pytest.approx(-1.2816, abs=0.06)
    assert logit(band.upper[0]) == pytest.approx(1.2816, abs=0.06)
