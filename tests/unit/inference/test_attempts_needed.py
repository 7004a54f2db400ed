"""What so many attempts can tell: power by plain sums and by another library, and the way back."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from stirfall.bench.errors import InputError
from stirfall.inference import attempts_needed as needs
from stirfall.inference.proportions import boschloo


def test_power_is_the_chance_that_the_test_refuses() -> None:
    n1, n2, p1, p2 = 8, 11, 0.2, 0.8
    wanted = sum(
        stats.binom.pmf(k1, n1, p1) * stats.binom.pmf(k2, n2, p2)
        for k1 in range(n1 + 1)
        for k2 in range(n2 + 1)
        if boschloo(k1, n1, k2, n2).two_sided <= 0.05
    )
    assert needs.power_of_shares(n1, p1, n2, p2) == pytest.approx(wanted, rel=1e-9)


def test_without_a_difference_the_test_keeps_its_level() -> None:
    for p in (0.05, 0.3, 0.5, 0.9):
        assert needs.power_of_shares(20, p, 25, p) <= 0.05


def test_the_power_of_three_attempts_beside_thousands_is_that_of_a_known_share() -> None:
    # Beside very many the other share is as good as known: three of 3 at 40 % come by chance in 6.4 of 100 cases
    # and none of 3 in 21.6, so that nothing that they do is told at 5 % two-sided; the normal law said 17 %.
    assert needs.power_of_shares(3, 0.7, 5_000, 0.4) < 0.001
    # Of 10 at 40 %: none in 0.6 of 100 cases, one or none in 4.6; eight or more in 1.2, seven or more in 5.5.
    exact = stats.binom.sf(7, 10, 0.7) + stats.binom.cdf(0, 10, 0.7)
    assert needs.power_of_shares(10, 0.7, 5_000, 0.4) == pytest.approx(exact, abs=0.04)


def test_exact_and_normal_power_meet_where_one_gives_way_to_the_other() -> None:
    exact = needs.power_of_shares(160, 0.5, 160, 0.65)
    rough = needs.power_of_shares(161, 0.5, 161, 0.65)
    assert exact == pytest.approx(rough, abs=0.04)


@pytest.mark.parametrize(("n1", "n2", "middle"), [(9, 10, 0.5), (4, 30, 0.3), (25, 25, 0.9)])
def test_the_smallest_difference_is_the_first_that_is_told(n1: int, n2: int, middle: float) -> None:
    found = needs.smallest_share_difference(n1, n2, middle)
    assert found is not None
    for sign in (1.0, -1.0):
        first, second = needs.pair_around(middle, sign * found)
        assert needs.power_of_shares(n1, first, n2, second) >= 0.8
    less = [needs.pair_around(middle, sign * (found - 0.01)) for sign in (1.0, -1.0)]
    assert min(needs.power_of_shares(n1, a, n2, b) for a, b in less) < 0.8


def test_two_attempts_tell_nothing_and_more_tell_more() -> None:
    assert needs.smallest_share_difference(1, 1, 0.5) is None
    found = [needs.smallest_share_difference(n, n, 0.5) or 2.0 for n in (5, 10, 20, 40, 80)]
    assert found == sorted(found, reverse=True)


def test_the_number_needed_tells_and_fewer_do_not() -> None:
    needed = needs.needed_for_shares(0.5, 0.5)
    assert needed is not None
    pair = needs.pair_around(0.5, 0.5)
    for n in range(needed, needed + 5):
        assert needs.power_of_shares(n, pair[0], n, pair[1]) >= 0.8
    assert needs.power_of_shares(needed - 1, pair[0], needed - 1, pair[1]) < 0.8
    assert needs.needed_for_shares(0.5, 0.0) is None


def test_a_pair_keeps_its_difference_at_the_ends() -> None:
    for middle in (0.0, 0.05, 0.5, 0.97, 1.0):
        for difference in (0.2, -0.6, 1.0):
            first, second = needs.pair_around(middle, difference)
            assert first - second == pytest.approx(difference)
            assert 0.0 <= min(first, second) <= max(first, second) <= 1.0


def test_power_of_means_is_that_of_another_library() -> None:
    from statsmodels.stats.power import TTestIndPower

    for n1, n2, effect in ((5, 5, 1.0), (9, 14, 0.6), (60, 60, 0.5)):
        wanted = TTestIndPower().power(effect, n1, 0.05, ratio=n2 / n1)
        assert needs.power_of_means(n1, n2, 2.0 * effect, 2.0) == pytest.approx(wanted, rel=1e-6)
    smallest = needs.smallest_mean_difference(9, 10, 0.15)
    assert smallest is not None
    assert needs.power_of_means(9, 10, smallest, 0.15) == pytest.approx(0.8, abs=1e-6)


def test_without_scatter_or_with_too_few_there_is_no_answer() -> None:
    assert needs.smallest_mean_difference(1, 1, 1.0) is None
    assert needs.smallest_mean_difference(5, 5, 0.0) is None
    assert needs.needed_for_means(0.0, 1.0) is None
    assert needs.power_of_means(50, 50, 100.0, 0.001) == 1.0
    with pytest.raises(InputError, match=r"needed\.empty"):
        needs.power_of_shares(0, 0.5, 3, 0.5)
    with pytest.raises(InputError, match=r"needed\.share"):
        needs.power_of_shares(3, 1.5, 3, 0.5)


def test_simulated_attempts_are_told_as_often_as_foretold() -> None:
    n1, n2, first, second = 12, 12, 0.15, 0.75
    rng = np.random.default_rng(11)
    k1, k2 = rng.binomial(n1, first, 250), rng.binomial(n2, second, 250)
    told = np.mean([boschloo(int(a), n1, int(b), n2).two_sided <= 0.05 for a, b in zip(k1, k2, strict=True)])
    foretold = needs.power_of_shares(n1, first, n2, second)
    assert told == pytest.approx(foretold, abs=4 * np.sqrt(foretold * (1 - foretold) / 250))
