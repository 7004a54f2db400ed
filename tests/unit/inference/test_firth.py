"""Firth's penalised likelihood: closed forms, invariances, a general optimiser, and data of every kind."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats
from scipy.special import expit

from stirfall.bench.errors import InputError
from stirfall.inference.design import contrasts
from stirfall.inference.firth import fit_firth
from stirfall.inference.penalised import PenalisedRows
from stirfall.inference.profile import highest, profile_limits, searched_limit


def penalised(X, k, n, beta):
    """The definition, written down once more: binomial log-likelihood and half the log determinant."""
    eta = X @ np.asarray(beta, dtype=float)
    p = expit(eta)
    information = X.T @ (X * (n * p * (1 - p))[:, None])
    sign, log_det = np.linalg.slogdet(information)
    if sign <= 0:
        return -math.inf
    constant = stats.binom.logpmf(k, n, 0.5).sum() + n.sum() * math.log(2.0)
    return float(k @ eta - n @ np.logaddexp(0, eta) + 0.5 * log_det + constant)


@given(st.integers(0, 300), st.integers(0, 300))
def test_an_intercept_alone_adds_half_a_success_and_half_a_failure(k, rest):
    # p = (k + 1/2) / (n + 1): Firth 1993, Biometrika 80:27, section 3 (Jeffreys prior of a binomial)
    n = k + rest
    fit = fit_firth(np.ones((1, 1)), [k], [n])
    if n == 0:
        assert (fit.exists, fit.reason.code) == (False, "firth.no_rows")
        return
    share = (k + 0.5) / (n + 1)
    assert expit(fit.estimate[0]) == pytest.approx(share, abs=1e-10)
    assert fit.se[0] == pytest.approx(1 / math.sqrt(n * share * (1 - share)), rel=1e-8)
    top = penalised(np.ones((1, 1)), np.array([k]), np.array([n]), fit.estimate)
    assert fit.penalised_log_likelihood == pytest.approx(top, abs=1e-8)
    for limit in (fit.lower[0], fit.upper[0]):
        fall = top - penalised(np.ones((1, 1)), np.array([k]), np.array([n]), [limit])
        assert fall == pytest.approx(stats.chi2.ppf(0.95, 1) / 2, abs=1e-7)
    assert fit.lower[0] < fit.estimate[0] < fit.upper[0]


@given(*[st.integers(0, 60)] * 4)
def test_a_saturated_two_by_two_table_adds_half_to_each_cell(a, b, c, d):
    if a + b == 0 or c + d == 0:
        return
    fit = fit_firth([[1, 0], [1, 1]], [a, c], [a + b, c + d])
    a, b, c, d = (cell + 0.5 for cell in (a, b, c, d))
    assert fit.estimate == pytest.approx([math.log(a / b), math.log(c * b / (d * a))], abs=1e-8)


def random_rows(seed):
    rng = np.random.default_rng(seed)
    columns = int(rng.integers(1, 5))
    rows = int(rng.integers(columns + 1, 20))
    draw = rng.normal(size=(rows, columns - 1)) if seed % 2 else rng.integers(0, 3, (rows, columns - 1))
    X = np.column_stack([np.ones(rows), draw]).astype(float)
    n = rng.integers(1, 4, rows) if seed % 3 else np.ones(rows, dtype=int)
    k = rng.binomial(n, expit(X @ rng.normal(scale=2.0, size=columns)))
    return X, k, n


def witness_profile(X, k, n, place, start):
    """Return a function: the largest penalised log-likelihood with one coefficient held."""
    others = [column for column in range(X.shape[1]) if column != place]

    def height(value):
        if not others:
            return penalised(X, k, n, [value])

        def minus(free):
            beta = np.insert(free, place, value)
            return -penalised(X, k, n, beta)

        best = optimize.minimize(
            minus, start[others], method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-11, "maxfev": 8000}
        )
        return -best.fun

    return height


@pytest.mark.parametrize("seed", [1, 3, 4, 5, 8, 11, 14])
def test_agrees_with_a_general_optimiser_and_root_finding_on_the_profile(seed):
    X, k, n = random_rows(seed)
    fit = fit_firth(X, k, n, level=0.9)
    if not fit.exists:
        assert np.linalg.matrix_rank(X) < X.shape[1]
        return
    best = optimize.minimize(
        lambda beta: -penalised(X, k, n, beta),
        np.zeros(X.shape[1]),
        method="Nelder-Mead",
        options={"xatol": 1e-8, "fatol": 1e-12, "maxfev": 10000, "maxiter": 10000},
    )
    assert fit.estimate == pytest.approx(best.x, abs=1e-4)
    assert fit.penalised_log_likelihood == pytest.approx(-best.fun, abs=1e-8)
    goal = fit.penalised_log_likelihood - stats.chi2.ppf(0.9, 1) / 2
    for place in range(X.shape[1]):
        height = witness_profile(X, k, n, place, fit.estimate)
        for limit, step in ((fit.lower[place], -fit.se[place]), (fit.upper[place], fit.se[place])):
            far = fit.estimate[place] + step
            while height(far) > goal:
                far += step
            found = optimize.brentq(lambda value: height(value) - goal, fit.estimate[place], far, xtol=1e-7)  # noqa: B023
            assert limit == pytest.approx(found, abs=2e-4 * abs(step))
        at_zero = height(0.0)
        assert fit.null_penalised_log_likelihood[place] == pytest.approx(at_zero, abs=1e-6)
        expected = stats.chi2.sf(2 * (fit.penalised_log_likelihood - at_zero), 1)
        assert fit.p[place] == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("seed", [1, 2, 3, 5, 8])
def test_the_search_that_stands_in_for_newtons_method_finds_the_same_limits(seed):
    X, k, n = random_rows(seed)
    orthogonal, upper = np.linalg.qr(X)
    rows = PenalisedRows(orthogonal, k.astype(float), n.astype(float))
    peak = highest(rows, np.zeros(X.shape[1]))
    direction = np.linalg.inv(upper)[-1]
    drop = stats.chi2.ppf(0.95, 1) / 2
    lower, top = profile_limits(rows, peak, direction[None, :], np.array([drop]))
    assert searched_limit(rows, peak, direction, -1.0, drop) == pytest.approx(lower[0], rel=1e-6, abs=1e-8)
    assert searched_limit(rows, peak, direction, 1.0, drop) == pytest.approx(top[0], rel=1e-6, abs=1e-8)


def test_a_fall_that_no_number_can_show_is_unknown():
    rows = PenalisedRows(np.ones((2, 1)), np.array([1.0, 0.0]), np.ones(2))
    peak = highest(rows, np.zeros(1))
    lower, upper = profile_limits(rows, peak, np.ones((1, 1)), np.array([1e6]))
    assert np.isnan([*lower, *upper]).all()


def test_derivatives_are_those_of_the_value():
    X, k, n = random_rows(5)
    rows = PenalisedRows(X, k.astype(float), n.astype(float))
    at = np.array([0.3, -0.2, 0.4, 0.1])[: X.shape[1]]
    here = rows.at(at[None, :])
    small = 1e-5 * np.eye(len(at))
    up, down = rows.at(at + small), rows.at(at - small)
    assert here.gradient[0] == pytest.approx((up.value - down.value) / 2e-5, abs=1e-6)
    assert -here.curvature[0] == pytest.approx((up.gradient - down.gradient) / 2e-5, abs=1e-6)


def numbers(fit):
    return np.concatenate([fit.estimate, fit.se, fit.lower, fit.upper, fit.p])


@pytest.mark.parametrize("seed", [2, 7, 12])
def test_neither_row_order_nor_grouping_changes_an_answer(seed):
    X, k, n = random_rows(seed)
    fit = fit_firth(X, k, n)
    order = np.random.default_rng(seed).permutation(len(k))
    shuffled = fit_firth(X[order], k[order], n[order])
    assert np.array_equal(numbers(fit), numbers(shuffled))
    long_y = np.concatenate([np.r_[np.ones(a), np.zeros(b - a)] for a, b in zip(k, n, strict=True)])
    single = fit_firth(np.repeat(X, n, axis=0), long_y, 1)
    assert numbers(single) == pytest.approx(numbers(fit), abs=1e-12)
    constant = stats.binom.logpmf(k, n, 0.5).sum() + n.sum() * math.log(2.0)
    assert fit.penalised_log_likelihood - single.penalised_log_likelihood == pytest.approx(constant)


def test_rows_that_stand_twice_count_twice():
    X, k, n = random_rows(7)
    twice = fit_firth(np.vstack([X, X]), np.r_[k, k], np.r_[n, n])
    assert numbers(twice) == pytest.approx(numbers(fit_firth(X, 2 * k, 2 * n)), abs=1e-12)


@pytest.mark.parametrize("size", [1e-9, 1e9])
def test_rescaling_a_column_rescales_its_numbers_and_leaves_its_p_value(size):
    X, k, n = random_rows(3)
    factor = np.r_[1.0, np.full(X.shape[1] - 1, size)]
    plain, scaled = fit_firth(X, k, n), fit_firth(X * factor, k, n)
    for name in ("estimate", "se", "lower", "upper"):
        assert getattr(scaled, name) * factor == pytest.approx(getattr(plain, name), rel=1e-7)
    assert scaled.p == pytest.approx(plain.p, abs=1e-9)
    shift = np.log(factor).sum()  # half the log determinant of the squares
    assert scaled.penalised_log_likelihood - plain.penalised_log_likelihood == pytest.approx(shift, abs=1e-9)


def test_an_offset_far_larger_than_the_spread_does_no_harm():
    x, y = np.arange(6.0), [0, 1, 0, 1, 1, 1]
    plain = fit_firth(np.column_stack([np.ones(6), x]), y, 1)
    moved = fit_firth(np.column_stack([np.ones(6), x + 1e9]), y, 1)
    for name in ("estimate", "se", "lower", "upper", "p"):
        assert getattr(moved, name)[1] == pytest.approx(getattr(plain, name)[1], rel=1e-6)


def test_swapping_the_outcomes_turns_every_sign():
    X, k, n = random_rows(11)
    fit, turned = fit_firth(X, k, n), fit_firth(X, n - k, n)
    assert turned.estimate == pytest.approx(-fit.estimate, abs=1e-9)
    assert turned.lower == pytest.approx(-fit.upper, abs=1e-8)
    assert turned.p == pytest.approx(fit.p, abs=1e-9)


def test_combinations_answer_like_the_columns_that_they_would_be():
    X, k, n = random_rows(7)
    assert X.shape[1] >= 3
    change = np.eye(X.shape[1])
    change[2, 1] = 1.5  # new coefficients: gamma = change @ beta
    fit = fit_firth(X, k, n, combinations=change)
    other = fit_firth(X @ np.linalg.inv(change), k, n)
    assert numbers(fit) == pytest.approx(numbers(other), abs=1e-7)
    assert fit.coefficients == pytest.approx(fit_firth(X, k, n).estimate)


def test_levels_of_the_intervals_may_differ_and_wider_ones_hold_narrower_ones():
    X, k, n = random_rows(7)
    first = np.eye(X.shape[1])[[1, 1, 1]]
    fit = fit_firth(X, k, n, combinations=first, level=[0.5, 0.9, 0.99])
    assert (np.diff(fit.lower) < 0).all()
    assert (np.diff(fit.upper) > 0).all()
    for level in (0.0, 1.0, math.nan):
        with pytest.raises(InputError):
            fit_firth(X, k, n, level=level)


LINE = np.column_stack([np.ones(6), np.arange(6.0)])


@pytest.mark.parametrize(
    ("X", "code", "named"),
    [
        (np.empty((0, 2)), "firth.no_rows", None),
        (LINE[1:2], "firth.collinear", "one, two"),
        (LINE[[0, 0]], "firth.collinear", "two"),
        (np.column_stack([np.ones(6), np.full(6, 3.0)]), "firth.collinear", "one, two"),
        (np.column_stack([LINE, 2.0 * LINE[:, 1] + 1.0]), "firth.collinear", "one, two, three"),
        (np.column_stack([LINE, np.zeros(6)]), "firth.collinear", "three"),
        (np.column_stack([np.ones(6), np.full(6, 1e9)]), "firth.collinear", "one, two"),
    ],
)
def test_where_no_fit_exists_it_says_why_and_gives_no_number(X, code, named):
    fit = fit_firth(X, np.zeros(len(X)), 1, names=["one", "two", "three"][: X.shape[1]])
    assert not fit.exists
    assert fit.reason.code == code
    assert fit.reason.params.get("names") == named
    assert np.isnan(numbers(fit)).all()
    assert np.isnan([fit.penalised_log_likelihood, *fit.coefficients, *fit.covariance.ravel()]).all()


@pytest.mark.parametrize("outcome", [0.0, 1.0])
def test_outcomes_all_alike_still_give_numbers(outcome):
    fit = fit_firth(LINE, np.full(6, outcome), 1)
    assert fit.exists
    assert fit.estimate[1] == pytest.approx(0.0, abs=1e-8)  # by symmetry of the design
    assert fit.lower[1] == pytest.approx(-fit.upper[1], rel=1e-6)
    assert np.isfinite(numbers(fit)).all()


def test_forty_levels_with_one_attempt_each():
    X = np.column_stack([np.ones(40), contrasts(40)])
    y = np.arange(40) % 3 == 0
    fit = fit_firth(X, y, 1)
    # saturated: each level has its own log-odds of 1.5 to 0.5
    effects = X @ fit.estimate
    assert effects == pytest.approx(np.where(y, math.log(3), -math.log(3)), abs=1e-7)
    assert np.isfinite(numbers(fit)).all()


cells = st.tuples(
    st.sampled_from([-1e9, -3.0, -1e-9, 0.0, 1e-9, 0.5, 1.0, 2.0, 7.0, 1e9]),
    st.sampled_from([0.0, 1.0, 2.0]),
    st.integers(0, 3),
    st.integers(0, 3),
)


@settings(deadline=None)
@given(st.lists(cells, max_size=14))
def test_any_rows_give_ordered_intervals_and_probabilities_or_a_reason_and_never_a_warning(rows):
    X = np.array([[1.0, x, z] for x, z, _, _ in rows]).reshape(-1, 3)
    k = np.array([good for _, _, good, _ in rows])
    n = np.array([good + bad for _, _, good, bad in rows])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        fit = fit_firth(X, k, n)
    if not fit.exists:
        assert fit.reason is not None
        assert np.isnan(numbers(fit)).all()
        return
    assert np.isfinite(fit.estimate).all()
    assert (fit.se > 0).all()
    assert ((fit.p >= 0) & (fit.p <= 1)).all()
    assert (np.isnan(fit.lower) | (fit.lower < fit.estimate)).all()
    assert (np.isnan(fit.upper) | (fit.upper > fit.estimate)).all()
    assert (fit.null_penalised_log_likelihood <= fit.penalised_log_likelihood + 1e-7).all()
    # an interval at 95 % leaves out zero exactly where p is below 0.05
    outside = (fit.lower > 0) | (fit.upper < 0)
    clear = np.abs(fit.p - 0.05) > 1e-4
    assert (outside == (fit.p < 0.05))[clear & np.isfinite(fit.lower) & np.isfinite(fit.upper)].all()


def test_a_hundred_thousand_rows_agree_with_maximum_likelihood_to_the_order_of_the_bias():
    rng = np.random.default_rng(3)
    X = np.column_stack([np.ones(100_000), rng.normal(size=(100_000, 2))])
    y = rng.random(100_000) < expit(X @ [-0.5, 1.0, 0.2])
    fit = fit_firth(X, y, 1)
    from stirfall.inference.ml import fit_ml

    plain = fit_ml(X, y, 1)
    assert fit.estimate == pytest.approx(plain.estimate, abs=1e-3)
    assert fit.lower == pytest.approx(plain.estimate - 1.959964 * plain.se, abs=1e-3)
    assert fit.upper == pytest.approx(plain.estimate + 1.959964 * plain.se, abs=1e-3)
