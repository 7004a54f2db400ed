"""The posterior: exactly known answers, invariances, quadrature, health, and manners."""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.special import expit

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import InputError
from stirfall.inference.bayes import fit_posterior, posterior_mode
from stirfall.inference.grouped import collapse


def noise(posterior, spread):
    """Four Monte-Carlo standard errors of a mean."""
    return 4.0 * spread / np.sqrt(posterior.effective_sample_size)


def fields(posterior):
    return (posterior.draws, posterior.weights, posterior.mode, posterior.covariance, posterior.log_marginal)


@pytest.mark.parametrize(("k", "n"), [(0, 1), (3, 3), (2, 7), (0, 20), (350, 1000)])
def test_intercept_alone_agrees_with_quadrature(quadrature, k, n):
    posterior = fit_posterior(np.ones((1, 1)), [k], [n], [2.5])
    axis = np.linspace(-20, 20, 40_001)
    mean, sd, log_marginal, weight = quadrature(np.ones((1, 1)), [k], [n], [2.5], [axis])
    assert posterior.mean == pytest.approx(mean, abs=noise(posterior, sd[0]))
    assert posterior.sd == pytest.approx(sd, rel=0.05)
    assert posterior.log_marginal == pytest.approx(log_marginal, abs=4 / np.sqrt(posterior.effective_sample_size))
    p = float(weight @ expit(axis))
    p_sd = float(np.sqrt(weight @ (expit(axis) - p) ** 2))
    assert posterior.weights @ expit(posterior.draws[:, 0]) == pytest.approx(p, abs=noise(posterior, p_sd))


@pytest.mark.parametrize("separated", [False, True])
@pytest.mark.parametrize("rows", [3, 12, 40])
def test_two_coefficients_agree_with_quadrature(quadrature, made_up, rows, separated):
    X, y = made_up(rows, 2, seed=rows, separated=separated)
    posterior = fit_posterior(X, y, 1, [2.5, 2.0])
    axes = [np.linspace(-12, 12, 481), np.linspace(-12, 12, 481)]
    mean, sd, log_marginal, _ = quadrature(X, y, np.ones(rows), [2.5, 2.0], axes)
    assert np.abs(posterior.mean - mean) == pytest.approx(np.zeros(2), abs=noise(posterior, sd.max()))
    assert posterior.sd == pytest.approx(sd, rel=0.06)
    assert posterior.log_marginal == pytest.approx(log_marginal, abs=4 / np.sqrt(posterior.effective_sample_size))


def test_without_rows_the_posterior_is_the_prior():
    prior_sd = np.array([2.5, 2.0, 2.0])
    posterior = fit_posterior(np.empty((0, 3)), [], [], prior_sd)
    assert posterior.n_rows == 0
    assert posterior.n_trials == 0
    assert posterior.mode == pytest.approx(np.zeros(3))
    assert posterior.sd == pytest.approx(prior_sd, rel=0.04)
    assert posterior.log_marginal == pytest.approx(0.0, abs=0.02)


def test_the_mode_has_no_slope(made_up):
    X, y = made_up(30, 4)
    mode, precision = posterior_mode(collapse(X, y, np.ones(30)), np.full(4, 2.0))
    slope = X.T @ (y - expit(X @ mode)) - mode / 4.0
    assert slope == pytest.approx(np.zeros(4), abs=1e-8)
    assert np.linalg.eigvalsh(precision).min() > 0


def test_same_seed_gives_the_same_bits_and_another_seed_agrees(made_up):
    X, y = made_up(40, 5)
    first, second = (fit_posterior(X, y, 1, 2.0, seed=3) for _ in range(2))
    for a, b in zip(fields(first), fields(second), strict=True):
        assert np.array_equal(a, b)
    other = fit_posterior(X, y, 1, 2.0, seed=4)
    assert not np.array_equal(other.draws, first.draws)
    assert np.abs(other.mean - first.mean).max() < 1.5 * noise(first, first.sd.max())


def test_row_order_does_not_matter(made_up):
    X, y = made_up(50, 4)
    order = np.random.default_rng(1).permutation(50)
    whole, shuffled = fit_posterior(X, y, 1, 2.0), fit_posterior(X[order], y[order], 1, 2.0)
    for a, b in zip(fields(whole), fields(shuffled), strict=True):
        assert np.array_equal(a, b)


def test_grouping_equal_rows_does_not_matter():
    X = np.array([[1.0, -1.0], [1.0, 0.0], [1.0, 1.0]])
    k, n = np.array([1, 2, 5]), np.array([4, 5, 6])
    long_x = np.repeat(X, n, axis=0)
    long_y = np.concatenate([np.r_[np.ones(a), np.zeros(b - a)] for a, b in zip(k, n, strict=True)])
    grouped, single = fit_posterior(X, k, n, 2.0), fit_posterior(long_x, long_y, 1, 2.0)
    assert (grouped.n_rows, single.n_rows, grouped.n_trials, single.n_trials) == (3, 15, 15, 15)
    for a, b in zip(fields(grouped), fields(single), strict=True):
        assert np.array_equal(a, b)


