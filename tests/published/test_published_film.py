"""The film index against a numeric solution, the textbook's limits, and figures worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.sparse import csc_array
from scipy.special import erfc

from stirfall.physics.film import Ageing, film_amounts
from stirfall.physics.film_oil import (
    diffusivity,
    oxygen_in_oil,
    vapour_pressure,
    water_in_oil,
)
from stirfall.physics.film_slab import _roots, slab_uptake
from stirfall.physics.oils import d341_line
from stirfall.storage.film_table import film_constants

HOUR, DAY = 3600.0, 86_400.0
D = 5e-10
SATURATED = 1.4  # mol/m³, 16 % by volume of oxygen times its share in air, rounded


def method_of_lines(
    times: np.ndarray, *, initial: float, top: float, capacity: float, cells: int = 240
) -> np.ndarray:
    """Solve the slab of depth 1 and diffusivity 1 by finite volumes in space and SciPy's BDF in time.

    Independent of the series: it knows no eigenfunction. State: cells, the face below the gas, the uptake.
    """
    edges = (np.linspace(0.0, 1.0, cells + 1)) ** 1.5  # finer at the metal
    middles, widths = (edges[1:] + edges[:-1]) / 2.0, np.diff(edges)
    matrix = np.zeros((cells + 2, cells + 2))
    for k in range(cells):
        below = 1.0 / (middles[k] - (middles[k - 1] if k else 0.0))
        above = 1.0 / ((middles[k + 1] if k + 1 < cells else 1.0) - middles[k])
        if k + 1 == cells and capacity == 0.0:
            above = 0.0
        matrix[k, k] = -(below + above) / widths[k]
        if k:
            matrix[k, k - 1] = below / widths[k]
        matrix[k, k + 1] = above / widths[k]
    last = 1.0 / (1.0 - middles[-1])
    if 0.0 < capacity < np.inf:
        matrix[cells, cells - 1], matrix[cells, cells] = last / capacity, -last / capacity
    matrix[cells + 1, 0] = 1.0 / middles[0]
    flow = csc_array(matrix)  # each cell has two neighbours; all the rest is nothing
    start = np.r_[np.full(cells, initial), top, 0.0]
    # SciPy's BDF also subtracts rows of its table that it has not filled yet; what lies in them may be NaN.
    with np.errstate(invalid="ignore", over="ignore"):
        solved = solve_ivp(
            lambda _t, y: flow @ y,
            (0.0, times[-1]),
            start,
            method="BDF",
            jac=flow,
            t_eval=times,
            rtol=1e-8,
            atol=1e-10,
        )
    assert solved.success
    return np.asarray(solved.y[-1])


@pytest.mark.parametrize(
    ("initial", "top", "capacity"),
    [
        pytest.param(1.0, 1.0, np.inf, id="saturated oil, renewed air"),
        pytest.param(0.05, 1.0, np.inf, id="degassed oil, renewed air"),
        pytest.param(0.0, 1.0, np.inf, id="empty oil, renewed air"),
        pytest.param(1.0, 0.0, np.inf, id="saturated oil, a gas without oxygen"),
        pytest.param(1.0, 1.0, 6.25, id="saturated oil, closed, oxygen"),
        pytest.param(1.0, 1.0, 0.2, id="saturated oil, closed, little headspace"),
        pytest.param(0.0, 1.0, 0.4, id="dried oil, closed, water"),
        pytest.param(1.0, 0.0, 2.0, id="saturated oil, closed over inert gas"),
        pytest.param(1.0, 0.0, 0.0, id="no headspace at all"),
    ],
)
def test_the_exact_series_agrees_with_a_numeric_solution(initial: float, top: float, capacity: float) -> None:
    times = np.array([0.005, 0.014, 0.016, 0.03, 0.1, 0.3, 1.0, 3.0])
    numeric = method_of_lines(times, initial=initial, top=top, capacity=capacity)
    exact = slab_uptake(times, 1.0, 1.0, initial=initial, top=top, capacity_m=capacity)
    np.testing.assert_allclose(exact, numeric, rtol=2e-3, atol=2e-6)


def test_the_early_form_is_that_of_an_endless_layer() -> None:
    """Crank, The Mathematics of Diffusion, 2nd ed. 1975: M = 2 C sqrt(D t / pi) (from memory)."""
    times = np.array([60.0, HOUR, 2 * HOUR])
    taken = slab_uptake(times, 0.02, D, initial=SATURATED, top=SATURATED)
    np.testing.assert_allclose(taken, 2 * SATURATED * np.sqrt(D * times / np.pi), rtol=1e-7)


def test_what_comes_from_above_begins_as_the_integral_of_the_error_function() -> None:
    """Carslaw and Jaeger's ierfc, against SciPy's erfc: 4 C sqrt(D t) ierfc(L / 2 sqrt(D t))."""
    tau = np.array([0.006, 0.01, 0.0149])
    z = 1.0 / (2.0 * np.sqrt(tau))
    ierfc = np.exp(-(z**2)) / math.sqrt(math.pi) - z * erfc(z)
    np.testing.assert_allclose(slab_uptake(tau, 1.0, 1.0, top=1.0), 4.0 * np.sqrt(tau) * ierfc, rtol=1e-6)


@pytest.mark.parametrize(
    ("depth_mm", "lag_h", "within_h"), [(5, 2.3, 0.05), (10, 9.3, 0.1), (20, 37.0, 0.1), (40, 148.0, 0.2)]
)
def test_the_lag_before_new_air_comes_through(depth_mm: float, lag_h: float, within_h: float) -> None:
    """L²/6D (Crank, from memory): 5 mm 2.3 h, 10 mm 9 h, 20 mm 37 h, 40 mm 6 days, worked out by hand.

    Read off the program's curve: where its late straight line meets zero.
    """
    depth = depth_mm / 1000.0
    late = np.array([40.0, 50.0]) * depth**2 / D
    first, second = slab_uptake(late, depth, D, top=SATURATED)
    slope = (second - first) / (late[1] - late[0])
    assert slope == pytest.approx(D * SATURATED / depth, rel=1e-9)
    assert (late[0] - first / slope) / HOUR == pytest.approx(lag_h, abs=within_h)


@pytest.mark.parametrize(("hours", "thickness_um"), [(2, 0.10), (12, 0.25), (24, 0.36), (48, 0.50)])
def test_a_sodium_like_oxide_worked_out_by_hand(hours: float, thickness_um: float) -> None:
    """12.6 cm² of jar over 20 cm² of metal, 2 oxide per O2, 62 g/mol, 2.27 g/cm³; by hand, for the size only.

    The figures have two digits, and so has the concentration that they began with. The program shows no thickness.
    """
    taken = float(slab_uptake(hours * HOUR, 0.02, D, initial=SATURATED, top=SATURATED)) * 12.6 / 20.0
    assert taken * 2 * 62e-3 / 2270 * 1e6 == pytest.approx(thickness_um, rel=0.035)


def test_the_steady_supply_through_twenty_millimetres() -> None:
    """By hand: 3.8 µmol of O2 per day through 20 mm in a jar of 40 mm; 30 mL of aired oil hold 11 days of it."""
    floor = math.pi * 0.02**2
    late = np.array([100.0, 101.0]) * DAY
    taken = slab_uptake(late, 0.02, D, initial=SATURATED, top=SATURATED)
    per_day = (taken[1] - taken[0]) * floor
    assert per_day * 1e6 == pytest.approx(3.8, abs=0.05)
    assert 30e-6 * SATURATED / per_day == pytest.approx(11.0, abs=0.2)


def test_how_the_first_roots_compare_with_a_printed_table() -> None:
    """Roots of b tan b = C, Carslaw and Jaeger 1959, appendix IV table I (from memory): C = 1 and C = 0.1."""
    np.testing.assert_allclose(_roots(np.array([1.0]))[0, :3], [0.8603, 3.4256, 6.4373], atol=6e-5)
    np.testing.assert_allclose(_roots(np.array([10.0]))[0, :3], [0.3111, 3.1731, 6.2991], atol=6e-5)


def test_constants_give_the_figures_known_for_oil() -> None:
    constants = film_constants()
    # 16 % by volume of oxygen at 1 atm is about 1.4 mol/m³ in air, by hand.
    assert oxygen_in_oil(constants) == pytest.approx(1.4, abs=0.04)
    # log10 S = 7.42 - 1670/T (from memory): 52 ppm at 20 °C, 65 at 25 °C, about 880 at 100 °C.
    ppm = water_in_oil([20.0, 25.0, 100.0], constants) * 0.0180153 / np.array([855.0, 851.8, 803.8]) * 1e6
    np.testing.assert_allclose(ppm, [52.0, 65.0, 880.0], rtol=0.02)
    # At 30, 50 and 80 % humidity and 25 °C: 0.9, 1.6 and 2.5 mol/m³, by hand.
    moist = water_in_oil(25.0, constants) * np.array([0.3, 0.5, 0.8])
    np.testing.assert_allclose(moist, [0.9, 1.6, 2.5], atol=0.05)
    # Water vapour at 20 °C: 2.339 kPa (NIST, from memory); the Magnus formula holds to half a per cent.
    assert float(vapour_pressure(20.0, constants)) == pytest.approx(2339.0, rel=5e-3)


def test_diffusivity_scales_as_measured_for_small_solutes() -> None:
    """Viscosity to the power -2/3 (Hiss and Cussler 1973): 5e-10 at 30 mPa s gives 2e-10 at 150, 2-3e-9 at 3."""
    constants = film_constants()
    at = diffusivity(20.0, np.array([30.0, 150.0, 3.0]), constants)
    np.testing.assert_allclose(at, [5e-10, 1.7e-10, 2.3e-9], rtol=0.02)
    assert 2e-9 < float(diffusivity(100.0, None, constants)) < 3e-9


def test_viscosity_between_two_temperatures() -> None:
    """ASTM D341 through 68 mm²/s at 40 °C and 8.7 at 100 °C gives 28.659 at 60 °C and 14.723 at 80 °C, by hand."""
    found = d341_line([60.0, 80.0], 68.0, 40.0, 8.7, 100.0)
    np.testing.assert_allclose(found, [28.659, 14.723], atol=2e-3)


def test_at_half_humidity_water_and_oxygen_count_about_equally() -> None:
    constants = film_constants()
    ageing = Ageing(20.0, 12.6 / 20.0, "loose", "new", 25.0, 50.0)
    amounts = film_amounts(24.0, ageing, constants)
    assert float(amounts.water / amounts.oxygen) == pytest.approx(1.55 / 1.37, rel=0.02)
