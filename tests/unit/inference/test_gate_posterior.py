"""One gate with lots and partly parted attempts: quadrature over all its parameters, a Markov chain, invariances.

The quadrature shares no code with the program: grids over intercept, distance of the cuts, sd of the lots, and the
effect of a lot, all by the rectangle rule.
"""

from __future__ import annotations

from dataclasses import replace

import emcee
import numpy as np
import pytest
from scipy.special import expit, log_expit
from scipy.stats import halfnorm, norm

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.inference.bayes import fit_posterior
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_laplace import fit_many, posterior_of

PRIOR_SD = 2.5
Z = np.linspace(-6.0, 6.0, 61)
Z_WEIGHT = norm.pdf(Z) * (Z[1] - Z[0])


def gate_rows(X, k, n, group, grade=None):
    group = np.asarray(group, dtype=np.intp)
    grade = None if grade is None else np.asarray(grade, dtype=np.int8)
    lots = int(group.max(initial=-1)) + 1
    return GateRows(
        np.asarray(X, float), np.asarray(k, float), np.asarray(n, float), group, lots, np.arange(len(k)), grade
    )


def names(rows):
    return tuple(f"L{place + 1}" for place in range(rows.groups))


def intercept_rows(k, n, group=None):
    count = len(k)
    return gate_rows(np.ones((count, 1)), k, n, np.arange(count) if group is None else group)


def noise(posterior, spread):
    """Four Monte-Carlo standard errors of a mean."""
    return 4.0 * spread / np.sqrt(posterior.effective_sample_size)


def moments(weight, axes):
    """Return means and sds along each axis of an unnormalised density on a grid."""
    weight = weight / weight.sum()
    found = []
    for place, axis in enumerate(axes):
        marginal = weight.sum(axis=tuple(other for other in range(len(axes)) if other != place))
        mean = marginal @ axis
        found.append((mean, np.sqrt(marginal @ (axis - mean) ** 2)))
    return found


def cells(*axes):
    return np.prod([axis[1] - axis[0] for axis in axes])


def counts_by_quadrature(lots, scale):
    """Intercept and lot sd for lots given as (k, n): moments of both, and the log marginal likelihood."""
    b, s = np.linspace(-11, 11, 221), (np.arange(120) + 0.5) * 0.04 * scale
    value = norm.logpdf(b, 0, PRIOR_SD)[:, None] + halfnorm.logpdf(s, scale=scale)[None]
    # Many trials make narrow peaks, which need a finer grid.
    z = np.linspace(-6.0, 6.0, 241) if max(n for _, n in lots) > 20 else Z
    z_weight = norm.pdf(z) * (z[1] - z[0])
    eta = b[:, None, None] + s[None, :, None] * z
    for k, n in lots:
        value = value + np.log(
            np.maximum(np.exp(k * log_expit(eta) + (n - k) * log_expit(-eta)) @ z_weight, 1e-300)
        )
    weight = np.exp(value)
    return moments(weight, (b, s)), np.log(weight.sum() * cells(b, s))


@pytest.mark.parametrize(
    "lots",
    [
        [(1, 3), (3, 3)],
        [(0, 4), (4, 4), (2, 5)],
        [(5, 5), (6, 6), (1, 1)],
        [(0, 2), (1, 9), (8, 8), (3, 7), (10, 12)],
        [(3, 60), (55, 60), (30, 60)],
    ],
)
@pytest.mark.parametrize("scale", [0.5, 1.0])
def test_intercept_and_spread_of_lots_agree_with_quadrature(lots, scale):
    rows = intercept_rows(*np.array(lots).T)
    posterior = fit_gate(rows, [PRIOR_SD], lot_names=names(rows), lot_sd_prior=scale)
    ((mean, sd), (spread, spread_sd)), log_marginal = counts_by_quadrature(lots, scale)
    weights, found = posterior.weights, posterior.lots.sd
    assert posterior.mean[0] == pytest.approx(mean, abs=noise(posterior, sd))
    assert posterior.sd[0] == pytest.approx(sd, rel=0.06)
    assert weights @ found == pytest.approx(spread, abs=noise(posterior, spread_sd) + 0.005 * scale)
    assert np.sqrt(weights @ (found - weights @ found) ** 2) == pytest.approx(spread_sd, rel=0.06)
    assert posterior.log_marginal == pytest.approx(log_marginal, abs=0.05)
    assert posterior.pareto_k < 0.7
    assert posterior.effective_sample_size > 1000


