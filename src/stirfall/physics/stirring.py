"""What stirring does to beads: speed of the tip, and inertia against tension. SI units."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

# Above about this Weber number stirring tears new beads off (order of magnitude; from memory, not checked).
BREAKUP_WEBER = 10.0


def tip_speed(diameter_m: ArrayLike, turns_per_s: ArrayLike) -> Floats:
    """Return the speed in m/s at the edge of the stirring circle, π D N; arguments broadcast."""
    return np.pi * np.asarray(diameter_m, dtype=np.float64) * np.asarray(turns_per_s, dtype=np.float64)


def weber_number(
    speed_m_s: ArrayLike, diameter_m: ArrayLike, liquid_kg_m3: ArrayLike, tension_n_m: ArrayLike
) -> Floats:
    """Return ρ v² d/γ of a drop of diameter d in a liquid of density ρ that moves past it at v; they broadcast."""
    v, d, rho, gamma = (
        np.asarray(each, dtype=np.float64) for each in (speed_m_s, diameter_m, liquid_kg_m3, tension_n_m)
    )
    return rho * v**2 * d / gamma


def breakup_speed(diameter_m: ArrayLike, liquid_kg_m3: ArrayLike, tension_n_m: ArrayLike) -> Floats:
    """Return the speed in m/s at which a drop of this diameter reaches ``BREAKUP_WEBER``; arguments broadcast."""
    d, rho, gamma = (np.asarray(each, dtype=np.float64) for each in (diameter_m, liquid_kg_m3, tension_n_m))
    return np.sqrt(BREAKUP_WEBER * gamma / (rho * d))
