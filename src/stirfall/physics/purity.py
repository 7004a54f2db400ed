"""Purity from density, by weighing in air and in a liquid: only ever a bound, because voids look like solids."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from stirfall.bench.errors import InputError
from stirfall.physics.measured import Derived, Measured, propagate

# A share of solids counts as seen from two standard uncertainties of the density on.
DETECTION_K = 2.0
# One-sided 95 % of the normal law.
BOUND_K = 1.645
# kg/m³ of air near 20 °C and 101.3 kPa; the reference value of OIML R 111, from memory, not checked.
AIR_DENSITY = 1.2


@dataclass(frozen=True)
class DensityPurity:
    """What one density says about the solids in a metal; shares are of 1, densities in kg/m³.

    ``solids`` is the mass share that would explain the density if there were no voids (negative where the solids
    would have to be taken away). ``bound`` says on which side the purity is bounded: with solids denser than the
    metal voids hide solids, so the purity is ``at most`` the bound; with lighter ones both pull the density down,
    so it is ``at least`` the bound. ``purity_bound`` is that bound with one-sided 95 % confidence, ``detection``
    the smallest share that shows (two standard uncertainties); both None where an uncertainty is unknown.
    ``void_hides`` is the share of solids that an equal share of void hides or feigns. ``has_voids`` says that the
    density lies so far below that of the metal that there must be voids.
    """

    density: Derived
    solids: Derived
    bound: Literal["at most", "at least"]
    purity_bound: float | None
    detection: float | None
    void_hides: float
    has_voids: bool


def density_in_liquid(
    in_air_g: Measured, in_liquid_g: Measured, liquid_density: Measured, air_density: float = AIR_DENSITY
) -> Derived:
    """Return the density in kg/m³ of a piece: about m_air rho_liquid / (m_air - m_liquid), by Archimedes.

    Masses in g, densities in kg/m³. ``in_liquid_g`` is the apparent mass under the liquid, below zero for a piece
    that must be held down. The buoyancy of air counts too, (m_air rho_liquid - m_liquid rho_air) / (m_air -
    m_liquid): in oil it is 0.02 % for a metal of 970 kg/m³ and 0.13 % for one of 8500. ``air_density`` 0 gives the
    plain formula. Raises InputError ``assay.no_buoyancy`` unless the piece is lighter in the liquid.
    """
    if not in_liquid_g.value < in_air_g.value or in_air_g.value <= 0.0:
        raise InputError("assay.no_buoyancy", air=in_air_g.value, liquid=in_liquid_g.value)
    inputs = {"in_air_g": in_air_g, "in_liquid_g": in_liquid_g, "liquid_density": liquid_density}
    return propagate(lambda **given: _density(**given, air_density=air_density), inputs, "kg/m³")


def solids_from_density(density: Measured, metal_density: Measured, solid_density: Measured) -> Derived:
    """Return the mass share w of solids that gives a density, volumes adding up: 1/rho = w/rho_s + (1 - w)/rho_m.

    Densities in kg/m³ at one temperature. Raises InputError ``assay.same_density``.
    """
    _check_densities(metal_density, solid_density)
    inputs = {"density": density, "metal_density": metal_density, "solid_density": solid_density}
    return propagate(_solids, inputs)


def density_shift(solids: float, metal_density: float, solid_density: float) -> float:
    """Return by which share of itself the density of the metal moves with a mass share of solids in it."""
    return 1.0 / (1.0 - solids * (1.0 - metal_density / solid_density)) - 1.0


def purity_from_density(
    in_air_g: Measured,
    in_liquid_g: Measured,
    liquid_density: Measured,
    metal_density: Measured,
    solid_density: Measured,
) -> DensityPurity:
    """Return what weighing a piece in air and in a liquid says about the solids in it.

    Masses in g, densities in kg/m³. Raises InputError ``assay.no_buoyancy`` and ``assay.same_density``.
    """
    density = density_in_liquid(in_air_g, in_liquid_g, liquid_density)
    _check_densities(metal_density, solid_density)
    inputs = {
        "in_air_g": in_air_g,
        "in_liquid_g": in_liquid_g,
        "liquid_density": liquid_density,
        "metal_density": metal_density,
        "solid_density": solid_density,
    }
    solids = propagate(_solids_of_weighings, inputs)
    is_denser = solid_density.value > metal_density.value
    share, u = solids.measured.value, solids.measured.u
    contrast = abs(1.0 - metal_density.value / solid_density.value)
    return DensityPurity(
        density,
        solids,
        "at most" if is_denser else "at least",
        None if u is None else _bound(share, u, is_denser=is_denser),
        None if u is None else DETECTION_K * u,
        1.0 / contrast,
        is_denser and u is not None and share < -DETECTION_K * u,
    )


def _bound(share: float, u: float, *, is_denser: bool) -> float:
    if is_denser:
        return 1.0 - min(max(share - BOUND_K * u, 0.0), 1.0)
    return 1.0 - min(max(share + BOUND_K * u, 0.0), 1.0)


def _check_densities(metal: Measured, solid: Measured) -> None:
    if metal.value <= 0.0 or solid.value <= 0.0 or metal.value == solid.value:
        raise InputError("assay.same_density", metal=metal.value, solid=solid.value)


def _density(in_air_g: float, in_liquid_g: float, liquid_density: float, air_density: float = AIR_DENSITY) -> float:
    return (in_air_g * liquid_density - in_liquid_g * air_density) / (in_air_g - in_liquid_g)


def _solids(density: float, metal_density: float, solid_density: float) -> float:
    return (1.0 / metal_density - 1.0 / density) / (1.0 / metal_density - 1.0 / solid_density)


def _solids_of_weighings(
    in_air_g: float, in_liquid_g: float, liquid_density: float, metal_density: float, solid_density: float
) -> float:
    return _solids(_density(in_air_g, in_liquid_g, liquid_density), metal_density, solid_density)