def test_a_slope_beside_the_lots_agrees_with_quadrature():
    x = np.array([-1.0, 0.0, 1.0, -1.0, 0.0, 1.0])
    k, n, group = np.array([0, 1, 2, 1, 3, 3]), np.array([2, 2, 2, 3, 3, 3]), np.array([0, 0, 0, 1, 1, 1])
    rows = gate_rows(np.column_stack([np.ones(6), x]), k, n, group)
    posterior = fit_gate(rows, [2.5, 2.0], lot_names=names(rows))
    b, c, s = np.linspace(-8, 8, 49), np.linspace(-7, 7, 43), (np.arange(30) + 0.5) * 0.13
    z, z_weight = Z[::2], 2 * Z_WEIGHT[::2]
    value = (
        norm.logpdf(b, 0, 2.5)[:, None, None]
        + norm.logpdf(c, 0, 2.0)[None, :, None]
        + halfnorm.logpdf(s)[None, None]
    )
    for lot in (0, 1):
        height = 0.0
        for row in np.flatnonzero(group == lot):
            eta = (b[:, None] + c * x[row])[:, :, None, None] + s[:, None] * z
            height = height + k[row] * log_expit(eta) + (n[row] - k[row]) * log_expit(-eta)
        value = value + np.log(np.exp(height) @ z_weight)
    weight = np.exp(value)
    exact = moments(weight, (b, c, s))
    for place in (0, 1):
        assert posterior.mean[place] == pytest.approx(exact[place][0], abs=noise(posterior, exact[place][1]) + 0.02)
        assert posterior.sd[place] == pytest.approx(exact[place][1], rel=0.06)
    assert posterior.weights @ posterior.lots.sd == pytest.approx(exact[2][0], abs=0.05)
    assert posterior.log_marginal == pytest.approx(np.log(weight.sum() * cells(b, c, s)), abs=0.05)


def graded(no, partly, yes, group=0):
    grade = np.repeat([0, 1, 2], [no, partly, yes])
    return grade, np.full(len(grade), group)


def ordinal_rows(*lots):
    """Rows of an intercept alone, for lots given as (no, partly, yes)."""
    parts = [graded(*lot, group=place) for place, lot in enumerate(lots)]
    grade, group = (np.concatenate(each) for each in zip(*parts, strict=True))
    return gate_rows(np.ones((len(grade), 1)), grade == 2, np.ones(len(grade)), group, grade)


def ordinal_height(b, d, counts):
    """log-likelihood of counts (no, partly, yes): P(yes) = expit(b), P(at least partly) = expit(b + d)."""
    no, partly, yes = counts
    between = expit(b + d) - expit(b)
    return no * log_expit(-b - d) + partly * np.log(np.maximum(between, 1e-300)) + yes * log_expit(b)


