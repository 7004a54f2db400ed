from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale, guess_role, standard_factors

ranges = st.tuples(
    st.floats(min_value=1e-3, max_value=1e3), st.floats(min_value=1.01, max_value=1e3), st.sampled_from(list(Scale))
)


def _factor(parts: tuple[float, float, Scale], step: float | None = None) -> Factor:
    low, ratio, scale = parts
    return Factor("x", "g", low, low * ratio, scale, step)


@given(ranges, st.floats(min_value=-1.0, max_value=1.0))
def test_the_unit_interval_map_inverts(parts: tuple[float, float, Scale], position: float) -> None:
    factor = _factor(parts)
    value = factor.from_unit_interval(position)
    low, high = factor.bounds
    assert low * (1 - 1e-12) <= value <= high * (1 + 1e-12)
    assert factor.to_unit_interval(value) == pytest.approx(position, abs=1e-6)


@given(ranges)
def test_the_ends_of_the_range_are_minus_one_and_one(parts: tuple[float, float, Scale]) -> None:
    factor = _factor(parts)
    low, high = factor.bounds
    assert factor.to_unit_interval(low) == pytest.approx(-1.0)
    assert factor.to_unit_interval(high) == pytest.approx(1.0)


@given(ranges, st.floats(min_value=-1e4, max_value=1e6), st.floats(min_value=1e-3, max_value=100.0))
def test_snapping_stays_inside_and_settles(parts: tuple[float, float, Scale], value: float, step: float) -> None:
    factor = _factor(parts, step)
    low, high = factor.bounds
    snapped = factor.snap(value)
    assert low <= snapped <= high
    assert factor.snap(snapped) == pytest.approx(snapped, rel=1e-9)


def test_a_value_snaps_to_the_nearest_step_inside_the_range() -> None:
    factor = Factor("temperature", "C", 143.0, 171.0, step=5.0)
    assert factor.snap(156.0) == 155.0
    assert factor.snap(100.0) == 145.0
    assert factor.snap(400.0) == 170.0


def test_the_middle_of_a_log_range_is_its_geometric_mean() -> None:
    assert Factor("age", "h", 1.0, 100.0, Scale.LOG).middle == 10.0
    assert Factor("age", "h", 1.0, 100.0, Scale.LOG, default=24.0).middle == 24.0
    assert Factor("action", levels=("swirl", "press")).middle == "swirl"


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ({"name": "  ", "low": 0, "high": 1}, "factor.unnamed"),
        ({"name": "x"}, "factor.no_range"),
        ({"name": "x", "low": 1, "high": 1}, "factor.range_reversed"),
        ({"name": "x", "low": 2, "high": 1}, "factor.range_reversed"),
        ({"name": "x", "low": 0, "high": math.inf}, "factor.range_reversed"),
        ({"name": "x", "low": math.nan, "high": 1}, "factor.range_reversed"),
        ({"name": "x", "low": 0, "high": 1, "scale": "log"}, "factor.log_needs_positive"),
        ({"name": "x", "low": 0, "high": 1, "step": 0}, "factor.step_not_positive"),
        ({"name": "x", "levels": ("a", "a")}, "factor.levels_repeat"),
        ({"name": "x", "levels": ("a", "b"), "default": "c"}, "factor.default_not_a_level"),
        ({"name": "x", "low": 1, "high": 2, "default": "c"}, "factor.default_not_a_number"),
        ({"name": "x", "low": "a", "high": 2}, "factor.no_range"),
        ({"name": "x", "low": 1, "high": 2, "scale": "sqrt"}, "factor.scale_unknown"),
        ({"name": "x", "low": 1, "high": 2, "role": "hero"}, "factor.role_unknown"),
    ],
)
def test_a_factor_that_contradicts_itself_is_refused(arguments: dict[str, object], code: str) -> None:
    with pytest.raises(InputError) as caught:
        Factor(**arguments)  # type: ignore[arg-type]
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("name", "unit", "role"),
    [
        ("sample age", "h", Role.SAMPLE_AGE),
        ("days in the jar", "d", Role.SAMPLE_AGE),
        ("oil exposure time", "h", Role.OIL_EXPOSURE),
        ("hot time before stirring", "min", Role.HOT_TIME),
        ("stirring time", "s", Role.GENERAL),
        ("settling", "min", Role.GENERAL),
        ("bath", "F", Role.TEMPERATURE),
        ("additive dose", "mg/g", Role.DOSE),
        ("aged", "", Role.SAMPLE_AGE),
        ("oil depth", "mm", Role.GENERAL),
        ("storage", "", Role.GENERAL),
        ("months since made", "months", Role.SAMPLE_AGE),
        ("days in the jar", "", Role.SAMPLE_AGE),
        ("oil exposure (days)", "", Role.OIL_EXPOSURE),
        ("hot time before stirring", "", Role.HOT_TIME),
        ("stirring time", "", Role.GENERAL),
        ("oil type", "", Role.GENERAL),
        ("hot plate", "", Role.GENERAL),
    ],
)
def test_the_role_is_guessed_on_the_safe_side(name: str, unit: str, role: Role) -> None:
    assert guess_role(name, unit) is role


def test_the_standard_factors_are_those_of_the_form() -> None:
    factors = standard_factors()
    assert [factor.name for factor in factors] == [
        "sample age",
        "oil exposure time",
        "hot time before stirring",
        "temperature",
        "stirring speed",
        "stirring time",
        "stirring action",
        "additive",
        "additive dose",
    ]
    assert all(factor.holds(factor.middle) for factor in factors)
    assert [factor.name for factor in factors if factor.role and factor.role.is_exposure] == [
        "sample age",
        "oil exposure time",
        "hot time before stirring",
    ]


def test_a_number_holds_its_range_and_a_choice_its_levels() -> None:
    number, choice = Factor("x", "g", 1.0, 2.0), Factor("y", levels=("a", "b"))
    assert number.holds(1.5)
    assert not number.holds(2.5)
    assert not number.holds("a")
    assert choice.holds("a")
    assert not choice.holds("c")
    with pytest.raises(InputError):
        _ = choice.bounds


def test_a_log_factor_refuses_a_value_at_zero() -> None:
    with pytest.raises(InputError) as caught:
        Factor("age", "h", 1.0, 10.0, Scale.LOG).to_unit_interval(0.0)
    assert caught.value.code == "value.log_needs_positive"


values = st.dictionaries(
    st.text(min_size=1, max_size=5), st.floats(allow_nan=False) | st.text(max_size=5), max_size=5
)


@given(values)
def test_conditions_are_equal_and_hash_alike_in_any_order(mapping: dict[str, float | str]) -> None:
    forward, backward = Conditions(mapping), Conditions(list(reversed(mapping.items())))
    assert forward == backward
    assert hash(forward) == hash(backward)
    assert forward == mapping


@given(values, st.text(min_size=1, max_size=5))
def test_changing_one_value_leaves_the_others_and_the_original(mapping: dict[str, float | str], name: str) -> None:
    before = Conditions(mapping)
    assume(name not in mapping)
    after = before.with_value(name, 3.0)
    assert name not in before
    assert dict(after) == {**mapping, name: 3.0}
    assert after.with_value(name, None) == before


def test_conditions_tell_numbers_from_levels() -> None:
    conditions = Conditions({"age": 24, "action": "swirl"})
    assert conditions["age"] == 24.0
    assert isinstance(conditions["age"], float)
    assert conditions.number("age") == 24.0
    assert conditions.number("action") is None
    assert conditions.number("dose") is None
