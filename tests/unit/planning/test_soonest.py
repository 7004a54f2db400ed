"""The time to the first clean batch and the grams a week: limits, exact sums, and rounds played by chance."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from stirfall.bench.plans import PlanSettings
from stirfall.planning.soonest import (
    Pace,
    Wait,
    attempts_a_week,
    chance_in_time,
    expected_hours,
    fresh_start,
    grams_a_week,
    pace_of,
)

LONG = Pace(attempt_h=1.5, jars_at_once=3, horizon_h=1e7, hours_a_week=9.0)
P = np.array([0.03, 0.2, 0.5, 0.85, 0.99])


def at(*values: float) -> np.ndarray:
    return np.array(values, dtype=float)


def shelf_wait(fresh: float, first: float, jars: float) -> Wait:
    return Wait(at(fresh), at(first), at(jars))


def test_pace_comes_from_the_settings():
    plan = PlanSettings(attempt_h=2.0, jars_at_once=4, horizon_weeks=6.0, evening_h=2.5, bench_days=(1, 3))
    assert pace_of(plan) == Pace(2.0, 4, 1008.0, 5.0)


@pytest.mark.parametrize(
    "wait", [fresh_start(at(24.0), LONG), shelf_wait(24.0, 5.0, 2.0), shelf_wait(0.0, 0.0, 3.0)]
)
@pytest.mark.parametrize("horizon", [10.0, 77.0, 1344.0])
def test_hopeless_conditions_take_the_horizon_and_sure_ones_the_wait_and_one_attempt(wait, horizon):
    pace = Pace(1.5, 3, horizon, 9.0)
    none, sure = expected_hours(at(0.0, 1.0), wait, pace)
    assert none == pytest.approx(horizon, rel=1e-4)
    first = float(wait.first_h[0])
    assert sure == pytest.approx(min(first + 1.5, horizon), rel=1e-5)


def test_without_a_horizon_it_is_the_sum_of_geometric_series():
    q = 1 - (1 - P) ** 3
    np.testing.assert_allclose(expected_hours(P, fresh_start(at(24.0), LONG), LONG), 24 / q + 1.5 / P, rtol=1e-6)
    # Two jars reach the age in 5 h: w + (1 - p)^k a / q + b / p.
    found = expected_hours(P, shelf_wait(24.0, 5.0, 2.0), LONG)
    np.testing.assert_allclose(found, 5 + (1 - P) ** 2 * 24 / q + 1.5 / P, rtol=1e-6)


def test_one_jar_at_a_time_is_the_plain_geometric_law():
    pace = Pace(1.5, 1, 1e7, 9.0)
    np.testing.assert_allclose(expected_hours(P, fresh_start(at(24.0), pace), pace), 25.5 / P, rtol=1e-6)


@pytest.mark.parametrize("rounds", [1, 2, 7])
def test_where_whole_rounds_fill_the_horizon_the_short_formula_holds(rounds):
    age, b, k = 30.0, 1.5, 3
    pace = Pace(b, k, rounds * (age + k * b), 9.0)
    short = (1 - (1 - P) ** (k * rounds)) * (age / (1 - (1 - P) ** k) + b / P)
    np.testing.assert_allclose(expected_hours(P, fresh_start(at(age), pace), pace), short, rtol=1e-6)


def test_a_short_horizon_agrees_with_all_outcomes_written_out():
    # Horizon 40 h, two jars after 3 h, then fresh ones after 10 h each, 2 h a try: at most 2 + 2 + 2 tries end by
    # then (at 5, 7, 19, 21, 33, 35 h; a third fresh round would open at 45 h).
    ends, p = (5.0, 7.0, 19.0, 21.0, 33.0, 35.0), 0.3
    exact = 0.0
    for outcome in itertools.product((0, 1), repeat=6):
        chance = np.prod([p if each else 1 - p for each in outcome])
        first = next((end for end, each in zip(ends, outcome, strict=True) if each), 40.0)
        exact += chance * first
    pace = Pace(2.0, 2, 40.0, 9.0)
    wait = shelf_wait(10.0, 3.0, 2.0)
    assert expected_hours(at(p), wait, pace)[0] == pytest.approx(exact, rel=1e-9)
    assert chance_in_time(at(p), wait, pace)[0] == pytest.approx(1 - (1 - p) ** 6, rel=1e-9)


def played(p: float, wait: Wait, pace: Pace, seed: int, count: int = 20_000) -> np.ndarray:
    """Times to the first clean batch, cut at the horizon, of rounds played by chance."""
    rng = np.random.default_rng(seed)
    tries = rng.geometric(p, count)
    times = np.empty(count)
    for place, number in enumerate(tries):
        k = int(wait.first_jars[0])
        rounds = 0 if number <= k else -(-(number - k) // pace.jars_at_once)
        times[place] = wait.first_h[0] + rounds * wait.fresh_h[0] + number * pace.attempt_h
    return np.minimum(times, pace.horizon_h)


@pytest.mark.parametrize(
    ("p", "fresh", "first", "jars", "k"),
    [(0.3, 24.0, 24.0, 3, 3), (0.1, 200.0, 10.0, 2, 3), (0.06, 50.0, 50.0, 1, 1)],
)
def test_rounds_played_by_chance_take_as_long(p, fresh, first, jars, k):
    pace = Pace(1.5, k, 1344.0, 9.0)
    wait = shelf_wait(fresh, first, float(jars))
    times = played(p, wait, pace, seed=5)
    error = times.std() / np.sqrt(len(times))
    assert expected_hours(at(p), wait, pace)[0] == pytest.approx(times.mean(), abs=4 * error)
    in_time = (times < 1344.0).mean()
    assert chance_in_time(at(p), wait, pace)[0] == pytest.approx(in_time, abs=4 * np.sqrt(0.25 / len(times)))


def test_more_chance_more_jars_and_younger_ages_are_never_slower():
    p = np.linspace(0.0, 1.0, 201)
    pace = Pace(1.5, 3, 500.0, 9.0)
    assert (np.diff(expected_hours(p, fresh_start(at(48.0), pace), pace)) <= 1e-6).all()
    ages = np.linspace(0.0, 600.0, 301)
    hours = expected_hours(np.full(301, 0.4), fresh_start(ages, pace), pace)
    assert (np.diff(hours) >= -1e-6).all()
    many = Pace(1.5, 6, 500.0, 9.0)
    few_jars = expected_hours(p, fresh_start(at(48.0), pace), pace)
    assert (expected_hours(p, fresh_start(at(48.0), many), many) <= few_jars + 1e-4).all()


def test_single_precision_draws_give_the_same_hours():
    wait = fresh_start(at(24.0), LONG)
    single = expected_hours(P.astype(np.float32), wait, LONG)
    assert single.dtype == np.float32
    np.testing.assert_allclose(single, expected_hours(P, wait, LONG), rtol=2e-5)


def test_grams_a_week_are_limited_by_ageing_or_by_the_bench():
    pace = Pace(1.5, 3, 1344.0, 9.0)
    # Fresh metal: the bench allows 9 / 1.5 = 6 attempts. At 6 days: 168 x 3 / (144 + 4.5).
    np.testing.assert_allclose(attempts_a_week(at(0.0, 144.0), pace), [6.0, 504.0 / 148.5])
    assert grams_a_week(at(0.5), at(20.0), at(144.0), pace)[0] == pytest.approx(10.0 * 504.0 / 148.5)
