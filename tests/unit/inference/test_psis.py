"""Pareto-smoothed weights: known tails, known leave-one-out, invariances, and two other fits of the same law."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtri
from scipy.stats import genpareto, norm

from stirfall.inference.importance import pareto_k
from stirfall.inference.psis import pareto_fit, smoothed_weights


def evenly(count):
    return (np.arange(count) + 0.5) / count


def ratios(draws=4000, columns=3, seed=1, scale=1.0):
    return scale * np.random.default_rng(seed).standard_normal((draws, columns))


@pytest.mark.parametrize("k", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_the_shape_of_a_pareto_tail_is_found(k):
    # u^-k has the survival function x^(-1/k): every tail of it is a generalised Pareto law of shape k exactly.
    log_ratios = -k * np.log(evenly(40_000))[:, None]
    _, shape = smoothed_weights(log_ratios)
    assert shape[0] == pytest.approx(k, abs=0.03)


def test_bounded_ratios_have_a_shape_below_zero():
    # A uniform number is bounded: its tail has the shape -1.
    _, shape = smoothed_weights(np.log(evenly(20_000))[:, None])
    assert shape[0] == pytest.approx(-1.0, abs=0.1)


def test_an_exponential_tail_has_no_shape():
    _, shape = smoothed_weights(np.log(-np.log(evenly(40_000)))[:, None])
    assert shape[0] == pytest.approx(0.0, abs=0.05)


@pytest.mark.parametrize("draws", [1, 3, 24, 25, 400, 4000])
def test_flat_ratios_stay_flat_with_shape_zero(draws):
    weights, shape = smoothed_weights(np.full((draws, 2), 3.5))
    assert (shape == 0).all()
    assert weights == pytest.approx(np.full((draws, 2), 1.0 / draws), rel=1e-12)


@given(
    st.integers(1, 300),
    st.integers(1, 4),
    st.sampled_from([1e-9, 0.1, 1.0, 10.0, 60.0]),
    st.integers(0, 5),
    st.sampled_from([-800.0, 0.0, 800.0]),
)
def test_weights_are_a_law_and_keep_the_order_of_the_ratios(draws, columns, scale, seed, level):
    log_ratios = ratios(draws, columns, seed, scale) + level
    weights, shape = smoothed_weights(log_ratios)
    assert np.isfinite(shape).all()
    assert (weights >= 0).all()
    assert weights.sum(axis=0) == pytest.approx(np.ones(columns))
    for column in range(columns):
        ordered = weights[np.argsort(log_ratios[:, column], kind="stable"), column]
        assert (np.diff(ordered) >= -1e-12).all()


def test_few_draws_are_only_normalised():
    log_ratios = ratios(24, 2)
    weights, shape = smoothed_weights(log_ratios)
    plain = np.exp(log_ratios)
    assert weights == pytest.approx(plain / plain.sum(axis=0))
    assert (shape == 0).all()


def test_only_the_tail_is_smoothed_and_never_above_the_largest_ratio():
    log_ratios = ratios(4000, 1, scale=2.0)
    weights, _ = smoothed_weights(log_ratios)
    plain = np.exp(log_ratios[:, 0])
    order = np.argsort(plain)
    # min(4000 / 5, 3 sqrt 4000) = 189.7, rounded up
    body, tail = order[:-190], order[-190:]
    factor = weights[body, 0] / plain[body]
    assert factor == pytest.approx(np.full(len(body), factor[0]), rel=1e-9)
    assert weights[tail, 0].max() <= plain.max() * factor[0] * (1 + 1e-12)
    assert np.abs(weights[tail, 0] / plain[tail] / factor[0] - 1.0).max() > 1e-3


def test_columns_do_not_see_each_other_and_a_common_factor_is_lost():
    log_ratios = ratios(1000, 3, scale=1.5)
    weights, shape = smoothed_weights(log_ratios)
    for column in range(3):
        alone, k = smoothed_weights(log_ratios[:, [column]] + 40.0 * column)
        assert alone[:, 0] == pytest.approx(weights[:, column], rel=1e-9)
        assert k[0] == pytest.approx(shape[column], abs=1e-9)


def test_the_order_of_draws_does_not_matter():
    log_ratios = ratios(1000, 2)
    order = np.random.default_rng(5).permutation(1000)
    weights, shape = smoothed_weights(log_ratios)
    shuffled, k = smoothed_weights(log_ratios[order])
    assert shuffled == pytest.approx(weights[order], rel=1e-12)
    assert k == pytest.approx(shape, abs=1e-12)


@pytest.mark.parametrize("scale", [0.3, 1.0, 2.5])
def test_the_shape_is_the_diagnostic_of_the_sampler_drawn_a_little_to_one_half(scale):
    log_ratios = ratios(3000, 1, scale=scale)
    _, shape = smoothed_weights(log_ratios)
    plain = np.exp(log_ratios[:, 0])
    tail = 165  # 3 sqrt 3000 = 164.3, rounded up
    # The weakly informed prior of Vehtari, Simpson, Gelman, Yao & Gabry: (t k + 10 * 0.5) / (t + 10).
    assert shape[0] == pytest.approx((tail * pareto_k(plain / plain.sum()) + 5.0) / (tail + 10.0), abs=1e-6)


@pytest.mark.parametrize("k", [-0.3, 0.2, 0.8])
def test_the_fit_agrees_with_maximum_likelihood(k):
    # scipy.stats.genpareto.fit: an independent algorithm; Zhang & Stephens is nearly as good as it.
    excess = np.sort(genpareto.rvs(k, scale=2.0, size=600, random_state=np.random.default_rng(3)))
    shape, scale = pareto_fit(excess[:, None])
    by_likelihood, _, scale_by_likelihood = genpareto.fit(excess, floc=0.0)
    assert shape[0] == pytest.approx((600 * by_likelihood + 5.0) / 610.0, abs=0.03)
    assert scale[0] == pytest.approx(scale_by_likelihood, rel=0.04)


def test_leave_one_out_of_a_normal_mean_is_exact():
    """Known variance 1, prior N(0, 10^2): the law of each value without itself is normal in closed form."""
    y = np.array([-1.2, 0.1, 0.4, 0.9, 1.3, 2.4])
    precision = len(y) + 0.01
    theta = y.sum() / precision + ndtri(evenly(8192)) / np.sqrt(precision)
    log_likelihood = norm.logpdf(y, theta[:, None], 1.0)
    weights, shape = smoothed_weights(-log_likelihood)
    found = np.log((weights * np.exp(log_likelihood)).sum(axis=0))
    left = precision - 1.0
    exact = norm.logpdf(y, (y.sum() - y) / left, np.sqrt(1.0 + 1.0 / left))
    assert found == pytest.approx(exact, abs=0.02)
    assert shape.max() < 0.7


def test_smoothing_beats_plain_weights_where_the_tail_is_heavy():
    """The mean of e^(theta) under weights with a tail of shape one half or so, from N(0, 1) to N(0, 1.4^2)."""
    rng = np.random.default_rng(8)
    theta = rng.standard_normal((1000, 200))
    log_ratios = norm.logpdf(theta, 0.0, 1.4) - norm.logpdf(theta)
    weights, _ = smoothed_weights(log_ratios)
    plain = np.exp(log_ratios)
    plain /= plain.sum(axis=0)
    value = np.square(theta)
    exact = 1.4**2
    smooth_error = np.sqrt(np.mean(np.square((weights * value).sum(axis=0) - exact)))
    plain_error = np.sqrt(np.mean(np.square((plain * value).sum(axis=0) - exact)))
    assert smooth_error < plain_error


def test_no_columns_give_no_columns():
    weights, shape = smoothed_weights(np.zeros((100, 0)))
    assert weights.shape == (100, 0)
    assert shape.shape == (0,)
