"""The oil that clings to metal: what a thin film weighs on a ball and on many beads."""

from __future__ import annotations

import math

from stirfall.bench.errors import InputError
from stirfall.physics.measured import Derived, Measured, propagate

# The film that stays on drained metal, and how far it may be off; our proposal, no source.
FILM_UM = 30.0
FILM_FACTOR = 2.0
# Light mineral oil near room temperature; from memory, not checked. Bottles differ by 3 % or so.
USUAL_OIL_DENSITY = 850.0


def film_thickness() -> Measured:
    """Return the usual oil film in um: 30, a factor of 2 either way.

    The factor is taken as a bound with nothing known inside it, evenly spread in the logarithm: the standard
    deviation of ln(film) is ln 2 / sqrt(3) = 0.40 (GUM 4.3.7 on the logarithm), so u is 12 um.
    """
    return Measured(FILM_UM, FILM_UM * math.log(FILM_FACTOR) / math.sqrt(3.0), "µm")


def area_of_beads(metal_g: float, bead_mm: float, metal_density: float) -> float:
    """Return the area in cm² of ``metal_g`` of metal (density in kg/m³) as equal spheres of ``bead_mm``.

    Each sphere has 6 / diameter of area per volume. Raises InputError ``measured.impossible`` unless the diameter
    and the density are above zero.
    """
    if not (bead_mm > 0.0 and metal_density > 0.0):
        raise InputError("measured.impossible", value=f"{min(bead_mm, metal_density):g}", u="")
    volume_cm3 = metal_g / (metal_density / 1000.0)
    return 6.0 * volume_cm3 / (bead_mm / 10.0)


def ball_diameter_mm(metal_g: float, metal_density: float) -> float:
    """Return the diameter in mm of one ball of ``metal_g`` of metal (density in kg/m³)."""
    volume_mm3 = metal_g / metal_density * 1e6
    return float((6.0 * volume_mm3 / math.pi) ** (1.0 / 3.0))


def film_on_metal_g(metal_g: float, bead_mm: float, metal_density: float, oil_density: float) -> float:
    """Return the grams of oil in a film of 30 um on ``metal_g`` of bare metal as beads of ``bead_mm``.

    Densities in kg/m³. The film is taken as area times thickness, which for 1 mm beads is 6 % less than the shell.
    """
    return area_of_beads(metal_g, bead_mm, metal_density) * FILM_UM * 1e-4 * oil_density / 1000.0


def film_share(bead_mm: Measured, metal_density: Measured, oil_density: Measured) -> Derived:
    """Return the share of oil in beads as they were weighed, metal and film together.

    With k = film_on_metal / metal = 6 film rho_oil / (rho_metal bead), the share is k / (1 + k). ``bead_mm`` in
    mm, densities in kg/m³, the film from ``film_thickness``.
    """
    inputs = {
        "film_um": film_thickness(),
        "bead_mm": bead_mm,
        "metal_density": metal_density,
        "oil_density": oil_density,
    }
    return propagate(_share, inputs)


def _share(film_um: float, bead_mm: float, metal_density: float, oil_density: float) -> float:
    ratio = 6.0 * (film_um / 1000.0) * oil_density / (metal_density * bead_mm)
    return ratio / (1.0 + ratio)


def film_mass(beads_g: Measured, share: Measured) -> Derived:
    """Return the grams of oil in ``beads_g`` of weighed beads."""
    return propagate(lambda beads_g, share: beads_g * share, {"beads_g": beads_g, "share": share}, "g")


def bare_beads(beads_g: Measured, share: Measured) -> Derived:
    """Return the grams of metal in ``beads_g`` of weighed beads of which ``share`` is oil."""
    return propagate(lambda beads_g, share: beads_g * (1.0 - share), {"beads_g": beads_g, "share": share}, "g")
