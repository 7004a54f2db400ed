"""Which ages jars are started for: steps of two, the least trouble, and the soonest evening that is good enough."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from stirfall.planning.start_jars import (
    AT_ANY_HOUR,
    AT_HAND,
    AT_THE_BENCH,
    StartOption,
    choose_ages,
    soonest_good,
    sparse_ages,
    spread_of_ages,
)


def ages(*hours: float, rank: int = 0) -> list[StartOption]:
    return [StartOption(each, rank) for each in hours]


def test_at_most_four_ages_of_a_doubling_are_looked_at_and_of_neighbours_the_least_troublesome():
    options = [StartOption(hours, rank) for hours, rank in ((24.0, 1), (25.0, 0), (26.0, 2), (48.0, 2), (50.0, 1))]
    assert [options[place].age_h for place in sparse_ages(options)] == [25.0, 50.0]
    assert len(sparse_ages(ages(*np.geomspace(1.0, 15.999, 200)))) == 16


def test_ages_of_one_evening_lie_a_step_of_two_apart():
    options = ages(10.0, 12.0, 19.0, 25.0, 48.0, 100.0)
    worth = np.array([6.0, 5.9, 5.8, 4.0, 3.0, 1.0])
    batch = choose_ages(4, options, lambda _chosen: worth)
    assert [options[place].age_h for place in batch.chosen] == [10.0, 19.0, 48.0, 100.0]
    assert batch.worth == pytest.approx(6.0 + 5.8 + 3.0 + 1.0)
    chosen = sorted(options[place].age_h for place in batch.chosen)
    assert all(later / sooner >= 2.0 / 1.1 for sooner, later in pairwise(chosen))


def test_a_day_of_23_hours_and_two_days_still_count_as_a_step():
    # Sunday 25 October 2026 has 25 hours in Berlin: 25 h and 49 h, 23 h and 47 h in spring.
    assert len(choose_ages(2, ages(25.0, 49.0), lambda _: np.array([2.0, 1.0])).chosen) == 2
    assert len(choose_ages(2, ages(24.0, 42.0), lambda _: np.array([2.0, 1.0])).chosen) == 1


def test_an_age_counts_less_the_more_its_start_asks_of_the_person():
    options = [StartOption(10.0, AT_ANY_HOUR), StartOption(24.0, AT_THE_BENCH), StartOption(60.0, AT_HAND)]

    def first(*worth: float) -> float:
        return options[choose_ages(1, options, lambda _: np.array(worth)).chosen[0]].age_h

    # Somebody who comes to the bench for it costs 15 %; a jar that stands already is worth 5 % more.
    assert [first(1.0, 0.86, 0.0), first(1.0, 0.84, 0.0)] == [24.0, 10.0]
    assert [first(0.0, 1.0, 0.96), first(0.0, 1.0, 0.95)] == [60.0, 24.0]


def test_an_evening_that_is_nearly_as_good_is_taken_before_a_later_one():
    assert soonest_good([1.0, 8.9, 9.0, 10.0]) == 2
    assert soonest_good([10.0, 1.0]) == 0
    assert soonest_good([0.0, 0.0]) is None
    assert soonest_good([]) is None


def test_while_nothing_is_known_ages_are_spread_by_doublings():
    options = ages(1.0, 4.0, 24.0, 96.0, 400.0)
    assert spread_of_ages(options, [24.0], 24.0) == pytest.approx([2.0, 2.0, 0.0, 2.0, 2.0], abs=0.03)
    assert spread_of_ages(ages(12.0, 36.0), [24.0], 24.0) == pytest.approx([1.0, np.log2(1.5)], abs=0.01)
    assert int(np.argmax(spread_of_ages(ages(1.0, 2.0, 5.0, 40.0), [20.0], 10.0))) == 2
    assert int(np.argmax(spread_of_ages(options, [], 20.0))) == 2
