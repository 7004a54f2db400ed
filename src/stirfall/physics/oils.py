"""Viscosity and density of an oil against temperature, from what stands on its bottle."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.errors import InputError
from stirfall.physics.constants import ZERO_C_K

Floats = NDArray[np.float64]

# ASTM D341 adds 0.7 to the kinematic viscosity in mm²/s; below about 2 mm²/s the standard has further terms, which
# are left out here.
D341_ADDED = 0.7
D341_LEAST_MM2_S = 2.0
# How far beyond the two temperatures of the bottle the line is carried; our proposal, no source.
D341_REACH_K = 100.0
# Mineral oils lose about 0.00064 g/cm³ per kelvin (from memory, not checked).
EXPANSION_KG_M3_K = 0.64
DENSITY_REACH_K = 200.0  # our proposal, no source
DENSITY_PERCENT = 1.0  # what the expansion may be wrong by; our judgement, no source


def kinematic_viscosity(
    t_c: ArrayLike, first_mm2_s: float, first_c: float, second_mm2_s: float, second_c: float
) -> Floats:
    """Return the kinematic viscosity in mm²/s at temperatures in °C, after ASTM D341.

    log10 log10 (ν + 0.7) is a straight line in log10 T (K) through the two viscosities of the bottle. The result
    has the shape of ``t_c``; NaN more than ``D341_REACH_K`` beyond the two temperatures, or where the line has no
    value.
    Raises InputError ``oil.one_temperature`` or ``oil.viscosity_rises``.
    """
    check_viscosities(first_mm2_s, first_c, second_mm2_s, second_c)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        value = d341_line(t_c, first_mm2_s, first_c, second_mm2_s, second_c)
    within = outside_k(t_c, first_c, second_c) <= D341_REACH_K
    return np.where(within & (value > 0), value, np.nan)


def d341_line(t_c: ArrayLike, first_mm2_s: float, first_c: float, second_mm2_s: float, second_c: float) -> Floats:
    """Return the line of ASTM D341 itself, in mm²/s, however far it is carried; the shape of ``t_c``."""
    x1, x2 = np.log10(first_c + ZERO_C_K), np.log10(second_c + ZERO_C_K)
    y1, y2 = (np.log10(np.log10(each + D341_ADDED)) for each in (first_mm2_s, second_mm2_s))
    y = y1 + (y2 - y1) / (x2 - x1) * (np.log10(np.asarray(t_c, dtype=np.float64) + ZERO_C_K) - x1)
    return np.asarray(10.0 ** (10.0**y) - D341_ADDED)


def check_viscosities(first_mm2_s: float, first_c: float, second_mm2_s: float, second_c: float) -> None:
    """Raise InputError ``oil.one_temperature`` or ``oil.viscosity_rises`` unless a line goes through both."""
    if abs(first_c - second_c) < 1.0:
        raise InputError("oil.one_temperature", at=first_c)
    cold, hot = sorted(((first_c, first_mm2_s), (second_c, second_mm2_s)))
    # The least that the line can carry: log10 (ν + 0.7) must be positive at both ends.
    if not cold[1] > hot[1] > 1.0 - D341_ADDED or cold[0] <= -ZERO_C_K:
        raise InputError("oil.viscosity_rises", cold=cold[1], cold_at=cold[0], hot=hot[1], hot_at=hot[0])


def outside_k(t_c: ArrayLike, first_c: float, second_c: float) -> Floats:
    """Return how many kelvin each temperature lies beyond the two temperatures of the bottle, zero between."""
    t = np.asarray(t_c, dtype=np.float64)
    low, high = min(first_c, second_c), max(first_c, second_c)
    return np.maximum(np.maximum(low - t, t - high), 0.0)


def oil_density(t_c: ArrayLike, density_kg_m3: float, density_at_c: float) -> Floats:
    """Return the density of a mineral oil in kg/m³ at temperatures in °C, from one value; an estimate.

    It falls by 0.64 kg/m³ per kelvin (from memory, not checked). The result has the shape of ``t_c``; NaN more than
    ``DENSITY_REACH_K`` from the temperature of the value.
    """
    t = np.asarray(t_c, dtype=np.float64)
    value = density_kg_m3 - EXPANSION_KG_M3_K * (t - density_at_c)
    return np.where((np.abs(t - density_at_c) <= DENSITY_REACH_K) & (value > 0), value, np.nan)


def dynamic_viscosity(kinematic_mm2_s: ArrayLike, density_kg_m3: ArrayLike) -> Floats:
    """Return the dynamic viscosity in Pa s of kinematic viscosities in mm²/s and densities in kg/m³."""
    return np.asarray(kinematic_mm2_s, dtype=np.float64) * 1e-6 * np.asarray(density_kg_m3, dtype=np.float64)
