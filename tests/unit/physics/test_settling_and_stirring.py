"""Settling, merging and stirring: invariances and limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.physics.merging import drainage_time, skin_radius
from stirfall.physics.settling import (
    GRAVITY,
    drag_coefficient,
    pool_depth,
    settling_time,
    stokes_speed,
    terminal_speed,
)
from stirfall.physics.stirring import BREAKUP_WEBER, breakup_speed, tip_speed, weber_number

SIZE, SOLID, LIQUID = st.floats(1e-7, 5e-3), st.floats(500, 20_000), st.floats(600, 11_000)
VISCOSITY = st.floats(1e-4, 1.0)


@given(SIZE, SOLID, LIQUID, VISCOSITY)
def test_weight_and_drag_balance_and_stokes_is_the_upper_side(
    size: float, solid: float, liquid: float, viscosity: float
) -> None:
    speed = float(terminal_speed(size, solid, liquid, viscosity))
    assert abs(speed) <= abs(float(stokes_speed(size, solid, liquid, viscosity))) * (1 + 1e-9)
    assert math.copysign(1, speed) == math.copysign(1, solid - liquid) or speed == 0
    reynolds = liquid * abs(speed) * size / viscosity
    if 1e-8 < reynolds < 990:
        weight = abs(solid - liquid) * GRAVITY * math.pi * size**3 / 6
        drag = float(drag_coefficient(reynolds)) * math.pi * size**2 / 4 * liquid * speed**2 / 2
        assert drag == pytest.approx(weight, rel=1e-6)


@given(SIZE, LIQUID, VISCOSITY, st.floats(10, 500))
def test_what_is_lighter_rises_nearly_as_fast_as_what_is_as_much_heavier_falls(
    size: float, liquid: float, viscosity: float, drop: float
) -> None:
    up, down = terminal_speed(size, [liquid - drop, liquid + drop], liquid, viscosity)
    assert up == pytest.approx(-down, rel=1e-9)


def test_nothing_moves_without_a_difference_and_unknown_stays_unknown() -> None:
    assert terminal_speed(1e-5, 1000.0, 1000.0, 1e-3) == 0.0
    assert np.isinf(settling_time(0.01, 0.0))
    assert np.isnan(terminal_speed(1e-5, np.nan, 1000.0, 1e-3))


def test_a_pool_by_hand() -> None:
    # 50 g of 8.5 g/cm³ on a floor of 55 mm: 5.882 cm³ over 23.76 cm² is 2.476 mm.
    assert 1e3 * pool_depth(0.050, 8500.0, 0.055) == pytest.approx(2.476, abs=1e-3)


@given(st.floats(1e-4, 5e-3), st.floats(10, 9000), VISCOSITY, st.floats(0.05, 1.0))
def test_drainage_grows_with_the_fifth_power_of_the_bead(
    radius: float, drop: float, viscosity: float, tension: float
) -> None:
    ratio = drainage_time(2 * radius, drop, viscosity, tension) / drainage_time(radius, drop, viscosity, tension)
    assert float(ratio) == pytest.approx(2.0**5, rel=1e-9)
    thicker = drainage_time(radius, drop, 3 * viscosity, tension) / drainage_time(radius, drop, viscosity, tension)
    assert float(thicker) == pytest.approx(3.0, rel=1e-9)


@given(st.floats(1e-4, 0.05), LIQUID, st.floats(0.05, 1.0))
def test_a_drop_tears_at_its_own_speed(size: float, density: float, tension: float) -> None:
    speed = breakup_speed(size, density, tension)
    assert float(weber_number(speed, size, density, tension)) == pytest.approx(BREAKUP_WEBER)


def test_tip_speed_doubles_with_turns_and_with_size_and_no_weight_breaks_a_skin_in_its_own_density() -> None:
    assert tip_speed(0.08, 1.5) == pytest.approx(2 * tip_speed(0.04, 1.5))
    assert tip_speed(0.04, 3.0) == pytest.approx(2 * tip_speed(0.04, 1.5))
    assert np.isinf(skin_radius(0.0))
