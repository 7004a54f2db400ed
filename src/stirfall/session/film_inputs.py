"""What the film index needs to know of a jar, gathered from the jar and the campaign, with what is only assumed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.film_constants import FilmConstants
from stirfall.bench.records import CampaignSettings, Jar
from stirfall.bench.substances import Lid, OilHistory, OilValues
from stirfall.physics.constants import ZERO_C_K
from stirfall.physics.film import Ageing, HotStep
from stirfall.physics.film_oil import oil_density
from stirfall.physics.liquids import table_curve
from stirfall.physics.oils import d341_line
from stirfall.storage.materials import materials

# Names of inputs as ``Film.assumed`` and the rows of a comparison have them; ``input_words`` has their words.
LID, HISTORY, STORAGE, HUMIDITY = "lid", "oil_history", "storage_c", "room_rh_percent"
HEADSPACE, VISCOSITY, TEMPERATURE = "headspace_mm", "oil_viscosity", "temperature_c"

_ABOVE_MELTING_K = 10.0  # our proposal, no source
_THINNEST = 0.31  # mm²/s; the line has no value below 0.3


@dataclass(frozen=True)
class OilCurve:
    """Kinematic viscosity of an oil at two temperatures (°C, mm²/s), and its density at one where it is known."""

    first: tuple[float, float]
    second: tuple[float, float]
    density: tuple[float, float] | None = None

    @classmethod
    def of(cls, oil: OilValues) -> OilCurve | None:
        """Return the curve of an oil; None where two viscosities at two temperatures are not known."""
        first, second = oil.viscosity_1_mm2_s, oil.viscosity_2_mm2_s
        first_c, second_c = oil.viscosity_1_at_c, oil.viscosity_2_at_c
        if first is None or second is None or first_c is None or second_c is None or first_c == second_c:
            return None
        known = oil.density_kg_m3
        at = 20.0 if oil.density_at_c is None else oil.density_at_c
        return cls((first_c, first), (second_c, second), None if known is None else (at, known))

    def viscosity_mpa_s(self, temperature_c: ArrayLike, constants: FilmConstants) -> NDArray[np.float64]:
        """Return the dynamic viscosity in mPa s at a temperature (number or array, °C)."""
        density = oil_density(temperature_c, constants)
        if self.density is not None:
            at, known = self.density
            density = density - oil_density(at, constants) + known
        (first_c, first), (second_c, second) = self.first, self.second
        line = d341_line(temperature_c, max(first, _THINNEST), first_c, max(second, _THINNEST), second_c)
        return np.asarray(line * density / 1000.0)


@dataclass(frozen=True)
class FilmInputs:
    """Everything that the film index of one jar is computed from; ``assumed`` names what was taken as usual."""

    depth_mm: float
    diameter_mm: float
    metal_area_cm2: float
    lid: str
    oil_history: str
    storage_c: float
    room_rh_percent: float
    headspace_mm: float
    material: str = ""
    oil: OilCurve | None = None
    assumed: tuple[str, ...] = ()

    @property
    def floor_share(self) -> float:
        """The area of the jar's floor over the area of the metal."""
        return math.pi * (self.diameter_mm / 20.0) ** 2 / self.metal_area_cm2

    def ageing(self, constants: FilmConstants) -> Ageing:
        """Return the inputs as physics takes them."""
        return Ageing(
            depth_mm=self.depth_mm,
            floor_share=self.floor_share,
            lid=self.lid,
            oil_history=self.oil_history,
            storage_c=self.storage_c,
            room_rh_percent=self.room_rh_percent,
            headspace_mm=self.headspace_mm,
            viscosity_mpa_s=self.viscosity_mpa_s(self.storage_c, constants),
        )

    def hot(self, minutes: float, temperature_c: float, constants: FilmConstants, rh_percent: float) -> HotStep:
        """Return a hot step with this oil in air of this humidity."""
        return HotStep(
            minutes, temperature_c, self.storage_c, rh_percent, self.viscosity_mpa_s(temperature_c, constants)
        )

    def viscosity_mpa_s(self, temperature_c: float, constants: FilmConstants) -> float | None:
        """Return the dynamic viscosity of the oil in mPa s at a temperature in °C, None where it is unknown."""
        return None if self.oil is None else float(self.oil.viscosity_mpa_s(temperature_c, constants))


