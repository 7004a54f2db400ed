"""The design matrix: mapping, contrasts, names, and coefficients in own units."""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.inference.design import Design, contrasts

AGE = Factor("age", "h", 0.5, 96.0, Scale.LOG)
WARM = Factor("warmth", "C", 145.0, 170.0)
STIR = Factor("stir", levels=("swirl", "fold", "press"))
TWO = Factor("oil", levels=("new", "old"))
FULL = Design((AGE, WARM, STIR, TWO), ("age", "warmth"), (("age", "warmth"), ("age", "stir"), ("stir", "oil")))


def test_the_range_of_a_number_is_mapped_to_minus_one_and_one_on_its_own_scale():
    matrix = Design((AGE, WARM)).matrix(
        {"age": np.array([0.5, 96.0, 48.0**0.5]), "warmth": np.array([145, 170, 157.5])}
    )
    assert matrix == pytest.approx(np.array([[1, -1, -1], [1, 1, 1], [1, 0, 0]]))


@given(st.floats(1e-3, 1e4), st.floats(-1e3, 1e4))
def test_the_mapping_is_that_of_the_factor_itself(age, warm):
    matrix = Design((AGE, WARM)).matrix({"age": np.array([age]), "warmth": np.array([warm])})
    assert matrix[0, 1:] == pytest.approx([AGE.to_unit_interval(age), WARM.to_unit_interval(warm)], abs=1e-9)


@pytest.mark.parametrize("levels", [2, 3, 4, 7])
def test_contrasts_sum_to_zero_and_treat_all_levels_alike(levels):
    matrix = contrasts(levels)
    assert matrix.shape == (levels, levels - 1)
    assert matrix.sum(axis=0) == pytest.approx(np.zeros(levels - 1), abs=1e-12)
    # Independent N(0, s^2) coefficients give every level variance s^2 and every pair the same covariance.
    expected = np.where(np.eye(levels) == 1, 1.0, -1.0 / (levels - 1))
    assert matrix @ matrix.T == pytest.approx(expected, abs=1e-12)
    assert (matrix.argmax(axis=0) == np.arange(levels - 1)).all()


def test_two_levels_are_plus_and_minus_one():
    assert contrasts(2).ravel() == pytest.approx([1.0, -1.0])


def test_a_choice_of_one_level_has_no_column():
    assert Design((Factor("tool", levels=("rod",)),)).matrix({"tool": np.zeros(3)}).shape == (3, 1)


def test_terms_have_readable_names():
    assert [term.name for term in FULL.terms] == [
        "(intercept)",
        "age",
        "warmth",
        "stir: swirl",
        "stir: fold",
        "oil: new",
        "age squared",
        "warmth squared",
        "age × warmth",
        "age × stir: swirl",
        "age × stir: fold",
        "stir: swirl × oil: new",
        "stir: fold × oil: new",
    ]
    kinds = [term.kind for term in FULL.terms]
    assert kinds == ["intercept", *["number"] * 2, *["level"] * 3, *["square"] * 2, *["product"] * 5]
    assert FULL.terms[8].factors == ("age", "warmth")
    assert FULL.terms[11].level == "swirl × new"


def test_squares_and_products_are_those_of_the_mapped_values():
    columns = {"age": np.array([2.0]), "warmth": np.array([150.0]), "stir": np.array([1.0]), "oil": np.array([0.0])}
    row = dict(zip([term.name for term in FULL.terms], FULL.matrix(columns)[0], strict=True))
    assert row["age squared"] == pytest.approx(row["age"] ** 2)
    assert row["age × warmth"] == pytest.approx(row["age"] * row["warmth"])
    assert row["age × stir: fold"] == pytest.approx(row["age"] * row["stir: fold"])
    assert row["stir: swirl × oil: new"] == pytest.approx(row["stir: swirl"] * row["oil: new"])


def own_predictor(design, coefficients, age, warm, stir, oil):
    """Evaluate the own-unit terms by their names alone."""
    basis = {"age": np.log(age), "warmth": warm}
    basis |= {f"stir: {level}": float(level == stir) for level in STIR.levels}
    basis |= {f"oil: {level}": float(level == oil) for level in TWO.levels}
    total = 0.0
    for term, value in zip(design.own.terms, coefficients, strict=True):
        if term.kind == "intercept":
            total += value
        elif term.kind == "square":
            total += value * basis[term.factors[0]] ** 2
        else:
            total += value * np.prod([basis[part] for part in term.name.split(" × ")])
    return total


