from __future__ import annotations

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, standard_factors
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.typed import read_conditions, read_grade


def test_conditions_are_read_from_numbers_and_from_text_with_units() -> None:
    given = {"Sample age": "3 d", "temperature": "302 F", "stirring speed": 90, "additive": "Additive A"}
    read = read_conditions(standard_factors(), given)
    assert read["sample age"] == 72.0
    assert read["temperature"] == pytest.approx(150.0)
    assert read["stirring speed"] == 90.0
    assert read["additive"] == "additive A"


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        ("colour", 1, "factor.unknown"),
        ("additive", "sugar", "value.not_a_level"),
        ("temperature", "3 d", "unit.mismatch"),
        ("temperature", float("nan"), "value.not_finite"),
        ("sample age", 0, "value.log_needs_positive"),
        ("sample age", "soon", "number.unreadable"),
    ],
)
def test_a_condition_that_makes_no_sense_is_refused(name: str, value: float | str, code: str) -> None:
    with pytest.raises(InputError) as caught:
        read_conditions(standard_factors(), {name: value})
    assert caught.value.code == code


def test_levels_that_differ_in_letter_case_alone_are_told_apart_by_their_exact_spelling() -> None:
    factors = (Factor("additive", levels=("Rosin", "rosin", "none")),)
    typed = ("rosin", "Rosin", "ROSIN", "NONE")
    read = [read_conditions(factors, {"additive": text})["additive"] for text in typed]
    assert read == ["rosin", "Rosin", "Rosin", "none"]


def test_a_value_outside_the_range_is_kept_for_the_limits_to_judge() -> None:
    assert read_conditions(standard_factors(), {"temperature": 20})["temperature"] == 20.0


def test_grades_are_read_in_any_spelling_of_their_word() -> None:
    assert read_grade("Partly", Parted) is Parted.PARTLY
    assert read_grade("one_pool", Pooled) is Pooled.ONE_POOL
    with pytest.raises(InputError) as caught:
        read_grade("maybe", Parted)
    assert "partly" in str(caught.value.params["known"])
