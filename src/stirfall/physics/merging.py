"""How long the oil between two resting beads takes to drain, and which bead breaks its own skin. SI units."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.physics.settling import GRAVITY

Floats = NDArray[np.float64]

# The oil film breaks at about 0.1 µm, and an oxide skin yields at about 0.5 N/m (measured on gallium alloys: Dickey
# et al. 2008, Adv. Funct. Mater. 18, 1097, from memory; other metals are not known).
RUPTURE_M = 1e-7
SKIN_N_M = 0.5


def buoyant_weight(radius_m: ArrayLike, drop_kg_m3: ArrayLike) -> Floats:
    """Return the weight in N of a sphere less its buoyancy; ``drop_kg_m3`` is the difference of the densities."""
    r = np.asarray(radius_m, dtype=np.float64)
    return 4.0 / 3.0 * np.pi * r**3 * np.abs(np.asarray(drop_kg_m3, dtype=np.float64)) * GRAVITY


def film_radius(radius_m: ArrayLike, force_n: ArrayLike, tension_n_m: ArrayLike) -> Floats:
    """Return the radius in m of the flat film between two beads that ``force_n`` presses together.

    Rf = sqrt(F R/(2 π γ)): the film's excess pressure 2γ/R over its area carries the force.
    """
    product = np.asarray(force_n, dtype=np.float64) * np.asarray(radius_m, dtype=np.float64)
    return np.sqrt(product / (2.0 * np.pi * np.asarray(tension_n_m, dtype=np.float64)))


def drainage_time(
    radius_m: ArrayLike,
    drop_kg_m3: ArrayLike,
    oil_pa_s: ArrayLike,
    tension_n_m: ArrayLike,
    rupture_m: float = RUPTURE_M,
) -> Floats:
    """Return the seconds until the oil film under a clean bead's own weight is thin enough to break.

    Stefan and Reynolds' drainage between immobile faces, t = 3 π μ Rf⁴/(4 F h²): the upper side. Arguments
    broadcast. Works for millimetre drops (Steinhaus et al. 2006, Langmuir 22, 5308).
    """
    force = buoyant_weight(radius_m, drop_kg_m3)
    film = film_radius(radius_m, force, tension_n_m)
    return 3.0 * np.pi * np.asarray(oil_pa_s, dtype=np.float64) * film**4 / (4.0 * force * rupture_m**2)


def skin_radius(drop_kg_m3: ArrayLike, skin_n_m: float = SKIN_N_M) -> Floats:
    """Return the radius in m of the smallest bead whose weight could break its skin, sqrt(skin/(Δρ g))."""
    with np.errstate(divide="ignore"):
        return np.sqrt(skin_n_m / (np.abs(np.asarray(drop_kg_m3, dtype=np.float64)) * GRAVITY))
