"""What each assay calculation asks for: its inputs with units, in the order of the form."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

MethodKey = Literal["titrant", "titration", "gas", "density"]
Kind = Literal["measured", "count", "relative_u"]


@dataclass(frozen=True)
class AssayInput:
    """One input: ``measured`` has a value and a standard uncertainty, a ``count`` none, ``relative_u`` is only one.

    ``usual`` is what an empty value of an optional input counts as.
    """

    key: str
    label: str
    unit: str = ""
    kind: Kind = "measured"
    is_optional: bool = False
    usual: float | None = None
    hint: str = ""


@dataclass(frozen=True)
class AssayMethod:
    """One calculation: its word, what it answers, and its inputs. ``asks_water``: dry gas, or over water?"""

    key: MethodKey
    word: str
    inputs: tuple[AssayInput, ...]
    asks_water: bool = False


_REPEATABILITY = AssayInput("repeatability", "Repeatability", kind="relative_u", is_optional=True, hint="relative")
_SAMPLE = (
    AssayInput("sample_g", "Mass of the sample", "g", is_optional=True),
    AssayInput("molar_mass", "Molar mass of the metal", "g/mol", is_optional=True),
    AssayInput("valence", "Valence of the metal", kind="count", is_optional=True, usual=1.0, hint="1"),
)

METHODS: tuple[AssayMethod, ...] = (
    AssayMethod(
        "titration",
        "&Titration",
        (
            AssayInput("concentration", "Concentration of the titrant", "mol/L"),
            AssayInput("volume_ml", "Volume of titrant", "mL"),
            AssayInput(
                "dilution", "Whole volume / titrated volume", "", is_optional=True, usual=1.0, hint="1, exact"
            ),
            _REPEATABILITY,
            *_SAMPLE,
        ),
    ),
    AssayMethod(
        "gas",
        "&Gas volume",
        (
            AssayInput("volume_ml", "Volume of hydrogen", "mL"),
            AssayInput("temperature_c", "Temperature of the gas", "°C"),
            AssayInput("pressure_kpa", "Pressure of the whole gas", "kPa"),
            *_SAMPLE,
            AssayInput("base_mmol", "Base in the same sample", "mmol", is_optional=True),
        ),
        asks_water=True,
    ),
    AssayMethod(
        "density",
        "&Density",
        (
            AssayInput("in_air_g", "Mass in air", "g"),
            AssayInput("in_liquid_g", "Mass in the liquid", "g"),
            AssayInput("liquid_density", "Density of the liquid", "kg/m³"),
            AssayInput("metal_density", "Density of the pure metal", "kg/m³"),
            AssayInput("solid_density", "Density of the solids", "kg/m³"),
        ),
    ),
    AssayMethod(
        "titrant",
        "Tit&rant",
        (
            AssayInput("mass_g", "Mass of the weighed standard", "g"),
            AssayInput("purity", "Purity of the standard, share of 1", ""),
            AssayInput("molar_mass", "Molar mass of the standard", "g/mol"),
            AssayInput("volume_ml", "Volume of titrant", "mL"),
            _REPEATABILITY,
            AssayInput(
                "equivalents", "Equivalents per molecule", kind="count", is_optional=True, usual=1.0, hint="1"
            ),
        ),
    ),
)
BY_KEY = {method.key: method for method in METHODS}
