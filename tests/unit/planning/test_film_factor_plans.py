"""Suggestions beside a film index: it follows from the ages, stays in its range, and is never moved by itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Jar, Lot
from stirfall.inference.odds import fit_odds
from stirfall.inference.table import build_table
from stirfall.planning.goals import Goal
from stirfall.planning.jar_choice import choose_jar
from stirfall.planning.limits import operating_limits
from stirfall.planning.next_attempts import best, box_for, suggest
from stirfall.reporting.sentences import error_sentence

NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)
AGE = Factor("age", "h", 0.5, 96.0, Scale.LOG)
HEAT = Factor("temperature", "C", 120.0, 200.0, step=1.0)
FILM = Factor("film index", "", 1.0, 50.0, Scale.LOG)


@dataclass(frozen=True)
class RootOfAge:
    """An index of twice the square root of the age in hours: 1.4 to 19.6 over the range of the age."""

    name: str = "film index"
    factors: tuple[Factor, ...] = (AGE,)
    at_one_hour: float = 2.0

    def __call__(self, columns):
        return self.at_one_hour * np.sqrt(columns["age"])


RULE = RootOfAge()


def with_films(state, rule=RULE):
    """Give every attempt the index of its age, half as much again for every other one."""
    rows = [
        replace(
            attempt,
            conditions=attempt.conditions.with_value(
                "film index",
                float(rule({"age": np.array(attempt.conditions.number("age"))})) * (1.0, 1.5)[attempt.number % 2],
            ),
        )
        for attempt in state.attempts
    ]
    return replace(state, attempts=tuple(rows))


def fitted(state, filler=RULE):
    design, table = build_table(state, filler=filler)
    return fit_odds(table, design, state.settings)


@pytest.mark.parametrize("goal", [Goal.LEARN, Goal.RELIABLE])
@pytest.mark.parametrize("attempts", [0, 3, 25])
def test_a_suggested_film_index_is_that_of_the_suggested_age(make_state, goal, attempts):
    state = with_films(make_state(attempts, (AGE, HEAT, FILM)))
    limits = operating_limits(state)
    made = suggest(fitted(state), limits, state, count=4, goal=goal, now=NOW)
    assert len(made) == 4
    for each in made:
        age = each.conditions.number("age")
        assert each.conditions.number("film index") == pytest.approx(2.0 * np.sqrt(age), rel=6e-3)
        assert limits.allows(each.conditions)
        # Three digits, so that nothing looks more exact than it is.
        assert f"{each.conditions.number('film index'):.3g}" == f"{each.conditions.number('film index'):g}"
    # What is worth most need not differ in age: after three attempts it is the same far age, with other heat.
    assert goal is Goal.RELIABLE or len({each.conditions.number("age") for each in made}) > 1


def test_the_chance_of_a_suggestion_is_that_of_its_conditions(make_state):
    state = with_films(make_state(25, (AGE, HEAT, FILM)))
    model = fitted(state)
    for each in suggest(model, operating_limits(state), state, count=3, goal="reliable"):
        columns = model.design.columns([each.conditions.with_value("film index", None)])
        assert model.estimate(columns).mean == pytest.approx(each.probability.mean, abs=2e-3)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    low=st.floats(0.3, 12.0), span=st.floats(1.3, 8.0), attempts=st.sampled_from([0, 8, 20]), seed=st.integers(0, 5)
)
def test_no_suggestion_leaves_the_range_of_the_film_index(make_state, low, span, attempts, seed):
    film = Factor("film index", "", low, low * span, Scale.LOG)
    state = with_films(make_state(attempts, (AGE, HEAT, film)))
    limits, model = operating_limits(state), fitted(state)
    reachable = low <= 2.0 * np.sqrt(96.0) and low * span >= 2.0 * np.sqrt(0.5)
    made = suggest(model, limits, state, count=3, goal="reliable", seed=seed)
    for each in made:
        assert low <= each.conditions.number("film index") <= low * span
    if made:
        assert reachable
        assert low <= best(model, limits, state, seed=seed).conditions.number("film index") <= low * span


def test_an_index_that_no_age_gives_is_said_and_nothing_is_suggested(make_state):
    film = Factor("film index", "", 100.0, 500.0, Scale.LOG)
    for attempts in (0, 12):
        state = with_films(make_state(attempts, (AGE, HEAT, film)))
        limits, model = operating_limits(state), fitted(state)
        assert suggest(model, limits, state, count=3) == ()
        with pytest.raises(InputError) as error:
            best(model, limits, state)
        assert error.value.code == "plan.film_out_of_reach"
        assert "100" in error_sentence(error.value)


def test_usual_values_outside_the_range_give_way_to_the_nearest_inside(make_state):
    # The middle age, about 7 h, has an index of 5.3.
    film = Factor("film index", "", 8.0, 50.0, Scale.LOG)
    state = make_state(0, (AGE, HEAT, film))
    chosen = best(fitted(state), operating_limits(state), state).conditions
    assert chosen.number("film index") == pytest.approx(8.0, rel=0.25)
    assert chosen.number("film index") >= 8.0


@pytest.mark.parametrize("attempts", [0, 4, 20])
def test_a_superoxide_former_is_never_given_a_film_index_or_an_age_above_the_lowest(make_state, attempts):
    low_film = Factor("film index", "", 0.5, 50.0, Scale.LOG)
    for film in (FILM, low_film):
        state = with_films(make_state(attempts, (AGE, HEAT, film), material=MaterialClass.SUPEROXIDE_FORMER))
        limits, model = operating_limits(state), fitted(state)
        assert limits.ranges["film index"] == (film.low, film.low)
        chosen = [best(model, limits, state)]
        for goal in ("learn", "reliable"):
            made = suggest(model, limits, state, count=4, goal=goal, now=NOW)
            assert made
            chosen += made
        for each in chosen:
            assert each.conditions.number("age") == AGE.low
            assert each.conditions.number("film index") in (None, film.low)
            assert (each.jar_id, each.wait_h) == (None, None)


def test_a_film_index_of_which_nothing_is_known_is_not_suggested(make_state):
    for attempts in (0, 15):
        state = make_state(attempts, (AGE, HEAT, FILM))
        design, table = build_table(state, without=("film index",))
        model = fit_odds(table, design, state.settings)
        limits = operating_limits(state)
        for each in (*suggest(model, limits, state, count=3), best(model, limits, state)):
            assert set(each.conditions) == {"age", "temperature"}


def test_without_an_age_the_film_index_is_free(make_state):
    state = with_films(make_state(20))
    state = replace(state, factors=(HEAT, FILM))
    model, limits = fitted(state, None), operating_limits(state)
    made = suggest(model, limits, state, count=4, goal="learn")
    assert len({each.conditions.number("film index") for each in made}) > 1
    assert all(FILM.holds(each.conditions["film index"]) for each in made)


def test_a_free_film_index_finds_the_jar_that_reaches_it_soonest(make_state):
    jars = tuple(Jar(name, "L1", NOW - timedelta(hours=h)) for name, h in (("J1", 1.0), ("J2", 9.0), ("J3", 4.0)))
    state = replace(make_state(0, (HEAT, FILM), jars=jars, lots=(Lot("L1"),)))
    limits = operating_limits(state)

    def film_wait(jar, factor, wanted, now):
        assert factor is FILM
        hours = (wanted / 2.0) ** 2 - (now - jar.started_at) / timedelta(hours=1)
        return hours if hours >= 0 else None

    wanted = Conditions({"film index": 5.0, "temperature": 150.0})  # reached after 6.25 h
    assert choose_jar(state, limits, wanted, NOW, film_wait) == ("J3", pytest.approx(2.25))
    assert choose_jar(state, limits, wanted, NOW) == (None, None)
    assert choose_jar(state, limits, wanted, None, film_wait) == (None, None)
    at_risk = replace(state, settings=replace(state.settings, material=MaterialClass.SUPEROXIDE_FORMER))
    assert choose_jar(at_risk, operating_limits(at_risk), wanted, NOW, film_wait) == (None, None)


def test_where_an_age_is_named_the_jar_is_chosen_by_the_age(make_state):
    jars = (Jar("J1", "L1", NOW - timedelta(hours=3)),)
    lots = (Lot("L1", NOW - timedelta(hours=3)),)
    state = make_state(0, (AGE, HEAT, FILM), jars=jars, lots=lots)
    wanted = Conditions({"age": 12.0, "film index": 7.0})
    found = choose_jar(state, operating_limits(state), wanted, NOW, lambda *_: 0.0)
    assert found == ("J1", pytest.approx(9.0))


def test_residue_is_no_jar_to_wait_for(make_state):
    jars = (Jar("J1", "L1", NOW - timedelta(hours=3), contents="residue"),)
    lots = (Lot("L1", NOW - timedelta(hours=3)),)
    state = make_state(0, (AGE, HEAT), jars=jars, lots=lots)
    assert choose_jar(state, operating_limits(state), Conditions({"age": 3.0}), NOW) == (None, None)


def test_the_box_moves_ages_and_not_the_film_index(make_state):
    state = with_films(make_state(10, (AGE, HEAT, FILM)))
    for goal in Goal:
        box = box_for(fitted(state), operating_limits(state), goal)
        assert [factor.name for factor in box.varied] == ["age", "temperature"]
        columns = box.decode(np.random.default_rng(1).random((50, 2)))
        assert columns["film index"] == pytest.approx(2.0 * np.sqrt(columns["age"]), rel=6e-3)
