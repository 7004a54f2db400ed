"""The likelihood of attempts that share lots, against an integral that shares no code with it.

Witness: ``scipy.integrate.quad`` (QUADPACK) over the effect of one lot at a time, the integrand written as plainly
as it can be. Source of the model: McCulloch & Searle, Generalized, Linear, and Mixed Models (Wiley), binomial with
normal random intercept.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import expit, log_expit
from scipy.stats import norm

from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_kernel import lot_modes, lot_rows, marginal_log_likelihood
from stirfall.inference.ml import fit_ml


def gate_rows(X, k, n, group, grade=None):
    group = np.asarray(group, dtype=np.intp)
    grade = None if grade is None else np.asarray(grade, dtype=np.int8)
    lots = int(group.max(initial=-1)) + 1
    return GateRows(
        np.asarray(X, float), np.asarray(k, float), np.asarray(n, float), group, lots, np.arange(len(k)), grade
    )


def by_quad(rows, beta, sd, distance=None):
    """Sum of the log integrals, lot by lot; a row of unknown lot is a lot of its own."""
    total = 0.0
    lots = [np.flatnonzero(rows.group == lot) for lot in range(rows.groups)]
    lots += [np.array([row]) for row in np.flatnonzero(rows.group < 0)]
    for members in lots:
        if not len(members):
            continue
        eta = rows.X[members] @ beta

        def log_height(z, members=members, eta=eta):
            shifted = eta + sd * z
            if rows.grade is None:
                k, n = rows.k[members], rows.n[members]
                value = (k * log_expit(shifted) + (n - k) * log_expit(-shifted)).sum()
            else:
                grade = rows.grade[members]
                yes, at_least = expit(shifted), expit(shifted + distance)
                value = np.log(np.select([grade == 2, grade == 1], [yes, at_least - yes], 1.0 - at_least)).sum()
            return value - 0.5 * (z * z + np.log(2.0 * np.pi))  # the normal density, which scipy takes longer for

        grid = np.linspace(-9, 9, 721)
        with np.errstate(divide="ignore"):
            heights = np.array([log_height(z) for z in grid])
        top = float(grid[heights.argmax()])
        peak = heights.max()
        near = grid[heights > peak - 45]
        low, high = near.min() - 0.03, near.max() + 0.03
        area, _ = quad(
            lambda z, f=log_height, p=peak: np.exp(f(z) - p), low, high, points=[top], limit=400, epsrel=1e-11
        )
        total += peak + np.log(area)
    return total


def random_rows(seed, *, trials=1, ordinal=False):
    rng = np.random.default_rng(seed)
    rows, lots = int(rng.integers(5, 40)), int(rng.integers(1, 7))
    group = rng.integers(-1, lots, rows)
    X = np.column_stack([np.ones(rows), rng.normal(size=(rows, 2))])
    n = np.ones(rows) if trials == 1 else rng.integers(1, trials, rows).astype(float)
    k = rng.binomial(n.astype(int), expit(X @ [-0.5, 1.0, -0.5])).astype(float)
    if not ordinal:
        return gate_rows(X, k, n, group)
    grade = rng.integers(0, 3, rows)
    return gate_rows(X, (grade == 2).astype(float), np.ones(rows), group, grade)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("sd", [0.01, 0.5, 1.5, 5.0])
def test_the_kernel_is_the_integral(seed, sd):
    rows = random_rows(seed, trials=1 if seed % 2 else 12)
    beta = np.random.default_rng(seed + 100).normal(size=3)
    value = marginal_log_likelihood(lot_rows(rows), beta[None], np.array([sd]), nodes=60, exact_modes=True)[0]
    assert value == pytest.approx(by_quad(rows, beta, sd), abs=2e-5 if sd == 5.0 else 1e-8)


@pytest.mark.parametrize("seed", range(2))
def test_seven_nodes_suffice_for_the_spreads_that_campaigns_show(seed):
    # seven nodes are the kernel's default for posteriors, where a hundredth is far below the noise of the draws
    rows = random_rows(seed)
    beta = np.array([0.3, -0.8, 0.4])
    for sd in (0.3, 1.0, 2.0):
        value = marginal_log_likelihood(lot_rows(rows), beta[None], np.array([sd]))[0]
        assert value == pytest.approx(by_quad(rows, beta, sd), abs=0.01)


@pytest.mark.parametrize("distance", [0.2, 1.5, 4.0])
@pytest.mark.parametrize("sd", [0.4, 2.0, 5.0])
def test_the_ordinal_form_is_the_integral_too(distance, sd):
    rows = random_rows(11, ordinal=True)
    beta = np.array([-0.2, 0.7, 0.1])
    value = marginal_log_likelihood(
        lot_rows(rows), beta[None], np.array([sd]), distance=np.array([distance]), nodes=60, exact_modes=True
    )[0]
    assert value == pytest.approx(by_quad(rows, beta, sd, distance), abs=2e-5 if sd == 5.0 else 1e-8)


@pytest.mark.parametrize("outcome", [0.0, 1.0])
@pytest.mark.parametrize("sd", [0.5, 5.0])
def test_lots_that_all_came_out_alike(outcome, sd):
    rows = gate_rows(np.ones((9, 1)), np.full(9, outcome), np.ones(9), [0, 0, 0, 0, 1, 1, 1, 2, -1])
    beta = np.array([0.4])
    value = marginal_log_likelihood(lot_rows(rows), beta[None], np.array([sd]), nodes=60, exact_modes=True)[0]
    assert value == pytest.approx(by_quad(rows, beta, sd), abs=1e-4 if sd == 5.0 else 1e-8)


def test_a_row_of_unknown_lot_is_a_lot_of_its_own():
    X, k = np.ones((4, 1)), np.array([1.0, 0.0, 1.0, 1.0])
    unknown = lot_rows(gate_rows(X, k, np.ones(4), [0, 0, -1, -1]))
    named = lot_rows(gate_rows(X, k, np.ones(4), [0, 0, 1, 2]))
    values = [marginal_log_likelihood(rows, np.array([[0.3]]), np.array([1.2]))[0] for rows in (unknown, named)]
    assert values[0] == pytest.approx(values[1], abs=1e-12)


def test_one_row_in_a_lot_is_a_flatter_curve():
    # one binary row: the integral is E expit(eta + sd z), here by quad over the normal law itself
    for eta, sd in ((0.5, 1.0), (-2.0, 3.0)):
        chance = quad(lambda z, e=eta, s=sd: expit(e + s * z) * norm.pdf(z), -12, 12)[0]
        rows = lot_rows(gate_rows([[eta]], [1.0], [1.0], [0]))
        value = marginal_log_likelihood(rows, np.ones((1, 1)), np.array([sd]), nodes=80, exact_modes=True)[0]
        assert np.exp(value) == pytest.approx(chance, abs=1e-7)


def test_without_spread_it_is_the_ordinary_likelihood():
    rows = random_rows(3, trials=8)
    fit = fit_ml(rows.X, rows.k, rows.n)
    at = marginal_log_likelihood(lot_rows(rows), fit.estimate[None], np.zeros(1), exact_modes=True)[0]
    eta = rows.X @ fit.estimate
    assert at == pytest.approx((rows.k * log_expit(eta) + (rows.n - rows.k) * log_expit(-eta)).sum(), abs=1e-10)


def test_many_parameter_vectors_at_once_are_each_alone():
    rows = lot_rows(random_rows(5))
    rng = np.random.default_rng(0)
    beta, sd = rng.normal(size=(50, 3)), rng.uniform(0, 4, 50)
    together = marginal_log_likelihood(rows, beta, sd, exact_modes=True)
    alone = [marginal_log_likelihood(rows, beta[[i]], sd[[i]], exact_modes=True)[0] for i in range(50)]
    assert together == pytest.approx(np.array(alone), abs=1e-9)


def test_the_modes_are_where_the_height_is_greatest():
    from scipy.optimize import minimize_scalar

    rows = random_rows(7)
    beta, sd = np.array([0.2, 0.5, -0.3]), 1.3
    prepared = lot_rows(rows)
    modes, scales = lot_modes(prepared, beta[None], np.array([sd]))
    for mode, scale, name in zip(modes[:, 0], scales[:, 0], prepared.named, strict=True):
        if name < 0:
            continue
        mine = rows.group == name

        def depth(u, mine=mine):
            eta = rows.X[mine] @ beta + u
            return -(rows.k[mine] * log_expit(eta) + (1 - rows.k[mine]) * log_expit(-eta)).sum() + u**2 / (
                2 * sd**2
            )

        best = minimize_scalar(depth, bounds=(-15, 15), method="bounded", options={"xatol": 1e-10})
        assert mode == pytest.approx(best.x, abs=1e-6)
        bend = (depth(best.x + 1e-3) - 2 * depth(best.x) + depth(best.x - 1e-3)) / 1e-6
        assert scale == pytest.approx(bend**-0.5, rel=1e-4)


# Answers of 1850 people to three questions, counted by pattern (yes, no): as remembered from Agresti, Categorical
# Data Analysis (Wiley), where a normal random intercept is fitted with a standard deviation near 9. Only the
# counts are used here, as a hard case for quadrature.
PATTERNS = np.array([[1, 1, 1], [1, 1, 0], [0, 1, 1], [0, 1, 0], [1, 0, 1], [1, 0, 0], [0, 0, 1], [0, 0, 0]], float)
PEOPLE = np.array([782, 51, 20, 39, 25, 79, 41, 813])


def test_where_lots_differ_wildly_laplace_is_wrong_and_many_nodes_are_right():
    beta, sd = np.array([-0.6, 0.8, 0.3]), 8.7
    X = np.tile([[1.0, 1.0, 0.0], [1.0, 0.0, 1.0], [1.0, 0.0, 0.0]], (8, 1))
    whole = gate_rows(X, PATTERNS.ravel(), np.ones(24), np.repeat(np.arange(8), 3))
    each = [
        gate_rows(whole.X[whole.group == lot], whole.k[whole.group == lot], np.ones(3), np.zeros(3))
        for lot in range(8)
    ]
    truth = PEOPLE @ np.array([by_quad(rows, beta, sd) for rows in each])

    def by_nodes(nodes):
        at = (beta[None], np.array([sd]))
        values = [marginal_log_likelihood(lot_rows(rows), *at, nodes=nodes, exact_modes=True)[0] for rows in each]
        return float(PEOPLE @ np.array(values))

    assert abs(by_nodes(1) - truth) > 100
    assert by_nodes(25) == pytest.approx(truth, abs=10)
    assert by_nodes(99) == pytest.approx(truth, abs=0.1)
