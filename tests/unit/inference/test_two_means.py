"""Two means: permutations against all arrangements and another library, intervals, and the posterior."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from scipy import stats

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.inference import two_means
from stirfall.inference.two_means import larger_mean, mean_span, permuted, welch

FIRST, SECOND = (62.0, 71.0, 55.0, 80.0, 66.0), (75.0, 83.0, 79.0, 68.0, 90.0, 77.0)


def test_every_division_is_gone_through_where_there_are_few() -> None:
    found = permuted(FIRST, SECOND)
    pool = np.array(FIRST + SECOND)
    own = np.mean(FIRST) - np.mean(SECOND)
    law = []
    for places in combinations(range(len(pool)), len(FIRST)):
        chosen = np.isin(np.arange(len(pool)), places)
        law.append(pool[chosen].mean() - pool[~chosen].mean())
    assert found is not None
    assert found.exact
    assert found.arrangements == math.comb(11, 5)
    assert found.p == pytest.approx(np.mean(np.abs(law) >= abs(own) - 1e-9))
    assert found.less == pytest.approx(np.mean(np.array(law) <= own + 1e-9))


def test_one_sided_chances_are_those_of_another_library() -> None:
    found = permuted(FIRST, SECOND)
    assert found is not None
    greater = stats.permutation_test((FIRST, SECOND), _difference, alternative="greater", n_resamples=1000)
    less = stats.permutation_test((FIRST, SECOND), _difference, alternative="less", n_resamples=1000)
    assert (found.greater, found.less) == pytest.approx((greater.pvalue, less.pvalue))


def _difference(x: list[float], y: list[float]) -> float:
    return float(np.mean(x) - np.mean(y))


def test_swapping_the_groups_turns_the_answer_round() -> None:
    here, there = permuted(FIRST, SECOND), permuted(SECOND, FIRST)
    assert here is not None
    assert there is not None
    assert (here.p, here.value, here.less) == pytest.approx((there.p, -there.value, there.greater))
    one, other = larger_mean(FIRST, SECOND), larger_mean(SECOND, FIRST)
    assert one is not None
    assert other is not None
    assert one.probability + other.probability == pytest.approx(1.0, abs=0.01)


def test_drawn_divisions_agree_with_all_of_them_and_say_how_well(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = permuted(FIRST, SECOND)
    monkeypatch.setattr(two_means, "MOST_ARRANGEMENTS", 10)
    drawn, again = permuted(FIRST, SECOND, seed=3), permuted(FIRST, SECOND, seed=3)
    assert drawn is not None
    assert whole is not None
    assert drawn == again
    assert not drawn.exact
    assert drawn.p_se > 0.0
    assert drawn.p == pytest.approx(whole.p, abs=4 * drawn.p_se + 1e-4)


def test_lots_are_compared_with_themselves() -> None:
    # The second lot is 50 higher and has mostly the second group; within lots the groups are alike.
    x, y = (10.0, 12.0, 11.0, 60.0), (11.0, 61.0, 62.0, 60.0, 61.0)
    lots = (["a", "a", "a", "b"], ["a", "b", "b", "b", "b"])
    plain, within = permuted(x, y), permuted(x, y, lots=lots)
    assert plain is not None
    assert within is not None
    assert abs(plain.value) > 20.0
    assert abs(within.value) < 2.0
    assert within.used == ("a", "b")
    assert within.arrangements == 4 * 5
    assert permuted(x, y, lots=(["a"] * 4, ["b"] * 5)) is None


def test_welch_is_that_of_another_library() -> None:
    found = welch(FIRST, SECOND, 0.9)
    other = stats.ttest_ind(FIRST, SECOND, equal_var=False).confidence_interval(0.9)
    assert found is not None
    assert (found.lower, found.upper) == pytest.approx((other.low, other.high))
    assert welch((1.0,), SECOND) is None


def test_the_posterior_is_the_two_sided_test_turned_round_where_scatter_is_alike() -> None:
    # With equal counts and equal scatter the posterior lies near the t law of Welch (Gelman et al., section 3.2).
    first = [float(each) for each in np.linspace(-1.0, 1.0, 30)]
    second = [each + 0.3 for each in first]
    found = larger_mean(first, second)
    other = stats.ttest_ind(first, second, equal_var=False, alternative="less")
    assert found is not None
    assert found.probability == pytest.approx(other.pvalue, abs=0.01)
    assert found.difference.value == pytest.approx(-0.3)


def test_few_values_say_little() -> None:
    assert mean_span(()) is None
    alone = mean_span((3.0,))
    assert alone is not None
    assert (alone.lower, alone.upper) == (-math.inf, math.inf)
    one_each = permuted((1.0,), (2.0,))
    assert one_each is not None
    assert one_each.p == 1.0
    assert larger_mean((1.0,), (2.0, 3.0)) is None
    with pytest.raises(InputError, match=r"means\.not_finite"):
        permuted((math.nan,), (1.0,))


def test_equal_values_are_never_a_difference() -> None:
    found = permuted((0.1 + 0.2,) * 4, (0.3,) * 4)
    assert found is not None
    assert found.p == 1.0


def test_a_cancelled_test_stops() -> None:
    from stirfall.bench.cancel import Cancelled

    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        permuted(FIRST, SECOND, token=token)


def test_numbers_without_any_scatter_have_no_interval_and_no_chance() -> None:
    # Two against two that were read alike: a chance of 100 % and an interval of width zero would be untrue.
    for x, y in (([2.0, 2.0], [1.0, 1.0]), ([0.1] * 3, [0.7] * 3)):
        assert welch(x, y) is None
        assert larger_mean(x, y) is None
    assert welch([2.0, 2.0], [1.0, 1.5]) is not None
