"""The film index: how much oxygen and water reached an area of metal under oil, estimated to rank jars with.

Index = mmol of oxygen atoms per m² of metal, two for each oxygen molecule and one for each water molecule. It holds
within a factor of three either way at best, and it is never the thickness of a film.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.estimates import Reason
from stirfall.bench.film_constants import FilmConstants
from stirfall.physics.film_oil import (
    diffusivity,
    oxygen_in_gas,
    oxygen_in_oil,
    vapour_pressure,
    water_in_gas,
    water_in_oil,
)
from stirfall.physics.film_slab import slab_uptake

Array = NDArray[np.float64]
PARTS = ("oil_oxygen", "air_oxygen", "hot_oxygen", "oil_water", "air_water", "hot_water")
_MMOL = 1000.0


@dataclass(frozen=True)
class Ageing:
    """How metal lies under oil; numbers or arrays that broadcast.

    ``floor_share`` is the area of the jar's floor over the area of the metal. ``lid`` and ``oil_history`` are words
    of ``Lid`` and ``OilHistory``. ``viscosity_mpa_s`` is the dynamic viscosity of the oil at ``storage_c``, None
    where it is unknown. ``headspace_mm`` counts only under a closed lid or inert gas.
    """

    depth_mm: ArrayLike
    floor_share: ArrayLike
    lid: str
    oil_history: str
    storage_c: ArrayLike
    room_rh_percent: ArrayLike
    headspace_mm: ArrayLike = 0.0
    viscosity_mpa_s: ArrayLike | None = None


@dataclass(frozen=True)
class HotStep:
    """The time hot before and while stirring; ``room_c`` and ``room_rh_percent`` are those of the room's air."""

    minutes: ArrayLike
    temperature_c: ArrayLike
    room_c: ArrayLike
    room_rh_percent: ArrayLike
    viscosity_mpa_s: ArrayLike | None = None


@dataclass(frozen=True)
class FilmAmounts:
    """Parts of the film index by ``PARTS``, in mmol of oxygen atoms per m² of metal."""

    parts: tuple[tuple[str, Array], ...]

    @property
    def index(self) -> Array:
        """The film index: the sum of all parts."""
        return np.asarray(sum((amount for _, amount in self.parts), np.zeros(())))

    @property
    def oxygen(self) -> Array:
        """Oxygen received, mmol of O2 per m² of metal."""
        return self._sum("oxygen") / 2.0

    @property
    def water(self) -> Array:
        """Water received, mmol of H2O per m² of metal."""
        return self._sum("water")

    def _sum(self, gas: str) -> Array:
        return np.asarray(sum((amount for key, amount in self.parts if key.endswith(gas)), np.zeros(())))


@dataclass(frozen=True)
class FilmPart:
    """One part of the film index: its key (one of ``PARTS``) and amount, mmol of oxygen atoms per m² of metal."""

    key: str
    amount: float


@dataclass(frozen=True)
class Film:
    """The film index of one jar at one time, mmol of oxygen atoms per m² of metal: a ranking aid, no thickness.

    ``low`` and ``high`` are its band, ``oxygen`` and ``water`` what was received in mmol of molecules per m².
    ``age_h`` is the time under oil that was counted, ``assumed`` names the inputs that are unknown and were taken
    as usual, ``notes`` say what else to know.
    """

    index: float
    low: float
    high: float
    oxygen: float
    water: float
    parts: tuple[FilmPart, ...]
    assumed: tuple[str, ...] = ()
    age_h: float = 0.0
    notes: tuple[Reason, ...] = ()


def film_of(
    amounts: FilmAmounts,
    constants: FilmConstants,
    *,
    age_h: float,
    assumed: tuple[str, ...] = (),
    notes: tuple[Reason, ...] = (),
) -> Film:
    """Return the film of amounts that are single numbers, with the band of the table (a factor of three)."""
    index = max(float(amounts.index), constants.least_index)
    band = constants.band_factor
    parts = tuple(FilmPart(key, float(amount)) for key, amount in amounts.parts)
    oxygen, water = float(amounts.oxygen), float(amounts.water)
    return Film(index, index / band, index * band, oxygen, water, parts, assumed, age_h, notes)