def test_rows_without_trials_add_nothing(made_up):
    X, y = made_up(20, 3)
    more = np.vstack([X, [[1.0, 0.5, -0.5]]])
    assert fit_posterior(more, np.r_[y, 0], np.r_[np.ones(20), 0], 2.0).mode == pytest.approx(
        fit_posterior(X, y, 1, 2.0).mode, abs=1e-9
    )


def test_swapping_the_labels_turns_every_sign(made_up):
    X, y = made_up(40, 4)
    posterior, swapped = fit_posterior(X, y, 1, 2.0), fit_posterior(X, 1 - y, 1, 2.0)
    assert swapped.mode == pytest.approx(-posterior.mode, abs=1e-7)
    assert np.abs(swapped.mean + posterior.mean).max() < 1.5 * noise(posterior, posterior.sd.max())


def test_turning_a_column_turns_its_coefficient_alone(made_up):
    X, y = made_up(40, 3)
    turned = X * np.array([1.0, 1.0, -1.0])
    assert fit_posterior(turned, y, 1, 2.0).mode == pytest.approx(
        fit_posterior(X, y, 1, 2.0).mode * [1, 1, -1], abs=1e-7
    )


def test_a_column_that_never_varied_keeps_the_breadth_of_its_prior(made_up):
    X, y = made_up(60, 2)
    X = np.column_stack([X, np.zeros(60)])
    assert fit_posterior(X, y, 1, [2.5, 2.0, 2.0]).sd[2] == pytest.approx(2.0, rel=0.04)


@pytest.mark.parametrize("columns", range(4, 13))
@pytest.mark.parametrize("kind", ["random", "separated", "all clean"])
def test_health_is_good_for_four_to_twelve_coefficients(made_up, columns, kind):
    X, y = made_up(60, columns, seed=columns, separated=kind == "separated")
    posterior = fit_posterior(
        X, np.ones(60) if kind == "all clean" else y, 1, np.r_[2.5, np.full(columns - 1, 2.0)]
    )
    assert posterior.effective_sample_size > 2000
    assert posterior.pareto_k < 0.6


@pytest.mark.parametrize("columns", [20, 30])
def test_many_coefficients_get_more_draws_and_stay_sound(made_up, columns):
    X, y = made_up(60, columns, seed=columns)
    for outcomes in (y, np.ones(60)):
        posterior = fit_posterior(X, outcomes, 1, np.r_[2.5, np.full(columns - 1, 2.0)])
        assert posterior.effective_sample_size > 1000
        assert posterior.pareto_k < 0.7


def test_a_hundred_thousand_rows_take_bounded_time_and_find_the_truth():
    rng = np.random.default_rng(5)
    truth = np.array([-0.5, 1.0, 0.0, -2.0])
    X = np.column_stack([np.ones(100_000), rng.uniform(-1, 1, (100_000, 3))])
    y = rng.random(100_000) < expit(X @ truth)
    fit_posterior(X[:10], y[:10], 1, 2.0)  # loads scipy
    start = time.perf_counter()
    posterior = fit_posterior(X, y, 1, 2.0)
    assert time.perf_counter() - start < 10.0  # measured 0.8 s; the machine may be busy
    assert (posterior.n_rows, posterior.n_trials) == (100_000, 100_000)
    assert np.abs(posterior.mean - truth).max() < 5 * posterior.sd.max()
    assert posterior.effective_sample_size > 0.6 * len(posterior.weights)


def test_cancelled_work_stops(made_up):
    X, y = made_up(20, 3)
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        fit_posterior(X, y, 1, 2.0, token=token)


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (([[1.0]], [1, 0], 1, 2.0), "rows.shape"),
        (([[np.nan]], [1], 1, 2.0), "rows.not_finite"),
        (([[1.0]], [2], 1, 2.0), "rows.count_outside"),
        (([[1.0]], [1], 1, 0.0), "prior.not_positive"),
    ],
)
def test_bad_input_is_named(arguments, code):
    with pytest.raises(InputError) as error:
        fit_posterior(*arguments)
    assert error.value.code == code


@settings(max_examples=60, deadline=None)
@given(
    X=arrays(float, st.tuples(st.integers(0, 8), st.just(3)), elements=st.floats(-1000, 1000, width=32)),
    data=st.data(),
    sd=st.floats(0.01, 50),
)
def test_any_table_gives_finite_weighted_draws(X, data, sd):
    n = data.draw(arrays(np.int64, len(X), elements=st.integers(0, 50)))
    k = np.array([data.draw(st.integers(0, int(trials))) for trials in n])
    posterior = fit_posterior(X, k, n, sd, draws=512)
    for values in fields(posterior):
        assert np.isfinite(values).all()
    assert posterior.weights.sum() == pytest.approx(1.0)
    assert 1.0 <= posterior.effective_sample_size <= len(posterior.weights) + 1e-6
