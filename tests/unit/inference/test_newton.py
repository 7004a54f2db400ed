"""The Newton solver: closed forms, invariances, two independent programs, extreme scales, no trace of threads."""

from __future__ import annotations

import math
import os
import subprocess
import sys

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, special

from stirfall.inference import newton
from stirfall.inference.ml import fit_ml
from stirfall.inference.newton import climb, slopes


def invented(rows: int, columns: int, seed: int = 0, *, most: int = 1):
    rng = np.random.default_rng(seed)
    X = np.column_stack([np.ones(rows), rng.uniform(-1, 1, (rows, columns - 1))])
    n = rng.integers(1, most + 1, rows).astype(float)
    k = rng.binomial(n.astype(int), special.expit(X @ rng.normal(size=columns))).astype(float)
    return X, k, n


@given(st.integers(1, 10**6), st.integers(1, 10**6))
def test_an_intercept_alone_is_the_log_odds_with_the_information_of_a_proportion(k, rest):
    found = climb(np.ones((1, 1)), np.array([float(k)]), np.array([float(k + rest)]))
    assert found.is_reached
    assert found.beta[0] == pytest.approx(math.log(k / rest), abs=1e-9)
    assert found.slopes.information[0, 0] == pytest.approx(k * rest / (k + rest), rel=1e-6)


@given(st.floats(0.05, 20.0))
def test_without_rows_the_mode_is_that_of_the_prior(sd):
    found = climb(np.empty((0, 2)), np.empty(0), np.empty(0), prior_sd=np.array([sd, 2 * sd]))
    assert found.is_reached
    assert (found.beta == 0).all()
    assert found.slopes.information == pytest.approx(np.diag([sd**-2, (2 * sd) ** -2]))


@pytest.mark.parametrize("sd", [0.1, 1.0, 30.0])
@pytest.mark.parametrize("n", [1.0, 40.0])
def test_one_row_with_a_prior_solves_its_scalar_equation(sd, n):
    """All n succeeded: the mode b satisfies n / (1 + e^b) = b / sd^2, solved by bracketing (scipy)."""
    found = climb(np.ones((1, 1)), np.array([n]), np.array([n]), prior_sd=np.array([sd]))
    expected = optimize.brentq(lambda b: n * special.expit(-b) - b / sd**2, 0.0, 1e3, xtol=1e-14, rtol=1e-15)
    assert found.is_reached
    assert found.beta[0] == pytest.approx(expected, rel=1e-10)


def test_without_rows_or_prior_nothing_is_reached():
    assert not climb(np.empty((0, 1)), np.empty(0), np.empty(0)).is_reached


@pytest.mark.parametrize("most", [1, 7])
def test_agrees_with_the_glm_of_statsmodels(most):
    X, k, n = invented(300, 5, most, most=most)
    found = climb(X, k, n)
    witness = sm.GLM(np.column_stack([k, n - k]), X, family=sm.families.Binomial()).fit(tol=1e-13)
    assert found.beta == pytest.approx(witness.params, abs=1e-8)
    assert np.linalg.inv(found.slopes.information) == pytest.approx(witness.cov_params(), rel=1e-6, abs=1e-10)


def test_agrees_with_a_general_optimiser_under_a_prior():
    X, k, n = invented(50, 4, 3, most=5)
    prior_sd = np.array([2.5, 1.0, 0.5, 2.0])

    def minus_log_posterior(beta):
        eta = X @ beta
        return -(k @ eta - n @ np.logaddexp(0.0, eta)) + 0.5 * np.square(beta / prior_sd).sum()

    best = optimize.minimize(minus_log_posterior, np.zeros(4), method="BFGS", options={"gtol": 1e-8})
    found = climb(X, k, n, prior_sd=prior_sd)
    assert found.beta == pytest.approx(best.x, abs=1e-6)
    assert found.slopes.height == pytest.approx(-best.fun, rel=1e-10)


def test_slopes_are_the_derivatives_of_the_height():
    X, k, n = invented(40, 3, 5, most=4)
    beta, step = np.array([0.4, -1.2, 2.0]), 1e-5
    found = slopes(X, k, n, beta)
    for place in range(3):
        move = step * np.eye(3)[place]
        above, below = slopes(X, k, n, beta + move), slopes(X, k, n, beta - move)
        assert (above.height - below.height) / (2 * step) == pytest.approx(found.gradient[place], rel=1e-6)
        assert (below.gradient - above.gradient) / (2 * step) == pytest.approx(
            found.information[place], rel=1e-6, abs=1e-8
        )


@pytest.mark.parametrize("size", [1, 7, 64, 999, 1000])
def test_the_size_of_blocks_changes_the_last_digits_only(monkeypatch, size):
    X, k, n = invented(1000, 6, 8, most=3)
    whole = climb(X, k, n)
    monkeypatch.setattr(newton, "_LONGEST", size)
    cut = climb(X, k, n)
    assert cut.beta == pytest.approx(whole.beta, rel=1e-11, abs=1e-12)
    assert cut.slopes.height == pytest.approx(whole.slopes.height, rel=1e-12)
    assert cut.slopes.information == pytest.approx(whole.slopes.information, rel=1e-11, abs=1e-11)