def film_amounts(
    age_h: ArrayLike, ageing: Ageing, constants: FilmConstants, hot: HotStep | None = None
) -> FilmAmounts:
    """Return what reached the metal in ``age_h`` hours of ageing and in a hot step after it.

    Still oil is taken; diffusion is exact (``slab_uptake``), once for what the oil brought and once for what came
    from above. The hot step adds oxygen and water through a thin layer of still oil at the metal and one below the
    air, with well mixed oil between (our proposal, no source). nan where an age is nan or negative.
    """
    oil_oxygen, air_oxygen = _ageing(age_h, ageing, constants, "oxygen")
    oil_water, air_water = _ageing(age_h, ageing, constants, "water")
    parts = {"oil_oxygen": 2.0 * oil_oxygen, "air_oxygen": 2.0 * air_oxygen}
    parts |= {"oil_water": oil_water, "air_water": air_water}
    if hot is not None:
        parts |= _hot(hot, ageing, constants)
    return FilmAmounts(tuple((key, parts[key]) for key in PARTS if key in parts))


def _ageing(age_h: ArrayLike, ageing: Ageing, constants: FilmConstants, gas: str) -> tuple[Array, Array]:
    """Return what the oil brought and what came from above, mmol of molecules per m² of metal."""
    above, content = constants.above(ageing.lid), constants.content(ageing.oil_history)
    rate = diffusivity(ageing.storage_c, ageing.viscosity_mpa_s, constants)
    activity = np.asarray(ageing.room_rh_percent, dtype=float) / 100.0
    if gas == "oxygen":
        saturated, share = np.asarray(oxygen_in_oil(constants)), content.oxygen
        in_gas = oxygen_in_gas(25.0, constants)  # at the temperature of the Ostwald coefficient
    else:
        rate = rate * constants.water_diffusivity_ratio
        full, share = water_in_oil(ageing.storage_c, constants), content.water
        saturated, in_gas = activity * full, activity * water_in_gas(ageing.storage_c, constants)
    depth = np.asarray(ageing.depth_mm, dtype=float) / 1000.0
    if above.renewed:
        capacity: ArrayLike = np.inf
    else:
        with np.errstate(invalid="ignore"):
            ratio = np.where(saturated > 0.0, in_gas / np.where(saturated > 0.0, saturated, 1.0), 0.0)
        capacity = np.asarray(ageing.headspace_mm, dtype=float) / 1000.0 * ratio
    seconds = np.asarray(age_h, dtype=float) * 3600.0
    unit = _MMOL * np.asarray(ageing.floor_share, dtype=float) * saturated
    stored = slab_uptake(seconds, depth, rate, initial=1.0, capacity_m=capacity)
    supplied = slab_uptake(seconds, depth, rate, top=1.0, capacity_m=capacity)
    return unit * share * stored, unit * above.share * supplied


def _hot(hot: HotStep, ageing: Ageing, constants: FilmConstants) -> dict[str, Array]:
    rate = diffusivity(hot.temperature_c, hot.viscosity_mpa_s, constants)
    seconds = np.asarray(hot.minutes, dtype=float) * 60.0
    floor = np.asarray(ageing.floor_share, dtype=float)
    # Two layers in series: below the air over the floor's area, and on the metal over its own.
    share = constants.above(ageing.lid).share * floor / (1.0 + floor)
    moved = _MMOL * share * seconds * rate / (constants.stirred_layer / 1000.0)
    moist = np.asarray(hot.room_rh_percent, dtype=float) / 100.0 * vapour_pressure(hot.room_c, constants)
    activity = np.minimum(moist / vapour_pressure(hot.temperature_c, constants), 1.0)
    water = activity * water_in_oil(hot.temperature_c, constants) * constants.water_diffusivity_ratio
    return {"hot_oxygen": 2.0 * oxygen_in_oil(constants) * moved, "hot_water": water * moved}
