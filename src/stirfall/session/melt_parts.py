"""The report on the melt as values: liquids at one temperature, lines over temperature, and facts as sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Reason

FactLevel = Literal["fact", "note", "warn", "unknown"]
Floats = NDArray[np.float64]

FACT_KEYS = (
    "class",
    "melt",
    "metal_density",
    "metal_viscosity",
    "tension",
    "oil_density",
    "oil_viscosity",
    "solids_in_metal",
    "settling",
    "solids_in_oil",
    "beads_in_oil",
    "drainage",
    "skin",
    "tip_speed",
    "weber_blob",
    "weber_bead",
)


@dataclass(frozen=True)
class Property:
    """One property of a liquid at one temperature, in kg/m³, mPa s or mN/m.

    ``percent`` is its uncertainty (95 %), None unknown. ``estimated`` says that it was mixed from the parts of an
    alloy or carried by an expansion from memory, ``extrapolated_k`` how far outside the range of its law it lies.
    """

    value: float
    percent: float | None = None
    estimated: bool = False
    extrapolated_k: float = 0.0
    source: str = ""


@dataclass(frozen=True)
class LiquidAtHand:
    """The metal or the oil at the temperature of the report; None where a property is unknown.

    ``key`` is the row of the shipped table, "" none. ``density`` is in kg/m³, ``viscosity`` (dynamic) in mPa s,
    ``tension`` (metal against gas) in mN/m.
    """

    name: str = ""
    key: str = ""
    density: Property | None = None
    viscosity: Property | None = None
    tension: Property | None = None


@dataclass(frozen=True, eq=False)
class MeltCurves:
    """Properties over temperature: one array per line, all as long as ``t_c`` (°C); NaN or None where unknown.

    Densities in kg/m³, dynamic viscosities in mPa s. The metal's lines begin at its melting point.
    """

    t_c: Floats
    metal_density: Floats | None = None
    oil_density: Floats | None = None
    metal_viscosity: Floats | None = None
    oil_viscosity: Floats | None = None


@dataclass(frozen=True)
class MeltFact:
    """One sentence about the melt: ``code`` and ``params`` of the sentence, and the number behind it.

    ``key`` is one of ``FACT_KEYS``. ``level``: fact; note (an estimate, or worth knowing); warn; unknown (the
    sentence says what to enter). ``low`` and ``high`` bound ``value`` where it is a range, all in ``unit``.
    """

    key: str
    level: FactLevel
    value: float | None
    low: float | None
    high: float | None
    unit: str
    code: str
    params: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True)
class MeltReport:
    """Everything that is to be said of the melt at ``at_c``.

    ``melting_c`` is the campaign's melting point, else the table's. ``window`` is what the operating limits leave
    of temperature in °C, None where they leave nothing or cannot tell. ``missing`` is what to enter, most useful
    first; ``assumed`` names the factors that were taken at the campaign's usual value because none was given.
    """

    metal: LiquidAtHand
    oil: LiquidAtHand
    at_c: float | None
    melting_c: float | None
    window: tuple[float, float] | None
    curves: MeltCurves | None
    facts: tuple[MeltFact, ...]
    missing: tuple[Reason, ...]
    assumed: tuple[str, ...] = ()

    def fact(self, key: str) -> MeltFact | None:
        """Return the fact with this key, None where the report has none."""
        return next((each for each in self.facts if each.key == key), None)
