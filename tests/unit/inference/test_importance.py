"""The points, the weights and the figures of health."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from stirfall.inference.importance import (
    degrees_of_freedom,
    effective_size,
    generalised_pareto_shape,
    normalised,
    pareto_k,
    student_points,
    tempered,
)


def test_points_follow_the_multivariate_t_law():
    points, log_density = student_points(4096, 3, 0)
    degrees = degrees_of_freedom(3)
    law = stats.multivariate_t(np.zeros(3), np.eye(3), df=degrees)
    assert log_density == pytest.approx(law.logpdf(points))
    assert points.mean(axis=0) == pytest.approx(np.zeros(3), abs=0.01)
    assert np.cov(points.T) == pytest.approx(np.eye(3) * degrees / (degrees - 2), abs=0.06)
    for column in points.T:
        assert stats.kstest(column, stats.t(degrees).cdf).statistic < 0.01


def test_points_are_the_same_each_time_and_cannot_be_changed():
    first, _ = student_points(256, 2, 7)
    student_points.cache_clear()
    again, _ = student_points(256, 2, 7)
    assert np.array_equal(first, again)
    with pytest.raises(ValueError, match="read-only"):
        first[0, 0] = 1.0


def test_equal_weights_are_worth_their_number():
    weights, log_mean = normalised(np.full(100, -1e6))
    assert effective_size(weights) == pytest.approx(100)
    assert log_mean == pytest.approx(-1e6)
    assert pareto_k(weights) == 0.0


def test_one_weight_is_worth_one():
    assert effective_size(np.r_[1.0, np.zeros(99)]) == pytest.approx(1.0)


@pytest.mark.parametrize("shape", [-0.2, 0.0, 0.3, 0.7, 1.2])
def test_the_pareto_shape_is_found_again(shape):
    sample = np.sort(stats.genpareto(shape).rvs(4000, random_state=np.random.default_rng(11)))
    standard_error = (1.0 + shape) / np.sqrt(4000)  # asymptotic, Smith 1987, Ann. Stat. 15:1174 (from memory)
    assert generalised_pareto_shape(sample) == pytest.approx(shape, abs=3 * standard_error)


def test_the_pareto_shape_agrees_with_maximum_likelihood():
    # An independent fit by scipy.stats.genpareto; Zhang & Stephens show that both are consistent.
    sample = np.sort(stats.genpareto(0.5, scale=3.0).rvs(3000, random_state=np.random.default_rng(3)))
    shape, _, _ = stats.genpareto.fit(sample, floc=0.0)
    assert generalised_pareto_shape(sample) == pytest.approx(shape, abs=0.02)


def test_heavy_weights_are_found_out():
    ratios = stats.pareto(1.0 / 0.9).rvs(4096, random_state=np.random.default_rng(2))
    assert pareto_k(ratios / ratios.sum()) > 0.7
    ratios = stats.expon.rvs(size=4096, random_state=np.random.default_rng(2))
    assert pareto_k(ratios / ratios.sum()) < 0.3


def test_too_few_weights_say_nothing():
    assert pareto_k(np.full(10, 0.1)) == 0.0


def test_tempering_leaves_good_weights_alone_and_spreads_bad_ones():
    rng = np.random.default_rng(0)
    good, bad = rng.random(1000), np.exp(20 * rng.normal(size=1000))
    good, bad = good / good.sum(), bad / bad.sum()
    assert tempered(good, 100) is good
    assert effective_size(bad) < 5
    assert effective_size(tempered(bad, 100)) == pytest.approx(100, rel=0.01)
    assert (np.argsort(tempered(bad, 100)) == np.argsort(bad)).all()
