from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from stirfall.bench.errors import InputError
from stirfall.inference.bayes import posterior_mode
from stirfall.inference.grouped import collapse, expit
from stirfall.inference.scores import (
    auc,
    brier_score,
    compare_scores,
    log_score,
    rate_without,
    wilson_interval,
)


def made_up(rows: int = 40, seed: int = 1):
    rng = np.random.default_rng(seed)
    p = rng.uniform(0.02, 0.98, rows)
    return p, (rng.random(rows) < p).astype(float)


def one_by_one(p, k, n):
    """The same trials, one row each."""
    rows = [(said, 1.0) for said, yes in zip(p, k, strict=True) for _ in range(int(yes))]
    rows += [(said, 0.0) for said, yes, all_ in zip(p, k, n, strict=True) for _ in range(int(all_ - yes))]
    return np.array(rows).T


# Witness 1: answers that are exactly known.


def test_scores_of_perfect_of_opposite_and_of_even_predictions():
    y = np.array([1.0, 0.0, 1.0])
    assert brier_score(y, y) == 0.0
    assert brier_score(1.0 - y, y) == 1.0
    assert brier_score([0.5] * 3, y) == pytest.approx(0.25)
    assert log_score([0.5] * 3, y) == pytest.approx(-math.log(2.0))
    assert log_score(y, y) == pytest.approx(0.0, abs=1e-9)
    assert math.isfinite(log_score(1.0 - y, y))


def test_rate_without_an_attempt_is_the_closed_form_of_the_others():
    assert rate_without(np.array([1.0, 0.0, 0.0]), np.ones(3)) == pytest.approx([0.5 / 3, 1.5 / 3, 1.5 / 3])
    assert rate_without(np.array([3.0]), np.array([4.0])) == pytest.approx([0.5])


def test_saying_the_mean_rate_gains_nothing_and_knows_it():
    _, y = made_up()
    same = compare_scores(rate_without(y, np.ones(len(y))), y)
    for part in (same.brier, same.log):
        assert part.gain == pytest.approx(0.0, abs=1e-15)
        assert part.gain_se == pytest.approx(0.0, abs=1e-15)
        assert part.verdict == 0


def test_knowing_the_outcome_gains_all_and_its_opposite_loses():
    y = np.tile([1.0, 0.0], 20)
    better = compare_scores(np.where(y == 1, 0.9, 0.1), y)
    assert better.brier.score == pytest.approx(0.01)
    assert better.log.score == pytest.approx(math.log(0.9))
    assert (better.brier.verdict, better.log.verdict) == (1, 1)
    worse = compare_scores(np.where(y == 1, 0.1, 0.9), y)
    assert (worse.brier.verdict, worse.log.verdict) == (-1, -1)


def test_area_of_known_orders():
    assert auc([0.9, 0.8, 0.2, 0.1], [1, 1, 0, 0]).value == 1.0
    assert auc([0.1, 0.2, 0.8, 0.9], [1, 1, 0, 0]).value == 0.0
    assert auc([0.5] * 4, [1, 1, 0, 0]).value == 0.5
    assert auc([0.9, 0.5, 0.5, 0.1], [1, 1, 0, 0]).value == pytest.approx(3.5 / 4)


@pytest.mark.parametrize("outcomes", [[1, 1, 1], [0, 0], [1], []])
def test_area_is_unknown_where_all_came_out_alike(outcomes):
    assert auc(np.linspace(0.2, 0.7, len(outcomes)), outcomes) is None


@pytest.mark.parametrize(("clean", "other"), [(1, 1), (2, 3), (4, 4), (30, 30)])
def test_perfectly_parted_outcomes_leave_an_interval_with_a_width(clean, other):
    found = auc([0.9] * clean + [0.1] * other, [1] * clean + [0] * other)
    assert found.value == found.upper == 1.0
    assert found.lower < 1.0 - 1.0 / (clean + other)


def test_nothing_to_score_is_none():
    assert compare_scores([], []) is None
    assert brier_score([0.5], [0], 0) is None
    assert wilson_interval(0, 0) is None
    assert compare_scores([0.5], [1]).log.gain_se is None


