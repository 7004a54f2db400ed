"""Assay arithmetic: hand-worked figures, random numbers as an independent witness of u, and a closed loop."""

from __future__ import annotations

import math
from statistics import fmean, stdev

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from stirfall.bench.errors import InputError
from stirfall.physics.assay import (
    gas_amount,
    mean_of_assays,
    metal_share_of,
    oxidised_share,
    titrant_concentration,
    titrated_amount,
    water_vapour_kpa,
)
from stirfall.physics.constants import GAS_CONSTANT
from stirfall.physics.measured import Measured, exact, in_unit

ROOM, AIR = exact(20.0), exact(101.3)


def gas_of(metal_g: float, molar_mass: float) -> float:
    """Return the mL of dry hydrogen at 20 C and 101.3 kPa from a metal of valence 1, by the ideal gas law."""
    return metal_g / molar_mass / 2.0 * 8.314462618 * 293.15 / 101.3e3 * 1e6


@pytest.mark.parametrize(("molar_mass", "ml"), [(22.98977, 523.0), (39.0983, 308.0)])
def test_hydrogen_of_one_gram(molar_mass: float, ml: float) -> None:
    """1 g sodium 523 mL, 1 g potassium 308 mL, dry at 20 C and 101.3 kPa (worked by hand)."""
    assert gas_of(1.0, molar_mass) == pytest.approx(ml, abs=0.5)
    hydrogen = gas_amount(exact(ml), ROOM, AIR, over_water=False).measured
    share = metal_share_of(in_unit(hydrogen, 2.0, "mmol"), exact(molar_mass), exact(1.0)).measured
    assert share.value == pytest.approx(1.0, abs=0.002)


def test_what_ignoring_vapour_temperature_and_pressure_errs() -> None:
    """Vapour ignored +2.4 %, each 5 K 1.7 %, each 1 kPa 1 % (worked by hand)."""
    over_water = gas_amount(exact(500.0), ROOM, AIR, over_water=True).measured.value
    dry = gas_amount(exact(500.0), ROOM, AIR, over_water=False).measured.value
    assert 100.0 * (dry / over_water - 1.0) == pytest.approx(2.4, abs=0.05)
    warmer = gas_amount(exact(500.0), exact(25.0), AIR, over_water=False).measured.value
    assert 100.0 * (dry / warmer - 1.0) == pytest.approx(1.7, abs=0.05)
    denser = gas_amount(exact(500.0), ROOM, exact(102.3), over_water=False).measured.value
    assert 100.0 * (denser / dry - 1.0) == pytest.approx(1.0, abs=0.05)


def test_an_uncertain_temperature_goes_through_the_vapour_too() -> None:
    """Against 200 000 random readings (JCGM 101:2008)."""
    volume, temperature, pressure = Measured(200.0, 0.5), Measured(30.0, 1.0), Measured(101.3, 0.2)
    told = gas_amount(volume, temperature, pressure, over_water=True).measured
    random = np.random.default_rng(7)
    v, t, p = (random.normal(each.value, each.u, 200_000) for each in (volume, temperature, pressure))
    water = np.vectorize(water_vapour_kpa)(t[:20_000])
    drawn = (p[:20_000] - water) * v[:20_000] / (GAS_CONSTANT * (t[:20_000] + 273.15))
    assert told.u == pytest.approx(float(np.std(drawn)), rel=0.03)
    assert told.value == pytest.approx(float(np.mean(drawn)), rel=1e-4)
    dry = gas_amount(volume, temperature, pressure, over_water=False).measured
    assert told.u is not None
    assert dry.u is not None
    assert told.u > dry.u


@pytest.mark.parametrize(("temperature", "pressure"), [(-1.0, 101.3), (101.0, 200.0), (80.0, 40.0)])
def test_vapour_that_cannot_be_is_refused(temperature: float, pressure: float) -> None:
    with pytest.raises(InputError, match=r"assay\.vapour"):
        gas_amount(exact(1.0), exact(temperature), exact(pressure), over_water=True)
    assert gas_amount(exact(1.0), exact(temperature), exact(pressure), over_water=False).measured.value > 0.0


def test_equivalents_and_dilution() -> None:
    common = {"mass_g": exact(1.0), "purity": exact(1.0), "molar_mass": exact(100.0), "volume_ml": exact(20.0)}
    assert titrant_concentration(**common).measured.value == pytest.approx(0.5)
    assert titrant_concentration(**common, equivalents=2).measured.value == pytest.approx(1.0)
    amount = titrated_amount(exact(0.1), exact(20.0), exact(10.0))
    assert amount.measured == Measured(20.0, 0.0, "mmol")
    scattered = titrated_amount(exact(0.1), exact(20.0), exact(10.0), 0.001).measured
    assert scattered.relative_u == pytest.approx(0.001)
    assert metal_share_of(exact(20.0), exact(40.0), exact(1.0), 2).measured.value == pytest.approx(0.4)


