"""The searchable box: steps, scales, plain rules between factors, and searching inside it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Attempt
from stirfall.planning.box import make_box, snap_inside
from stirfall.planning.candidates import candidate_columns, climb, known_columns, spread_points, take
from stirfall.planning.first_design import distances, spread_out
from stirfall.planning.limits import operating_limits


def boxed(state):
    return make_box(operating_limits(state), [factor.name for factor in state.visible_factors])


def snapped(factor: Factor, value: float, low: float, high: float) -> float:
    return float(snap_inside(factor, np.array([value]), low, high)[0])


@pytest.mark.parametrize(
    ("step", "value", "low", "high", "expected"),
    [
        (5.0, 147.4, 140.0, 170.0, 145.0),
        (5.0, 141.0, 141.2, 170.0, 145.0),  # the nearest step lies below: the next one inside
        (5.0, 169.9, 141.2, 168.0, 165.0),
        (7.0, 142.0, 141.0, 146.0, 141.0),  # no step fits inside: the exact bound
        (7.0, 145.9, 141.0, 146.0, 146.0),
        (0.1, 0.3, 0.0, 1.0, 0.3),
        (1000.0, 3.0, 1.0, 5.0, 1.0),
    ],
)
def test_steps_never_leave_the_limits(step, value, low, high, expected):
    assert snapped(Factor("x", "mm", 0.0, 500.0, step=step), value, low, high) == expected


@given(
    low=st.floats(0.001, 1000),
    width=st.floats(1e-6, 1000),
    share=st.floats(0, 1),
    step=st.none() | st.floats(1e-3, 100),
    scale=st.sampled_from(list(Scale)),
)
def test_snapped_values_lie_inside_and_on_a_step_where_one_fits(low, width, share, step, scale):
    high = low + width
    factor = Factor("x", "mm", low, high, scale, step)
    value = snapped(factor, low + share * width, low, high)
    assert low <= value <= high
    if step is not None and math.ceil(low / step + 1e-6) * step <= high - 1e-6:
        assert value / step == pytest.approx(round(value / step), abs=1e-5)
    if step is None:
        assert abs(value - (low + share * width)) <= max(0.1 * value, 0.1 * width)


@pytest.mark.parametrize(
    ("low", "high", "scale"),
    [
        (1e-14, 1e-6, Scale.LOG),
        (2e-15, 9e-15, Scale.LINEAR),
        (5e-324, 1.0, Scale.LOG),
        (0.0, 5e-324, Scale.LINEAR),
        (1.0, 1.7e308, Scale.LOG),
        (-1e308, 1e307, Scale.LINEAR),
    ],
)
def test_ranges_of_any_size_are_divided_without_losing_them(low, high, scale):
    share = np.linspace(0.0, 1.0, 200)
    spread = np.geomspace(max(low, 1e-300), high, 200) if scale is Scale.LOG else low + share * (high - low)
    found = snap_inside(Factor("x", "", low, high, scale), np.clip(spread, low, high), low, high)
    assert (low <= found).all()
    assert (found <= high).all()
    assert len(np.unique(found)) >= 20 or high == 5e-324
    if scale is Scale.LOG and high < 1.0:
        np.testing.assert_allclose(found, spread, rtol=0.051)


def test_rounded_values_are_the_decimals_that_people_type():
    factor = Factor("age", "h", 0.05, 3.0, Scale.LOG)
    assert set(snap_inside(factor, np.array([0.0702, 0.30000001, 1.1000001]), 0.05, 3.0)) == {0.07, 0.3, 1.1}


def test_narrow_range_without_a_step_keeps_distinct_values():
    kelvin = Factor("bath", "K", 416.0, 443.0)
    found = np.unique(snap_inside(kelvin, np.linspace(416.0, 443.0, 500), 416.0, 443.0))
    assert len(found) >= 20


def test_log_factor_without_a_step_has_two_digits():
    age = Factor("age", "h", 0.5, 96.0, Scale.LOG)
    assert snapped(age, 1.2345, 0.5, 96.0) == 1.2
    assert snapped(age, 37.77, 0.5, 96.0) == 38.0


def test_sobol_points_repeat_with_the_seed_and_fill_every_half():
    first, again, other = spread_points(4, 64, 3), spread_points(4, 64, 3), spread_points(4, 64, 4)
    np.testing.assert_array_equal(first, again)
    assert not np.array_equal(first, other)
    # A property of Sobol points, scrambled or not: each half of each axis holds exactly half of 2^k points.
    assert ((first < 0.5).sum(axis=0) == 32).all()


def test_decoded_points_follow_the_scale_of_the_factor(make_state):
    box = boxed(make_state(0))
    columns = box.decode(spread_points(len(box.varied), 256, 0))
    # Half of a log range lies below its geometric mean.
    assert np.median(columns["age"]) == pytest.approx(math.sqrt(0.5 * 96.0), rel=0.15)
    assert np.median(columns["temperature"]) == pytest.approx((143.0 + 170.0) / 2, abs=2.0)
    assert set(columns["additive"]) == {0.0, 1.0}


def test_candidates_are_distinct_allowed_and_hold_what_was_tried(make_state):
    state = make_state(12)
    box = boxed(state)
    columns = candidate_columns(box, [attempt.conditions for attempt in state.attempts], count=256, seed=1)
    rows = [box.conditions(columns, index) for index in range(len(columns["age"]))]
    assert len(set(rows)) == len(rows) > 256
    assert all(box.limits.allows(row) for row in rows)
    assert {attempt.conditions for attempt in state.attempts} <= set(rows)


def test_tried_conditions_outside_the_limits_are_no_candidates(make_state):
    hot = make_state(4).attempts[0]
    hot = replace(hot, conditions=hot.conditions.with_value("temperature", 199.0))
    state = make_state((hot,))
    columns = candidate_columns(boxed(state), [hot.conditions], count=64, seed=1)
    assert columns["temperature"].max() <= 170.0


AGE = Factor("sample age", "d", 0.1, 10.0, Scale.LOG, role=Role.SAMPLE_AGE)
OIL = Factor("oil exposure", "h", 1.0, 240.0, Scale.LOG, role=Role.OIL_EXPOSURE)


def test_oil_exposure_is_never_longer_than_the_age(make_state):
    columns = candidate_columns(boxed(make_state(0, factors=(AGE, OIL))), (), count=256, seed=0)
    assert (columns["oil exposure"] <= np.maximum(columns["sample age"] * 24.0, 1.0) + 1e-9).all()
    assert columns["oil exposure"].max() > 100.0


def test_records_with_a_longer_exposure_lift_that_rule(make_state):
    odd = Attempt("a1", 1, Conditions({"sample age": 1.0, "oil exposure": 200.0}), parted=Parted.NO)
    box = boxed(make_state((odd,), factors=(AGE, OIL)))
    columns = candidate_columns(box, (), count=256, seed=0)
    assert (columns["oil exposure"] > columns["sample age"] * 24.0).any()


def test_first_design_is_spread_wider_than_random_points(make_state):
    box = boxed(make_state(0))
    known = known_columns(box, ())
    chosen = [columns for columns, _ in spread_out(box, known, count=8, seed=0)]
    points = np.vstack([box.encode(columns) for columns in chosen])

    def nearest(rows: np.ndarray) -> float:
        apart = distances(box, rows, rows) + 9.0 * np.eye(len(rows))
        return float(apart.min())

    rng = np.random.default_rng(0)
    pool = box.encode(candidate_columns(box, (), count=256, seed=3))
    at_random = [nearest(pool[rng.choice(len(pool), 8, replace=False)]) for _ in range(200)]
    assert nearest(points) > np.quantile(at_random, 0.99)


def test_distances_leave_unknown_values_out(make_state):
    box = boxed(make_state(0))
    whole = np.array([[0.1, 0.2, 0.3, 0.25, 0.5]])
    partly = np.array([[0.4, np.nan, 0.7, 0.75, 0.5]])
    # By hand: 0.3 and 0.4 in two numbers, 0.7 for the other level of the choice, nothing for the unknown one.
    assert distances(box, whole, partly)[0, 0] == pytest.approx(math.sqrt(0.3**2 + 0.4**2 + 0.7**2))


def test_climbing_finds_a_known_top_and_never_gets_worse(make_state):
    box = boxed(make_state(0))

    def score(columns):
        hill = -((np.log(columns["age"] / 7.0)) ** 2) - ((columns["temperature"] - 152.0) / 10.0) ** 2
        return hill + columns["additive"] - ((columns["dose"] - 12.0) / 8.0) ** 2

    start = candidate_columns(box, (), count=16, seed=0)
    before = float(score(take(start, [0]))[0])
    found, height = climb(box, take(start, [0]), score, rounds=8)
    assert height > before
    assert height == pytest.approx(float(score(found)[0]))
    assert height > 1.0 - 0.02  # the top of the hill is 1
