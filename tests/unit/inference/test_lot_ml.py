"""Maximum likelihood with lots: invariances, an independent optimiser on an independent integral, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.special import expit, log_expit
from scipy.stats import norm

from stirfall.bench.errors import InputError
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_ml import fit_lot_ml
from stirfall.inference.ml import fit_ml


def gate_rows(X, k, n, group):
    group = np.asarray(group, dtype=np.intp)
    X = np.asarray(X, dtype=float)
    n = np.broadcast_to(np.asarray(n, dtype=float), (len(X),)).copy()
    return GateRows(X, np.asarray(k, float), n, group, int(group.max(initial=-1)) + 1, np.arange(len(X)))


def campaign(seed=0, *, lots=8, per_lot=9, sd=1.2, trials=1):
    """Rows of a made-up campaign: intercept, one number, lots that differ by ``sd``."""
    rng = np.random.default_rng(seed)
    group = np.repeat(np.arange(lots), per_lot)
    X = np.column_stack([np.ones(len(group)), rng.uniform(-1, 1, len(group))])
    chance = expit(X @ [0.2, 1.0] + sd * rng.normal(size=lots)[group])
    return gate_rows(X, rng.binomial(trials, chance), trials, group)


def same_fit(one, other, *, abs_=2e-6):
    assert one.exists
    assert other.exists
    assert one.estimate == pytest.approx(other.estimate, abs=abs_)
    assert one.se == pytest.approx(other.se, abs=10 * abs_)
    assert one.lot_sd == pytest.approx(other.lot_sd, abs=abs_)


# The trapezoidal rule is exponentially accurate for integrands that die out at both ends (Trefethen & Weideman
# 2014, SIAM Review 56:385).
GRID = np.linspace(-10.0, 10.0, 4001)


def log_likelihood_by_sum(rows, beta, sd):
    total = 0.0
    for lot in range(rows.groups):
        mine = rows.group == lot
        k, n = rows.k[mine, None], rows.n[mine, None]
        eta = (rows.X[mine] @ beta)[:, None] + sd * GRID
        heights = np.exp((k * log_expit(eta) + (n - k) * log_expit(-eta)).sum(axis=0)) * norm.pdf(GRID)
        total += math.log(heights.sum() * (GRID[1] - GRID[0]))
    return total


@pytest.fixture(scope="module")
def small():
    rows = campaign(3, lots=5, per_lot=6)
    return rows, fit_lot_ml(rows)


def test_an_independent_optimiser_on_an_independent_integral_agrees(small):
    rows, fit = small
    found = minimize(
        lambda p: -log_likelihood_by_sum(rows, p[:-1], p[-1]),
        [0.0, 0.0, 1.0],
        method="BFGS",
        options={"gtol": 1e-4},
    )
    assert np.r_[fit.estimate, fit.lot_sd] == pytest.approx(np.r_[found.x[:-1], abs(found.x[-1])], abs=2e-4)
    assert fit.log_likelihood == pytest.approx(-found.fun, abs=1e-7)


def test_standard_errors_are_from_the_hessian_of_the_integral(small):
    rows, fit = small
    at, gap = np.r_[fit.estimate, fit.lot_sd], 0.02
    hessian = np.empty((3, 3))
    for i in range(3):
        for j in range(3):
            shifts = [(a, b, a * b) for a in (1, -1) for b in (1, -1)]
            total = 0.0
            for a, b, sign in shifts:
                point = at + gap * (a * np.eye(3)[i] + b * np.eye(3)[j])
                total += sign * log_likelihood_by_sum(rows, point[:-1], point[-1])
            hessian[i, j] = total / (4 * gap**2)
    se = np.sqrt(np.diag(np.linalg.inv(-hessian)))
    assert np.r_[fit.se, fit.lot_sd_se] == pytest.approx(se, rel=2e-3)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(se, rel=2e-3)


@pytest.mark.parametrize(
    ("rows", "zero"),
    [
        (campaign(3, lots=5, per_lot=6), (True, False)),
        (campaign(21, lots=8, per_lot=6, sd=2.0), (False, False)),
        (campaign(2, lots=4, per_lot=6, sd=0.0), (True, True)),
    ],
)
def test_the_bounds_of_the_spread_are_where_the_profile_has_fallen(rows, zero):
    fit = fit_lot_ml(rows, nodes=75)
    assert (fit.lot_sd_lower == 0.0, fit.lot_sd == 0.0) == zero
    fall = norm.ppf(0.975) ** 2 / 2  # half the 95 % quantile of chi-square with one degree of freedom
    for bound in {fit.lot_sd_lower, fit.lot_sd_upper}:
        held = minimize(
            lambda b, s=bound: -log_likelihood_by_sum(rows, b, s),
            fit.estimate,
            method="BFGS",
            options={"gtol": 1e-3},
        )
        drop = fit.log_likelihood + held.fun
        if bound == 0.0:
            assert drop < fall
        else:
            assert drop == pytest.approx(fall, abs=1e-4)


def test_modes_shrink_towards_zero_and_follow_the_outcomes():
    rows = campaign(1, lots=6, per_lot=12, sd=2.0)
    fit = fit_lot_ml(rows)
    shares = [rows.k[rows.group == lot].mean() for lot in range(6)]
    assert list(fit.named) == list(range(6))
    assert np.corrcoef(fit.effects, shares)[0, 1] > 0.9
    assert (fit.effect_sd < fit.lot_sd).all()


def test_lots_that_differ_no_more_than_chance_have_spread_zero_and_the_plain_fit():
    # every lot has the same share: less spread than chance alone would give
    rows = gate_rows(
        np.column_stack([np.ones(24), np.tile([-1, 1], 12)]),
        np.tile([0, 1, 1, 0, 0, 1], 4),
        1,
        np.repeat(range(4), 6),
    )
    fit, plain = fit_lot_ml(rows), fit_ml(rows.X, rows.k, rows.n)
    assert fit.exists
    assert fit.lot_sd == 0.0
    assert fit.reason.code == "lot_ml.no_spread"
    assert fit.estimate == pytest.approx(plain.estimate, abs=1e-9)
    assert fit.se == pytest.approx(plain.se, rel=1e-4)
    assert fit.log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-9)
    assert math.isnan(fit.lot_sd_se)
    assert fit.lot_sd_lower == 0.0 < fit.lot_sd_upper
    assert fit.effects == pytest.approx(np.zeros(4))


def test_order_of_rows_and_names_of_lots_do_not_matter():
    rows = campaign(5)
    whole = fit_lot_ml(rows)
    order = np.random.default_rng(0).permutation(len(rows.k))
    names = np.random.default_rng(1).permutation(8)
    shuffled = fit_lot_ml(gate_rows(rows.X[order], rows.k[order], rows.n[order], names[rows.group[order]]))
    same_fit(whole, shuffled)
    assert shuffled.effects[names] == pytest.approx(whole.effects, abs=1e-5)


def test_binomial_rows_may_be_split_within_their_lot():
    rows = campaign(6, lots=7, per_lot=3, trials=5)
    singles = [
        (row, outcome)
        for row in range(len(rows.k))
        for outcome in [1.0] * int(rows.k[row]) + [0.0] * int(rows.n[row] - rows.k[row])
    ]
    places = np.array([row for row, _ in singles])
    split = gate_rows(rows.X[places], [outcome for _, outcome in singles], 1, rows.group[places])
    whole, parts = fit_lot_ml(rows), fit_lot_ml(split)
    same_fit(whole, parts)
    # only the binomial coefficients differ
    choices = sum(math.log(math.comb(int(n), int(k))) for k, n in zip(rows.k, rows.n, strict=True))
    assert whole.log_likelihood - parts.log_likelihood == pytest.approx(choices, abs=1e-7)


def test_a_row_that_stands_twice_in_its_lot_is_not_a_second_lot():
    rows = campaign(7)
    once = fit_lot_ml(rows)
    twice_in_lots = fit_lot_ml(gate_rows(rows.X, 2 * rows.k, 2 * rows.n, rows.group))
    again = np.r_[rows.group, rows.group + rows.groups]
    twice_as_many_lots = fit_lot_ml(gate_rows(np.vstack([rows.X] * 2), np.r_[rows.k, rows.k], 1, again))
    # as many lots again double the likelihood: the same estimates, standard errors smaller by the root of two
    assert twice_as_many_lots.estimate == pytest.approx(once.estimate, abs=2e-6)
    assert twice_as_many_lots.lot_sd == pytest.approx(once.lot_sd, abs=2e-6)
    assert twice_as_many_lots.se * math.sqrt(2) == pytest.approx(once.se, rel=1e-4)
    # the same rows twice within their lots say more about each lot: another spread
    assert abs(twice_in_lots.lot_sd - once.lot_sd) > 0.05


def test_successes_and_failures_may_change_places():
    rows = campaign(8, trials=3)
    there, back = fit_lot_ml(rows), fit_lot_ml(gate_rows(rows.X, rows.n - rows.k, rows.n, rows.group))
    assert back.estimate == pytest.approx(-there.estimate, abs=2e-6)
    assert back.lot_sd == pytest.approx(there.lot_sd, abs=2e-6)
    assert back.effects == pytest.approx(-there.effects, abs=1e-5)


@pytest.mark.parametrize("scale", [1e-6, 1e6])
def test_the_unit_of_a_column_does_not_matter(scale):
    rows = campaign(9)
    there = fit_lot_ml(rows)
    scaled = fit_lot_ml(gate_rows(rows.X * [1.0, scale], rows.k, 1, rows.group))
    assert scaled.estimate * [1.0, scale] == pytest.approx(there.estimate, abs=1e-6)
    assert scaled.se * [1.0, scale] == pytest.approx(there.se, abs=1e-6)


def test_rows_without_trials_say_nothing():
    rows = campaign(10)
    X = np.vstack([rows.X, [[1.0, 9.0]]])
    more = gate_rows(X, np.r_[rows.k, 0.0], np.r_[rows.n, 0.0], np.r_[rows.group, 3])
    same_fit(fit_lot_ml(rows), fit_lot_ml(more), abs_=1e-9)


def test_more_nodes_settle_the_answer_and_the_gap_says_how_far():
    rows = campaign(11, lots=30, per_lot=4, sd=2.5)
    fits = {nodes: fit_lot_ml(rows, nodes=nodes) for nodes in (1, 5, 25, 60)}
    errors = [abs(fits[nodes].log_likelihood - fits[60].log_likelihood) for nodes in (1, 5, 25)]
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 1e-4
    assert abs(fits[1].nodes_gap) > 0.1 > abs(fits[25].nodes_gap)


def test_a_given_start_leads_to_the_same_top():
    rows = campaign(12)
    same_fit(fit_lot_ml(rows), fit_lot_ml(rows, start=np.array([1.0, -1.0, 0.2])))


def test_rows_of_unknown_lot_join_in():
    rows = campaign(13)
    unknown = gate_rows(rows.X, rows.k, 1, np.where(np.arange(len(rows.k)) % 9 == 0, -1, rows.group))
    fit = fit_lot_ml(unknown)
    assert fit.exists
    assert list(fit.named) == [*range(8), *[-1] * 8]


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        (gate_rows(np.ones((0, 1)), [], [], []), "ml.no_rows"),
        (gate_rows(np.ones((6, 1)), np.ones(6), 1, [0, 0, 1, 1, 2, 2]), "ml.one_outcome"),
        (gate_rows(np.ones((6, 2)), [0, 1, 0, 1, 0, 1], 1, [0, 0, 1, 1, 2, 2]), "ml.collinear"),
        (
            gate_rows([[1, x] for x in (-3, -2, -1, 1, 2, 3)], [0, 0, 0, 1, 1, 1], 1, [0, 1, 0, 1, 0, 1]),
            "ml.complete_separation",
        ),
        (
            gate_rows([[1, x] for x in (0, 0, 0, 0, 1, 1)], [0, 1, 1, 0, 1, 1], 1, [0, 1, 0, 1, 0, 1]),
            "ml.quasi_separation",
        ),
        (gate_rows(np.ones((6, 1)), [0, 1, 0, 1, 0, 1], 1, np.full(6, -1)), "lot_ml.no_lots"),
        (gate_rows(np.ones((6, 1)), [0, 1, 0, 1, 0, 1], 1, np.zeros(6)), "lot_ml.one_lot"),
        (gate_rows(np.ones((6, 1)), [0, 1, 0, 1, 0, 1], 1, range(6)), "lot_ml.lots_of_one"),
        # each lot came out all one way: the likelihood rises with the spread for ever
        (
            gate_rows(np.ones((24, 1)), np.repeat([0, 0, 1, 1, 1, 0], 4), 1, np.repeat(range(6), 4)),
            "lot_ml.endless_spread",
        ),
    ],
)
def test_where_there_is_no_answer_it_says_why_and_gives_no_number(rows, code):
    fit = fit_lot_ml(rows)
    assert not fit.exists
    assert fit.reason.code == code
    assert np.isnan(fit.estimate).all()
    assert np.isnan(fit.se).all()
    assert all(math.isnan(value) for value in (fit.lot_sd, fit.log_likelihood, fit.deviance, fit.lot_sd_upper))


@pytest.mark.parametrize("nodes", [0, 101])
def test_nodes_outside_their_range_are_refused(nodes):
    with pytest.raises(InputError) as caught:
        fit_lot_ml(campaign(), nodes=nodes)
    assert caught.value.code == "lot_ml.nodes_outside"


@given(st.integers(0, 10**6))
def test_any_campaign_gives_finite_numbers_or_a_reason(seed):
    rng = np.random.default_rng(seed)
    rows, lots, columns = int(rng.integers(0, 30)), int(rng.integers(1, 6)), int(rng.integers(1, 4))
    X = np.column_stack([np.ones(rows), rng.normal(size=(rows, columns - 1)) * 10.0 ** rng.integers(-9, 9)])
    n = rng.integers(0, 4, rows)
    data = gate_rows(X, rng.integers(0, n + 1), n, rng.integers(-1, lots, rows))
    fit = fit_lot_ml(data, nodes=9)
    if not fit.exists:
        assert fit.reason is not None
        return
    assert np.isfinite(fit.estimate).all()
    assert (fit.se > 0).all()
    assert 0.0 <= fit.lot_sd_lower <= fit.lot_sd <= fit.lot_sd_upper
    assert fit.log_likelihood >= fit.log_likelihood_alone - 1e-8
    assert (fit.lot_sd == 0.0) == (fit.reason is not None)
    assert np.isfinite(fit.effects).all()
