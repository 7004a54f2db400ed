"""What oil does with oxygen and water: how much it holds, and how fast they move through it.

All functions take numbers or numpy arrays and return arrays. ``FilmConstants`` holds constants with their sources.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.film_constants import FilmConstants

Array = NDArray[np.float64]
_GAS = 8.314462618  # J/(mol K), CODATA 2018, exact
_ZERO_C = 273.15
_WATER_KG_MOL = 0.0180153  # IUPAC atomic masses, from memory


def oxygen_in_oil(constants: FilmConstants) -> float:
    """Return the oxygen in oil that is saturated with air, mol/m³ (about 1.4).

    The Ostwald coefficient at 25 °C times the oxygen in air; its slight rise with temperature is not counted.
    """
    return constants.oxygen_solubility / 100.0 * float(oxygen_in_gas(25.0, constants))


def oxygen_in_gas(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the oxygen in air at a temperature in °C, mol/m³ (ideal gas)."""
    kelvin = np.asarray(temperature_c, dtype=float) + _ZERO_C
    return np.asarray(constants.oxygen_in_air / 100.0 * constants.pressure * 1000.0 / (_GAS * kelvin))


def vapour_pressure(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the pressure of saturated water vapour at a temperature in °C, Pa (Magnus formula, WMO-No. 8)."""
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(100.0 * constants.vapour_a * np.exp(constants.vapour_b * t / (constants.vapour_c + t)))


def water_in_gas(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the water in saturated air at a temperature in °C, mol/m³ (ideal gas)."""
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(vapour_pressure(t, constants) / (_GAS * (t + _ZERO_C)))


def water_in_oil(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the water in saturated oil at a temperature in °C, mol/m³.

    log10 S(mg/kg) = a - b/T. What equalises between air and oil is the relative saturation, so oil in a room of
    50 % humidity holds half of this.
    """
    t = np.asarray(temperature_c, dtype=float)
    ppm = 10.0 ** (constants.water_line_a - constants.water_line_b / (t + _ZERO_C))
    return np.asarray(ppm * 1e-6 * oil_density(t, constants) / _WATER_KG_MOL)


def oil_density(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the density of the usual mineral oil at a temperature in °C, kg/m³."""
    return np.asarray(constants.oil_density - constants.oil_density_slope * (np.asarray(temperature_c) - 20.0))


def kinematic_viscosity(temperature_c: ArrayLike, first: tuple[float, float], second: tuple[float, float]) -> Array:
    """Return the kinematic viscosity in mm²/s at a temperature in °C, from two points (°C, mm²/s).

    log10 log10(v + 0.7) is linear in log10 of the absolute temperature (ASTM D341).
    """
    kelvin = [np.log10(point[0] + _ZERO_C) for point in (first, second)]
    doubled = [np.log10(np.log10(max(point[1], 0.31) + 0.7)) for point in (first, second)]
    slope = (doubled[1] - doubled[0]) / (kelvin[1] - kelvin[0])
    at = doubled[0] + slope * (np.log10(np.asarray(temperature_c, dtype=float) + _ZERO_C) - kelvin[0])
    return np.asarray(10.0 ** (10.0**at) - 0.7)


def diffusivity(temperature_c: ArrayLike, viscosity_mpa_s: ArrayLike | None, constants: FilmConstants) -> Array:
    """Return the diffusivity of oxygen in oil, m²/s.

    It goes with the dynamic viscosity (mPa s) to the power -2/3 (Hiss and Cussler 1973); where no viscosity is
    known, it is the usual one at room temperature and rises with temperature as the table says (our proposal).
    """
    if viscosity_mpa_s is not None:
        ratio = np.asarray(viscosity_mpa_s, dtype=float) / constants.reference_viscosity
        return np.asarray(constants.diffusivity * ratio**-constants.viscosity_power)
    warmer = np.asarray(temperature_c, dtype=float) - constants.reference_temperature
    return np.asarray(constants.diffusivity * np.exp(constants.diffusivity_per_kelvin * warmer))
