"""The climb by central differences: tops that are known, saddles, and surfaces without a top."""

from __future__ import annotations

import numpy as np
import pytest

from stirfall.inference.ascent import climb, hessian_at


def test_a_quadratic_is_climbed_to_its_top():
    bend = np.array([[2.0, 0.6], [0.6, 1.0]])
    top = np.array([0.3, -1.7])

    def surface(points):
        away = points - top
        return 5.0 - 0.5 * np.einsum("mi,ij,mj->m", away, bend, away)

    summit = climb(surface, np.array([4.0, 9.0]))
    assert summit.converged
    assert summit.point == pytest.approx(top, abs=1e-7)
    assert summit.height == pytest.approx(5.0)
    assert summit.hessian == pytest.approx(-bend, abs=1e-5)


def test_the_hessian_of_a_known_function():
    # sin x exp y at (0.4, -0.3), by calculus
    x, y = 0.4, -0.3
    found = hessian_at(lambda p: np.sin(p[:, 0]) * np.exp(p[:, 1]), np.array([x, y]))
    exact = np.exp(y) * np.array([[-np.sin(x), np.cos(x)], [np.cos(x), np.sin(x)]])
    assert found == pytest.approx(exact, abs=1e-6)


def test_a_ridge_that_bends_upwards_is_left():
    # x^2 bends upwards at the start; the tops are at x = 1 and x = -1
    summit = climb(lambda p: p[:, 0] ** 2 - 0.5 * p[:, 0] ** 4 - p[:, 1] ** 2, np.array([0.05, 1.0]))
    assert summit.converged
    assert np.abs(summit.point) == pytest.approx([1.0, 0.0], abs=1e-6)


def test_a_slope_without_top_is_not_called_a_top():
    assert not climb(lambda p: np.tanh(p[:, 0] / 500.0), np.array([0.0])).converged


def test_heights_that_are_no_numbers_are_stepped_around():
    def surface(points):
        with np.errstate(invalid="ignore"):
            return np.log(points[:, 0]) - points[:, 0]

    assert climb(surface, np.array([0.05])).point == pytest.approx([1.0], abs=1e-6)
