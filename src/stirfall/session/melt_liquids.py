"""The campaign's metal and oil as curves over temperature: own values first, then the shipped tables."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.material_rows import MetalRow, SolidRow
from stirfall.bench.records import CampaignSettings
from stirfall.bench.substances import OilValues
from stirfall.physics import oils
from stirfall.physics.constants import ZERO_C_K
from stirfall.physics.liquids import Curve, Kind, OwnCurve, table_curve
from stirfall.session.melt_parts import LiquidAtHand, Property
from stirfall.storage.materials import materials

Floats = NDArray[np.float64]
# From SI (kg/m³, Pa s, N/m) to the units of the report.
_SHOWN: dict[Kind, float] = {"density": 1.0, "viscosity": 1e3, "tension": 1e3}
_OWN: dict[Kind, str] = {"density": "density_kg_m3", "viscosity": "viscosity_mpa_s", "tension": "tension_mn_m"}


@dataclass(frozen=True)
class Metal:
    """The campaign's metal: its row of the table if it has one, its melting point in °C, and its curves by kind."""

    name: str
    row: MetalRow | None
    melting_c: float | None
    curves: dict[Kind, Curve | None]

    def at(self, t_c: float | None) -> LiquidAtHand:
        """Return what is known of the metal at a temperature in °C."""
        hand = LiquidAtHand(self.name, self.row.key if self.row else "")
        if t_c is None:
            return hand
        found = {kind: _property(curve, kind, t_c) for kind, curve in self.curves.items()}
        return replace(hand, density=found["density"], viscosity=found["viscosity"], tension=found["tension"])

    def values(self, kind: Kind, t_c: Floats) -> Floats | None:
        """Return one property over temperatures in °C, NaN below the melting point; None where it is unknown."""
        curve = self.curves[kind]
        if curve is None:
            return None
        known = np.asarray(curve.values(t_c + ZERO_C_K), dtype=np.float64) * _SHOWN[kind]
        return known if self.melting_c is None else np.where(t_c >= self.melting_c, known, np.nan)


def metal_of(settings: CampaignSettings) -> Metal:
    """Return the campaign's metal; what it says itself comes before the table."""
    own = settings.substances.metal
    row = materials().metal(own.key)
    parts = {part.key: part for part in materials().metals}
    melting = settings.melting_point_c
    if melting is None and row is not None and row.melting_c is not None:
        melting = row.melting_c.value
    melting_k = None if melting is None else melting + ZERO_C_K
    curves: dict[Kind, Curve | None] = {}
    for kind, name in _OWN.items():
        table = None if row is None else table_curve(row, kind, parts)
        value = getattr(own, name)
        curves[kind] = table if value is None else OwnCurve(value / _SHOWN[kind], melting_k, table)
    return Metal(settings.metal or (row.name if row else ""), row, melting, curves)


def solid_of(settings: CampaignSettings) -> tuple[SolidRow | None, float | None]:
    """Return the row of the campaign's solids and their density in kg/m³, None where unknown."""
    own = settings.substances.solids
    row = materials().solid(own.key)
    if own.density_kg_m3 is not None:
        return row, own.density_kg_m3
    return row, None if row is None else row.density.value


def oil_at(settings: CampaignSettings, t_c: float | None) -> LiquidAtHand:
    """Return what is known of the oil at a temperature in °C."""
    hand = LiquidAtHand(settings.oil)
    if t_c is None:
        return hand
    density = float(oil_density(settings.substances.oil, t_c))
    viscosity = float(oil_viscosity(settings.substances.oil, t_c))
    source = "the bottle, carried by the usual expansion of mineral oils (from memory, not checked)"
    if isfinite(density):
        known = Property(density, oils.DENSITY_PERCENT, estimated=True, source=source)
        hand = replace(hand, density=known)
    if isfinite(viscosity):
        oil = settings.substances.oil
        first, second = oil.viscosity_1_at_c or 0.0, oil.viscosity_2_at_c or 0.0
        outside = float(oils.outside_k(t_c, first, second))
        hand = replace(hand, viscosity=Property(viscosity, None, outside > 0, outside, "the bottle, by ASTM D341"))
    return hand


def oil_density(oil: OilValues, t_c: ArrayLike) -> Floats:
    """Return the density of the oil in kg/m³ over temperatures in °C, NaN where unknown."""
    if oil.density_kg_m3 is None or oil.density_at_c is None:
        return np.full(np.shape(t_c), np.nan)
    return oils.oil_density(t_c, oil.density_kg_m3, oil.density_at_c)


def oil_viscosity(oil: OilValues, t_c: ArrayLike) -> Floats:
    """Return the dynamic viscosity of the oil in mPa s over temperatures in °C, NaN where unknown.

    Raises InputError ``oil.*`` where the two viscosities of the bottle contradict each other.
    """
    first, second = (oil.viscosity_1_mm2_s, oil.viscosity_1_at_c), (oil.viscosity_2_mm2_s, oil.viscosity_2_at_c)
    if None in first or None in second:
        return np.full(np.shape(t_c), np.nan)
    kinematic = oils.kinematic_viscosity(t_c, *first, *second)  # type: ignore[arg-type]  # none of them is None
    return 1e3 * oils.dynamic_viscosity(kinematic, oil_density(oil, t_c))


def _property(curve: Curve | None, kind: Kind, t_c: float) -> Property | None:
    if curve is None:
        return None
    t_k = t_c + ZERO_C_K
    value = float(curve.values(t_k)) * _SHOWN[kind]
    if not isfinite(value):
        return None
    return Property(value, curve.percent, curve.estimated, float(curve.outside_k(t_k)), curve.source)
