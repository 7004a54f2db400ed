"""Recovery of clean attempts: closed forms, ordinary least squares, quadrature, calibration and invariances."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import expit as sigmoid

from stirfall.bench.errors import InputError
from stirfall.inference.recovery import (
    HIGHEST,
    LOWEST,
    RecoveryPrior,
    default_prior,
    expit,
    fit_normal,
    fit_recovery,
    held,
    logit,
    mean_draws,
    mean_recovery,
    new_attempt,
    posterior_draws,
    predictive,
)

ONE = np.ones((1, 1))


def made(rows: int = 14, seed: int = 5):
    rng = np.random.default_rng(seed)
    X = np.column_stack([np.ones(rows), rng.uniform(-1, 1, (rows, 2))])
    return X, sigmoid(X @ [1.8, -0.7, 0.4] + rng.normal(0, 0.5, rows))


def flat(terms: int) -> RecoveryPrior:
    return RecoveryPrior(np.zeros(terms), np.zeros(terms), -terms / 2.0, 0.0)


# -- exactly known ----------------------------------------------------------------------------------------


def test_without_attempts_the_answer_is_the_prior():
    prior = default_prior(1)
    fit = fit_recovery(np.empty((0, 1)), np.empty(0))
    assert fit.mean == pytest.approx([math.log(0.85 / 0.15)])
    assert (fit.shape, fit.scale, fit.n) == (prior.shape, prior.scale, 0)
    location, scale, degrees = predictive(fit, ONE)
    # The mean has the sd 1.5 and one attempt 0.5 where s2 is at its mean b0 / (a0 - 1); Student-t counts b0 / a0.
    assert (location[0], degrees) == (pytest.approx(math.log(0.85 / 0.15)), 4.0)
    assert scale[0] == pytest.approx(math.sqrt(0.125 * (1 + 9)))


def test_one_attempt_by_hand():
    """Prior N(1, s2 / 2) and IG(2, 0.3), one logit of 3: the textbook update with a precision of 3."""
    fit = fit_normal(ONE, np.array([3.0]), RecoveryPrior(np.array([1.0]), np.array([2.0]), 2.0, 0.3))
    assert fit.mean == pytest.approx([(2.0 * 1.0 + 3.0) / 3.0])
    assert fit.covariance == pytest.approx(np.array([[1.0 / 3.0]]))
    assert fit.shape == 2.5
    # b rises by (y - m0)^2 / 2 times k0 n / (k0 + n).
    assert fit.scale == pytest.approx(0.3 + 0.5 * 4.0 * 2.0 / 3.0)


def test_bounds_of_a_new_attempt_are_quantiles_of_student_t():
    X, recovery = made()
    fit = fit_recovery(X, recovery)
    location, scale, degrees = predictive(fit, X[:3])
    bands = new_attempt(fit, X[:3], 0.9)
    law = stats.t(degrees, location, scale)
    assert bands.lower == pytest.approx(sigmoid(law.ppf(0.05)), rel=1e-9)
    assert bands.upper == pytest.approx(sigmoid(law.ppf(0.95)), rel=1e-9)


def test_the_mean_of_a_new_attempt_is_the_integral_over_student_t():
    X, recovery = made()
    fit = fit_recovery(X, recovery)
    location, scale, degrees = predictive(fit, X[:2])
    for place in range(2):
        law = stats.t(degrees, location[place], scale[place])
        whole = integrate.quad(lambda v, law=law: sigmoid(v) * law.pdf(v), -40, 40, limit=200)[0]
        assert new_attempt(fit, X[:2], 0.95).mean[place] == pytest.approx(whole, abs=2e-5)


def test_the_mean_over_many_attempts_is_the_mean_of_a_new_one_and_surer():
    X, recovery = made(30)
    fit = fit_recovery(X, recovery)
    many, one = mean_recovery(fit, X[:5], 0.95), new_attempt(fit, X[:5], 0.95)
    assert many.mean == pytest.approx(one.mean, abs=5e-4)
    assert (many.lower > one.lower).all()
    assert (many.upper < one.upper).all()


def test_draws_have_the_moments_of_the_normal_inverse_gamma_law():
    X, recovery = made(20)
    fit = fit_recovery(X, recovery)
    beta, s2 = posterior_draws(fit, draws=8192)
    assert beta.mean(axis=0) == pytest.approx(fit.mean, abs=2e-3)
    mean_s2 = fit.scale / (fit.shape - 1)
    assert s2.mean() == pytest.approx(mean_s2, rel=5e-3)
    assert np.cov(beta.T) == pytest.approx(fit.covariance * mean_s2, abs=2e-3)


# -- another program and another algorithm ------------------------------------------------------------------


def test_the_flat_prior_gives_ordinary_least_squares():
    """Independent program: statsmodels' OLS, its standard errors and its interval of a new observation."""
    import statsmodels.api as sm

    X, recovery = made()
    other = sm.OLS(logit(recovery), X).fit()
    fit = fit_recovery(X, recovery, flat(3))
    assert fit.mean == pytest.approx(other.params, rel=1e-9)
    assert fit.scale / fit.shape == pytest.approx(other.mse_resid, rel=1e-9)
    assert np.sqrt(np.diag(fit.covariance) * fit.scale / fit.shape) == pytest.approx(other.bse, rel=1e-9)
    points = np.array([[1.0, 0.2, -0.4], [1.0, 3.0, 3.0]])
    frame = other.get_prediction(points).summary_frame(alpha=0.05)
    bands = new_attempt(fit, points, 0.95)
    assert logit(bands.lower) == pytest.approx(frame["obs_ci_lower"].to_numpy(), rel=1e-7)
    assert logit(bands.upper) == pytest.approx(frame["obs_ci_upper"].to_numpy(), rel=1e-7)


