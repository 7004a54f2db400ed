"""The plus and minus buttons: round steps, never outside the range, always somewhere new."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, Scale, standard_factors
from stirfall.desktop.bench_form.stepping import linear_step_size, step_value

AGE = Factor("sample age", "h", 0.5, 240.0, Scale.LOG)
TEMPERATURE = Factor("temperature", "C", 80.0, 180.0, step=1.0, default=150.0)
NUMBERS = [factor for factor in standard_factors() if not factor.is_choice]


def climb(factor: Factor, start: float, direction: int) -> list[float]:
    values = [start]
    for _ in range(500):
        after = step_value(factor, values[-1], direction)
        if after == values[-1]:
            return values
        values.append(after)
    raise AssertionError("the end of the range was never reached")


def test_an_age_steps_through_times_that_people_say() -> None:
    assert climb(AGE, 8.0, 1)[:8] == [8.0, 12.0, 16.0, 20.0, 24.0, 36.0, 48.0, 72.0]


def test_a_temperature_steps_by_its_step_and_comes_back_onto_it() -> None:
    assert step_value(TEMPERATURE, 150.0, 1) == 151.0
    assert step_value(TEMPERATURE, 150.4, 1) == 151.0
    assert step_value(TEMPERATURE, 150.4, -1) == 150.0


def test_an_unknown_value_starts_at_the_usual_one() -> None:
    assert step_value(TEMPERATURE, None, 1) == 150.0
    assert step_value(TEMPERATURE, None, -1) == 150.0


def test_a_value_outside_the_range_comes_back_to_the_nearer_end() -> None:
    assert step_value(TEMPERATURE, 500.0, 1) == 180.0
    assert step_value(TEMPERATURE, 20.0, -1) == 80.0


def test_a_factor_without_a_step_moves_in_round_twentieths() -> None:
    assert linear_step_size(Factor("depth", "mm", 8.0, 30.0)) == 2.0


@pytest.mark.parametrize("factor", NUMBERS, ids=lambda factor: factor.name)
@pytest.mark.parametrize("direction", [1, -1])
def test_stepping_reaches_the_end_of_every_range_in_few_steps_and_in_order(factor: Factor, direction: int) -> None:
    low, high = factor.bounds
    start, end = (low, high) if direction > 0 else (high, low)
    values = climb(factor, start, direction)
    assert values[-1] == end
    assert values == sorted(values, reverse=direction < 0)
    assert len(values) <= 110


@given(
    value=st.one_of(st.none(), st.floats(-1e6, 1e6)),
    direction=st.sampled_from([1, -1]),
    factor=st.sampled_from(NUMBERS),
)
def test_a_step_never_leaves_the_range(value: float | None, direction: int, factor: Factor) -> None:
    low, high = factor.bounds
    assert low <= step_value(factor, value, direction) <= high


@given(value=st.floats(0.5, 240.0), direction=st.sampled_from([1, -1]))
def test_a_step_inside_the_range_always_moves_the_right_way(value: float, direction: int) -> None:
    moved = step_value(AGE, value, direction)
    at_the_end = value in AGE.bounds
    assert (moved - value) * direction > 0 or at_the_end


def test_a_choice_cannot_be_stepped() -> None:
    with pytest.raises(InputError, match=r"factor\.is_choice"):
        step_value(Factor("action", levels=("swirl", "fold")), None, 1)
