"""Draws of lots' effects: their conditional law by quadrature, and the prior's law where nothing is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import expit, log_expit
from scipy.stats import halfnorm, kstest, norm

from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_draws import (
    LotDraws,
    half_normal,
    half_normal_score,
    standard_normals,
    uniform_points,
)
from stirfall.inference.lot_kernel import lot_rows

Z = np.linspace(-8, 8, 1601)


def gate_rows(X, k, n, group, lots, grade=None):
    grade = None if grade is None else np.asarray(grade, dtype=np.int8)
    group = np.asarray(group, dtype=np.intp)
    return GateRows(
        np.asarray(X, float), np.asarray(k, float), np.asarray(n, float), group, lots, np.arange(len(k)), grade
    )


def lots_of(rows, beta, sd, *, distance=None, size=4096, seed=0):
    """Lots whose coefficients and sd are the same in every draw, so that their law is a conditional one."""
    names = tuple(f"L{place}" for place in range(rows.groups))
    d = None if distance is None else np.full(size, distance)
    attempts = tuple(int((rows.group == place).sum()) for place in range(rows.groups))
    return LotDraws(
        names, np.full(size, sd), lot_rows(rows), np.tile(np.asarray(beta, float), (size, 1)), d, attempts, seed
    )


def conditional(rows, lot, beta, sd, distance=None):
    """Mean, sd and distribution function (on sd * Z) of a lot's effect, by the rectangle rule."""
    log_density = norm.logpdf(Z)
    for row in np.flatnonzero(rows.group == lot):
        eta = rows.X[row] @ np.asarray(beta, float) + sd * Z
        if rows.grade is None:
            log_density = log_density + rows.k[row] * log_expit(eta)
            log_density = log_density + (rows.n[row] - rows.k[row]) * log_expit(-eta)
        else:
            yes, at_least = expit(eta), expit(eta + distance)
            chances = (1.0 - at_least, at_least - yes, yes)
            log_density = log_density + np.log(np.maximum(chances[rows.grade[row]], 1e-300))
    weight = np.exp(log_density - log_density.max())
    weight /= weight.sum()
    mean = float(weight @ Z)
    reached = np.cumsum(weight) - 0.5 * weight
    return sd * mean, sd * float(np.sqrt(weight @ (Z - mean) ** 2)), reached


BINARY = gate_rows(
    [[1, 0.5], [1, -1], [1, 0.2], [1, 0], [1, 1], [1, -0.5]],
    [1, 1, 9, 0, 0, 4],
    [1, 1, 9, 6, 1, 9],
    [0, 0, 1, 2, 2, 3],
    6,
)
GRADES = [0, 0, 1, 2, 2, 1, 2]
ORDINAL = gate_rows(np.ones((7, 1)), [0, 0, 0, 1, 1, 0, 1], np.ones(7), [0, 0, 1, 2, 2, 2, 0], 3, GRADES)


@pytest.mark.parametrize("sd", [0.05, 0.8, 2.0, 6.0])
@pytest.mark.parametrize(("rows", "beta", "distance"), [(BINARY, (0.3, -1.0), None), (ORDINAL, (-0.4,), 1.3)])
def test_each_effect_has_its_conditional_law(rows, beta, distance, sd):
    effects = lots_of(rows, beta, sd, distance=distance).effects(np.arange(4096))
    for lot in range(rows.groups):
        mean, spread, reached = conditional(rows, lot, beta, sd, distance)
        assert effects[:, lot].mean() == pytest.approx(mean, abs=0.02 * spread)
        assert effects[:, lot].std() == pytest.approx(spread, rel=0.03)
        at = np.interp(np.sort(effects[:, lot]), sd * Z, reached)
        assert np.abs(at - (np.arange(4096) + 0.5) / 4096).max() < 0.015


def test_lots_without_rows_have_the_law_of_a_lot_not_seen_yet():
    lots = lots_of(BINARY, (0.3, -1.0), 1.7)
    effects = lots.effects(np.arange(4096))
    for draws in (effects[:, 4], effects[:, 5], lots.new_lot(np.arange(4096))):
        assert kstest(draws / 1.7, norm.cdf).statistic < 0.01
    assert np.corrcoef(effects[:, 4], effects[:, 5])[0, 1] == pytest.approx(0.0, abs=0.05)
    assert np.corrcoef(effects[:, 4], lots.new_lot(np.arange(4096)))[0, 1] == pytest.approx(0.0, abs=0.05)


def test_a_new_lot_mixes_over_the_draws_of_the_sd():
    sd = np.repeat([0.1, 1.0, 3.0, 0.5], 1024)
    lots = replace(lots_of(BINARY, (0.0, 0.0), 1.0), sd=sd)
    picks = np.random.default_rng(0).permutation(4096)
    new = lots.new_lot(picks)
    assert new.std() == pytest.approx(np.sqrt(np.mean(sd**2)), rel=0.04)
    for value in (0.1, 1.0, 3.0, 0.5):
        assert new[sd[picks] == value].std() == pytest.approx(value, rel=0.08)
    mixture = np.mean([norm.cdf(new, 0, value) for value in (0.1, 1.0, 3.0, 0.5)], axis=0)
    order = np.argsort(new)
    assert np.abs(mixture[order] - (np.arange(4096) + 0.5) / 4096).max() < 0.02


