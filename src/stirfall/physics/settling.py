"""How fast small solid spheres fall or rise in a liquid at rest: after Stokes, and corrected for drag.

SI units; positive speeds fall, negative ones rise.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

GRAVITY = 9.80665
# Above this Reynolds number the law of Schiller and Naumann gives way to a constant drag coefficient.
REYNOLDS_LIMIT = 1000.0
_NEWTON_DRAG = 0.44
_STEPS = 60


def stokes_speed(
    diameter_m: ArrayLike, solid_kg_m3: ArrayLike, liquid_kg_m3: ArrayLike, viscosity_pa_s: ArrayLike
) -> Floats:
    """Return the creeping terminal speed in m/s, Δρ g d²/(18 μ) (Stokes 1851); arguments broadcast."""
    d = np.asarray(diameter_m, dtype=np.float64)
    drop = np.asarray(solid_kg_m3, dtype=np.float64) - np.asarray(liquid_kg_m3, dtype=np.float64)
    return drop * GRAVITY * d**2 / (18.0 * np.asarray(viscosity_pa_s, dtype=np.float64))


def drag_coefficient(reynolds: ArrayLike) -> Floats:
    """Return the drag coefficient of a sphere, 24/Re (1 + 0.15 Re^0.687), and 0.44 above Re 1000.

    The result has the shape of ``reynolds``. Source: Schiller & Naumann 1933, Z. Ver. Dtsch. Ing. 77, 318.
    """
    re = np.asarray(reynolds, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        creeping = 24.0 / re * (1.0 + 0.15 * re**0.687)
    return np.where(re > REYNOLDS_LIMIT, _NEWTON_DRAG, creeping)


def terminal_speed(
    diameter_m: ArrayLike, solid_kg_m3: ArrayLike, liquid_kg_m3: ArrayLike, viscosity_pa_s: ArrayLike
) -> Floats:
    """Return the drag-corrected terminal speed in m/s; arguments broadcast, NaN where one is unknown.

    Weight and drag balance where Re² Cd(Re) = 4/3 Ar with the Archimedes number Ar = ρ |Δρ| g d³/μ²; solved by
    Newton's method on ln Re. Never faster than Stokes.
    """
    d, solid, liquid, mu = np.broadcast_arrays(
        *(np.asarray(each, dtype=np.float64) for each in (diameter_m, solid_kg_m3, liquid_kg_m3, viscosity_pa_s))
    )
    drop = solid - liquid
    with np.errstate(divide="ignore", invalid="ignore"):
        load = 4.0 / 3.0 * liquid * np.abs(drop) * GRAVITY * d**3 / mu**2
        re = _reynolds(load)
        speed = re * mu / (liquid * d)
    known: Floats = np.where(load > 0, speed, np.where(load == 0, 0.0, np.nan))
    return np.asarray(np.sign(drop) * known, dtype=np.float64)


def _reynolds(load: Floats) -> Floats:
    """Solve Re² Cd(Re) = load; a creeping sphere has load = 24 Re."""
    log_re = np.log(np.maximum(load, 1e-300) / 24.0)
    for _ in range(_STEPS):
        drag = 0.15 * np.exp(0.687 * log_re)
        excess = np.log(24.0) + log_re + np.log1p(drag) - np.log(np.maximum(load, 1e-300))
        change = excess / (1.0 + 0.687 * drag / (1.0 + drag))
        log_re = log_re - change
        if not np.any(np.abs(change) > 1e-14):
            break
    re = np.exp(log_re)
    return np.where(re > REYNOLDS_LIMIT, np.maximum(np.sqrt(load / _NEWTON_DRAG), REYNOLDS_LIMIT), re)


def settling_time(depth_m: ArrayLike, speed_m_s: ArrayLike) -> Floats:
    """Return the seconds to fall or rise through ``depth_m``; infinite where nothing moves."""
    with np.errstate(divide="ignore"):
        return np.asarray(depth_m, dtype=np.float64) / np.abs(np.asarray(speed_m_s, dtype=np.float64))


def pool_depth(mass_kg: float, density_kg_m3: float, diameter_m: float) -> float:
    """Return the depth in m of a pool that is spread evenly over the round floor of a vessel."""
    return 4.0 * mass_kg / (density_kg_m3 * np.pi * diameter_m**2)
