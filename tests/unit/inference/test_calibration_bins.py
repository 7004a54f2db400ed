from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stirfall.inference.calibration import FEWEST_IN_BIN, MOST_BINS, calibration
from stirfall.inference.scores import wilson_interval


def steps(rows: int):
    """Distinct probabilities with outcomes that keep their word as well as whole trials can."""
    p = (np.arange(rows) + 0.5) / rows
    y = np.diff(np.floor(np.concatenate([[0.0], np.cumsum(p)]) + 0.5))
    return p, y


def test_nothing_recorded_gives_nothing():
    assert calibration([], []) is None
    assert calibration([0.5], [0], 0) is None


@pytest.mark.parametrize("rows", [1, 3, 9])
def test_few_attempts_are_one_bin_and_too_few_to_judge(rows):
    p, y = steps(rows)
    found = calibration(p, y)
    assert len(found.bins) == 1
    assert found.verdict.code == "calibration.too_few"
    assert found.verdict.params["trials"] == rows


@pytest.mark.parametrize(("rows", "bins"), [(10, 2), (14, 2), (15, 3), (24, 4), (25, 5), (60, 5), (1000, 5)])
def test_bins_hold_equal_counts_of_at_least_five(rows, bins):
    p, y = steps(rows)
    found = calibration(p, y)
    sizes = [part.trials for part in found.bins]
    assert len(sizes) == bins
    assert sum(sizes) == rows
    assert min(sizes) >= FEWEST_IN_BIN
    assert max(sizes) - min(sizes) <= 1
    assert found.verdict.code == "calibration.fits"


def test_a_bin_says_what_is_in_it():
    p, y = steps(20)
    found = calibration(p, y)
    first = found.bins[0]
    assert first.rows == (0, 1, 2, 3, 4)
    assert first.predicted == pytest.approx(p[:5].mean())
    assert first.observed == pytest.approx(y[:5].mean())
    assert (first.low, first.high) == (p[0], p[4])
    assert (first.lower, first.upper) == pytest.approx(wilson_interval(y[:5].sum(), 5))
    assert found.overall.observed == pytest.approx(y.mean())
    assert found.overall.rows == tuple(range(20))


def test_order_of_rows_does_not_matter_and_equal_probabilities_stay_together():
    rng = np.random.default_rng(2)
    p = rng.choice([0.1, 0.4, 0.8], 30)
    y = (rng.random(30) < p).astype(float)
    order = rng.permutation(30)
    one, other = calibration(p, y), calibration(p[order], y[order])
    for first, second in zip(one.bins, other.bins, strict=True):
        assert (first.predicted, first.observed, first.trials) == pytest.approx(
            (second.predicted, second.observed, second.trials)
        )
        assert sorted(first.rows) == sorted(order[list(second.rows)])
    ends = [(part.low, part.high) for part in one.bins]
    assert all(before[1] < after[0] for before, after in pairwise(ends))


def test_one_probability_for_all_is_one_bin():
    found = calibration([0.5] * 40, [1, 0] * 20)
    assert len(found.bins) == 1
    assert found.verdict.code == "calibration.fits"


def test_grouped_rows_count_their_trials():
    found = calibration([0.1, 0.5, 0.9], [6, 30, 54], [60, 60, 60])
    assert [part.trials for part in found.bins] == [60, 60, 60]
    assert [part.attempts for part in found.bins] == [1, 1, 1]
    assert found.verdict.code == "calibration.fits"


def test_rows_without_trials_are_passed_over_but_keep_their_places():
    found = calibration([0.2, 0.5, 0.9], [1, 0, 1], [1, 0, 1])
    assert found.overall.rows == (0, 2)


@pytest.mark.parametrize(
    ("said", "clean", "code"),
    [(0.8, 4, "too_hopeful"), (0.2, 16, "too_gloomy"), (0.5, 11, "fits")],
)
def test_all_together_too_hopeful_or_too_gloomy(said, clean, code):
    found = calibration(said + np.linspace(-0.01, 0.01, 20), [1] * clean + [0] * (20 - clean))
    assert found.verdict.code == f"calibration.{code}"
    assert found.overall.is_off == (code != "fits")


def test_right_on_average_but_not_everywhere():
    p = np.concatenate([np.linspace(0.05, 0.1, 20), np.linspace(0.9, 0.95, 20)])
    y = np.tile([1.0, 0.0], 20)
    found = calibration(p, y)
    assert not found.overall.is_off
    assert found.verdict.code == "calibration.off_in_places"


def test_honest_odds_are_rarely_called_wrong():
    # the wider intervals for several bins keep false alarms near one in twenty, twice: in the bins and overall
    rng = np.random.default_rng(7)
    alarms = 0
    for _ in range(400):
        p = rng.uniform(0.05, 0.95, 40)
        found = calibration(p, (rng.random(40) < p).astype(float))
        alarms += found.verdict.code != "calibration.fits"
    assert alarms / 400 < 0.12


@given(st.lists(st.tuples(st.floats(0.0, 1.0), st.booleans(), st.integers(0, 4)), max_size=60))
@settings(max_examples=120, deadline=None)
def test_bins_are_whole_and_in_range_for_any_rows(rows):
    p = np.array([row[0] for row in rows])
    n = np.array([float(row[2]) for row in rows])
    k = np.array([row[2] if row[1] else row[2] // 2 for row in rows], dtype=float)
    found = calibration(p, k, n)
    assert (found is None) == (n.sum() == 0)
    if found is None:
        return
    assert 1 <= len(found.bins) <= MOST_BINS
    assert sum(part.trials for part in found.bins) == n.sum()
    assert sorted(row for part in found.bins for row in part.rows) == list(np.flatnonzero(n > 0))
    for part in (*found.bins, found.overall):
        assert part.trials >= FEWEST_IN_BIN or len(found.bins) == 1
        assert 0.0 <= part.lower <= part.observed <= part.upper <= 1.0
        assert part.low - 1e-12 <= part.predicted <= part.high + 1e-12
