"""Two shares: zero cells, swapped groups, coverage, and what other libraries and plain sums say."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from stirfall.bench.errors import InputError
from stirfall.inference import proportions_exact as exact
from stirfall.inference.proportions import (
    Stratum,
    barnard,
    boschloo,
    fisher,
    newcombe_hybrid,
    posterior_better,
    score_difference,
    score_test,
    stratified,
    wilson,
)
from stirfall.inference.proportions_score import constrained_shares

_few = st.integers(1, 12)


@st.composite
def tables(draw: st.DrawFn) -> tuple[int, int, int, int]:
    n1, n2 = draw(_few), draw(_few)
    return draw(st.integers(0, n1)), n1, draw(st.integers(0, n2)), n2


def swapped(counts: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    return counts[2], counts[3], counts[0], counts[1]


def turned(counts: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    """Count failures in place of successes."""
    k1, n1, k2, n2 = counts
    return n1 - k1, n1, n2 - k2, n2


@settings(max_examples=8, deadline=None)
@given(tables())
def test_swapping_the_groups_or_counting_failures_turns_every_answer_round(
    counts: tuple[int, int, int, int],
) -> None:
    for interval in (newcombe_hybrid, score_difference):
        here = interval(*counts)
        for turned_round in (swapped(counts), turned(counts)):
            there = interval(*turned_round)
            assert (here.value, here.lower, here.upper) == pytest.approx(
                (-there.value, -there.upper, -there.lower), abs=1e-9
            )
            assert here.lower <= here.value <= here.upper
    for test in (fisher, barnard, boschloo):
        one, other = test(*counts), test(*swapped(counts))
        assert one.two_sided == pytest.approx(other.two_sided, abs=1e-9)
        assert (one.greater, one.less) == pytest.approx((other.less, other.greater), abs=1e-9)
    better, worse = posterior_better(*counts), posterior_better(*swapped(counts))
    assert better.probability + worse.probability == pytest.approx(1.0, abs=1e-6)


@settings(max_examples=8, deadline=None)
@given(tables())
def test_boschloo_is_never_less_sharp_than_fisher(counts: tuple[int, int, int, int]) -> None:
    sharp, plain = boschloo(*counts), fisher(*counts)
    assert sharp.greater <= plain.greater + 1e-9
    assert sharp.less <= plain.less + 1e-9


@pytest.mark.parametrize(("n1", "n2"), [(10, 20), (4, 4), (1, 30)])
def test_zero_cells_of_the_score_interval_are_wilsons_limits(n1: int, n2: int) -> None:
    found = score_difference(0, n1, 0, n2)
    assert (found.lower, found.upper) == pytest.approx((-wilson(0, n2).upper, wilson(0, n1).upper), abs=1e-9)
    apart = score_difference(n1, n1, 0, n2)
    assert apart.upper == 1.0
    assert 0.0 < apart.lower < 1.0


def test_constrained_shares_solve_the_likelihood() -> None:
    # Independent witness: a fine search of the log likelihood along p1 - p2 = d.
    for k1, n1, k2, n2, d in ((3, 9, 7, 10, 0.1), (0, 5, 2, 8, -0.4), (5, 5, 0, 7, 0.6), (0, 4, 0, 6, 0.2)):
        low, high = max(0.0, -d), min(1.0, 1.0 - d)
        p2 = np.linspace(low, high, 200_001)[1:-1]
        p1 = p2 + d
        likelihood = k1 * np.log(p1) + (n1 - k1) * np.log1p(-p1) + k2 * np.log(p2) + (n2 - k2) * np.log1p(-p2)
        a, m, b, n = (np.array([float(each)]) for each in (k1, n1, k2, n2))
        assert constrained_shares(a, m, b, n, d)[1][0] == pytest.approx(p2[np.argmax(likelihood)], abs=1e-4)


def test_intervals_cover_about_as_often_as_they_say() -> None:
    n1, n2, p1, p2 = 10, 14, 0.35, 0.75
    weights = np.outer(stats.binom.pmf(range(n1 + 1), n1, p1), stats.binom.pmf(range(n2 + 1), n2, p2))
    for interval in (newcombe_hybrid, score_difference):
        held = np.zeros_like(weights)
        for k1, k2 in np.argwhere(weights > 1e-5):
            found = interval(int(k1), n1, int(k2), n2)
            held[k1, k2] = found.lower <= p1 - p2 <= found.upper
        assert 0.935 <= float((weights * held).sum()) <= 0.975


def test_tests_refuse_no_more_often_than_they_say() -> None:
    n1, n2, p = 6, 9, 0.3
    weights = np.outer(stats.binom.pmf(range(n1 + 1), n1, p), stats.binom.pmf(range(n2 + 1), n2, p))
    for test in (barnard, boschloo, fisher):
        refused = sum(
            weights[k1, k2]
            for k1 in range(n1 + 1)
            for k2 in range(n2 + 1)
            if test(k1, n1, k2, n2).two_sided <= 0.05
        )
        assert refused <= 0.05


@pytest.mark.parametrize("counts", [(3, 9, 7, 10), (1, 9, 7, 10), (0, 5, 4, 6), (2, 3, 9, 30), (14, 20, 25, 40)])
def test_exact_tests_are_those_of_another_library(counts: tuple[int, int, int, int]) -> None:
    k1, n1, k2, n2 = counts
    table = np.array([[k1, k2], [n1 - k1, n2 - k2]])
    assert fisher(*counts).two_sided == pytest.approx(stats.fisher_exact(table).pvalue, rel=1e-9)
    assert fisher(*counts).greater == pytest.approx(stats.fisher_exact(table, "greater").pvalue, rel=1e-9)
    assert barnard(*counts).two_sided == pytest.approx(stats.barnard_exact(table).pvalue, rel=1e-6)
    assert boschloo(*counts).two_sided == pytest.approx(stats.boschloo_exact(table).pvalue, rel=1e-6)


def test_the_region_is_where_the_test_refuses() -> None:
    n1, n2 = 7, 9
    region = exact.refused_by_boschloo(n1, n2, 0.05)
    for k1 in range(n1 + 1):
        for k2 in range(n2 + 1):
            assert region[k1, k2] == (boschloo(k1, n1, k2, n2).two_sided <= 0.05)


def test_large_groups_fall_back_to_the_score_test_and_say_so() -> None:
    found = boschloo(400, 1000, 460, 1000)
    assert found.method == "score"
    assert found == score_test(400, 1000, 460, 1000) == barnard(400, 1000, 460, 1000)
    # Just below the border the exact test agrees with it closely.
    near, rough = boschloo(200, 500, 230, 500), score_test(200, 500, 230, 500)
    assert near.method == "boschloo"
    assert near.two_sided == pytest.approx(rough.two_sided, rel=0.05)


@pytest.mark.parametrize("counts", [(1, 4, 1_000, 100_000), (2, 3, 9_000, 90_000), (40, 1_000, 2_500, 100_000)])
def test_a_few_against_very_many_are_never_left_to_the_normal_law(counts: tuple[int, int, int, int]) -> None:
    # Of 4 attempts at 1 % one or more succeed in 3.9 of 100 cases; the score test said one in a million.
    found = boschloo(*counts)
    assert found == barnard(*counts) == fisher(*counts)
    k1, n1, k2, n2 = counts
    table = np.array([[k1, k2], [n1 - k1, n2 - k2]])
    assert found.two_sided == pytest.approx(stats.fisher_exact(table).pvalue, rel=1e-6)


def test_the_chance_to_be_better_is_the_exact_sum_of_whole_priors() -> None:
    # With a = b = 1 the chance is a finite sum of Beta functions (Cook 2005, technical report; elementary).
    def beta(a: int, b: int) -> Fraction:
        return Fraction(math.factorial(a - 1) * math.factorial(b - 1), math.factorial(a + b - 1))

    k1, n1, k2, n2 = 3, 9, 7, 10
    a1, b1, a2, b2 = 1 + k1, 1 + n1 - k1, 1 + k2, 1 + n2 - k2
    sure = sum(beta(a2 + i, b2 + b1) / ((b1 + i) * beta(1 + i, b1) * beta(a2, b2)) for i in range(a1))
    found = posterior_better(k1, n1, k2, n2, a=1.0, b=1.0)
    assert found.probability == pytest.approx(float(sure), abs=1e-7)
    assert found.difference.lower < found.difference.value < found.difference.upper


def test_empty_groups_have_the_priors_chance_and_no_share() -> None:
    assert posterior_better(0, 0, 0, 0).probability == pytest.approx(0.5, abs=1e-9)
    with pytest.raises(InputError, match=r"proportions\.empty"):
        wilson(0, 0)
    with pytest.raises(InputError, match=r"proportions\.count"):
        fisher(5, 4, 0, 3)


class TestWithinLots:
    def test_one_lot_is_fishers_test_and_the_plain_difference(self) -> None:
        found = stratified([Stratum("L1", 3, 9, 7, 10)])
        assert found is not None
        assert found.p == pytest.approx(fisher(3, 9, 7, 10).two_sided, rel=1e-12)
        assert found.value == pytest.approx(3 / 9 - 7 / 10)
        plain = score_difference(3, 9, 7, 10, method="miettinen_nurminen")
        assert (found.lower, found.upper) == pytest.approx((plain.lower, plain.upper), abs=1e-9)

    def test_lots_without_both_groups_say_nothing_and_are_counted(self) -> None:
        both = Stratum("L1", 3, 9, 7, 10)
        found = stratified([both, Stratum("L2", 4, 5, 0, 0), Stratum("L3", 0, 0, 1, 3)])
        alone = stratified([both])
        assert found is not None
        assert alone is not None
        assert (found.value, found.p, found.attempts, found.left_out) == (alone.value, alone.p, 19, 8)
        assert stratified([Stratum("L2", 4, 5, 0, 0)]) is None

    def test_a_lot_that_only_seems_to_make_a_difference_is_seen_through(self) -> None:
        # Within each lot both groups are alike; the good lot has mostly the first group.
        lots = [Stratum("good", 16, 20, 4, 5), Stratum("bad", 1, 5, 4, 20)]
        plain = boschloo(17, 25, 8, 25).two_sided
        found = stratified(lots)
        assert found is not None
        assert plain < 0.05
        assert found.p > 0.9
        assert found.value == pytest.approx(0.0, abs=1e-12)

    def test_satos_error_and_the_odds_are_those_of_another_library(self) -> None:
        from statsmodels.stats.contingency_tables import StratifiedTable

        lots = [Stratum("a", 3, 9, 7, 10), Stratum("b", 4, 6, 5, 6), Stratum("c", 1, 7, 3, 5)]
        found = stratified(lots)
        assert found is not None
        arrays = [np.array([[s.k1, s.n1 - s.k1], [s.k2, s.n2 - s.k2]]) for s in lots]
        rough = StratifiedTable([each.astype(float) for each in arrays]).test_null_odds().pvalue
        assert found.p == pytest.approx(rough, abs=0.06)
        # Greenland & Robins by hand for one balanced lot: the Wald error.
        one = stratified([Stratum("x", 4, 10, 7, 10)])
        assert one is not None
        assert one.se == pytest.approx(math.sqrt(0.4 * 0.6 / 10 + 0.7 * 0.3 / 10), rel=1e-12)

    def test_the_exact_law_is_that_of_all_divisions_within_lots(self) -> None:
        lots = [Stratum("a", 2, 3, 0, 2), Stratum("b", 1, 2, 1, 3)]
        rng = np.random.default_rng(5)
        pools = [np.array([1, 1, 0, 0, 0]), np.array([1, 1, 0, 0, 0])]
        sums = sum(
            rng.permuted(np.tile(pool, (20_000, 1)), axis=1)[:, :n].sum(axis=1)
            for pool, n in zip(pools, (3, 2), strict=True)
        )
        found = stratified(lots)
        assert found is not None
        assert found.greater == pytest.approx(float((sums >= 3).mean()), abs=0.012)

    def test_the_interval_of_small_lots_covers_about_as_often_as_it_says(self) -> None:
        rng = np.random.default_rng(2)
        off, held, tries = 0.25, 0, 80
        for _ in range(tries):
            lots = []
            for place, base in enumerate((0.15, 0.35, 0.5, 0.7)):
                k1, k2 = int(rng.binomial(3, base + off)), int(rng.binomial(5, base))
                lots.append(Stratum(str(place), k1, 3, k2, 5))
            found = stratified(lots)
            assert found is not None
            held += found.lower <= off <= found.upper
        assert held >= 70  # three standard deviations below 95 % of 80

    def test_very_many_attempts_go_by_the_normal_law(self) -> None:
        lots = [Stratum(str(place), 15_000, 30_000, 15_300, 30_000) for place in range(2)]
        found = stratified(lots)
        assert found is not None
        assert not found.exact
        assert found.p == pytest.approx(score_test(30_000, 60_000, 30_600, 60_000).two_sided, rel=0.01)
