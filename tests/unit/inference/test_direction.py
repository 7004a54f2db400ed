"""Which way to move: longer, shorter, stay, or not known."""

from __future__ import annotations

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.direction import Direction, advise_direction
from stirfall.inference.odds import fit_odds
from stirfall.inference.table import build_table

AGE = Factor("age", "h", 1.0, 64.0, Scale.LOG)


def two_gate_model(attempts, **settings):
    state = CampaignState(CampaignSettings(**settings), (AGE,), attempts=tuple(attempts))
    design, table = build_table(state)
    return fit_odds(table, design, state.settings)


def film_campaign(count=120):
    """A made-up truth: nothing parts before 4 h, everything beads after 16 h, with some luck either way."""
    rng = np.random.default_rng(8)
    attempts = []
    for number in range(count):
        age = float(np.exp(rng.uniform(0, np.log(64))))
        parted = rng.random() < 1 / (1 + np.exp(-3 * np.log(age / 4)))
        pooled = rng.random() < 1 / (1 + np.exp(3 * np.log(age / 16)))
        grade = Pooled.ONE_POOL if pooled else Pooled.BEADS
        conditions = Conditions({"age": age})
        fields = {"parted": Parted.YES, "pooled": grade} if parted else {"parted": Parted.NO}
        attempts.append(Attempt(str(number), number, conditions, **fields))
    return attempts


@pytest.fixture(scope="module")
def model():
    return two_gate_model(film_campaign())


@pytest.mark.parametrize(
    ("age", "code", "gate"),
    [(1.5, "too_little_film", "parted"), (8.0, "near_best", None), (50.0, "too_much_film", "pooled")],
)
def test_the_direction_follows_the_truth(model, age, code, gate):
    direction = advise_direction(model, Conditions({"age": age}), AGE)
    assert direction.code == code
    assert direction.prob >= 0.8
    assert direction.factor == "age"
    if gate is not None:
        assert direction.limiting_gate == gate


def test_gains_have_the_sign_of_the_advice(model):
    early = advise_direction(model, Conditions({"age": 1.5}), "age")
    assert early.gains["longer"] > 0 > early.gains["shorter"]
    late = advise_direction(model, Conditions({"age": 50.0}), "age")
    assert late.gains["longer"] < 0 < late.gains["shorter"]


def test_the_gain_is_the_difference_of_the_estimates(model):
    direction = advise_direction(model, Conditions({"age": 1.5}), AGE)
    means = model.means({"age": np.array([1.5, 3.0])})
    assert direction.gains["longer"] == pytest.approx(means[1] - means[0], abs=0.005)


def test_without_attempts_it_is_unsure():
    assert advise_direction(two_gate_model([]), Conditions({"age": 8.0}), AGE).code == "unsure"


@pytest.mark.parametrize(
    ("conditions", "factor"),
    [
        (Conditions({"age": 8.0}), None),
        (Conditions({"age": 8.0}), "oil age"),
        (Conditions({}), "age"),
        (Conditions({"age": 0.0}), "age"),
    ],
)
def test_it_is_unsure_without_an_exposure_to_move(model, conditions, factor):
    direction = advise_direction(model, conditions, factor)
    assert direction.code == "unsure"
    assert direction.prob == 0.5


def test_one_gate_that_rises_with_age_says_longer():
    rng = np.random.default_rng(1)
    ages = np.exp(rng.uniform(0, np.log(64), 60))
    attempts = [
        Attempt(str(i), i, Conditions({"age": float(age)}), successes=int(age > 8)) for i, age in enumerate(ages)
    ]
    direction = advise_direction(two_gate_model(attempts, gates=1), Conditions({"age": 4.0}), AGE)
    assert (direction.code, direction.limiting_gate) == ("too_little_film", None)
    assert direction.prob_longer + direction.prob_shorter == pytest.approx(1.0, abs=0.01)


# -- how sure -------------------------------------------------------------------------------------------------


def judged(longer, shorter, neither):
    return Direction("unsure", {}, 0.5, longer, shorter, "age", prob_neither=neither)


@pytest.mark.parametrize(
    ("longer", "shorter", "neither", "certainty", "leans_to"),
    [
        (0.96, 0.02, 0.02, "sure", "too_little_film"),
        (0.95, 0.03, 0.02, "sure", "too_little_film"),
        (0.94, 0.03, 0.03, "likely", "too_little_film"),
        (0.80, 0.10, 0.10, "likely", "too_little_film"),
        (0.79, 0.11, 0.10, "leaning", "too_little_film"),
        (0.10, 0.65, 0.25, "leaning", "too_much_film"),
        (0.05, 0.10, 0.85, "likely", "near_best"),
        (0.40, 0.40, 0.20, "unsure", "too_little_film"),
    ],
)
def test_the_wording_goes_down_in_steps(longer, shorter, neither, certainty, leans_to):
    direction = judged(longer, shorter, neither)
    assert (direction.certainty, direction.leans_to) == (certainty, leans_to)
    assert direction.prob_lean == max(longer, shorter, neither)


def test_near_best_is_as_probable_as_the_draws_in_which_neither_way_helps(model):
    direction = advise_direction(model, Conditions({"age": 8.0}), AGE)
    draws = model.probability_draws({"age": np.array([8.0, 16.0, 4.0])})
    neither = ((draws[:, 1] < draws[:, 0]) & (draws[:, 2] < draws[:, 0])).mean()
    assert direction.prob_neither == pytest.approx(neither, abs=1e-9)
    assert direction.prob == direction.prob_neither
    # Each way alone being unlikely is not yet that both are.
    assert direction.prob <= 1 - max(direction.prob_longer, direction.prob_shorter)


def test_the_probability_that_waiting_helps_compares_each_draw_with_itself(model):
    for age in (1.5, 6.0, 20.0):
        direction = advise_direction(model, Conditions({"age": age}), AGE)
        draws = model.probability_draws({"age": np.array([age, 2 * age, age / 2])})
        assert direction.prob_longer == pytest.approx((draws[:, 1] > draws[:, 0]).mean(), abs=1e-9)
        assert direction.prob_shorter == pytest.approx((draws[:, 2] > draws[:, 0]).mean(), abs=1e-9)


def test_the_code_names_what_is_at_least_likely(model):
    for age in np.geomspace(1.0, 64.0, 25):
        direction = advise_direction(model, Conditions({"age": float(age)}), AGE)
        assert (direction.code == "unsure") == (direction.certainty in ("leaning", "unsure"))
        if direction.code != "unsure":
            assert (direction.code, direction.prob) == (direction.leans_to, direction.prob_lean)
