"""Leave-one-out of a gate: refits without each attempt, quadrature, rows of several trials or none, grades."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import expit, log_expit
from scipy.stats import norm

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.inference.bayes import fit_posterior
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.loo import leave_one_out, log_score

PRIOR_SD = np.array([2.5, 2.0])


def gate_rows(X, k, n, group, grade=None, *, lots=None):
    group = np.asarray(group, dtype=np.intp)
    grade = None if grade is None else np.asarray(grade, dtype=np.int8)
    count = int(group.max(initial=-1)) + 1 if lots is None else lots
    return GateRows(
        np.asarray(X, float), np.asarray(k, float), np.asarray(n, float), group, count, np.arange(len(k)), grade
    )


def picked(rows, order):
    grade = None if rows.grade is None else rows.grade[order]
    return replace(
        rows, X=rows.X[order], k=rows.k[order], n=rows.n[order], group=rows.group[order], rows=order, grade=grade
    )


def twelve(seed, *, ordinal=False, trials=1, lots=3):
    rng = np.random.default_rng(seed)
    X = np.column_stack([np.ones(12), rng.uniform(-1, 1, 12)])
    group = np.arange(12) % lots
    eta = X @ [0.2, 1.5] + np.array([1.0, -1.0, 0.3])[group]
    if ordinal:
        grade = (rng.random(12) < expit(eta)).astype(int) + (rng.random(12) < expit(eta + 1.0))
        return gate_rows(X, grade == 2, np.ones(12), group, grade)
    n = np.ones(12, dtype=int) if trials == 1 else rng.integers(1, trials + 1, 12)
    return gate_rows(X, rng.binomial(n, expit(eta)), n, group)


def by_refit(rows, row, lot_names, seed=11):
    """P(success) and log score of one row from a fit to all others: draws of coefficients, lot, and distance."""
    others = picked(rows, np.array([other for other in range(len(rows.k)) if other != row]))
    posterior = fit_gate(others, PRIOR_SD, lot_names=lot_names, draws=8192, seed=seed)
    eta = posterior.draws @ rows.X[row]
    if posterior.lots is not None:
        everyone = np.arange(len(posterior.weights))
        known = rows.group[row]
        eta = eta + (posterior.lots.new_lot(everyone) if known < 0 else posterior.lots.effects(everyone)[:, known])
    success = float(posterior.weights @ expit(eta))
    if posterior.distance is None:
        k, n = rows.k[row], rows.n[row]
        return success, float(np.log(posterior.weights @ np.exp(k * log_expit(eta) + (n - k) * log_expit(-eta))))
    yes, at_least = expit(eta), expit(eta + posterior.distance)
    chance = (1.0 - at_least, at_least - yes, yes)[int(rows.grade[row])]
    return success, float(np.log(posterior.weights @ chance))


@pytest.mark.parametrize(
    ("seed", "ordinal", "trials", "with_lots"),
    [
        (0, False, 1, True),
        (1, False, 1, False),
        (2, False, 5, True),
        (3, False, 5, False),
        (4, True, 1, True),
        (5, True, 1, False),
    ],
)
def test_each_row_is_foretold_as_by_a_refit_without_it(seed, ordinal, trials, with_lots):
    rows = twelve(seed, ordinal=ordinal, trials=trials)
    lot_names = ("A", "B", "C") if with_lots else ()
    posterior = fit_gate(rows, PRIOR_SD, lot_names=lot_names)
    assert (posterior.lots is not None, posterior.distance is not None) == (with_lots, ordinal)
    found = leave_one_out(rows, posterior)
    assert found.is_exact
    refits = np.array([by_refit(rows, row, lot_names) for row in range(12)])
    assert found.success == pytest.approx(refits[:, 0], abs=0.03)
    assert np.abs(found.success - refits[:, 0]).mean() < 0.01
    allowed = np.where(found.pareto_k < 0.5, 0.06, 0.25)
    assert (np.abs(found.log_score - refits[:, 1]) < allowed).all()
    assert found.log_score.sum() == pytest.approx(refits[:, 1].sum(), abs=0.25)


def test_rows_of_unknown_lot_are_foretold_as_of_a_new_lot():
    rows = twelve(6)
    group = rows.group.copy()
    group[[0, 5]] = -1
    rows = replace(rows, group=group)
    found = leave_one_out(rows, fit_gate(rows, PRIOR_SD, lot_names=("A", "B", "C")))
    for row in (0, 5):
        assert found.success[row] == pytest.approx(by_refit(rows, row, ("A", "B", "C"))[0], abs=0.03)


@pytest.mark.parametrize("y", [[1, 0, 1, 1], [1, 1, 1], [0]])
def test_an_intercept_alone_has_its_leave_one_out_by_quadrature(y):
    rows = gate_rows(np.ones((len(y), 1)), y, np.ones(len(y)), np.full(len(y), -1))
    found = leave_one_out(rows, fit_posterior(rows.X, rows.k, rows.n, [2.5]))
    b = np.linspace(-25, 25, 5001)
    for row, value in enumerate(y):
        others = [other for place, other in enumerate(y) if place != row]
        weight = norm.pdf(b, 0, 2.5) * np.exp(
            sum(others) * log_expit(b) + (len(others) - sum(others)) * log_expit(-b)
        )
        success = float(weight @ expit(b) / weight.sum())
        assert found.success[row] == pytest.approx(success, abs=0.01)
        assert found.log_score[row] == pytest.approx(np.log(success if value else 1.0 - success), abs=0.03)


@pytest.mark.parametrize("with_lots", [False, True])
def test_a_row_without_trials_is_foretold_from_all_others(with_lots):
    rows = twelve(7)
    lot_names = ("A", "B", "C") if with_lots else ()
    posterior = fit_gate(rows, PRIOR_SD, lot_names=lot_names)
    more = gate_rows(
        np.vstack([rows.X, [1.0, 0.4]]), np.r_[rows.k, 0.0], np.r_[rows.n, 0.0], np.r_[rows.group, 1], lots=3
    )
    found = leave_one_out(more, posterior)
    everyone = np.arange(len(posterior.weights))
    eta = posterior.draws @ [1.0, 0.4] + (posterior.lots.effects(everyone)[:, 1] if with_lots else 0.0)
    assert found.success[12] == pytest.approx(posterior.weights @ expit(eta), abs=0.012)
    assert found.log_score[12] == pytest.approx(0.0, abs=1e-9)
    assert found.success[:12] == pytest.approx(leave_one_out(rows, posterior).success, abs=1e-6)


def test_without_data_each_single_row_is_foretold_by_the_prior():
    rows = gate_rows([[1.0, 0.3]], [1], [1], [-1])
    found = leave_one_out(rows, fit_posterior(rows.X, rows.k, rows.n, PRIOR_SD))
    assert found.success[0] == pytest.approx(0.5, abs=0.01)
    assert found.log_score[0] == pytest.approx(np.log(0.5), abs=0.02)


def test_no_rows_give_no_scores():
    rows = gate_rows(np.zeros((0, 2)), [], [], [])
    found = leave_one_out(rows, fit_posterior(rows.X, rows.k, rows.n, PRIOR_SD))
    assert (len(found.success), len(found.log_score), len(found.pareto_k)) == (0, 0, 0)


def test_of_single_trials_the_score_is_the_log_of_what_was_foretold():
    rows = twelve(8)
    found = leave_one_out(rows, fit_gate(rows, PRIOR_SD, lot_names=("A", "B", "C")))
    assert found.log_score == pytest.approx(log_score(rows.k, rows.n, found.success), abs=1e-6)


@pytest.mark.parametrize("lot_names", [(), ("A", "B", "C")])
def test_the_order_of_rows_does_not_matter(lot_names):
    rows = twelve(9)
    order = np.random.default_rng(0).permutation(12)
    shuffled = picked(rows, order)
    first = leave_one_out(rows, fit_gate(rows, PRIOR_SD, lot_names=lot_names))
    second = leave_one_out(shuffled, fit_gate(shuffled, PRIOR_SD, lot_names=lot_names))
    assert second.success == pytest.approx(first.success[order], abs=1e-9)
    assert second.pareto_k == pytest.approx(first.pareto_k[order], abs=1e-6)


def test_what_an_attempt_showed_never_raises_its_own_prediction():
    rows = twelve(10)
    posterior = fit_gate(rows, PRIOR_SD)
    found = leave_one_out(rows, posterior)
    with_itself = posterior.weights @ expit(posterior.draws @ rows.X.T)
    assert (np.where(rows.k == 1, with_itself - found.success, found.success - with_itself) > 0).all()


def test_many_rows_have_low_pareto_shapes():
    rng = np.random.default_rng(3)
    X = np.column_stack([np.ones(80), rng.uniform(-1, 1, 80)])
    rows = gate_rows(X, rng.random(80) < expit(X @ [0.2, 1.0]), np.ones(80), np.arange(80) % 4)
    found = leave_one_out(rows, fit_gate(rows, PRIOR_SD, lot_names=("A", "B", "C", "D")))
    assert found.pareto_k.max() < 0.5


def test_the_log_score_never_is_infinite():
    found = log_score(np.array([1.0, 0.0, 2.0]), np.array([1.0, 1.0, 4.0]), np.array([0.0, 1.0, 0.5]))
    assert found == pytest.approx([np.log(1e-9), np.log(1e-9), 4 * np.log(0.5)])


def test_scores_of_very_many_trials_are_finite():
    n = np.full(6, 1e6)
    k = np.array([1e5, 9e5, 5e5, 2e5, 8e5, 3e5])
    X = np.column_stack([np.ones(6), np.linspace(-1, 1, 6)])
    rows = gate_rows(X, k, n, np.full(6, -1))
    found = leave_one_out(rows, fit_posterior(rows.X, rows.k, rows.n, PRIOR_SD))
    assert np.isfinite(found.log_score).all()
    # No prediction beats the best single probability, and those in sight of a straight line are not absurd.
    best = k * np.log(k / n) + (n - k) * np.log1p(-k / n)
    assert (found.log_score <= best + 1e-6).all()
    assert (found.log_score > 5 * best).all()


def test_it_stops_when_told_to():
    rows = twelve(11)
    posterior = fit_gate(rows, PRIOR_SD, lot_names=("A", "B", "C"))
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        leave_one_out(rows, posterior, token=token)