@pytest.mark.parametrize(
    ("p", "k", "n", "code"),
    [
        ([0.5], [1, 0], 1, "rows.shape"),
        ([0.5], [2], 1, "rows.count_outside"),
        ([math.nan], [1], 1, "rows.not_finite"),
        ([1.5], [1], 1, "scores.probability_outside"),
    ],
)
def test_wrong_input_is_refused(p, k, n, code):
    with pytest.raises(InputError) as caught:
        brier_score(p, k, n)
    assert caught.value.code == code


# Witness 2: invariances.


def test_order_and_grouping_of_trials_do_not_matter_to_the_scores():
    p, k, n = np.array([0.2, 0.5, 0.9]), np.array([1.0, 2.0, 7.0]), np.array([6.0, 4.0, 8.0])
    single_p, single_k = one_by_one(p, k, n)
    order = np.random.default_rng(3).permutation(len(single_p))
    for score in (brier_score, log_score):
        assert score(p, k, n) == pytest.approx(score(single_p[order], single_k[order]), rel=1e-13)
    grouped, single = auc(p, k, n), auc(single_p[order], single_k[order])
    assert (grouped.value, grouped.lower, grouped.upper) == pytest.approx(
        (single.value, single.lower, single.upper), rel=1e-13
    )
    assert (grouped.clean, grouped.not_clean) == (10, 8)


def test_exchanging_clean_and_not_clean_turns_the_area_round():
    p, y = made_up()
    one, other = auc(p, y), auc(1.0 - p, 1.0 - y)
    assert (one.value, one.lower, one.upper) == pytest.approx((other.value, other.lower, other.upper))
    swapped = auc(p, 1.0 - y)
    assert (swapped.value, swapped.lower, swapped.upper) == pytest.approx(
        (1.0 - one.value, 1.0 - one.upper, 1.0 - one.lower), abs=1e-12
    )


def test_the_area_sees_only_the_order():
    p, y = made_up()
    assert auc(p**3, y) == auc(p, y)


# Witness 3: independent algorithms.


def test_area_agrees_with_mann_whitney_of_scipy():
    rng = np.random.default_rng(5)
    p = rng.integers(1, 9, 60) / 10.0  # many ties
    y = (rng.random(60) < p).astype(float)
    statistic = stats.mannwhitneyu(p[y == 1], p[y == 0]).statistic
    assert auc(p, y).value == pytest.approx(statistic / (y.sum() * (60 - y.sum())), rel=1e-13)


def test_scores_agree_with_a_general_library():
    metrics = pytest.importorskip("sklearn.metrics")
    p, y = made_up()
    assert brier_score(p, y) == pytest.approx(metrics.brier_score_loss(y, p), rel=1e-12)
    assert log_score(p, y) == pytest.approx(-metrics.log_loss(y, p), rel=1e-12)
    assert auc(p, y).value == pytest.approx(metrics.roc_auc_score(y, p), rel=1e-12)


def test_area_by_going_through_all_pairs():
    p, y = made_up(25, seed=8)
    pairs = list(itertools.product(p[y == 1], p[y == 0]))
    wins = sum(1.0 if a > b else 0.5 if a == b else 0.0 for a, b in pairs)
    assert auc(p, y).value == pytest.approx(wins / len(pairs), rel=1e-13)


@pytest.mark.parametrize(("value", "m", "n"), [(0.8, 10, 15), (0.5, 4, 4), (1.0, 6, 3), (0.95, 40, 9)])
def test_ends_of_the_area_are_roots_of_the_quartic(value, m, n):
    # Newcombe 2006, Stat. Med. 25:559, method 5, multiplied out: (t - value)^2 (2 - t)(1 + t) m n
    # = z^2 t (1 - t) [(2 - t)(1 + t) + s ((1 - t)(1 + t) + t (2 - t))]
    wins = round(value * m * n)
    z2, s = stats.norm.ppf(0.975) ** 2, (m + n) / 2 - 1
    t = np.polynomial.Polynomial([0.0, 1.0])
    shared = (2 - t) * (1 + t)
    theta = wins / (m * n)
    quartic = (t - theta) ** 2 * shared * m * n - z2 * t * (1 - t) * (
        shared + s * ((1 - t) * (1 + t) + t * (2 - t))
    )
    real = [root.real for root in quartic.roots() if abs(root.imag) < 1e-9 and -1e-9 <= root.real <= 1 + 1e-9]
    p, y = _with_wins(wins, m, n)
    found = auc(p, y)
    assert found.value == pytest.approx(theta)
    assert (found.lower, found.upper) == pytest.approx((min(real), max(real)), abs=1e-9)


