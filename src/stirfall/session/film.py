"""The film index of jars and attempts: what is known of a jar, turned into a number that ranks jars.

It is never the thickness of a film, and it holds within a factor of three either way at best. For a metal whose
exposure must never be lengthened it measures a hazard; nothing here then says how long to wait.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime

import numpy as np

from stirfall.bench.ages import as_utc, hours_between
from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import FILM_INDEX_NAME, Factor, Role, Scale, Value
from stirfall.bench.records import Attempt, Jar
from stirfall.bench.units import convert, unit_kind
from stirfall.physics.film import Film, FilmPart, HotStep, film_amounts, film_of
from stirfall.session.film_compare import ComparisonRow, FilmComparison, compare_inputs
from stirfall.session.film_inputs import (
    TEMPERATURE,
    FilmInputs,
    film_gaps,
    film_inputs,
    input_words,
    usual_hot_c,
)
from stirfall.session.film_rule import FilmRule, celsius_column, is_storage, unit_scale
from stirfall.storage.film_table import film_constants

__all__ = [
    "UNIT",
    "ComparisonRow",
    "Film",
    "FilmComparison",
    "FilmPart",
    "FilmRule",
    "add_film_factor",
    "compare",
    "film_gaps",
    "film_notes",
    "film_of_attempt",
    "film_of_jar",
    "film_values",
    "input_words",
    "wait_for_index",
]

UNIT = "mmol/m²"
_FURTHEST_H = 24.0 * 3650.0
_DEFAULT_RANGE = (1.0, 300.0)  # our proposal, no source: where no jar says enough
_AGES_H = (1.0, 240.0)


def film_of_jar(
    state: CampaignState,
    jar: Jar,
    at: datetime,
    *,
    hot_min: float | None = None,
    temperature_c: float | None = None,
) -> Film | None:
    """Return the film index of a jar's metal at a moment, or at the moment when the jar was emptied.

    ``hot_min`` and ``temperature_c`` add a hot step after the ageing. None where the jar does not say enough, holds
    residue, or was not started by ``at``. Raises InputError ``time.without_zone``.
    """
    age = _age_h(jar, at)
    return None if age is None else _film(state, jar, age, hot_min=hot_min, temperature_c=temperature_c)


def film_of_attempt(state: CampaignState, attempt: Attempt) -> Film | None:
    """Return the film index of the metal of an attempt, from the start of its jar to that of the attempt.

    An oil exposure that was typed over the clock's is taken in its place, and where no start is known. The
    attempt's hot time and temperature add the hot step; its room humidity holds for the hot step, and for the jar
    where that says none. None where the attempt has no jar, or the jar does not say enough.
    """
    jar = state.jar(attempt.jar_id)
    if jar is None:
        return None
    age = _typed_exposure_h(state, attempt)
    if age is None and attempt.started_at is not None:
        age = _age_h(jar, attempt.started_at)
    if age is None:
        return None
    hot_min, temperature_c = _hot_step(state, attempt.conditions)
    humidity = attempt.facts.room_rh_percent
    return _film(state, jar, age, hot_min=hot_min, temperature_c=temperature_c, rh_percent=humidity)


def film_values(
    state: CampaignState, jar: Jar, at: datetime, conditions: Mapping[str, Value]
) -> Mapping[str, float]:
    """Return the film index for every visible number that is one, by name and in its unit, to four digits.

    Hot time and temperature are those of ``conditions``. Empty where the index cannot be computed; a factor in a
    unit that is no amount per area is left out.
    """
    factors = [f for f in state.visible_factors if f.role is Role.FILM_INDEX and not f.is_choice]
    scales = {factor.name: unit_scale(factor.unit) for factor in factors}
    if not scales:
        return {}
    hot_min, temperature_c = _hot_step(state, conditions)
    film = film_of_jar(state, jar, at, hot_min=hot_min, temperature_c=temperature_c)
    if film is None:
        return {}
    return {name: float(f"{film.index * scale:.4g}") for name, scale in scales.items() if scale is not None}


def wait_for_index(state: CampaignState, jar: Jar, index: float, now: datetime) -> float | None:
    """Return the hours from ``now`` until a jar reaches a film index (mmol/m², without a hot step), 0 if it has.

    None where the jar does not say enough, is emptied, never reaches it within ten years, or holds a metal whose
    exposure must never be lengthened.
    """
    age = _age_h(jar, now)
    constants = film_constants()
    inputs = film_inputs(state, jar, constants)
    may_wait = state.settings.material.may_lengthen_age
    if age is None or inputs is None or jar.emptied_at is not None or not may_wait or not math.isfinite(index):
        return None
    ageing = inputs.ageing(constants)
    low, high = age, max(_FURTHEST_H, 2.0 * age)
    for _ in range(4):
        ages = np.geomspace(max(low, 1e-3), high, 65)
        ages[0] = low
        reached = np.nonzero(film_amounts(ages, ageing, constants).index >= index)[0]
        if reached.size == 0:
            return None
        place = int(reached[0])
        if place == 0:
            return max(float(ages[0]) - age, 0.0)
        low, high = float(ages[place - 1]), float(ages[place])
    return high - age


def compare(state: CampaignState, first: Jar, second: Jar, at: datetime) -> FilmComparison:
    """Return two jars side by side at a moment: their films, what differs, and which has received more.

    The effect of a row is what the first jar's index is multiplied by when this input alone is taken from the
    second. Raises InputError ``time.without_zone``.
    """
    constants = film_constants()
    pair = []
    for jar in (first, second):
        age, inputs = _age_h(jar, at), film_inputs(state, jar, constants)
        film = film_of_jar(state, jar, at)
        pair.append(None if age is None or inputs is None or film is None else (age, inputs, film))
    return compare_inputs(first, second, pair[0], pair[1], constants)


def film_notes(state: CampaignState) -> tuple[Reason, ...]:
    """Return what every text about the film index says once: what it is not, and for some metals that it warns."""
    if state.settings.material.may_lengthen_age:
        return (Reason("film.ranking_aid"),)
    return (Reason("film.hazard_only"), Reason("film.ranking_aid"))


def add_film_factor(state: CampaignState) -> Factor:
    """Return a ready film index for a campaign: mmol/m² on a log scale, its range from the jars and the ages.

    The range is what the campaign's jars reach over the range of its oil exposure (else sample age), widened to two
    digits; where no jar says enough it is our own proposal, 1 to 300. It is an exposure, so for a metal that must
    never age longer the limits hold it at its lowest value.
    """
    low, high = _DEFAULT_RANGE
    constants = film_constants()
    inputs = [found for jar in state.jars if (found := film_inputs(state, jar, constants)) is not None]
    if inputs:
        ages = np.array(_age_range_h(state))
        reached = np.array([film_amounts(ages, each.ageing(constants), constants).index for each in inputs])
        low = _two_digits(max(float(reached.min()), constants.least_index), up=False)
        high = max(_two_digits(float(reached.max()), up=True), 2.0 * low)
    return Factor(FILM_INDEX_NAME, UNIT, low, high, Scale.LOG, role=Role.FILM_INDEX)


def _two_digits(value: float, *, up: bool) -> float:
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    count = math.ceil(value / step) if up else math.floor(value / step)
    return float(f"{count * step:.6g}")


def _age_range_h(state: CampaignState) -> tuple[float, float]:
    for role in (Role.OIL_EXPOSURE, Role.SAMPLE_AGE):
        for factor in state.visible_factors:
            if factor.role is role and not factor.is_choice and unit_kind(factor.unit) == "time":
                low, high = (convert(bound, factor.unit, "h") for bound in factor.bounds)
                return max(low, 0.0), high
    return _AGES_H


def _age_h(jar: Jar, at: datetime) -> float | None:
    """Return the hours under oil up to ``at`` or the emptying; None where the jar was started later or not yet."""
    if jar.planned:
        return None
    end = as_utc(at) if jar.emptied_at is None else min(as_utc(at), as_utc(jar.emptied_at))
    hours = hours_between(jar.started_at, end)
    return hours if hours >= 0.0 else None


def _film(
    state: CampaignState,
    jar: Jar,
    age: float,
    *,
    hot_min: float | None = None,
    temperature_c: float | None = None,
    rh_percent: float | None = None,
) -> Film | None:
    constants = film_constants()
    inputs = film_inputs(state, jar, constants, rh_percent=rh_percent)
    if inputs is None:
        return None
    assumed = inputs.assumed
    hot: HotStep | None = None
    if hot_min is not None and hot_min > 0.0:
        at_c = usual_hot_c(state.settings, constants) if temperature_c is None else temperature_c
        humidity = inputs.room_rh_percent if rh_percent is None else rh_percent
        hot = inputs.hot(hot_min, at_c, constants, humidity)
        assumed = (*assumed, TEMPERATURE) if temperature_c is None else assumed
    amounts = film_amounts(age, inputs.ageing(constants), constants, hot)
    return film_of(amounts, constants, age_h=age, assumed=assumed, notes=_notes(jar, inputs))


def _notes(jar: Jar, inputs: FilmInputs) -> tuple[Reason, ...]:
    return (Reason("film.plastic_jar", {"jar": jar.id}),) if inputs.material == "plastic" else ()


def _hot_step(state: CampaignState, conditions: Mapping[str, Value]) -> tuple[float | None, float | None]:
    """Return minutes and °C of the hot step as conditions have them; a visible factor comes before a hidden one."""
    hot_min = temperature_c = None
    for factor in sorted(state.factors, key=lambda each: each.hidden):
        value = conditions.get(factor.name)
        if value is None or isinstance(value, str):
            continue
        if factor.role is Role.HOT_TIME and hot_min is None and unit_kind(factor.unit) == "time":
            hot_min = max(convert(value, factor.unit, "min"), 0.0)
        if factor.role is Role.TEMPERATURE and temperature_c is None and not is_storage(factor):
            column = celsius_column(factor.name, factor.unit)
            temperature_c = None if column is None else value * column.scale + column.shift
    return hot_min, temperature_c


def _typed_exposure_h(state: CampaignState, attempt: Attempt) -> float | None:
    """Return the oil exposure in hours where it was typed over the clock's, or where no clock can tell it."""
    overridden = {override.factor for override in attempt.overrides}
    for factor in state.factors:
        if factor.role is not Role.OIL_EXPOSURE or unit_kind(factor.unit) != "time":
            continue
        value = attempt.conditions.number(factor.name)
        if value is not None and value >= 0 and (factor.name in overridden or attempt.started_at is None):
            return convert(value, factor.unit, "h")
    return None