@pytest.mark.parametrize("counts", [(3, 2, 4), (0, 1, 0), (1, 6, 0), (0, 3, 9)])
def test_partly_parted_between_the_cuts_agrees_with_quadrature(counts):
    rows = ordinal_rows(counts)
    posterior = fit_gate(rows, [PRIOR_SD], lot_names=names(rows))
    assert posterior.lots is None
    # The prior of the distance of the cuts: its log is N(0, 1).
    b, log_d = np.linspace(-12, 12, 481), np.linspace(-5, 5, 401)
    value = norm.logpdf(b, 0, PRIOR_SD)[:, None] + norm.logpdf(log_d)[None]
    weight = np.exp(value + ordinal_height(b[:, None], np.exp(log_d), counts))
    (mean, sd), (log_mean, log_sd) = moments(weight, (b, log_d))
    assert posterior.mean[0] == pytest.approx(mean, abs=noise(posterior, sd))
    assert posterior.sd[0] == pytest.approx(sd, rel=0.06)
    assert posterior.weights @ np.log(posterior.distance) == pytest.approx(log_mean, abs=noise(posterior, log_sd))
    assert posterior.log_marginal == pytest.approx(np.log(weight.sum() * cells(b, log_d)), abs=0.05)
    # P(partly) of the next attempt is the mean of the difference of the two sigmoids.
    partly = expit(b[:, None] + np.exp(log_d)) - expit(b[:, None])
    found = expit(posterior.draws[:, 0] + posterior.distance) - expit(posterior.draws[:, 0])
    assert posterior.weights @ found == pytest.approx(
        float((weight * partly).sum() / weight.sum()), abs=noise(posterior, 0.3)
    )


def test_partly_parted_with_lots_agrees_with_quadrature():
    lots = ((2, 1, 0), (0, 2, 3))
    rows = ordinal_rows(*lots)
    posterior = fit_gate(rows, [PRIOR_SD], lot_names=names(rows))
    b, log_d, s = np.linspace(-9, 9, 73), np.linspace(-3.5, 4, 51), (np.arange(40) + 0.5) * 0.1
    value = (
        norm.logpdf(b, 0, PRIOR_SD)[:, None, None]
        + norm.logpdf(log_d)[None, :, None]
        + halfnorm.logpdf(s)[None, None]
    )
    z, z_weight = Z[::2], Z_WEIGHT[::2] * 2
    eta = b[:, None, None, None] + s[:, None] * z
    for counts in lots:
        height = ordinal_height(eta, np.exp(log_d)[None, :, None, None], counts)
        value = value + np.log(np.exp(height) @ z_weight)
    weight = np.exp(value)
    exact = moments(weight, (b, log_d, s))
    found = (posterior.draws[:, 0], np.log(posterior.distance), posterior.lots.sd)
    for (mean, sd), draws in zip(exact, found, strict=True):
        assert posterior.weights @ draws == pytest.approx(mean, abs=noise(posterior, sd) + 0.03)
    assert posterior.log_marginal == pytest.approx(np.log(weight.sum() * cells(b, log_d, s)), abs=0.06)


def test_a_markov_chain_over_the_effects_themselves_agrees():
    """Emcee (Foreman-Mackey et al. 2013, PASP 125:306) walks over intercept, slope, log sd and three effects."""
    rng = np.random.default_rng(4)
    group = np.repeat([0, 1, 2], 7)
    X = np.column_stack([np.ones(21), rng.uniform(-1, 1, 21)])
    y = (rng.random(21) < expit(0.4 + 1.5 * X[:, 1] + np.array([1.2, -1.0, 0.1])[group])).astype(float)
    rows = gate_rows(X, y, np.ones(21), group)
    posterior = fit_gate(rows, [2.5, 2.0], lot_names=names(rows))

    def log_posterior(points):
        beta, log_sd, z = points[:, :2], np.clip(points[:, 2], -40, 3), points[:, 3:]
        sd = np.exp(log_sd)
        eta = beta @ X.T + sd[:, None] * z[:, group]
        value = (y * log_expit(eta) + (1 - y) * log_expit(-eta)).sum(axis=1)
        value += norm.logpdf(beta, 0, [2.5, 2.0]).sum(axis=1) + norm.logpdf(z).sum(axis=1)
        value += halfnorm.logpdf(sd) + log_sd
        return np.where(points[:, 2] < -12, -np.inf, value)

    walk = emcee.EnsembleSampler(48, 6, log_posterior, vectorize=True)
    walk.random_state = np.random.RandomState(6).get_state()
    start = np.random.RandomState(5).normal(size=(48, 6)) * 0.3
    walk.run_mcmc(start, 3000, progress=False)
    chain = walk.get_chain(discard=600, thin=3, flat=True)
    sd, weights = posterior.lots.sd, posterior.weights
    for place in (0, 1):
        assert posterior.mean[place] == pytest.approx(chain[:, place].mean(), abs=0.09)
        assert posterior.sd[place] == pytest.approx(chain[:, place].std(), rel=0.08)
    assert weights @ sd == pytest.approx(np.exp(chain[:, 2]).mean(), abs=0.06)
    effects = posterior.lots.effects(np.arange(len(weights)))
    by_chain = np.exp(chain[:, [2]]) * chain[:, 3:]
    assert weights @ effects == pytest.approx(by_chain.mean(axis=0), abs=0.07)
    assert np.sqrt(weights @ np.square(effects - weights @ effects)) == pytest.approx(
        by_chain.std(axis=0), rel=0.08
    )