@given(st.floats(0.05, 5.0), st.floats(0.0, 0.9), st.floats(6.9, 133.0), st.floats(5.0, 45.0))
def test_gas_and_base_together_find_the_oxidised_share(
    metal_g: float, oxidised: float, molar_mass: float, temperature: float
) -> None:
    """A sample made up on paper: metal gives hydrogen, metal and oxide give base; the share must come back."""
    metal = 1000.0 * metal_g / molar_mass
    base = exact(metal / (1.0 - oxidised), "mmol")
    kelvin = temperature + 273.15
    dry_ml = metal / 2.0 * GAS_CONSTANT * kelvin / (101.3 - water_vapour_kpa(temperature))
    hydrogen = gas_amount(exact(dry_ml), exact(temperature), AIR, over_water=True).measured
    assert oxidised_share(hydrogen, base).measured.value == pytest.approx(oxidised, abs=1e-9)


def test_the_oxidised_share_is_known_poorly_where_it_is_small() -> None:
    told = oxidised_share(Measured(10.0, 0.05), Measured(20.4, 0.1)).measured
    assert told.value == pytest.approx(0.0196, abs=1e-4)
    assert told.u == pytest.approx(math.hypot(0.05 / 10.0, 0.1 / 20.4) * 20.0 / 20.4)


@pytest.mark.parametrize("name", ["mass_g", "purity", "molar_mass", "volume_ml"])
def test_what_must_be_above_zero_is_refused_by_its_name(name: str) -> None:
    inputs = {"mass_g": 1.0, "purity": 1.0, "molar_mass": 1.0, "volume_ml": 1.0}
    with pytest.raises(InputError, match=r"assay\.not_positive"):
        titrant_concentration(**{key: exact(0.0 if key == name else value) for key, value in inputs.items()})


def test_several_assays_have_a_mean_with_a_t_interval() -> None:
    """Against scipy.stats, which is not used here."""
    values = [92.1, 92.9, 91.8, 92.4]
    told = mean_of_assays(values)
    standard_error = stdev(values) / 2.0
    assert (told.mean, told.s, told.n) == (pytest.approx(fmean(values)), pytest.approx(stdev(values)), 4)
    assert told.u == pytest.approx(standard_error)
    low, high = stats.t.interval(0.95, 3, fmean(values), standard_error)
    assert (told.lower, told.upper) == (pytest.approx(low), pytest.approx(high))
    assert told.measured == Measured(told.mean, told.u, "%")


def test_what_all_assays_share_no_repetition_lessens() -> None:
    values = [92.1, 92.9, 91.8, 92.4]
    plain, shared = mean_of_assays(values), mean_of_assays(values, common_u=0.3)
    assert plain.u is not None
    assert plain.df is not None
    assert shared.u == pytest.approx(math.hypot(plain.u, 0.3))
    # Welch and Satterthwaite: the shared part has infinite degrees of freedom (GUM G.4).
    assert shared.df == pytest.approx(3.0 * (shared.u / plain.u) ** 4)
    half = stats.t.ppf(0.975, shared.df) * shared.u
    assert shared.upper == pytest.approx(shared.mean + half)


def test_an_uncertainty_that_nothing_tells_is_unknown_and_never_zero() -> None:
    for values in ([92.1], [92.1, 92.1, 92.1]):
        told = mean_of_assays(values)
        assert (told.u, told.df, told.lower, told.upper) == (None, None, None, None)
        assert mean_of_assays(values, common_u=0.2).u is None
        assert mean_of_assays(values, each_u=0.0).u is None
        given_u = mean_of_assays(values, each_u=0.3, common_u=0.4)
        assert given_u.u == pytest.approx(math.hypot(0.3 / math.sqrt(len(values)), 0.4))
        assert given_u.upper == pytest.approx(92.1 + 1.959964 * given_u.u)
    with pytest.raises(InputError, match=r"assay\.none"):
        mean_of_assays([])
    with pytest.raises(InputError, match=r"measured\.impossible"):
        mean_of_assays([92.1, math.nan])
    with pytest.raises(InputError, match=r"measured\.impossible"):
        mean_of_assays([92.1, 92.2], common_u=-1.0)


def test_the_t_interval_holds_the_truth_as_often_as_it_says() -> None:
    random = np.random.default_rng(12)
    held = 0
    for row in random.normal(92.0, 0.6, (2000, 3)):
        told = mean_of_assays([float(value) for value in row])
        assert told.lower is not None
        assert told.upper is not None
        held += told.lower <= 92.0 <= told.upper
    # 95 % of 2000, give or take 3.3 standard deviations of the count.
    assert 1900 - 33 <= held <= 1900 + 33
