"""The course of one jar: its conditions at every hour from now, as the shelf has them, and how far they may go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.ages import age_h, as_utc, hours_between
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.film_constants import FilmConstants
from stirfall.bench.records import LOT_EFFECT_BENCH, LOT_EFFECT_JAR, LOT_EFFECT_LOT, Jar, computed_ages, own_bench
from stirfall.bench.units import Amount, convert, unit_kind
from stirfall.physics.film import Ageing, film_amounts
from stirfall.planning.box import ordered_exposures
from stirfall.planning.limits_exposure import jar_findings
from stirfall.planning.use_by import use_by
from stirfall.session.film import film_values
from stirfall.session.film_factor import film_factor_of
from stirfall.session.film_inputs import film_inputs
from stirfall.session.film_rule import unit_scale
from stirfall.storage.film_table import film_constants

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]
Columns = dict[str, FloatArray]

MOST_H = 14.0 * 24.0  # two weeks; our proposal, no source
_LEAST_AGE_H = 0.25
_FILM_POINTS = 60
_A_MINUTE = timedelta(minutes=1)
_AGES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE)


@dataclass(frozen=True, eq=False)
class FilmCourse:
    """The film index of one jar in the unit of the factor ``name``, as it grows with the jar's age."""

    name: str
    ageing: Ageing
    constants: FilmConstants
    scale: float
    most: float

    def index(self, aged_h: FloatArray) -> FloatArray:
        """Return the index (n,) at ages of the jar (n,), to four digits, as ``film_values`` does."""
        index = np.asarray(film_amounts(aged_h, self.ageing, self.constants).index, dtype=float)
        shown = np.maximum(index, self.constants.least_index) * self.scale
        return np.array([float(f"{value:.4g}") for value in np.broadcast_to(shown, np.shape(aged_h))])


@dataclass(frozen=True, eq=False)
class Course:
    """One jar in time: ``base`` are its whole conditions at ``now``, when it is ``aged_h`` old.

    ``ages`` are the factors that run on: name, value now, and units per hour. Hours are counted from ``now``;
    ``begins_h`` and ``ends_h`` bound what may be looked at. ``reason`` says why nothing beyond now may.
    """

    jar: Jar
    now: datetime
    aged_h: float
    answer: Analysis
    base: Conditions
    ages: tuple[tuple[str, float, float], ...] = ()
    film: FilmCourse | None = None
    ordered: tuple[tuple[str, str, float], ...] = ()
    begins_h: float = 0.0
    ends_h: float = 0.0
    reason: Reason | None = None

    def columns(self, hours: FloatArray) -> Columns:
        """Return the model's columns (n,) at ``hours`` (n,) from now."""
        axes: Columns = {name: start + rate * hours for name, start, rate in self.ages}
        for exposure, age, per_age in self.ordered:
            if exposure in axes and age in axes:
                axes[exposure] = np.minimum(axes[exposure], axes[age] * per_age)
        if self.film is not None:
            axes[self.film.name] = self.film.index(self.aged_h + hours)
        return self.answer.columns_along(axes, self.base)

    def life_h(self, points: int) -> FloatArray:
        """Return hours from now over all that may be looked at, evenly spread in the logarithm of the jar's age.

        They do not move with ``now``, so that a window stays where it is from one minute to the next.
        """
        low = max(self.begins_h + self.aged_h, _LEAST_AGE_H)
        high = max(self.ends_h + self.aged_h, low)
        return np.asarray(np.geomspace(low, high, points) - self.aged_h)

    def future_h(self, points: int) -> FloatArray:
        """Return hours from now, 0 first, then spread in their logarithm up to the last that may be looked at."""
        first = min(_LEAST_AGE_H, self.ends_h / points)
        return np.concatenate([np.zeros(1), np.geomspace(first, self.ends_h, points - 1)])