@pytest.mark.parametrize("scale", [0.3, 1.0, 4.0])
def test_without_information_the_spread_has_its_half_normal_prior(scale):
    rows = intercept_rows([0, 0], [0, 0])
    posterior = fit_gate(rows, [PRIOR_SD], lot_names=names(rows), lot_sd_prior=scale)
    sd, weights = posterior.lots.sd, posterior.weights
    order = np.argsort(sd)
    reached = np.cumsum(weights[order])
    assert np.abs(reached - halfnorm.cdf(sd[order], scale=scale)).max() < 0.02
    assert weights @ sd == pytest.approx(halfnorm.mean(scale=scale), rel=0.02)
    assert posterior.mean[0] == pytest.approx(0.0, abs=0.1)
    assert posterior.sd[0] == pytest.approx(PRIOR_SD, rel=0.04)
    assert posterior.log_marginal == pytest.approx(0.0, abs=0.02)


def test_one_row_in_each_of_two_lots_hardly_moves_the_spread():
    for k in ([0, 1], [1, 1]):
        rows = intercept_rows(k, [1, 1])
        posterior = fit_gate(rows, [PRIOR_SD], lot_names=names(rows))
        exact, _ = counts_by_quadrature(list(zip(k, [1, 1], strict=True)), 1.0)
        assert posterior.weights @ posterior.lots.sd == pytest.approx(exact[1][0], abs=0.03)
        assert posterior.weights @ posterior.lots.sd == pytest.approx(halfnorm.mean(), abs=0.12)


def sample_rows(seed=0, rows=24, lots=4, *, ordinal=False):
    rng = np.random.default_rng(seed)
    X = np.column_stack([np.ones(rows), rng.choice([-1.0, 0.0, 0.5], rows)])
    group = rng.integers(0, lots, rows)
    if ordinal:
        grade = rng.integers(0, 3, rows)
        return gate_rows(X, grade == 2, np.ones(rows), group, grade)
    return gate_rows(X, rng.random(rows) < expit(X @ [0.3, 1.0]), np.ones(rows), group)


def fields(posterior):
    extra = [] if posterior.lots is None else [posterior.lots.sd]
    extra += [] if posterior.distance is None else [posterior.distance]
    return [
        posterior.draws,
        posterior.weights,
        posterior.mode,
        posterior.covariance,
        posterior.log_marginal,
        *extra,
    ]


def picked(rows, order):
    grade = None if rows.grade is None else rows.grade[order]
    return replace(
        rows, X=rows.X[order], k=rows.k[order], n=rows.n[order], group=rows.group[order], rows=order, grade=grade
    )


