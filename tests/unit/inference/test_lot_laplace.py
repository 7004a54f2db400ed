"""Many rows by nested normal laws, against importance sampling of the same posterior, and at the borders."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit, log_expit

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.inference.bayes import fit_posterior
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.loo import leave_one_out
from stirfall.inference.lot_laplace import fit_many, is_many, leave_one_out_of_many, posterior_of

PRIOR_SD = np.array([2.5, 2.0, 2.0])


def simulated(count=500, lots=8, seed=1, *, trials=1, sd=0.8):
    rng = np.random.default_rng(seed)
    X = np.column_stack([np.ones(count), rng.uniform(-1, 1, (count, 2))])
    group = np.arange(count) % lots
    eta = X @ [0.3, 1.2, -0.7] + (sd * rng.standard_normal(lots))[group]
    n = np.ones(count) if trials == 1 else rng.integers(1, trials + 1, count).astype(float)
    k = rng.binomial(n.astype(int), expit(eta)).astype(float)
    return GateRows(X, k, n, group.astype(np.intp), lots, np.arange(count))


def names(rows):
    return tuple(f"L{place + 1}" for place in range(rows.groups))


def spread(weights, values):
    mean = weights @ values
    return mean, np.sqrt(weights @ np.square(values - mean))


@pytest.fixture(scope="module")
def pair():
    rows = simulated()
    sampled = fit_gate(rows, PRIOR_SD, lot_names=names(rows))
    fit = fit_many(rows, PRIOR_SD, lot_names=names(rows))
    return rows, fit, posterior_of(fit, rows, names(rows)), sampled


def test_coefficients_agree_with_importance_sampling(pair):
    _, _, found, sampled = pair
    assert np.abs(found.mean - sampled.mean) == pytest.approx(np.zeros(3), abs=0.05 * sampled.sd.max())
    assert (np.abs(found.mean - sampled.mean) < 0.05 * sampled.sd).all()
    assert found.sd == pytest.approx(sampled.sd, rel=0.05)


def test_the_spread_of_lots_agrees_with_importance_sampling(pair):
    _, _, found, sampled = pair
    mean, sd = spread(sampled.weights, sampled.lots.sd)
    by_laplace = spread(found.weights, found.lots.sd)
    assert by_laplace[0] == pytest.approx(mean, abs=0.08 * sd)
    assert by_laplace[1] == pytest.approx(sd, rel=0.08)


def test_the_log_marginal_likelihood_agrees_with_importance_sampling(pair):
    _, _, found, sampled = pair
    assert found.log_marginal == pytest.approx(sampled.log_marginal, abs=0.1)


def test_effects_of_lots_agree_with_importance_sampling(pair):
    _, _, found, sampled = pair
    everyone = [np.arange(len(each.weights)) for each in (found, sampled)]
    effects, exact = found.lots.effects(everyone[0]), sampled.lots.effects(everyone[1])
    for lot in range(8):
        mean, sd = spread(sampled.weights, exact[:, lot])
        by_laplace = spread(found.weights, effects[:, lot])
        assert by_laplace[0] == pytest.approx(mean, abs=0.06 * sd)
        assert by_laplace[1] == pytest.approx(sd, rel=0.06)
    new, new_exact = found.lots.new_lot(everyone[0]), sampled.lots.new_lot(everyone[1])
    assert new.std() == pytest.approx(spread(sampled.weights, new_exact)[1], rel=0.06)
    assert found.lots.attempts == sampled.lots.attempts
    assert found.lots.names == sampled.lots.names


def test_effects_and_coefficients_hang_together_as_in_importance_sampling(pair):
    """The intercept and the effects pull against each other: their sum is known better than they are."""
    _, _, found, sampled = pair
    levels = [
        spread(each.weights, each.draws[:, 0] + each.lots.effects(np.arange(len(each.weights)))[:, 0])
        for each in (found, sampled)
    ]
    assert levels[0][0] == pytest.approx(levels[1][0], abs=0.06 * levels[1][1])
    assert levels[0][1] == pytest.approx(levels[1][1], rel=0.06)
    apart = found.sd[0] ** 2 + found.lots.effects(np.arange(2048))[:, 0].var()
    assert levels[0][1] ** 2 < 0.8 * apart


def test_leave_one_out_agrees_with_the_draws(pair):
    rows, fit, _, sampled = pair
    found, exact = leave_one_out_of_many(fit, rows), leave_one_out(rows, sampled)
    assert not found.is_exact
    assert np.isnan(found.pareto_k).all()
    assert np.abs(found.success - exact.success).mean() < 0.02
    assert np.abs(found.success - exact.success).max() < 0.05
    assert found.log_score.sum() == pytest.approx(exact.log_score.sum(), abs=1.0)


def test_leave_one_out_of_a_few_rows_agrees_with_refits(pair):
    rows, fit, _, _ = pair
    found = leave_one_out_of_many(fit, rows)
    for row in (0, 137, 301):
        rest = np.delete(np.arange(500), row)
        others = replace(rows, X=rows.X[rest], k=rows.k[rest], n=rows.n[rest], group=rows.group[rest], rows=rest)
        refit = posterior_of(fit_many(others, PRIOR_SD, lot_names=names(rows)), others, names(rows))
        effect = refit.lots.effects(np.arange(2048))[:, rows.group[row]]
        assert found.success[row] == pytest.approx(expit(refit.draws @ rows.X[row] + effect).mean(), abs=0.015)


@pytest.mark.parametrize("how", ["no names", "unknown lots"])
def test_without_lots_it_agrees_with_the_plain_posterior(how):
    rows = simulated(450, lots=1, sd=0.0)
    lot_names = () if how == "no names" else ("L1",)
    if how == "unknown lots":
        rows = rows.without_lots()
    fit = fit_many(rows, PRIOR_SD, lot_names=lot_names)
    found, exact = posterior_of(fit, rows, lot_names), fit_posterior(rows.X, rows.k, rows.n, PRIOR_SD)
    assert found.lots is None
    assert len(fit.nodes) == 1
    assert (np.abs(found.mean - exact.mean) < 0.05 * exact.sd).all()
    assert found.sd == pytest.approx(exact.sd, rel=0.04)
    assert found.log_marginal == pytest.approx(exact.log_marginal, abs=0.05)
    # To first order the mode solves the penalised score equations.
    slope = rows.X.T @ (rows.k - expit(rows.X @ found.mode)) - found.mode / PRIOR_SD**2
    assert slope == pytest.approx(np.zeros(3), abs=1e-3)
    by_draws = leave_one_out(rows.without_lots(), exact)
    assert np.abs(leave_one_out_of_many(fit, rows).success - by_draws.success).max() < 0.01


def test_rows_of_several_trials_agree_with_importance_sampling():
    rows = simulated(420, lots=6, trials=5, seed=4)
    fit = fit_many(rows, PRIOR_SD, lot_names=names(rows))
    found, sampled = posterior_of(fit, rows, names(rows)), fit_gate(rows, PRIOR_SD, lot_names=names(rows))
    assert (np.abs(found.mean - sampled.mean) < 0.06 * sampled.sd).all()
    assert found.sd == pytest.approx(sampled.sd, rel=0.06)
    assert found.log_marginal == pytest.approx(sampled.log_marginal, abs=0.2)
    by_formula, by_draws = leave_one_out_of_many(fit, rows), leave_one_out(rows, sampled)
    assert np.abs(by_formula.success - by_draws.success).mean() < 0.02
    assert by_formula.log_score.sum() == pytest.approx(by_draws.log_score.sum(), rel=0.01)


def test_a_lot_without_rows_in_the_gate_has_the_law_of_a_new_one():
    rows = simulated(450, lots=5)
    rows = replace(rows, group=np.where(rows.group >= 2, rows.group + 1, rows.group), groups=6)
    fit = fit_many(rows, PRIOR_SD, lot_names=names(rows))
    found = posterior_of(fit, rows, names(rows))
    effects = found.lots.effects(np.arange(2048))
    assert found.lots.attempts[2] == 0
    new = found.lots.new_lot(np.arange(2048))
    assert effects[:, 2].mean() == pytest.approx(0.0, abs=0.08)
    assert effects[:, 2].std() == pytest.approx(new.std(), rel=0.08)
    assert effects[:, [0, 1, 3, 4, 5]].std(axis=0).max() < 0.8 * new.std()
    # A row without trials of that lot is foretold as of a new lot.
    asked = GateRows(np.array([[1.0, 0.0, 0.0]]), np.zeros(1), np.zeros(1), np.array([2]), 6, np.arange(1))
    exact = expit(found.draws @ asked.X[0] + new).mean()
    assert leave_one_out_of_many(fit, asked).success[0] == pytest.approx(exact, abs=0.02)


def test_rows_of_unknown_lot_are_lots_of_their_own():
    rows = simulated(420, lots=4)
    group = rows.group.copy()
    group[:6] = -1
    rows = replace(rows, group=group)
    fit = fit_many(rows, PRIOR_SD, lot_names=names(rows))
    found, sampled = posterior_of(fit, rows, names(rows)), fit_gate(rows, PRIOR_SD, lot_names=names(rows))
    assert (np.abs(found.mean - sampled.mean) < 0.08 * sampled.sd).all()
    by_formula, by_draws = leave_one_out_of_many(fit, rows), leave_one_out(rows, sampled)
    assert np.abs(by_formula.success[:6] - by_draws.success[:6]).max() < 0.04


def test_the_names_of_lots_and_the_order_of_rows_do_not_matter():
    rows = simulated(410, lots=4)
    order = np.random.default_rng(1).permutation(410)
    shuffled = replace(
        rows, X=rows.X[order], k=rows.k[order], n=rows.n[order], group=3 - rows.group[order], rows=order
    )
    first, second = (
        posterior_of(fit_many(each, PRIOR_SD, lot_names=names(rows)), each, names(rows))
        for each in (rows, shuffled)
    )
    assert second.log_marginal == pytest.approx(first.log_marginal, abs=1e-3)
    assert second.mean == pytest.approx(first.mean, abs=1e-3)


def test_the_mode_of_an_intercept_alone_with_lots_has_no_slope():
    rows = simulated(600, lots=3)
    rows = replace(rows, X=np.ones((600, 1)))
    fit = fit_many(rows, PRIOR_SD[:1], lot_names=names(rows))
    for node in fit.nodes:
        eta = node.beta[0] + node.sd * node.z[rows.group]
        residual = rows.k - expit(eta)
        assert residual.sum() - node.beta[0] / 2.5**2 == pytest.approx(0.0, abs=0.01)
        by_lot = np.bincount(rows.group, residual)
        assert node.sd * by_lot - node.z == pytest.approx(np.zeros(3), abs=0.01)
        height = log_expit(np.where(rows.k == 1, eta, -eta)).sum()
        height -= 0.5 * (node.beta[0] / 2.5) ** 2 + 0.5 * (node.z**2).sum()
        assert node.slopes.height == pytest.approx(height, abs=1e-8)


def test_a_fit_near_another_gives_the_same_answer():
    rows = simulated(450, lots=6)
    fewer = replace(rows, X=rows.X[:, :2])
    near = fit_many(fewer, PRIOR_SD[:2], lot_names=names(rows))
    alone = posterior_of(fit_many(rows, PRIOR_SD, lot_names=names(rows)), rows, names(rows))
    helped = posterior_of(fit_many(rows, PRIOR_SD, lot_names=names(rows), near=near), rows, names(rows))
    assert helped.log_marginal == pytest.approx(alone.log_marginal, abs=0.05)
    assert (np.abs(helped.mean - alone.mean) < 0.05 * alone.sd).all()
    assert spread(helped.weights, helped.lots.sd) == pytest.approx(spread(alone.weights, alone.lots.sd), rel=0.08)


def test_same_seed_same_bits():
    rows = simulated(410, lots=3)
    fits = [
        posterior_of(fit_many(rows, PRIOR_SD, lot_names=names(rows)), rows, names(rows), seed=4) for _ in (0, 1)
    ]
    assert np.array_equal(fits[0].draws, fits[1].draws)
    assert np.array_equal(fits[0].lots.sd, fits[1].lots.sd)
    assert np.array_equal(fits[0].lots.effects(np.arange(2048)), fits[1].lots.effects(np.arange(2048)))


@pytest.mark.parametrize("k", [0.0, 1.0])
def test_rows_that_are_all_alike_still_have_an_answer(k):
    rows = replace(simulated(450, lots=3), k=np.full(450, k))
    fit = fit_many(rows, PRIOR_SD, lot_names=names(rows))
    found = posterior_of(fit, rows, names(rows))
    assert np.isfinite(found.draws).all()
    assert np.isfinite(found.log_marginal)
    assert (found.draws[:, 0] > 0).mean() == pytest.approx(k, abs=0.01)
    loo = leave_one_out_of_many(fit, rows)
    assert ((loo.success > 0) & (loo.success < 1)).all()


@pytest.mark.parametrize(
    ("count", "lots", "ordinal", "expected"),
    [
        (400, 2, False, False),
        (401, 2, False, True),
        (401, 2, True, False),
        (500, 26, False, False),
        (1501, 400, False, True),
    ],
)
def test_many_is_a_matter_of_rows_and_of_the_size_of_lots(count, lots, ordinal, expected):
    rows = GateRows(
        np.ones((count, 1)),
        np.zeros(count),
        np.ones(count),
        np.arange(count) % lots,
        lots,
        np.arange(count),
        np.zeros(count, dtype=np.int8) if ordinal else None,
    )
    assert is_many(rows) is expected


def test_it_stops_when_told_to():
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        fit_many(simulated(410, lots=3), PRIOR_SD, lot_names=("a", "b", "c"), token=token)
