"""What oil does with oxygen and water: how much it holds, and how fast they move through it.

All functions take numbers or numpy arrays and return arrays. ``FilmConstants`` holds constants with their sources.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.film_constants import FilmConstants
from stirfall.physics.constants import GAS_CONSTANT, ZERO_C_K

Array = NDArray[np.float64]
_WATER_KG_MOL = 0.0180153  # IUPAC atomic masses, from memory


def oxygen_in_oil(constants: FilmConstants) -> float:
    """Return the oxygen in oil that is saturated with air, mol/m³ (about 1.4).

    The Ostwald coefficient at 25 °C times the oxygen in air; its slight rise with temperature is not counted.
    """
    return constants.oxygen_solubility / 100.0 * float(oxygen_in_gas(25.0, constants))


def oxygen_in_gas(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the oxygen in air at a temperature in °C, mol/m³ (ideal gas)."""
    kelvin = np.asarray(temperature_c, dtype=float) + ZERO_C_K
    return np.asarray(constants.oxygen_in_air / 100.0 * constants.pressure * 1000.0 / (GAS_CONSTANT * kelvin))


def vapour_pressure(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the pressure of saturated water vapour at a temperature in °C, Pa (Magnus formula, WMO-No. 8)."""
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(100.0 * constants.vapour_a * np.exp(constants.vapour_b * t / (constants.vapour_c + t)))


def water_in_gas(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the water in saturated air at a temperature in °C, mol/m³ (ideal gas)."""
    t = np.asarray(temperature_c, dtype=float)
    return np.asarray(vapour_pressure(t, constants) / (GAS_CONSTANT * (t + ZERO_C_K)))


def water_in_oil(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the water in saturated oil at a temperature in °C, mol/m³.

    log10 S(mg/kg) = a - b/T. What equalises between air and oil is the relative saturation, so oil in a room of
    50 % humidity holds half of this.
    """
    t = np.asarray(temperature_c, dtype=float)
    ppm = 10.0 ** (constants.water_line_a - constants.water_line_b / (t + ZERO_C_K))
    return np.asarray(ppm * 1e-6 * oil_density(t, constants) / _WATER_KG_MOL)


def oil_density(temperature_c: ArrayLike, constants: FilmConstants) -> Array:
    """Return the density of the usual mineral oil at a temperature in °C, kg/m³."""
    return np.asarray(constants.oil_density - constants.oil_density_slope * (np.asarray(temperature_c) - 20.0))


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