@pytest.mark.parametrize("ordinal", [False, True])
def test_the_order_of_rows_does_not_matter_to_the_last_bit(ordinal):
    rows = sample_rows(ordinal=ordinal)
    shuffled = picked(rows, np.random.default_rng(1).permutation(24))
    first, second = (fit_gate(each, [2.5, 2.0], lot_names=names(rows)) for each in (rows, shuffled))
    for a, b in zip(fields(first), fields(second), strict=True):
        assert np.array_equal(a, b)


def test_grouping_equal_rows_of_a_lot_does_not_matter():
    X, k, n, group = [[1, -1], [1, 1], [1, -1], [1, 0]], [1, 2, 0, 3], [3, 2, 2, 4], [0, 0, 1, 1]
    grouped = gate_rows(X, k, n, group)
    long_k = np.concatenate([np.r_[np.ones(a), np.zeros(b - a)] for a, b in zip(k, n, strict=True)])
    single = gate_rows(np.repeat(X, n, axis=0), long_k, np.ones(11), np.repeat(group, n))
    first, second = (fit_gate(each, [2.5, 2.0], lot_names=("a", "b")) for each in (grouped, single))
    assert (first.n_rows, second.n_rows, first.n_trials, second.n_trials) == (4, 11, 11, 11)
    for a, b in zip(fields(first), fields(second), strict=True):
        assert np.array_equal(a, b)


def test_the_names_and_the_order_of_lots_do_not_matter():
    rows = sample_rows()
    turned = replace(rows, group=3 - rows.group)
    first = fit_gate(rows, [2.5, 2.0], lot_names=("a", "b", "c", "d"))
    second = fit_gate(turned, [2.5, 2.0], lot_names=("z", "y", "x", "w"))
    assert second.draws == pytest.approx(first.draws, abs=1e-6)
    assert second.lots.sd == pytest.approx(first.lots.sd, abs=1e-6)
    assert second.lots.attempts == first.lots.attempts[::-1]
    everyone = np.arange(len(first.weights))
    means = [each.weights @ each.lots.effects(everyone) for each in (first, second)]
    assert means[1][::-1] == pytest.approx(means[0], abs=0.03)


def test_swapping_success_and_failure_turns_the_signs():
    rows = sample_rows()
    first = fit_gate(rows, [2.5, 2.0], lot_names=names(rows))
    second = fit_gate(replace(rows, k=1.0 - rows.k), [2.5, 2.0], lot_names=names(rows))
    assert second.mean == pytest.approx(-first.mean, abs=0.08)
    assert second.log_marginal == pytest.approx(first.log_marginal, abs=0.05)


@pytest.mark.parametrize("how", ["no names", "one lot", "unknown lots", "no partly"])
def test_without_lots_or_partly_parted_rows_it_is_the_plain_posterior_to_the_last_bit(how):
    rows = sample_rows(ordinal=how == "no partly")
    lot_names = names(rows)
    if how == "no names":
        lot_names = ()
    elif how == "one lot":
        rows = replace(rows, group=np.zeros(24, dtype=np.intp))
    elif how == "unknown lots":
        rows = rows.without_lots()
    else:
        rows = replace(rows, grade=np.where(rows.grade == 1, 0, rows.grade), group=np.full(24, -1), groups=0)
    found = fit_gate(rows, [2.5, 2.0], lot_names=lot_names, seed=3)
    plain = fit_posterior(rows.X, rows.k, rows.n, [2.5, 2.0], seed=3)
    assert found.lots is None
    assert found.distance is None
    for a, b in zip(fields(found), fields(plain), strict=True):
        assert np.array_equal(a, b)


