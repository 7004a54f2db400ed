"""What goals count: jars on the shelf, hours and grams in every draw, and the best conditions by a dense search."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import Attempt, Jar, Lot
from stirfall.planning.box import make_box
from stirfall.planning.candidates import candidate_columns, with_ages
from stirfall.planning.goals import Goal
from stirfall.planning.jar_choice import ages_on_the_shelf, choose_jar, waits_on_the_shelf
from stirfall.planning.limits import operating_limits
from stirfall.planning.objectives import Yield, objective_for
from stirfall.planning.recommended import best
from stirfall.planning.soonest import Pace, expected_hours, fresh_start

NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)
AGE = Factor("age", "h", 0.5, 96.0, Scale.LOG, role=Role.SAMPLE_AGE)
OIL = Factor("oil exposure", "d", 0.02, 8.0, Scale.LOG, role=Role.OIL_EXPOSURE)
HEAT = Factor("temperature", "C", 120.0, 200.0, step=1.0)
EXACT = (("age", 0.0), ("temperature", 0.0))


def shelf(make_state, *hours: float, factors=(OIL, HEAT), **settings):
    lots = (Lot("L1", NOW - timedelta(hours=500)), Lot("L2", NOW - timedelta(hours=400)))
    jars = tuple(
        Jar(f"J{n}", "L1" if n % 2 else "L2", NOW - timedelta(hours=age)) for n, age in enumerate(hours, 1)
    )
    return make_state((), factors=factors, jars=jars, lots=lots, **settings)


def yielding(charge_g: float, share: float) -> Yield:
    return Yield(
        charge_g,
        lambda columns: np.full(len(columns["temperature"]), share),
        lambda columns, m: np.full((m, len(columns["temperature"])), share),
    )


def test_waits_agree_with_the_jar_that_is_chosen_one_by_one(make_state):
    # An independent way: ``choose_jar`` goes through the jars with plain numbers.
    state = shelf(make_state, 1.0, 9.0, 9.5, 30.0, 47.0)
    limits = operating_limits(state)
    days = np.geomspace(0.03, 7.5, 60)
    for lot in (None, "L1", "L2"):
        waits = waits_on_the_shelf(limits, {"oil exposure": days}, NOW, lot)
        np.testing.assert_allclose(waits.ageing_h, 24.0 * days)
        for at, wanted in enumerate(days):
            jar_id, wait = choose_jar(state, limits, Conditions({"oil exposure": wanted}), NOW, lot_id=lot)
            assert bool(waits.jars[at] == 0) is (jar_id is None)
            assert waits.first_h[at] == (np.inf if wait is None else pytest.approx(wait, abs=1e-3))


def test_jars_of_nearly_one_age_are_opened_together(make_state):
    state = shelf(make_state, 9.0, 9.5, 10.0, 30.0)
    waits = waits_on_the_shelf(operating_limits(state), {"oil exposure": np.array([10.0, 12.0, 40.0]) / 24.0}, NOW)
    # At 10 h: the third has it now, and 9.5 and 9 h are within a tenth (10 / 1.1 = 9.1) or not. At 12 h: first the
    # third jar after 2 h, when the second has 11.5 h and the first 11 h. At 40 h: the old jar after 10 h alone.
    assert list(waits.jars) == [2, 3, 1]
    np.testing.assert_allclose(waits.first_h, [0.0, 2.0, 10.0], atol=1e-9)


@pytest.mark.parametrize(("changes", "counts"), [({}, 1), ({"contents": "residue"}, 0), ({"look": "yellow"}, 0)])
def test_residue_and_jars_not_to_be_opened_count_for_nothing(make_state, changes, counts):
    state = shelf(make_state, 9.5, material=MaterialClass.ALKALI_METAL)
    state = replace(state, jars=(replace(state.jars[0], **changes),))
    columns = {"oil exposure": np.array([10.0 / 24.0])}
    assert waits_on_the_shelf(operating_limits(state), columns, NOW).jars[0] == counts
    assert waits_on_the_shelf(operating_limits(state), columns, None).jars[0] == 0


def test_nothing_is_waited_for_with_a_superoxide_former(make_state):
    state = shelf(make_state, 0.2, material=MaterialClass.SUPEROXIDE_FORMER)
    limits = operating_limits(state)
    waits = waits_on_the_shelf(limits, {"oil exposure": np.array([5.0])}, NOW)
    assert (waits.ageing_h[0], waits.jars[0]) == (0.0, 0)
    objective = objective_for(Goal.SOONEST, limits, now=NOW)
    worth = objective.utilities(np.full((1, 1), 0.5, np.float32), {"oil exposure": np.array([5.0])})
    hours = 1344.0 * (1.0 - worth)
    assert hours[0, 0] == pytest.approx(1.5 / 0.5, rel=1e-3)  # bench hours alone


def test_the_worth_of_soonest_is_what_is_saved_of_the_horizon(make_state):
    state = shelf(make_state)
    objective = objective_for(Goal.SOONEST, operating_limits(state), now=NOW)
    columns = {"oil exposure": np.array([0.5, 2.0, 4.0]), "temperature": np.full(3, 150.0)}
    clean = np.random.default_rng(2).uniform(0.05, 0.95, (40, 3)).astype(np.float32)
    pace = Pace(1.5, 3, 1344.0, 9.0)
    hours = expected_hours(clean.astype(float), fresh_start(24.0 * columns["oil exposure"], pace), pace)
    np.testing.assert_allclose(objective.utilities(clean, columns), 1 - hours / 1344.0, atol=2e-6)


def test_jars_on_the_shelf_are_used_only_where_that_is_sooner(make_state):
    # One jar will have the age in 39.9 h; three fresh ones have it after 40 h and fail together less often.
    state = shelf(make_state, 0.1)
    limits = operating_limits(state)
    columns = {"oil exposure": np.array([40.0 / 24.0])}
    objective = objective_for(Goal.SOONEST, limits, now=NOW)
    assert objective.wait(columns, np.array([0.3])).first_jars[0] == 3
    near = shelf(make_state, 39.0)
    wait = objective_for(Goal.SOONEST, operating_limits(near), now=NOW).wait(columns, np.array([0.3]))
    assert (wait.first_jars[0], wait.first_h[0]) == (1, pytest.approx(1.0))


def test_grams_a_week_by_hand_and_none_without_a_charge(make_state):
    state = shelf(make_state)
    limits = operating_limits(state)
    columns = {"oil exposure": np.array([6.0]), "temperature": np.array([150.0])}
    clean, weights = np.array([[0.2], [0.6], [0.7]]), np.full(3, 1 / 3)
    known = objective_for(Goal.MOST, limits, grams=yielding(40.0, 0.8))
    figure = known.figure(clean, weights, columns, 0.95)
    assert figure.unit == "g/week"
    a_week = 168 * 3 / (144 + 4.5)
    assert figure.value == pytest.approx(0.5 * 40.0 * 0.8 * a_week)
    assert (figure.lower, figure.upper) == (pytest.approx(0.2 * 32 * a_week), pytest.approx(0.7 * 32 * a_week))
    single = clean.astype(np.float32)
    said = known.amount(float(known.utilities(single, columns).mean()))
    assert said.value == pytest.approx(figure.value, rel=0.05)
    unknown = objective_for(Goal.MOST, limits)
    assert unknown.figure(clean, weights, columns, 0.95) is None
    assert unknown.amount(0.5) is None
    # The order of conditions does not need the grams.
    ratio = unknown.utilities(single, columns) / known.utilities(single, columns)
    np.testing.assert_allclose(ratio, 1 / 0.8, rtol=1e-5)


@pytest.mark.parametrize("goal", [Goal.SOONEST, Goal.MOST])
def test_best_for_a_goal_is_what_a_dense_search_finds(make_state, fit, goal):
    plan = PlanSettings(control=EXACT, jars_at_once=2, attempt_h=1.0, evening_h=20.0)
    state = make_state(60, factors=(AGE, HEAT), plan=plan)
    model, limits = fit(state), operating_limits(state)
    grams = yielding(30.0, 0.9) if goal is Goal.MOST else None
    found = best(model, limits, state, goal=goal, grams=grams)
    assert limits.allows(found.conditions)
    low, high = limits.ranges["temperature"]
    ages, heats = (grid.ravel() for grid in np.meshgrid(np.geomspace(0.5, 96.0, 60), np.linspace(low, high, 10)))
    draws = model.probability_draws({"age": ages, "temperature": heats})
    a, b, k, horizon = ages, 1.0, 2, 1344.0
    if goal is Goal.SOONEST:
        rounds = horizon / (a + k * b)
        hours = model.weights @ ((1 - (1 - draws) ** (k * rounds)) * (a / (1 - (1 - draws) ** k) + b / draws))
        assert found.figure.unit == "h"
        assert found.figure.value <= hours.min() * 1.03
        assert found.figure.lower <= found.figure.value <= found.figure.upper
    else:
        weekly = model.weights @ draws * 27.0 * np.minimum(168 * k / (a + k * b), 60.0)
        assert found.figure.value >= weekly.max() * 0.97
    assert found.goal is goal
    plain = best(model, limits, state)
    assert plain.figure is None
    assert plain.conditions["age"] > found.conditions["age"]


def test_learning_recommends_what_reliability_does(make_state, fit):
    state = make_state(30)
    model, limits = fit(state), operating_limits(state)
    assert best(model, limits, state, goal="learn").conditions == best(model, limits, state).conditions


def test_the_soonest_batch_may_come_from_a_jar_that_is_due_now(make_state, fit):
    # Age hardly matters to the chance, so that three jars that can be opened now beat every fresh start; one would
    # not, for where it fails the next ones need 31 h.
    state = shelf(
        make_state, 31.0, 31.0, 31.0, factors=(OIL, HEAT), plan=PlanSettings(control=(("temperature", 0.0),))
    )
    rng = np.random.default_rng(4)
    attempts = tuple(
        Attempt(
            f"a{number}",
            number,
            Conditions({"oil exposure": float(np.exp(rng.uniform(-2, 1.5))), "temperature": 150.0 + number % 15}),
            successes=int(number % 4 != 0),
        )
        for number in range(1, 41)
    )
    state = replace(state, attempts=attempts, settings=replace(state.settings, gates=1))
    model, limits = fit(state), operating_limits(state)
    late = best(model, limits, state, goal="soonest", now=NOW)
    assert 31.0 / 1.11 <= 24.0 * late.conditions["oil exposure"] <= 31.0 * 1.11
    assert late.figure.value < 8.0
    lone = replace(state, jars=state.jars[:1])
    without = best(model, operating_limits(lone), lone, goal="soonest", now=NOW)
    assert without.conditions["oil exposure"] < 0.2


def test_candidates_at_the_ages_of_jars_keep_to_steps_and_limits(make_state):
    state = shelf(make_state, 31.0, 10.0, 400.0)
    limits = operating_limits(state)
    ages = ages_on_the_shelf(limits, NOW)
    assert [round(24.0 * each["oil exposure"], 6) for each in ages] == [31.0, 10.0]  # 400 h are beyond 8 days
    assert ages_on_the_shelf(limits, NOW, "L2") == [{"oil exposure": pytest.approx(10.0 / 24.0)}]
    assert ages_on_the_shelf(limits, None) == []
    box = make_box(limits, ["oil exposure", "temperature"])
    columns = candidate_columns(box, [], count=64, seed=0)
    more = with_ages(box, columns, ages)
    added = {name: column[len(columns[name]) :] for name, column in more.items()}
    assert len(added["temperature"]) > 20
    assert set(np.round(24.0 * added["oil exposure"])) == {31.0, 10.0}
    assert all(limits.allows(box.conditions(more, row)) for row in range(len(more["temperature"])))


def test_where_only_a_film_index_stands_for_the_age_no_hours_and_no_grams_are_promised(make_state):
    film = Factor("film index", "mmol/m²", 0.5, 40.0, Scale.LOG, role=Role.FILM_INDEX)
    columns = {"film index": np.array([5.0]), "temperature": np.array([150.0]), "age": np.array([8.0])}
    clean, weights = np.array([[0.4], [0.6]]), np.full(2, 0.5)
    for factors, is_known in (((film, HEAT), False), ((film, AGE, HEAT), True), ((HEAT,), True)):
        limits = operating_limits(make_state(0, factors=factors))
        for goal in (Goal.SOONEST, Goal.MOST):
            objective = objective_for(goal, limits, grams=yielding(30.0, 0.8))
            assert (objective.figure(clean, weights, columns, 0.95) is not None) is is_known
            assert (objective.amount(0.5) is not None) is is_known
