"""The film index of the campaign's usual jar, from the conditions that attempts and suggestions hold."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from statistics import median

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor, Role
from stirfall.bench.film_constants import FilmConstants
from stirfall.bench.units import convert, unit_kind
from stirfall.physics.film import HotStep, film_amounts
from stirfall.session.film_inputs import FilmInputs, film_inputs, usual_hot_c
from stirfall.storage.film_table import film_constants

Array = NDArray[np.float64]
_LENGTHS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4}
_DEPTH = re.compile(r"\bdepth\b", re.IGNORECASE)
_HUMIDITY = re.compile(r"humid|\brh\b", re.IGNORECASE)
_STORAGE = re.compile(r"\b(storage|shelf|room|ageing|aging|jar)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Column:
    """A column of conditions and how to turn its numbers into the unit wanted: value x scale + shift."""

    name: str
    scale: float = 1.0
    shift: float = 0.0

    def read(self, columns: Mapping[str, ArrayLike]) -> Array | None:
        """Return the column in the wanted unit, None where there is none."""
        if self.name not in columns:
            return None
        return np.asarray(columns[self.name], dtype=float) * self.scale + self.shift


@dataclass(frozen=True)
class FilmRule:
    """How conditions tell the film index: the usual jar of the campaign, and which columns change it.

    Where several columns mean the same, the first that is known in a row counts. ``unit_scale`` turns mmol/m² into
    the unit of the campaign's film index. Frozen, hashable and picklable.
    """

    jar: FilmInputs
    constants: FilmConstants
    exposure_h: tuple[Column, ...]
    age_h: tuple[Column, ...]
    hot_min: tuple[Column, ...]
    hot_c: tuple[Column, ...]
    storage_c: tuple[Column, ...]
    depth_mm: tuple[Column, ...]
    rh_percent: tuple[Column, ...]
    usual_hot_c: float
    unit_scale: float = 1.0

    @classmethod
    def of(cls, state: CampaignState) -> FilmRule | None:
        """Return the rule of a campaign; None where no jar says enough."""
        constants = film_constants()
        inputs = [film_inputs(state, jar, constants) for jar in state.jars]
        known = [each for each in inputs if each is not None]
        if not known:
            return None
        numbers = [factor for factor in state.factors if not factor.is_choice]
        temperatures = [factor for factor in numbers if factor.role is Role.TEMPERATURE]
        film = next((each for each in state.visible_factors if each.role is Role.FILM_INDEX), None)
        return cls(
            jar=usual_jar(known),
            constants=constants,
            exposure_h=_columns(numbers, Role.OIL_EXPOSURE, _hours),
            age_h=_columns(numbers, Role.SAMPLE_AGE, _hours),
            hot_min=_columns(numbers, Role.HOT_TIME, _minutes),
            hot_c=_read(_celsius, (each for each in temperatures if not is_storage(each))),
            storage_c=_read(_celsius, (each for each in temperatures if is_storage(each))),
            depth_mm=_read(_millimetres, (each for each in numbers if _DEPTH.search(each.name))),
            rh_percent=_read(_percent, (each for each in numbers if _HUMIDITY.search(each.name))),
            usual_hot_c=usual_hot_c(state.settings, constants),
            unit_scale=1.0 if film is None else unit_scale(film.unit) or 1.0,
        )

    def index(self, columns: Mapping[str, ArrayLike]) -> Array:
        """Return the film index of the usual jar, one per row; nan where no age is known.

        ``columns`` holds arrays of one length by factor name, in the units of the factors, nan where unknown. Oil
        exposure counts first, sample age where it is unknown. An unknown hot time adds nothing.
        """
        length = max((np.size(each) for each in columns.values()), default=1)
        age = self._first((*self.exposure_h, *self.age_h), columns, np.nan, length)
        if np.isnan(age).all():
            return age
        usual = self.jar
        storage = self._first(self.storage_c, columns, usual.storage_c, length)
        humidity = np.clip(self._first(self.rh_percent, columns, usual.room_rh_percent, length), 0.0, 100.0)
        depth = np.maximum(self._first(self.depth_mm, columns, usual.depth_mm, length), 1e-3)
        ageing = replace(
            usual.ageing(self.constants),
            depth_mm=depth,
            storage_c=storage,
            room_rh_percent=humidity,
            viscosity_mpa_s=self._viscosity(storage),
        )
        amounts = film_amounts(age, ageing, self.constants, self._hot(columns, storage, humidity, length))
        index = np.maximum(amounts.index, self.constants.least_index) * self.unit_scale
        return np.asarray(np.where(np.isnan(age) | (age < 0), np.nan, index))

    def _hot(
        self, columns: Mapping[str, ArrayLike], storage: Array, humidity: Array, length: int
    ) -> HotStep | None:
        minutes = np.maximum(self._first(self.hot_min, columns, 0.0, length), 0.0)
        if not minutes.any():
            return None
        at = self._first(self.hot_c, columns, self.usual_hot_c, length)
        return HotStep(minutes, at, storage, humidity, self._viscosity(at))

    def _viscosity(self, temperature_c: Array) -> Array | None:
        oil = self.jar.oil
        return None if oil is None else oil.viscosity_mpa_s(temperature_c, self.constants)

    @staticmethod
    def _first(found: tuple[Column, ...], columns: Mapping[str, ArrayLike], otherwise: float, length: int) -> Array:
        value = np.full(length, np.nan)
        for column in found:
            read = column.read(columns)
            if read is not None:
                value = np.where(np.isnan(value), read, value)
        return np.where(np.isnan(value), otherwise, value)


def usual_jar(known: list[FilmInputs]) -> FilmInputs:
    """Return the usual jar: medians of numbers and the commonest words of those jars that say them."""
    floor = median(each.floor_share for each in known)
    diameter = median(each.diameter_mm for each in known)
    area = np.pi * (diameter / 20.0) ** 2 / floor
    return FilmInputs(
        depth_mm=median(each.depth_mm for each in known),
        diameter_mm=diameter,
        metal_area_cm2=float(area),
        lid=_commonest(known, "lid", lambda each: each.lid),
        oil_history=_commonest(known, "oil_history", lambda each: each.oil_history),
        storage_c=_median_said(known, "storage_c", lambda each: each.storage_c),
        room_rh_percent=_median_said(known, "room_rh_percent", lambda each: each.room_rh_percent),
        headspace_mm=_median_said(known, "headspace_mm", lambda each: each.headspace_mm),
        oil=next((each.oil for each in known if each.oil is not None), None),
        assumed=tuple(name for name in known[0].assumed if all(name in each.assumed for each in known)),
    )


def _said(known: list[FilmInputs], name: str) -> list[FilmInputs]:
    return [each for each in known if name not in each.assumed] or known


def _median_said(known: list[FilmInputs], name: str, value: Callable[[FilmInputs], float]) -> float:
    return float(median(value(each) for each in _said(known, name)))


def _commonest(known: list[FilmInputs], name: str, value: Callable[[FilmInputs], str]) -> str:
    return Counter(value(each) for each in _said(known, name)).most_common(1)[0][0]


def is_storage(factor: Factor) -> bool:
    """Whether a temperature is by its name that of the shelf, not of the bath."""
    return _STORAGE.search(factor.name) is not None


def unit_scale(unit: str) -> float | None:
    """Return what turns mmol/m² into a unit of the film index; None for a unit that is none."""
    bare = unit.replace(" ", "").replace("µ", "u").replace("μ", "u").replace("2", "²").casefold()
    return {"": 1.0, "mmol/m²": 1.0, "mol/m²": 1e-3, "umol/m²": 1e3, "umol/cm²": 0.1, "nmol/cm²": 100.0}.get(bare)


def _columns(factors: list[Factor], role: Role, read: Callable[[Factor], Column | None]) -> tuple[Column, ...]:
    return _read(read, (factor for factor in factors if factor.role is role))


def _read(read: Callable[[Factor], Column | None], factors: Iterable[Factor]) -> tuple[Column, ...]:
    """Return the columns of factors whose unit is understood; visible factors come first."""
    ordered = sorted(factors, key=lambda factor: factor.hidden)
    return tuple(column for column in map(read, ordered) if column is not None)


def _hours(factor: Factor) -> Column | None:
    return Column(factor.name, convert(1.0, factor.unit, "h")) if unit_kind(factor.unit) == "time" else None


def _minutes(factor: Factor) -> Column | None:
    return Column(factor.name, convert(1.0, factor.unit, "min")) if unit_kind(factor.unit) == "time" else None


def _celsius(factor: Factor) -> Column | None:
    return celsius_column(factor.name, factor.unit)


def celsius_column(name: str, unit: str) -> Column | None:
    """Return how a temperature becomes °C; None for another unit."""
    label = unit.strip().casefold().removeprefix("°").removeprefix("deg")
    if label in ("c", "celsius"):
        return Column(name)
    if label == "f":
        return Column(name, 5.0 / 9.0, -160.0 / 9.0)
    return Column(name, 1.0, -273.15) if label == "k" else None


def _millimetres(factor: Factor) -> Column | None:
    scale = _LENGTHS_MM.get(factor.unit.strip().casefold())
    return None if scale is None else Column(factor.name, scale)


def _percent(factor: Factor) -> Column | None:
    unit = factor.unit.strip().casefold().removesuffix("rh").strip()
    if unit in ("%", "percent"):
        return Column(factor.name)
    low_high = factor.bounds
    return Column(factor.name, 100.0 if low_high[1] <= 1.0 else 1.0) if not unit else None
