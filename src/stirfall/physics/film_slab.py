"""Diffusion through a still layer of oil onto metal that takes everything: the exact amount up to a time.

The metal's face holds no oxygen (a perfect sink), the other face meets the air. Above the oil stands either renewed
air, which holds the face at one concentration, or a closed headspace, well mixed, which runs empty.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
_MODES = 16  # at the switch the first mode left out is below exp(-40)
_EARLY = 0.015  # of depth²/D: before it nothing from the far face has come through, within 1e-8
_PI = np.pi


def slab_uptake(
    time_s: ArrayLike,
    depth_m: ArrayLike,
    diffusivity_m2_s: ArrayLike,
    *,
    initial: ArrayLike = 0.0,
    top: ArrayLike = 0.0,
    capacity_m: ArrayLike = np.inf,
) -> Array:
    """Return what the metal's face has taken up to ``time_s``, in mol per m² of that face.

    All arguments broadcast. ``initial`` is the concentration in the oil at the start, ``top`` the one in oil that
    is in balance with what stands above it (mol/m³). ``capacity_m`` is what the gas above holds, as a depth of oil
    that would hold the same: infinite for renewed air, 0 for none. Times below 0 give nan, as does nan anywhere.

    Early on the oil acts as if it had no end, 2 c sqrt(D t / pi); later the eigenfunction series is summed; for
    large times under renewed air it becomes D c (t - depth²/6D)/depth + initial depth/2. Source: J. Crank, The
    Mathematics of Diffusion, 2nd ed. 1975, chapter 4 (plane sheet, and a well-stirred solution of limited volume),
    from memory, checked against a numeric solution in the tests.
    """
    given = (time_s, depth_m, diffusivity_m2_s, initial, top, capacity_m)
    time, depth, d, c0, c1, capacity = np.broadcast_arrays(*(np.asarray(each, dtype=float) for each in given))
    tau = np.where(time >= 0.0, d * time / depth**2, np.nan)
    taken = depth * _early(np.minimum(tau, _EARLY), c0, np.where(capacity > 0.0, c1, c0))
    late = tau > _EARLY
    if not late.any():
        return np.asarray(taken)
    renewed = np.isinf(capacity)
    later = np.full(tau.shape, np.nan)
    for chosen, amount in ((late & renewed, _late_renewed), (late & ~renewed, _late_closed)):
        if chosen.any():
            place = capacity[chosen] / depth[chosen]
            later[chosen] = depth[chosen] * amount(tau[chosen], c0[chosen], c1[chosen], place)
    return np.asarray(np.where(late, later, taken))


def _early(tau: Array, c0: Array, c1: Array) -> Array:
    """Return the uptake over the depth while both faces act as ends of endless layers."""
    root = np.sqrt(tau)
    with np.errstate(divide="ignore"):
        z = 1.0 / (2.0 * root)
    return np.asarray(2.0 * c0 * root / np.sqrt(_PI) + 4.0 * (c1 - c0) * root * _ierfc_far(z))


def _ierfc_far(z: Array) -> Array:
    """Return the integral of erfc from z to infinity for z of 4 and more, by the continued fraction of erfc.

    Abramowitz and Stegun 1964, 7.1.14 (from memory; checked against SciPy in the tests).
    """
    z = np.minimum(z, 1e3)  # exp(-z²) is zero long before
    fraction = z
    for k in range(24, 0, -1):
        fraction = z + k / 2.0 / fraction
    return np.asarray(np.exp(-(z**2)) / np.sqrt(_PI) * (1.0 - z / fraction))


def _late_renewed(tau: Array, c0: Array, c1: Array, _place: Array) -> Array:
    n = np.arange(1, _MODES + 1)
    sign = np.where(n % 2, -1.0, 1.0)
    fading = np.exp(-((n * _PI) ** 2) * tau[:, None])
    share = 2.0 * (c0[:, None] * (1.0 - sign) + c1[:, None] * sign) / (n * _PI) ** 2
    return np.asarray(c1 * (tau - 1.0 / 6.0) + c0 / 2.0 - (share * fading).sum(axis=1))


def _late_closed(tau: Array, c0: Array, c1: Array, place: Array) -> Array:
    """Sum the modes sin(b x/L) with (capacity/L) b tan b = 1: what is left in oil and gas fades to nothing."""
    b = _roots(place) if np.ptp(place) > 0.0 else np.broadcast_to(_roots(place[:1]), (tau.size, _MODES))
    held = place[:, None]
    sine, cosine = np.sin(b), np.cos(b)
    weight = (c0[:, None] * (1.0 - cosine) / b + held * c1[:, None] * sine) / (
        0.5 - sine * cosine / (2.0 * b) + held * sine**2
    )
    left = (weight / b * np.exp(-(b**2) * tau[:, None])).sum(axis=1)
    return np.asarray(c0 + place * c1 - left)


def _roots(place: Array) -> Array:
    """Return the first roots b of ``place`` b tan b = 1, a row per place, by Newton on the angle in its branch."""
    held = place[:, None]
    branch = _PI * np.arange(_MODES)[None, :]
    first = np.sqrt(1.0 / (held + 4.0 / _PI**2))
    angle = np.where(branch == 0.0, first, np.arctan2(1.0, held * np.maximum(branch, 1.0)))
    for _ in range(7):
        b = branch + angle
        slope = held / ((held * b) ** 2 + 1.0)
        angle = angle - (angle - np.arctan2(1.0, held * b)) / (1.0 + slope)
    return np.asarray(branch + angle)