class Courses:
    """Makes the courses of the jars of one campaign; the answers for lots are found once."""

    def __init__(self, analysis: Analysis, state: CampaignState, now: datetime) -> None:
        self._analysis, self._state, self._now = analysis, state, as_utc(now)
        self._answers: dict[str | None, Analysis] = {}
        self._film = film_factor_of(state)
        self._modelled = {factor.name: factor for factor in analysis.model.design.factors}
        self._ordered = ordered_exposures(analysis.limits)
        self._constants = film_constants()

    def of(self, jar: Jar) -> Course | Reason:
        """Return the course of a jar, or why nothing at all may be said of its chance.

        Raises InputError ``time.runs_backwards`` for a jar that seems to start later, and what ``complete`` raises.
        """
        state, now = self._state, self._now
        blocks = [found for found in jar_findings(state, jar, now) if found.level == "block"]
        if blocks:
            return Reason(blocks[0].code, blocks[0].params)
        at = self._with_an_age(jar)
        aged = age_h(jar.started_at, at)
        given = shelf_conditions(state, jar, at)
        film = self._film_of(jar)
        if film is not None:
            given = Conditions({**given, **film_values(state, jar, at, given)})
        answer = self._answer_for(jar, given)
        ages = tuple(self._running(given))
        course = Course(jar, now, aged, answer, answer.complete(given), ages, film, self._ordered)
        reason = self._why_only_now(course)
        return replace(course, reason=reason) if reason is not None else self._bounded(course)

    def _with_an_age(self, jar: Jar) -> datetime:
        """Return now, but at least a minute after the start of jar and lot: an age of zero has no logarithm."""
        lot = self._state.lot(jar.lot_id)
        starts = [as_utc(jar.started_at)]
        starts += [as_utc(lot.made_at)] if lot is not None and lot.made_at is not None else []
        return max([self._now, *(start + _A_MINUTE for start in starts if start <= self._now)])

    def _answer_for(self, jar: Jar, given: Conditions) -> Analysis:
        grouping = self._analysis.table.grouping
        known: Mapping[str, object] = {LOT_EFFECT_LOT: jar.lot_id, LOT_EFFECT_JAR: jar.id}
        bench = own_bench(self._state.settings) if grouping == LOT_EFFECT_BENCH else None
        name = known.get(grouping, given.get(grouping, bench))
        lot = str(name) if name in self._analysis.model.lot_names else None
        if lot not in self._answers:
            is_asked = lot == self._analysis.lot
            self._answers[lot] = self._analysis if is_asked else self._analysis.for_lot(lot)
        return self._answers[lot]

    def _film_of(self, jar: Jar) -> FilmCourse | None:
        film = self._film
        scale = None if film is None else unit_scale(film.unit)
        inputs = film_inputs(self._state, jar, self._constants)
        if film is None or scale is None or inputs is None or film.name not in self._modelled:
            return None
        most = self._analysis.limits.ranges[film.name][1]
        return FilmCourse(film.name, inputs.ageing(self._constants), self._constants, scale, most)

    def _running(self, given: Conditions) -> list[tuple[str, float, float]]:
        found = []
        for factor in filter(is_running, self._modelled.values()):
            value = given.number(factor.name)
            if value is not None:
                found.append((factor.name, value, convert(1.0, "h", factor.unit)))
        return found

    def _why_only_now(self, course: Course) -> Reason | None:
        if not self._analysis.limits.may_wait:
            return Reason("forecast.superoxide", {"jar": course.jar.id})
        known = {name for name, _, _ in course.ages}
        if any(name not in known for name, factor in self._modelled.items() if is_running(factor)):
            return Reason("forecast.no_lot_date", {"jar": course.jar.id, "lot": course.jar.lot_id})
        if not course.ages and course.film is None:
            return Reason("forecast.nothing_runs")
        return None

    def _bounded(self, course: Course) -> Course:
        """Return the course with the hours that may be looked at, or with the reason why there are none."""
        ends, begins, reason = MOST_H, -course.aged_h, None
        limit = use_by(self._state, course.jar)
        if limit is not None:
            ends = min(ends, hours_between(course.now, limit))
            reason = Reason("forecast.use_by_past", {"jar": course.jar.id}) if ends <= 0 else None
        for name, value, rate in course.ages:
            low, high = self._analysis.limits.ranges[name]
            ends, begins = min(ends, (high - value) / rate), max(begins, (low - value) / rate)
            reason = reason or _beyond(self._modelled[name], value, high)
        film = course.film
        if film is not None and reason is None:
            value = float(film.index(np.array([course.aged_h]))[0])
            reason = _beyond(self._modelled[film.name], value, film.most)
            ends = ends if reason is not None else min(ends, _film_ends_h(film, course.aged_h, ends))
        if reason is None and max(begins, 0.0) >= ends:
            reason = Reason("forecast.no_time_inside", {"jar": course.jar.id})
        return replace(course, begins_h=begins, ends_h=max(ends, 0.0), reason=reason)


def shelf_conditions(state: CampaignState, jar: Jar, at: datetime) -> Conditions:
    """Return what the shelf knows of a jar's conditions at a moment: its ages, and its oil depth where that counts.

    Raises InputError ``time.runs_backwards``.
    """
    ages = computed_ages(state.visible_factors, lot=state.lot(jar.lot_id), jar=jar, started_at=at)
    depths = [factor.name for factor in state.visible_factors if _is_oil_depth(factor)]
    return Conditions({**ages, **({} if jar.oil_depth_mm is None else dict.fromkeys(depths, jar.oil_depth_mm))})


def is_running(factor: Factor) -> bool:
    """Whether a factor is an age that the clock moves."""
    return factor.role in _AGES and not factor.is_choice and unit_kind(factor.unit) == "time"


def _is_oil_depth(factor: Factor) -> bool:
    return factor.name.casefold() == "oil depth" and factor.unit == "mm" and not factor.is_choice


def _beyond(factor: Factor, value: float, most: float) -> Reason | None:
    if value < most:
        return None
    params = {"factor": factor.name, "value": Amount(value, factor.unit), "most": Amount(most, factor.unit)}
    return Reason("forecast.beyond_range", params)


def _film_ends_h(film: FilmCourse, aged_h: float, ends_h: float) -> float:
    """Return the hours until the index passes the most of its range, at most ``ends_h``: it grows with time."""
    hours = np.r_[0.0, np.geomspace(max(ends_h, 1e-3) / 1000.0, max(ends_h, 1e-3), _FILM_POINTS)]
    beyond = np.flatnonzero(film.index(aged_h + hours) > film.most)
    return ends_h if not len(beyond) else float(hours[max(int(beyond[0]) - 1, 0)])