def _with_wins(wins, m, n):
    """Place m clean scores among n others so that exactly ``wins`` pairs are won."""
    full, rest = divmod(wins, n)
    clean = [n + 1.0] * full + ([rest + 0.5] if full < m else []) + [0.0] * (m - full - 1)
    scores = np.array(clean[:m] + [float(place) for place in range(1, n + 1)])
    return scores / (n + 2.0), np.array([1.0] * m + [0.0] * n)


def test_interval_of_the_area_covers_the_truth_as_often_as_it_says():
    # 12 clean and 18 others, normal scores whose true area is 0.85
    rng, shift = np.random.default_rng(11), math.sqrt(2.0) * stats.norm.ppf(0.85)
    hits = 0
    for _ in range(400):
        raw = np.concatenate([rng.normal(shift, 1.0, 12), rng.normal(0.0, 1.0, 18)])
        found = auc(stats.norm.cdf(raw), [1.0] * 12 + [0.0] * 18)
        hits += found.lower <= 0.85 <= found.upper
    assert 0.925 <= hits / 400 <= 0.99


def test_leaving_out_lowers_the_area_where_there_is_nothing_to_tell():
    # the figure that the docstring and the guide give: near 0.37 with twelve attempts and three idle factors
    rng, areas, prior = np.random.default_rng(0), [], np.array([2.5, 2.0, 2.0, 2.0])
    for _ in range(60):
        X = np.column_stack([np.ones(12), rng.uniform(-1, 1, (12, 3))])
        y = (rng.random(12) < 0.5).astype(float)
        said = np.empty(12)
        for row in range(12):
            keep = np.arange(12) != row
            mode, _ = posterior_mode(collapse(X[keep], y[keep], np.ones(11)), prior)
            said[row] = expit(X[row] @ mode)
        area = auc(said, y)
        areas += [] if area is None else [area.value]
    assert np.mean(areas) == pytest.approx(0.37, abs=0.05)


def test_standard_error_of_the_gain_is_that_of_a_paired_mean():
    p, y = made_up()
    base = rate_without(y, np.ones(len(y)))
    difference = (base - y) ** 2 - (p - y) ** 2
    found = compare_scores(p, y).brier
    assert found.gain == pytest.approx(difference.mean(), rel=1e-12)
    assert found.gain_se == pytest.approx(stats.sem(difference), rel=1e-12)
    assert found.gain == pytest.approx(found.mean_rate - found.score, rel=1e-12)


def test_wilson_agrees_with_scipy():
    for k, n in [(0, 10), (3, 3), (7, 9), (81, 263)]:
        for level in (0.5, 0.9, 0.99):
            other = stats.binomtest(k, n).proportion_ci(level, method="wilson")
            assert wilson_interval(k, n, level=level) == pytest.approx((other.low, other.high), abs=1e-12)


# Properties: nothing that a campaign can hold gives a warning, a NaN, or bounds in the wrong order.

ROWS = st.lists(
    st.tuples(st.floats(0.0, 1.0), st.integers(0, 5), st.integers(0, 5)).map(lambda t: (t[0], t[1], t[1] + t[2])),
    max_size=12,
)


@given(ROWS, st.floats(0.5, 0.999))
@settings(max_examples=150, deadline=None)
def test_scores_and_area_are_in_range_for_any_rows(rows, level):
    p, k, n = (np.array([row[place] for row in rows], dtype=float) for place in range(3))
    found = compare_scores(p, k, n)
    assert (found is None) == (n.sum() == 0)
    if found is not None:
        assert 0.0 <= found.brier.score <= 1.0
        assert found.log.score <= 0.0
        assert found.log.mean_rate < 0.0
        assert all(math.isfinite(part.gain) for part in (found.brier, found.log))
        assert all(part.gain_se is None or part.gain_se >= 0.0 for part in (found.brier, found.log))
    area = auc(p, k, n, level=level)
    if area is not None:
        assert 0.0 <= area.lower <= area.value <= area.upper <= 1.0
        assert area.lower < area.upper