def test_without_spread_no_lot_differs():
    lots = lots_of(BINARY, (0.3, -1.0), 0.0)
    assert (lots.effects(np.arange(50)) == 0).all()
    assert (lots.new_lot(np.arange(50)) == 0).all()


def test_effects_follow_the_coefficients_of_the_picked_draws():
    size = 4096
    beta = np.column_stack([np.where(np.arange(size) % 2, 3.0, -3.0), np.zeros(size)])
    lots = replace(lots_of(BINARY, (0.0, 0.0), 1.0), beta=beta)
    picks = np.random.default_rng(1).permutation(size)
    effects = lots.effects(picks)
    for value in (3.0, -3.0):
        mean, _, _ = conditional(BINARY, 1, (value, 0.0), 1.0)
        assert effects[beta[picks, 0] == value, 1].mean() == pytest.approx(mean, abs=0.06)


def test_after_a_fit_the_effects_agree_with_quadrature_over_everything():
    counts = [(1, 6), (5, 6), (2, 3)]
    rows = gate_rows(np.ones((3, 1)), *np.array(counts).T, [0, 1, 2], 3)
    posterior = fit_gate(rows, [2.5], lot_names=("a", "b", "c"))
    b, s, z = np.linspace(-9, 9, 121), (np.arange(60) + 0.5) * 0.07, Z[::40]
    eta = b[:, None, None] + s[:, None] * z
    likelihood = [np.exp(k * log_expit(eta) + (n - k) * log_expit(-eta)) * norm.pdf(z) for k, n in counts]
    areas = [each.sum(axis=2) for each in likelihood]
    prior = norm.pdf(b, 0, 2.5)[:, None] * halfnorm.pdf(s)
    total = prior * areas[0] * areas[1] * areas[2]
    everyone = np.arange(len(posterior.weights))
    effects, weights = posterior.lots.effects(everyone), posterior.weights
    for lot in range(3):
        others = [areas[other] for other in range(3) if other != lot]
        moments = [
            float((prior * others[0] * others[1] * (likelihood[lot] * (s[:, None] * z) ** power).sum(axis=2)).sum())
            / float(total.sum())
            for power in (1, 2)
        ]
        sd = np.sqrt(moments[1] - moments[0] ** 2)
        assert weights @ effects[:, lot] == pytest.approx(moments[0], abs=0.05 * sd)
        assert np.sqrt(weights @ (effects[:, lot] - moments[0]) ** 2) == pytest.approx(sd, rel=0.05)
    second = float((total * s**2).sum() / total.sum())
    assert weights @ np.square(posterior.lots.new_lot(everyone)) == pytest.approx(second, rel=0.1)


def test_asking_twice_gives_the_same_bits():
    lots = lots_of(BINARY, (0.3, -1.0), 1.0)
    picks = np.arange(0, 4096, 7)
    assert np.array_equal(lots.effects(picks), lots.effects(picks))
    assert np.array_equal(lots.new_lot(picks), lots.new_lot(picks))


@given(st.floats(-5.0, 5.0), st.sampled_from([0.01, 1.0, 30.0]))
def test_a_normal_score_becomes_a_half_normal_number_and_back(score, scale):
    sd = float(half_normal(np.array([score]), scale)[0])
    # scipy.stats knows the half-normal law on its own.
    assert halfnorm.cdf(sd, scale=scale) == pytest.approx(norm.cdf(score), abs=1e-9)
    assert half_normal_score(sd, scale) == pytest.approx(score, abs=1e-4)


@pytest.mark.parametrize("score", [-1e6, -40.0, 38.0, 60.0, 1e6])
def test_no_score_gives_an_sd_that_is_no_number(score):
    sd = float(half_normal(np.array([score]), 2.0)[0])
    assert 0.0 <= sd <= 75.0


@pytest.mark.parametrize(("count", "dimension"), [(1, 1), (5, 3), (4096, 2), (1000, 64), (1000, 65)])
def test_points_are_inside_and_even(count, dimension):
    points = uniform_points(count, dimension, 3)
    assert points.shape == (count, dimension)
    assert ((points > 0) & (points < 1)).all()
    assert np.array_equal(points, uniform_points(count, dimension, 3))
    if count >= 1000:
        assert points.mean(axis=0) == pytest.approx(np.full(dimension, 0.5), abs=0.04)
        assert not np.array_equal(points, uniform_points(count, dimension, 4))


def test_points_come_in_random_order():
    points = uniform_points(4096, 2, 0)
    assert np.corrcoef(points[:-1, 0], points[1:, 0])[0, 1] == pytest.approx(0.0, abs=0.06)
    assert np.isfinite(standard_normals(4096, 2, 0)).all()


def test_nothing_asked_gives_nothing():
    assert uniform_points(0, 3, 0).shape == (0, 3)
    assert standard_normals(5, 0, 0).shape == (5, 0)
    assert lots_of(BINARY, (0.3, -1.0), 1.0).effects(np.zeros(0, dtype=np.intp)).shape == (0, 6)