def film_inputs(
    state: CampaignState, jar: Jar, constants: FilmConstants, *, rh_percent: float | None = None
) -> FilmInputs | None:
    """Return the inputs of a jar; None where its depth, diameter or area of metal is unknown, or it holds residue.

    ``rh_percent`` is used where the jar says no humidity.
    """
    area = metal_area_cm2(state.settings, jar)
    if jar.is_residue or area is None or not jar.oil_depth_mm or not jar.inner_diameter_mm:
        return None
    usual = constants.usual
    lid = Lid.named(jar.lid)
    history = jar.oil_history or state.settings.substances.oil.history
    humidity = rh_percent if jar.room_rh_percent is None else jar.room_rh_percent
    oil = _oil_of(state.settings, jar)
    sealed = not constants.above(lid or usual.lid).renewed
    unknown = {
        LID: lid is None,
        HISTORY: not history,
        STORAGE: jar.storage_c is None,
        HUMIDITY: humidity is None,
        HEADSPACE: sealed and jar.headspace_mm is None,
        VISCOSITY: oil is None,
    }
    return FilmInputs(
        depth_mm=jar.oil_depth_mm,
        diameter_mm=jar.inner_diameter_mm,
        metal_area_cm2=area,
        lid=lid or usual.lid,
        oil_history=OilHistory(history) if history else usual.oil_history,
        storage_c=usual.storage_c if jar.storage_c is None else jar.storage_c,
        room_rh_percent=usual.room_rh_percent if humidity is None else humidity,
        headspace_mm=usual.headspace_mm if jar.headspace_mm is None else jar.headspace_mm,
        material=jar.material,
        oil=oil,
        assumed=tuple(name for name, missing in unknown.items() if missing),
    )


def _oil_of(settings: CampaignSettings, jar: Jar) -> OilCurve | None:
    """Return the viscosity curve of the campaign's oil, unless the jar names another oil."""
    other = jar.oil and settings.oil and jar.oil.strip().casefold() != settings.oil.strip().casefold()
    return None if other else OilCurve.of(settings.substances.oil)


def metal_area_cm2(settings: CampaignSettings, jar: Jar) -> float | None:
    """Return the area of a jar's metal in cm²; None where nothing tells it.

    The area that was entered comes first; then pieces of one size taken as balls; then the charge with the density
    of the metal, as that many balls, or balls of that size.
    """
    if jar.metal_area_cm2:
        return jar.metal_area_cm2
    if jar.piece_count and jar.piece_mm:
        return jar.piece_count * math.pi * (jar.piece_mm / 10.0) ** 2
    density = metal_density_kg_m3(settings)
    if not jar.charge_g or density is None:
        return None
    volume = 1000.0 * jar.charge_g / density  # cm³
    if jar.piece_mm:
        return 6.0 * volume / (jar.piece_mm / 10.0)
    if jar.piece_count:
        return float(jar.piece_count * math.pi * (6.0 * volume / (math.pi * jar.piece_count)) ** (2.0 / 3.0))
    return None


def metal_density_kg_m3(settings: CampaignSettings) -> float | None:
    """Return the density of the campaign's metal: its own value, else that of the table at the melting point."""
    own = settings.substances.metal.density_kg_m3
    return own if own is not None else _table_density(settings.substances.metal.key or settings.metal)


@cache
def _table_density(key: str) -> float | None:
    table = materials()
    row = table.metal(key)
    if row is None or row.melting_c is None:
        return None
    curve = table_curve(row, "density", {part: found for part, _ in row.parts if (found := table.metal(part))})
    density = math.nan if curve is None else float(curve.values(row.melting_c.value + ZERO_C_K))
    return density if math.isfinite(density) else None


def usual_hot_c(settings: CampaignSettings, constants: FilmConstants) -> float:
    """Return the temperature of a hot step of which none is known, in °C; above a known melting point."""
    usual, melting = constants.usual.temperature_c, settings.melting_point_c
    return usual if melting is None else max(usual, melting + _ABOVE_MELTING_K)


def film_gaps(state: CampaignState, jar: Jar) -> tuple[Reason, ...]:
    """Return what to enter before a jar has a film index; empty when it has one."""
    if jar.is_residue:
        return (Reason("film.residue", {"jar": jar.id}),)
    gaps = []
    if jar.oil_depth_mm is None:
        gaps.append(Reason("film.needs_depth", {"jar": jar.id}))
    elif jar.oil_depth_mm <= 0:
        gaps.append(Reason("film.uncovered", {"jar": jar.id}))
    if not jar.inner_diameter_mm:
        gaps.append(Reason("film.needs_diameter", {"jar": jar.id}))
    if metal_area_cm2(state.settings, jar) is None:
        gaps.append(Reason("film.needs_area", {"jar": jar.id}))
    return tuple(gaps)


def input_words() -> Mapping[str, str]:
    """Return plain words for the inputs of the film index, by name."""
    return {
        "age_h": "time under oil",
        "depth_mm": "oil depth",
        "diameter_mm": "inner diameter",
        "metal_area_cm2": "area of the metal",
        LID: "lid",
        HEADSPACE: "headspace",
        HISTORY: "oil history",
        STORAGE: "storage temperature",
        HUMIDITY: "room humidity",
        VISCOSITY: "viscosity of the oil",
        TEMPERATURE: "temperature of the hot step",
        "material": "jar material",
    }