def test_an_intercept_agrees_with_quadrature_over_mean_and_scatter():
    """Independent algorithm: the rectangle rule over the mean and ln s2, written from the model's definition."""
    _, recovery = made(6)
    y = logit(recovery)
    prior = default_prior(1)
    mu, log_s2 = np.meshgrid(np.linspace(-4, 8, 1201), np.linspace(-6, 4, 801), indexing="ij")
    s2 = np.exp(log_s2)
    log_density = stats.norm.logpdf(mu, prior.mean[0], np.sqrt(s2 / prior.precision[0]))
    log_density += stats.invgamma.logpdf(s2, prior.shape, scale=prior.scale) + log_s2
    for each in y:
        log_density += stats.norm.logpdf(each, mu, np.sqrt(s2))
    weight = np.exp(log_density - log_density.max())
    weight /= weight.sum()
    nodes, node_weights = np.polynomial.hermite_e.hermegauss(60)
    node_weights /= node_weights.sum()
    recovered = sum(w * sigmoid(mu + node * np.sqrt(s2)) for node, w in zip(nodes, node_weights, strict=True))
    fit = fit_recovery(np.ones((6, 1)), recovery)
    assert mean_recovery(fit, ONE, 0.95).mean[0] == pytest.approx((weight * recovered).sum(), abs=5e-4)
    assert fit.mean[0] == pytest.approx((weight * mu).sum(), abs=1e-3)
    order = np.argsort(recovered, axis=None)
    shares = np.cumsum(weight.ravel()[order])
    bounds = recovered.ravel()[order][np.searchsorted(shares, [0.025, 0.975])]
    bands = mean_recovery(fit, ONE, 0.95)
    assert (bands.lower[0], bands.upper[0]) == pytest.approx(tuple(bounds), abs=0.006)


def test_truths_from_the_prior_rank_uniformly_among_the_draws():
    """Simulation-based calibration (Talts et al. 2018, arXiv:1804.06788) of mean recovery and scatter."""
    rng = np.random.default_rng(44)
    prior = default_prior(2)
    ranks = []
    for _ in range(400):
        s2 = prior.scale / rng.gamma(prior.shape)
        beta = rng.normal(prior.mean, np.sqrt(s2 / prior.precision))
        X = np.column_stack([np.ones(9), rng.uniform(-1, 1, 9)])
        fit = fit_normal(X, X @ beta + rng.normal(0, math.sqrt(s2), 9), prior)
        draws, drawn_s2 = posterior_draws(fit, draws=256, seed=int(rng.integers(2**31)))
        nodes, weights = np.polynomial.hermite_e.hermegauss(40)
        truth = sigmoid(beta.sum() + nodes * math.sqrt(s2)) @ (weights / weights.sum())
        mean = mean_draws(fit, np.ones((1, 2)), draws=256, seed=int(rng.integers(2**31)))[:, 0]
        ranks.append([(draws[:, 1] < beta[1]).mean(), (drawn_s2 < s2).mean(), (mean < truth).mean()])
    for column in np.array(ranks).T:
        assert stats.kstest(column, "uniform").pvalue > 0.001


# -- invariances and edges ----------------------------------------------------------------------------------


def test_the_order_of_attempts_does_not_matter():
    X, recovery = made()
    order = np.random.default_rng(0).permutation(len(X))
    one, other = fit_recovery(X, recovery), fit_recovery(X[order], recovery[order])
    assert one.mean == pytest.approx(other.mean, rel=1e-12)
    assert one.scale == pytest.approx(other.scale, rel=1e-12)


def test_recoveries_outside_are_held_and_change_nothing_beyond():
    assert held(np.array([0.0, 0.3, 0.9999, 1.0, 7.0])) == pytest.approx([LOWEST, 0.3, HIGHEST, HIGHEST, HIGHEST])
    X = np.ones((3, 1))
    one = fit_recovery(X, np.array([0.8, 0.9, 1.0]))
    assert fit_recovery(X, np.array([0.8, 0.9, 50.0])).mean == pytest.approx(one.mean)


def test_equal_and_repeated_rows_are_no_trouble():
    fit = fit_recovery(np.ones((2, 1)), np.array([0.9, 0.9]))
    bands = new_attempt(fit, ONE, 0.95)
    assert 0 < bands.lower[0] < bands.mean[0] < bands.upper[0] < 1
    same = np.column_stack([np.ones(4), np.ones(4), np.ones(4)])
    assert np.isfinite(fit_recovery(same, np.array([0.7, 0.8, 0.9, 1.0])).mean).all()


def test_the_logistic_function_and_its_inverse():
    values = np.array([-700.0, -3.0, 0.0, 3.0, 700.0])
    assert expit(values) == pytest.approx(sigmoid(values), abs=1e-15)
    assert logit(expit(np.array([-3.0, 0.4]))) == pytest.approx([-3.0, 0.4])


@pytest.mark.parametrize(
    ("X", "recovery", "code"),
    [
        (np.ones((2, 1)), np.ones(3), "rows.shape"),
        (np.ones(2), np.ones(2), "rows.shape"),
        (np.full((1, 1), np.nan), np.ones(1), "rows.not_finite"),
        (np.ones((1, 1)), np.array([np.inf]), "rows.not_finite"),
    ],
)
def test_what_is_no_table_is_refused(X, recovery, code):
    with pytest.raises(InputError) as caught:
        fit_recovery(X, recovery)
    assert caught.value.code == code