@given(
    st.floats(0.1, 500),
    st.floats(100, 200),
    st.sampled_from(STIR.levels),
    st.sampled_from(TWO.levels),
    st.integers(0, 2**32 - 1),
)
def test_the_linear_predictor_is_the_same_in_own_units(age, warm, stir, oil, seed):
    beta = np.random.default_rng(seed).normal(size=len(FULL.terms))
    columns = FULL.columns([Conditions({"age": age, "warmth": warm, "stir": stir, "oil": oil})])
    inner = float(FULL.matrix(columns)[0] @ beta)
    assert own_predictor(FULL, FULL.own_units(beta), age, warm, stir, oil) == pytest.approx(
        inner, rel=1e-8, abs=1e-8
    )


def test_own_units_name_every_level_and_their_effects_sum_to_zero():
    own = dict(zip([t.name for t in FULL.own.terms], FULL.own_units(np.arange(13.0)), strict=True))
    assert sum(own[f"stir: {level}"] for level in STIR.levels) == pytest.approx(0.0, abs=1e-12)
    assert own["oil: old"] == pytest.approx(-own["oil: new"])


def test_own_units_of_a_straight_line_by_hand():
    # slope 2 per half range; half range is ln(96 / 0.5) / 2
    own = Design((AGE,)).own_units(np.array([1.0, 2.0]))
    slope = 2.0 / (np.log(96 / 0.5) / 2)
    assert own == pytest.approx([1.0 - slope * np.log(48) / 2, slope])


def test_draws_are_mapped_row_by_row():
    draws = np.random.default_rng(0).normal(size=(5, 13))
    mapped = FULL.own_units(draws)
    assert mapped[3] == pytest.approx(FULL.own_units(draws[3]))


def test_unknown_values_become_nan_and_stay_in_their_row():
    rows = [
        Conditions({"age": 1.0, "warmth": 150.0, "stir": "fold", "oil": "new"}),
        Conditions({"warmth": 150.0, "stir": "fold", "oil": "new"}),
        Conditions({"age": 0.0, "warmth": 150.0, "stir": "fold", "oil": "new"}),
        Conditions({"age": 1.0, "warmth": "hot", "stir": "fold", "oil": "new"}),
        Conditions({"age": 1.0, "warmth": 150.0, "stir": "shake", "oil": "new"}),
        Conditions({"age": 1.0, "warmth": 150.0, "stir": 2.0, "oil": "new"}),
    ]
    columns = FULL.columns(rows)
    assert columns["stir"][0] == 1.0
    assert np.isnan(FULL.matrix(columns)).any(axis=1).tolist() == [False, *[True] * 5]


def test_prior_breadths():
    sd = FULL.prior_sd(2.5, 2.0)
    assert sd[0] == 2.5
    assert (sd[1:] == 2.0).all()


def test_taking_a_factor_out_takes_its_terms_along():
    assert [term.name for term in FULL.without(["age"]).terms] == [
        "(intercept)",
        "warmth",
        "stir: swirl",
        "stir: fold",
        "oil: new",
        "warmth squared",
        "stir: swirl × oil: new",
        "stir: fold × oil: new",
    ]


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (((AGE, AGE),), "design.factor_repeats"),
        (((AGE,), ("warmth",)), "design.factor_unknown"),
        (((AGE,), (), (("age", "warmth"),)), "design.factor_unknown"),
        (((STIR,), ("stir",)), "design.hump_of_choice"),
        (((AGE,), (), (("age", "age"),)), "design.product_of_itself"),
    ],
)
def test_a_design_that_cannot_be_is_refused(arguments, code):
    with pytest.raises(InputError) as error:
        Design(*arguments)
    assert error.value.code == code


def test_a_hundred_thousand_rows_are_built_at_once():
    rng = np.random.default_rng(0)
    columns = {
        "age": rng.uniform(0.5, 96, 100_000),
        "warmth": rng.uniform(145, 170, 100_000),
        "stir": rng.integers(0, 3, 100_000).astype(float),
        "oil": rng.integers(0, 2, 100_000).astype(float),
    }
    start = time.perf_counter()
    assert FULL.matrix(columns).shape == (100_000, 13)
    assert time.perf_counter() - start < 2.0  # measured 0.03 s; the machine may be busy


def test_absurd_values_stay_finite():
    matrix = FULL.matrix(
        {
            "age": np.array([1e-300, 1e300]),
            "warmth": np.array([-1e300, 1e300]),
            "stir": np.zeros(2),
            "oil": np.zeros(2),
        }
    )
    assert np.isfinite(matrix).all()


def test_no_rows_give_a_matrix_without_rows():
    empty = {name: np.empty(0) for name in ("age", "warmth", "stir", "oil")}
    assert FULL.matrix(empty).shape == (0, 13)


def test_single_numbers_are_repeated_beside_a_column():
    ages = np.array([1.0, 2.0, 3.0])
    columns = {"age": ages, "warmth": np.array([150.0]), "stir": np.array([1.0]), "oil": np.array([0.0])}
    spelled_out = {name: np.broadcast_to(column, 3) for name, column in columns.items()}
    assert np.array_equal(FULL.matrix(columns), FULL.matrix(spelled_out))