@pytest.mark.parametrize("lot_names", [(), ("L1", "L2", "L3")])
def test_moving_a_grade_up_never_lowers_the_intercept(lot_names):
    counts = [(2, 1, 1), (1, 2, 2), (1, 1, 1)]
    rows = ordinal_rows(*counts)
    base = fit_gate(rows, [PRIOR_SD], lot_names=lot_names).mean[0]
    # From no or partly to yes. (From no to partly the cuts move as well: from 1 no and 4 partly to 5 partly the
    # intercept falls, by the quadrature above too.)
    for place in np.flatnonzero(rows.grade < 2)[:5]:
        grade = rows.grade.copy()
        grade[place] = 2
        raised = replace(rows, grade=grade, k=(grade == 2).astype(float))
        assert fit_gate(raised, [PRIOR_SD], lot_names=lot_names).mean[0] > base


def test_the_ordinal_form_lies_between_partly_as_failure_and_as_success():
    rows = ordinal_rows((3, 4, 5))
    ordinal = fit_gate(rows, [PRIOR_SD]).mean[0]
    failed = fit_posterior(rows.X, rows.grade == 2, 1, [PRIOR_SD]).mean[0]
    success = fit_posterior(rows.X, rows.grade >= 1, 1, [PRIOR_SD]).mean[0]
    assert failed - 0.15 < ordinal < success


def test_same_seed_same_bits_and_another_seed_agrees():
    rows = sample_rows()
    first, again, other = (fit_gate(rows, [2.5, 2.0], lot_names=names(rows), seed=seed) for seed in (2, 2, 3))
    for a, b in zip(fields(first), fields(again), strict=True):
        assert np.array_equal(a, b)
    assert not np.array_equal(first.draws, other.draws)
    assert other.mean == pytest.approx(first.mean, abs=0.1)


def test_a_lot_that_differs_widens_the_intercept():
    rows = intercept_rows([0, 8, 0, 8], [8, 8, 8, 8])
    with_lots = fit_gate(rows, [PRIOR_SD], lot_names=names(rows))
    without = fit_gate(rows, [PRIOR_SD])
    assert with_lots.sd[0] > 1.5 * without.sd[0]
    assert with_lots.log_marginal > without.log_marginal + 5


@pytest.mark.parametrize("trials", [21, 100, 2000, 10**6])
def test_rows_of_many_trials_that_lots_set_apart_keep_the_weights_sound(trials):
    """The plain fit is then sure of something else: the fit of nested normal laws is an independent witness."""
    rng = np.random.default_rng(6)
    X = np.column_stack([np.ones(12), rng.uniform(-1, 1, (12, 2))])
    group = np.arange(12) % 4
    eta = X @ [-0.3, 1.5, 0.8] + np.array([1.5, -1.5, 0.5, -0.5])[group]
    rows = gate_rows(X, rng.binomial(trials, expit(eta)), np.full(12, trials), group)
    found = fit_gate(rows, [2.5, 2.0, 2.0], lot_names=names(rows))
    assert found.effective_sample_size > 0.4 * len(found.weights)
    assert found.pareto_k < 0.7
    prior = np.array([2.5, 2.0, 2.0])
    other = posterior_of(fit_many(rows, prior, lot_names=names(rows)), rows, names(rows))
    assert (np.abs(found.mean - other.mean) < 0.15 * other.sd).all()
    assert found.sd[1:] == pytest.approx(other.sd[1:], rel=0.12)
    assert found.sd[0] == pytest.approx(other.sd[0], rel=0.2)
    assert found.log_marginal == pytest.approx(other.log_marginal, abs=0.3)


def test_counts_of_lots_stand_beside_their_names():
    rows = gate_rows(np.ones((5, 1)), np.ones(5), np.ones(5), [0, 2, 2, -1, 0])
    posterior = fit_gate(rows, [PRIOR_SD], lot_names=("A", "B", "C"))
    assert posterior.lots.names == ("A", "B", "C")
    assert posterior.lots.attempts == (2, 0, 2)
    assert (posterior.n_rows, posterior.n_trials) == (5, 5)


def test_it_stops_when_told_to():
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        fit_gate(sample_rows(), [2.5, 2.0], lot_names=("a", "b", "c", "d"), token=token)
