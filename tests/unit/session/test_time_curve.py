"""The expected time by age: from the posterior's draws, within the limits, never for a metal that must not age."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.session.analysis import analyse

AGE = Factor("sample age", "d", 0.02, 10.0, Scale.LOG, role=Role.SAMPLE_AGE)
SPEED = Factor("speed", "1/min", 20.0, 180.0)
EXACT = PlanSettings(control=(("sample age", 0.0),))
REST = Conditions({"speed": 90.0})


def campaign(**settings) -> CampaignState:
    rng = np.random.default_rng(8)
    attempts = []
    for number in range(1, 41):
        age = math.exp(rng.uniform(math.log(0.05), math.log(5.0)))
        z = math.log(age / 0.6)
        parted = rng.random() < 1 / (1 + math.exp(-1.5 - 1.4 * z))
        pooled = rng.random() < 1 / (1 + math.exp(-1.5 + 1.4 * z))
        conditions = Conditions({"sample age": age, "speed": rng.uniform(30, 170)})
        grades = {"parted": Parted.YES if parted else Parted.NO}
        if parted:
            grades["pooled"] = Pooled.ONE_POOL if pooled else Pooled.BEADS
        attempts.append(Attempt(f"a{number}", number, conditions, **grades))
    known = {"material": MaterialClass.BASE_METAL, "melting_point_c": 138.0, "oil_flash_c": 225.0, "plan": EXACT}
    return CampaignState(CampaignSettings(**known | settings), (AGE, SPEED), attempts=tuple(attempts))


@pytest.fixture(scope="module")
def analysis():
    return analyse(campaign())


def test_hours_are_those_of_the_posterior_draws_point_by_point(analysis):
    curve = analysis.time_curve("sample age", REST)
    a, b, k, horizon = 24.0 * curve.x, 1.5, 3, 1344.0
    p = analysis.model.probability_draws({"sample age": curve.x, "speed": np.full(len(curve.x), 90.0)})
    # Far from the horizon T is a / q + b / p in every draw; the curve thins the draws, hence the tolerance.
    hours = analysis.model.weights @ np.minimum(a / (1 - (1 - p) ** k) + b / p, horizon)
    young = curve.x < 2.0
    np.testing.assert_allclose(curve.hours.mean[young], hours[young], rtol=0.12)
    assert (curve.hours.lower <= curve.hours.mean).all()
    assert (curve.hours.mean <= curve.hours.upper).all()
    assert (curve.hours.upper <= horizon * 1.0001).all()
    assert ((curve.chance.mean >= 0) & (curve.chance.mean <= 1)).all()
    assert curve.n == 40


def test_the_best_age_is_the_lowest_point_and_younger_than_the_most_likely_one(analysis):
    curve = analysis.time_curve("Sample  AGE", REST)
    at = int(np.argmin(curve.hours.mean))
    assert curve.best_x == curve.x[at]
    assert curve.best.value == curve.hours.mean[at]
    assert curve.best_chance == curve.chance.mean[at]
    surest = analysis.curve("sample age", REST)
    assert curve.best_x < surest.x[int(np.argmax(surest.mean))]
    low, high = analysis.limits.tried.ranges["sample age"]
    assert list(curve.tried) == [low <= value <= high for value in curve.x]


def test_more_jars_at_once_are_never_slower_and_the_plan_given_counts(analysis):
    one, six = (analysis.time_curve("sample age", REST, replace(EXACT, jars_at_once=k)) for k in (1, 6))
    assert (six.hours.mean <= one.hours.mean + 1e-9).all()
    assert six.plan.jars_at_once == 6
    short = analysis.time_curve("sample age", REST, replace(EXACT, horizon_weeks=1.0))
    assert short.hours.upper.max() <= 168.0 * 1.0001
    assert (short.chance.mean <= one.chance.mean + 1).all()


def test_a_scatter_of_the_age_costs_time_where_the_chance_is_highest(analysis):
    rough = analysis.time_curve("sample age", REST, PlanSettings(control=(("sample age", 400.0),)))
    exact = analysis.time_curve("sample age", REST)
    chances = analysis.model.means({"sample age": exact.x, "speed": np.full(len(exact.x), 90.0)})
    at = int(np.argmax(chances))
    assert rough.hours.mean[at] > exact.hours.mean[at] * 1.02


def test_the_best_age_keeps_to_the_limits():
    limited = analyse(replace(campaign(), factors=(replace(AGE, low=1.0), SPEED)))
    curve = limited.time_curve("sample age", REST)
    assert curve.best_x >= 1.0
    assert curve.x[0] < 1.0


def test_a_superoxide_former_is_refused_and_so_is_what_is_no_age(analysis):
    never = analyse(campaign(material=MaterialClass.SUPEROXIDE_FORMER))
    with pytest.raises(InputError) as caught:
        never.time_curve("sample age", REST)
    assert caught.value.code == "time_curve.never_wait"
    with pytest.raises(InputError) as caught:
        analysis.time_curve("speed", Conditions({"sample age": 1.0}))
    assert caught.value.code == "time_curve.no_age"
    blocked = analyse(campaign(oil_flash_c=None, material=MaterialClass.ALKALI_METAL))
    if blocked.limits.blocked:
        with pytest.raises(InputError):
            blocked.time_curve("sample age", REST)


def test_held_is_the_estimate_where_all_is_exact_and_another_where_not(analysis):
    conditions = Conditions({"sample age": 0.5, "speed": 90.0})
    assert analysis.held(conditions) == analysis.estimate(conditions)
    plan = PlanSettings(control=(("sample age", 300.0),))
    rough = analyse(campaign(plan=plan))
    assert rough.held(conditions).mean < rough.estimate(conditions).mean - 0.02
    assert rough.best().held.mean < rough.best().probability.mean


def test_an_age_that_the_model_does_not_use_has_to_be_waited_for_all_the_same():
    state = campaign()
    same = tuple(
        replace(each, conditions=each.conditions.with_value("sample age", None)) for each in state.attempts
    )
    curve = analyse(replace(state, attempts=same)).time_curve("sample age", REST)
    assert (np.diff(curve.hours.mean) > 0).all()
    assert curve.best_x == curve.x[0]
    assert not curve.tried.any()
