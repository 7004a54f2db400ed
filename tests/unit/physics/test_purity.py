"""Purity by density: worked by hand from volumes that add up; no outside source but Archimedes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.physics.measured import Measured, exact
from stirfall.physics.purity import (
    AIR_DENSITY,
    density_in_liquid,
    density_shift,
    purity_from_density,
    solids_from_density,
)

SODIUM, DENSE_SOLID, ALLOY, TIN_OXIDE = 968.0, 3580.0, 8500.0, 6900.0


def weighings(density: float, liquid: float, in_air: float = 10.0) -> float:
    """Return the apparent mass in the liquid of a piece that weighs ``in_air`` in air."""
    volume = in_air / (density - AIR_DENSITY)
    return volume * (density - liquid)


def test_the_density_of_a_piece_by_archimedes():
    """The plain formula m_air rho / (m_air - m_liquid), and what air adds."""
    plain = density_in_liquid(exact(10.0), exact(2.0), exact(855.0), air_density=0.0).measured
    assert plain.value == pytest.approx(10.0 * 855.0 / 8.0)
    for density, air in ((SODIUM, 2e-4), (ALLOY, 1.3e-3)):
        in_liquid = exact(weighings(density, 855.0))
        assert density_in_liquid(exact(10.0), in_liquid, exact(855.0)).measured.value == pytest.approx(density)
        without = density_in_liquid(exact(10.0), in_liquid, exact(855.0), air_density=0.0).measured.value
        assert without / density - 1.0 == pytest.approx(air, rel=0.2)


def test_a_piece_that_the_liquid_does_not_lift_is_refused():
    for in_liquid in (10.0, 11.0):
        with pytest.raises(InputError, match=r"assay\.no_buoyancy"):
            density_in_liquid(exact(10.0), exact(in_liquid), exact(855.0))


@pytest.mark.parametrize(("metal", "solid", "percent"), [(SODIUM, DENSE_SOLID, 0.73), (ALLOY, TIN_OXIDE, -0.23)])
def test_one_per_cent_of_solids_moves_the_density_by_this_much(metal, solid, percent):
    """Worked by hand: +0.73 % for a solid of 3.58 in sodium, -0.23 % for an oxide of 6.9 in an alloy of 8.5."""
    shift = density_shift(0.01, metal, solid)
    assert 100.0 * shift == pytest.approx(percent, abs=0.006)
    back = solids_from_density(exact(metal * (1.0 + shift)), exact(metal), exact(solid)).measured
    assert back.value == pytest.approx(0.01)


@given(st.floats(0.0, 0.9), st.floats(500.0, 12_000.0), st.floats(500.0, 12_000.0))
def test_solids_that_were_put_in_are_found_again(share, metal, solid):
    if abs(metal - solid) < 50.0:
        return
    density = metal * (1.0 + density_shift(share, metal, solid))
    found = solids_from_density(exact(density), exact(metal), exact(solid)).measured.value
    assert found == pytest.approx(share, abs=1e-8)


def told(density, metal, solid, step, in_air=10.0):
    in_liquid = weighings(density, 855.0, in_air)
    return purity_from_density(
        Measured(in_air, step), Measured(in_liquid, step), exact(855.0), exact(metal), exact(solid)
    )


def test_the_detection_limit_of_ten_grams():
    """About 0.3 % by mass in light metal on a balance of 0.01 g; about 1 % in the alloy, which takes 0.001 g.

    The limits are worked by hand for a density known to 0.2 %. Ten grams of a heavy alloy displace a ninth of the
    oil, so on 0.01 g the same alloy is known to more than 1 % only, and its limit is ten times as far.
    """
    light = told(SODIUM, SODIUM, DENSE_SOLID, 0.01)
    assert 100.0 * light.detection == pytest.approx(0.3, abs=0.03)
    assert light.density.measured.relative_u == pytest.approx(0.0011, abs=1e-4)
    fine = told(ALLOY, ALLOY, TIN_OXIDE, 0.001)
    assert 100.0 * fine.detection == pytest.approx(1.0, abs=0.2)
    coarse = told(ALLOY, ALLOY, TIN_OXIDE, 0.01)
    assert coarse.detection == pytest.approx(10.0 * fine.detection)


def test_voids_hide_dense_solids_so_the_purity_is_bounded_from_above():
    """A void of 1 % hides about 1.4 % by mass of a solid of 3.58 in sodium (worked by hand)."""
    with_solids = SODIUM * (1.0 + density_shift(0.03, SODIUM, DENSE_SOLID))
    dense = told(with_solids, SODIUM, DENSE_SOLID, 0.01)
    assert dense.bound == "at most"
    assert dense.void_hides == pytest.approx(1.4, abs=0.05)
    assert dense.solids.measured.value == pytest.approx(0.03, abs=1e-6)
    assert 0.97 < dense.purity_bound < 0.975
    porous = told(with_solids * 0.99, SODIUM, DENSE_SOLID, 0.01)
    assert porous.solids.measured.value == pytest.approx(0.03 - 0.01 * dense.void_hides, abs=1e-3)
    # The truth, 97 %, lies below both bounds.
    assert porous.purity_bound > dense.purity_bound > 0.97
    assert not porous.has_voids


def test_a_density_far_below_the_metal_says_that_there_are_voids():
    very_porous = told(SODIUM * 0.95, SODIUM, DENSE_SOLID, 0.01)
    assert very_porous.has_voids
    assert very_porous.purity_bound == 1.0
    assert not told(SODIUM, SODIUM, DENSE_SOLID, 0.01).has_voids


def test_light_solids_and_voids_pull_the_same_way_so_the_purity_is_bounded_from_below():
    with_oxide = ALLOY * (1.0 + density_shift(0.03, ALLOY, TIN_OXIDE))
    light = told(with_oxide, ALLOY, TIN_OXIDE, 0.001)
    assert light.bound == "at least"
    assert light.purity_bound < 0.97
    porous = told(with_oxide * 0.995, ALLOY, TIN_OXIDE, 0.001)
    assert porous.purity_bound < light.purity_bound
    assert not porous.has_voids


def test_without_uncertainty_there_is_no_bound():
    in_liquid = Measured(weighings(SODIUM, 855.0), 0.01)
    unknown = purity_from_density(Measured(10.0, None), in_liquid, exact(855.0), exact(SODIUM), exact(DENSE_SOLID))
    assert unknown.solids.measured.u is None
    assert (unknown.purity_bound, unknown.detection, unknown.has_voids) == (None, None, False)


@pytest.mark.parametrize(("metal", "solid"), [(968.0, 968.0), (0.0, 3580.0), (968.0, -1.0)])
def test_densities_that_tell_nothing_apart_are_refused(metal, solid):
    with pytest.raises(InputError, match=r"assay\.same_density"):
        solids_from_density(exact(968.0), exact(metal), exact(solid))
