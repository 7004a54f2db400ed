from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from stirfall.inference.confounding import association, choice_association, correlation, days_of, ranks

# Witness 1: exactly known.


def test_a_straight_line_correlates_fully_and_still_has_an_interval():
    x = np.arange(8.0)
    found = correlation(x, 3.0 - 2.0 * x)
    assert found.pearson.value == pytest.approx(-1.0)
    assert found.spearman.value == pytest.approx(-1.0)
    assert found.n == 8
    assert found.is_strong
    for part in (found.pearson, found.spearman):
        assert part.lower == pytest.approx(-1.0)
        assert -1.0 < part.upper < -0.9


def test_a_curve_that_rises_has_full_rank_correlation_only():
    x = np.linspace(0.0, 6.0, 10)
    found = correlation(x, np.exp(x))
    assert found.spearman.value == pytest.approx(1.0)
    assert found.pearson.value < 0.9
    assert found.strongest is found.spearman


def test_no_relation_is_zero():
    found = correlation([-1.0, -1.0, 1.0, 1.0, 0.0], [-1.0, 1.0, -1.0, 1.0, 0.0])
    assert found.pearson.value == pytest.approx(0.0, abs=1e-15)
    assert not found.is_strong


@pytest.mark.parametrize("column", [[2.0] * 6, [], [1.0], [math.nan] * 6])
def test_a_column_that_never_varied_has_no_correlation(column):
    found = correlation(column, np.arange(float(len(column))))
    assert found.pearson is None
    assert found.spearman is None
    assert found.strongest is None
    assert not found.is_strong


@pytest.mark.parametrize("n", [2, 3])
def test_three_attempts_have_no_interval(n):
    found = correlation(np.arange(float(n)), np.arange(float(n)))
    assert found.pearson.value == 1.0
    assert found.pearson.lower is None
    assert not found.is_strong


def test_four_attempts_on_a_line_are_not_called_strong():
    assert not correlation(np.arange(4.0), np.arange(4.0)).is_strong
    assert correlation(np.arange(5.0), np.arange(5.0)).is_strong


def test_unknown_values_are_left_out_in_pairs():
    found = correlation([1.0, 2.0, math.nan, 4.0, 5.0], [1.0, 2.0, 3.0, math.nan, 5.0])
    assert found.n == 3
    assert found.pearson.value == pytest.approx(1.0)


def test_a_level_each_and_known_shares():
    choices = np.repeat([0, 1], 5)
    assert association(choices * 2.0 + 7.0, choices) == pytest.approx(1.0)
    assert association(np.tile([1.0, 2.0, 3.0, 4.0, 5.0], 2), choices) == pytest.approx(0.0, abs=1e-12)
    assert choice_association(choices, 1 - choices) == pytest.approx(1.0)
    assert choice_association(choices, np.array([0, 1, 0, 1, 0, 0, 1, 0, 1, 0])) == pytest.approx(0.0, abs=1e-12)


def test_one_attempt_per_level_says_nothing():
    assert association(np.arange(5.0), np.arange(5)) is None
    assert choice_association(np.arange(5), np.arange(5)) is None
    assert association(np.zeros(9), np.repeat([0, 1, 2], 3)) is None
    assert choice_association(np.zeros(9, dtype=int), np.repeat([0, 1, 2], 3)) is None
    assert association(np.zeros(0), np.zeros(0, dtype=int)) is None


def test_a_pause_begins_a_new_day_wherever_midnight_is():
    hours = np.array([22.0, 23.5, 25.0, 40.0, math.nan, 41.0, 39.9])
    assert list(days_of(hours)) == [0, 1, 2, 1, -1, 2, 0]


# Witness 2: invariances.


def test_order_shift_and_scale_do_not_matter():
    rng = np.random.default_rng(3)
    x, y = rng.normal(size=(2, 20))
    order = rng.permutation(20)
    one, other = correlation(x, y), correlation(1e9 + 1e6 * x[order], -1e-9 * y[order])
    assert other.pearson.value == pytest.approx(-one.pearson.value, abs=1e-6)
    assert other.spearman.value == pytest.approx(-one.spearman.value)
    assert (other.pearson.lower, other.pearson.upper) == pytest.approx(
        (-one.pearson.upper, -one.pearson.lower), abs=1e-6
    )


