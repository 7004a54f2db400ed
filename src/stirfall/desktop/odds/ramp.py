"""The colours of the map: equal steps of lightness between two tones of the theme.

Interpolation runs in Oklab (Ottosson, "A perceptual color space for image processing", 2020), where equal steps
look equal. One hue with rising lightness stays readable for every kind of colour vision and in grey.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Below this lightness eight bits per channel cannot tell neighbouring steps apart.
_DARKEST = 0.15
# The map stops at the tenth of so many steps, where lines and labels in the text colour still stand out.
_WHOLE_WAY = 20

# Matrices of the Oklab definition: linear sRGB to cone-like responses, and their cube roots to (L, a, b).
_TO_CONES = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def oklab(rgb: Floats) -> Floats:
    """Return Oklab (L, a, b) of sRGB colours in [0, 1], shape (..., 3)."""
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return np.cbrt(linear @ _TO_CONES.T) @ _TO_LAB.T


def from_oklab(lab: Floats) -> Floats:
    """Return sRGB in [0, 1] of Oklab colours, clipped to the gamut."""
    cones = (lab @ np.linalg.inv(_TO_LAB).T) ** 3
    linear = np.clip(cones @ np.linalg.inv(_TO_CONES).T, 0.0, 1.0)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def ramp(first: str, last: str, steps: int) -> NDArray[np.uint8]:
    """Return ``steps`` opaque RGBA colours from ``first`` to ``last`` (both ``#rrggbb``), equal steps in Oklab.

    An end that is nearly black is lifted to where steps can be told apart.
    """
    ends = oklab(np.array([_channels(first), _channels(last)]))
    ends[:, 0] = np.maximum(ends[:, 0], _DARKEST)
    share = np.linspace(0.0, 1.0, steps)[:, None]
    colours = from_oklab(ends[0] + share * (ends[1] - ends[0]))
    opaque = np.ones((steps, 1))
    return np.rint(255 * np.hstack([colours, opaque])).astype(np.uint8)


def landscape(surface: str, accent: str) -> NDArray[np.uint8]:
    """Return the ten colours of the map, from the surface towards the accent, readable under the text colour."""
    return ramp(surface, accent, _WHOLE_WAY)[:10]


def _channels(colour: str) -> list[float]:
    return [int(colour[start : start + 2], 16) / 255.0 for start in (1, 3, 5)]
