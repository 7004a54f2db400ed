"""Oil on metal; figures worked by hand from area times thickness, thickness and factor our own proposal."""

from __future__ import annotations

import math

import numpy as np
import pytest

from stirfall.bench.errors import InputError
from stirfall.physics.bead_film import (
    FILM_UM,
    area_of_beads,
    ball_diameter_mm,
    bare_beads,
    film_mass,
    film_on_metal_g,
    film_share,
    film_thickness,
)
from stirfall.physics.measured import Measured, exact

LIGHT, HEAVY, OIL = 927.0, 8560.0, 830.0


def test_a_film_on_one_ball_weighs_little_and_on_beads_a_lot():
    """10 g of light metal: 0.06 g as one ball, 0.8 g as 2 mm beads, 1.6 g as 1 mm beads; tin-bismuth 0.09 g."""
    ball = ball_diameter_mm(10.0, LIGHT)
    assert film_on_metal_g(10.0, ball, LIGHT, OIL) == pytest.approx(0.06, abs=0.005)
    assert film_on_metal_g(10.0, 2.0, LIGHT, OIL) == pytest.approx(0.8, abs=0.05)
    assert film_on_metal_g(10.0, 1.0, LIGHT, OIL) == pytest.approx(1.6, abs=0.05)
    assert film_on_metal_g(10.0, 2.0, HEAVY, OIL) == pytest.approx(0.09, abs=0.005)


def test_area_is_that_of_counted_spheres():
    bead_cm = 0.2
    count = (10.0 / 0.927) / (math.pi / 6.0 * bead_cm**3)
    assert area_of_beads(10.0, 2.0, LIGHT) == pytest.approx(count * math.pi * bead_cm**2)
    assert ball_diameter_mm(LIGHT * math.pi / 6.0 * 1e-3, LIGHT) == pytest.approx(10.0)
    for bead, density in ((0.0, LIGHT), (2.0, 0.0), (-1.0, LIGHT), (math.nan, LIGHT)):
        with pytest.raises(InputError, match=r"measured\.impossible"):
            area_of_beads(10.0, bead, density)


def test_area_times_thickness_is_close_to_the_shell():
    shell = (math.pi / 6.0) * ((1.0 + 2.0 * FILM_UM / 1000.0) ** 3 - 1.0)
    thin = math.pi * FILM_UM / 1000.0
    assert thin == pytest.approx(shell, rel=0.06)


def test_weighed_beads_hold_metal_and_film_together():
    metal = 10.0
    oil = film_on_metal_g(metal, 1.0, LIGHT, OIL)
    share = film_share(exact(1.0), exact(LIGHT), exact(OIL)).measured
    weighed = Measured(metal + oil, 0.0, "g")
    assert film_mass(weighed, share).measured.value == pytest.approx(oil)
    assert bare_beads(weighed, share).measured.value == pytest.approx(metal)
    assert film_mass(weighed, share).measured.u == pytest.approx(bare_beads(weighed, share).measured.u)


def test_a_factor_of_two_either_way_is_the_spread_of_the_film():
    """Random films, evenly spread in the logarithm between a half and twice 30 um (JCGM 101:2008 draws so)."""
    film = film_thickness()
    random = np.random.default_rng(31)
    drawn = FILM_UM * np.exp(random.uniform(-math.log(2.0), math.log(2.0), 400_000))
    assert film.value == FILM_UM
    assert film.relative_u == pytest.approx(np.std(np.log(drawn)), rel=0.01)
    # The linear law against the drawn shares: the share is nearly straight in the film, the draws are skew.
    share = film_share(exact(1.0), exact(LIGHT), exact(OIL)).measured
    ratio = 6.0 * drawn / 1000.0 * OIL / LIGHT
    assert share.u == pytest.approx(np.std(ratio / (1.0 + ratio)), rel=0.12)
    assert share.value == pytest.approx(np.median(ratio / (1.0 + ratio)), rel=0.01)


def test_the_film_outweighs_bead_size_and_densities_in_the_budget():
    told = film_share(Measured(2.0, 0.4), Measured(LIGHT, 18.0), Measured(OIL, 17.0))
    assert [line.name for line in told.budget[:2]] == ["film_um", "bead_mm"]
    assert told.measured.relative_u == pytest.approx(math.hypot(0.40, 0.20), abs=0.04)