def test_names_of_levels_do_not_matter():
    rng = np.random.default_rng(4)
    numbers, levels = rng.normal(size=30), rng.integers(0, 3, 30)
    renamed = np.array([2, 0, 1])[levels]
    assert association(numbers, levels) == pytest.approx(association(numbers, renamed))
    other = rng.integers(0, 2, 30)
    assert choice_association(levels, other) == pytest.approx(choice_association(other, renamed))


# Witness 3: a general library.


@pytest.mark.parametrize("level", [0.8, 0.95])
def test_correlations_agree_with_scipy(level):
    rng = np.random.default_rng(6)
    x = rng.integers(0, 6, 25).astype(float)  # ties
    y = x + rng.normal(0, 2, 25)
    found = correlation(x, y, level=level)
    other = stats.pearsonr(x, y)
    between = other.confidence_interval(level)  # Fisher's z as well
    assert found.pearson.value == pytest.approx(other.statistic, rel=1e-12)
    assert (found.pearson.lower, found.pearson.upper) == pytest.approx((between.low, between.high), rel=1e-9)
    assert found.spearman.value == pytest.approx(stats.spearmanr(x, y).statistic, rel=1e-12)
    assert ranks(x) == pytest.approx(stats.rankdata(x))


def test_interval_of_ranks_by_the_formula_written_out():
    # Bonett & Wright 2000, Psychometrika 65:23: z +- 1.96 sqrt((1 + r^2 / 2) / (n - 3))
    x = np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0])
    y = np.array([2.0, 1.0, 4.0, 3.0, 6.0, 5.0, 8.0, 7.0])
    found = correlation(x, y).spearman
    r = 1 - 6 * 8 / (8 * 63)
    reach = 1.959964 * math.sqrt((1 + r * r / 2) / 5)
    assert found.value == pytest.approx(r)
    assert (found.lower, found.upper) == pytest.approx(
        (math.tanh(math.atanh(r) - reach), math.tanh(math.atanh(r) + reach)), rel=1e-5
    )


def test_associations_agree_with_other_ways_to_them():
    rng = np.random.default_rng(9)
    levels = rng.integers(0, 4, 40)
    numbers = levels + rng.normal(0, 1.5, 40)
    dummies = (levels[:, None] == np.arange(4)).astype(float)
    left = numbers - dummies @ np.linalg.lstsq(dummies, numbers, rcond=None)[0]
    share = 1 - (left @ left) / np.sum((numbers - numbers.mean()) ** 2)
    assert association(numbers, levels) == pytest.approx(math.sqrt(share), rel=1e-12)
    other = rng.integers(0, 2, 40)
    seen = np.zeros((4, 2), dtype=int)
    np.add.at(seen, (levels, other), 1)
    assert choice_association(levels, other) == pytest.approx(
        stats.contingency.association(seen, method="cramer"), rel=1e-12
    )


def test_intervals_cover_as_often_as_they_say():
    rng = np.random.default_rng(10)
    hits = 0
    for _ in range(500):
        x = rng.normal(size=8)
        found = correlation(x, 0.75 * x + math.sqrt(1 - 0.75**2) * rng.normal(size=8)).pearson
        hits += found.lower <= 0.75 <= found.upper
    assert 0.92 <= hits / 500 <= 0.98


VALUES = st.one_of(st.floats(-1e9, 1e9), st.sampled_from([0.0, 1e-9, 1e9, math.nan]))


@given(st.lists(st.tuples(VALUES, VALUES, st.integers(-1, 4), st.integers(-1, 2)), max_size=15))
@settings(max_examples=200, deadline=None)
def test_any_columns_give_ordered_bounds_in_range(rows):
    x, y = (np.array([row[place] for row in rows], dtype=float) for place in (0, 1))
    first, second = (np.array([row[place] for row in rows], dtype=int) for place in (2, 3))
    found = correlation(x, y)
    for part in (found.pearson, found.spearman):
        if part is not None and part.lower is not None:
            assert -1.0 <= part.lower <= part.value <= part.upper <= 1.0
            assert part.lower < part.upper
    for strength in (association(x, first), choice_association(first, second)):
        assert strength is None or 0.0 <= strength <= 1.0
    assert len(days_of(x)) == len(rows)