def test_a_start_on_few_rows_ends_at_the_same_summit(monkeypatch):
    X, k, n = invented(5000, 4, 9)
    direct = climb(X, k, n)
    monkeypatch.setattr(newton, "_MANY_ROWS", 100)
    assert climb(X, k, n).beta == pytest.approx(direct.beta, rel=1e-9)
    prior_sd = np.full(4, 0.5)
    warm = climb(X, k, n, prior_sd=prior_sd)
    monkeypatch.setattr(newton, "_MANY_ROWS", 10**9)
    assert warm.beta == pytest.approx(climb(X, k, n, prior_sd=prior_sd).beta, rel=1e-9)


def test_few_rows_that_mislead_do_no_harm(monkeypatch):
    """Every sixteenth row succeeds and every other is a coin: the few rows alone have no summit."""
    X, k, n = invented(4000, 3, 10)
    k[::16] = 1.0
    direct = climb(X, k, n)
    monkeypatch.setattr(newton, "_MANY_ROWS", 100)
    found = climb(X, k, n)
    assert found.is_reached
    assert found.beta == pytest.approx(direct.beta, rel=1e-9)


def test_duplicated_rows_are_weights_and_order_does_not_matter():
    X, k, n = invented(200, 4, 11)
    twice = climb(X, 2 * k, 2 * n).beta
    assert climb(np.vstack([X, X]), np.r_[k, k], np.r_[n, n]).beta == pytest.approx(twice, rel=1e-10)
    order = np.random.default_rng(0).permutation(200)
    assert climb(X[order], k[order], n[order]).beta == pytest.approx(climb(X, k, n).beta, rel=1e-10)


@pytest.mark.parametrize("scale", [1e-200, 1e-9, 1e9, 1e150])
def test_a_column_of_extreme_size_changes_nothing_but_its_coefficient(scale):
    X, k, n = invented(300, 3, 12)
    plain, other = fit_ml(X, k, n), fit_ml(X * [1.0, scale, 1.0], k, n)
    assert other.exists
    assert other.estimate * [1.0, scale, 1.0] == pytest.approx(plain.estimate, rel=1e-8)
    assert other.se * [1.0, scale, 1.0] == pytest.approx(plain.se, rel=1e-7)
    assert other.deviance == pytest.approx(plain.deviance, rel=1e-10)


@given(
    st.lists(st.tuples(st.sampled_from([-1e9, -1.0, -1e-9, 0.0, 1e-9, 1.0, 1e9]), st.integers(0, 3)), max_size=8),
    st.sampled_from([0.1, 2.5]),
)
def test_with_a_prior_every_search_arrives(rows, sd):
    X = np.array([[1.0, x] for x, _ in rows]).reshape(-1, 2)
    k = np.array([float(k) for _, k in rows])
    found = climb(X, k, np.full(len(k), 3.0), prior_sd=np.array([sd, sd]), steps=200)
    assert np.isfinite(found.beta).all()
    assert np.isfinite(found.slopes.information).all()
    assert found.is_reached


def test_a_layout_in_memory_that_is_not_by_rows_gives_the_same():
    X, k, n = invented(3000, 5, 13)
    plain = climb(X, k, n).beta
    assert climb(np.asfortranarray(X), k, n).beta == pytest.approx(plain, rel=1e-12)
    wide = np.repeat(np.repeat(X, 2, axis=0), 2, axis=1)
    assert climb(wide[::2, ::2], k, np.broadcast_to(1.0, len(k))).beta == pytest.approx(plain, rel=1e-12)


def test_a_tiny_overlap_among_many_rows_is_seen():
    """One row of 20,000 contradicts the plane that parts all others: a fit exists, and is steep."""
    rng = np.random.default_rng(14)
    x = np.r_[rng.uniform(-1, -0.001, 10_000), rng.uniform(0.001, 1, 10_000)]
    y = (x > 0).astype(float)
    X = np.column_stack([np.ones(len(x)), x])
    assert fit_ml(X, y, 1).reason is not None
    y[0] = 1.0
    fit = fit_ml(X, y, 1)
    assert fit.exists
    witness = sm.Logit(y, X).fit(start_params=fit.estimate, disp=0, tol=1e-12)
    assert fit.estimate == pytest.approx(witness.params, rel=1e-6)


def test_a_rare_level_that_always_failed_has_no_estimate_among_many_rows():
    """Quasi-complete separation by one level in 30,000 rows; without that column the fit exists."""
    X, k, n = invented(30_000, 3, 15)
    rare = np.zeros(len(k))
    rare[:5] = 1.0
    k[:5] = 0.0
    fit = fit_ml(np.column_stack([X, rare]), k, n)
    assert fit.reason is not None
    assert fit.reason.code == "ml.quasi_separation"
    assert fit_ml(X, k, n).exists


ASK = """
import numpy as np
from stirfall.inference.ml import fit_ml
from stirfall.inference.newton import climb
rng = np.random.default_rng(1)
X = np.column_stack([np.ones(90_000), rng.uniform(-1, 1, (90_000, 11))])
y = (rng.random(90_000) < 0.4).astype(float)
fit = fit_ml(X, y, 1)
print(fit.estimate.tobytes().hex(), fit.covariance.tobytes().hex(), repr(fit.deviance))
print(climb(X, y, np.ones(90_000), prior_sd=np.full(12, 2.0)).beta.tobytes().hex())
"""


def test_the_number_of_threads_does_not_show_in_the_last_digit():
    answers = {
        subprocess.run(
            [sys.executable, "-c", ASK],
            env={**os.environ, "OPENBLAS_NUM_THREADS": threads, "OMP_NUM_THREADS": threads},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for threads in ("1", "4")
    }
    assert len(answers) == 1
    assert len(answers.pop()) > 1000
