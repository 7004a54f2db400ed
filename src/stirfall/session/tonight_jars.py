"""Jars in hand: the conditions that a jar brings to an attempt at a moment, and the free ones around them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.ages import age_h, as_utc
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.bench.records import LOT_EFFECT_BENCH, LOT_EFFECT_JAR, LOT_EFFECT_LOT, Jar, own_bench
from stirfall.bench.units import Amount
from stirfall.inference.design import Filler
from stirfall.planning.box import Box, Columns, make_box
from stirfall.planning.limits import jar_findings
from stirfall.planning.next_attempts import box_for, knows_nothing
from stirfall.planning.use_by import use_by
from stirfall.session.film_factor import film_factor_of
from stirfall.session.film_inputs import film_inputs
from stirfall.session.film_rule import Column, FilmRule, unit_scale
from stirfall.session.forecast_course import is_running, shelf_conditions
from stirfall.storage.film_table import film_constants

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.planning.goals import Goal
    from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]

_UNDER_OIL = "\x00hours under oil"  # no factor can have this name
_INDEX_DIGITS = 4


@dataclass(frozen=True, eq=False)
class JarFilm:
    """The film index of one jar's metal, for conditions with any hot step."""

    name: str
    rule: FilmRule
    aged_h: float

    def index(self, columns: Columns) -> FloatArray:
        """Return the index (n,) in the unit of its factor, to four digits."""
        rows = _rows(columns)
        found = self.rule.index({**columns, _UNDER_OIL: np.full(rows, self.aged_h)})
        return np.array([float(f"{value:.{_INDEX_DIGITS}g}") for value in found])


@dataclass(frozen=True, eq=False)
class UsualFilm:
    """The film index of a jar that does not tell it: as the campaign's usual jar has it, else the usual value."""

    name: str
    filler: Filler | None
    value: float

    def index(self, columns: Columns) -> FloatArray:
        """Return the index (n,)."""
        rows = _rows(columns)
        return np.full(rows, self.value) if self.filler is None else np.asarray(self.filler(columns), dtype=float)


@dataclass(frozen=True, eq=False)
class InHand:
    """What one jar fixes when it is opened at ``at``: ``held`` values by factor, and its film index.

    ``unknown`` names factors that the jar would fix if more were known of it: for the probability they stand at
    their usual values, and no plan tells them. ``answer`` is the analysis for the jar's own lot.
    """

    jar: Jar
    at: datetime
    answer: Analysis
    held: Mapping[str, float]
    film: JarFilm | UsualFilm | None
    unknown: tuple[str, ...]

    def hold(self, columns: Columns, film: FloatArray | None = None) -> Columns:
        """Return candidates with what the jar fixes in its place; ``film`` is its index where that is known."""
        rows = _rows(columns)
        fixed = {**columns, **{name: np.full(rows, value) for name, value in self.held.items() if name in columns}}
        if self.film is not None:
            fixed[self.film.name] = self.film.index(fixed) if film is None else film
        return fixed

    def conditions(self, box: Box, columns: Columns, index: int) -> Conditions:
        """Return one candidate as conditions, without what is not known of the jar."""
        told = box.conditions(columns, index)
        return Conditions({name: value for name, value in told.items() if name not in self.unknown})


class Hands:
    """Says of the jars of one campaign what each brings to an attempt; answers for lots are found once."""

    def __init__(self, analysis: Analysis, state: CampaignState, goal: Goal) -> None:
        self.analysis, self.state = analysis, state
        self.limits = analysis.limits
        self.whole = box_for(analysis.model, self.limits, goal)
        films = [f.name for f in self.limits.factors if f.role is Role.FILM_INDEX and not f.is_choice]
        fixed = {factor.name for factor in state.visible_factors if is_fixed(factor)}
        free = [factor.name for factor in self.whole.varied if factor.name not in {*fixed, *films}]
        self.box = make_box(self.limits, free, unknown=films)
        self._answers: dict[str | None, Analysis] = {}
        self._film = film_factor_of(state)
        self._scale = None if self._film is None else unit_scale(self._film.unit)
        self._rule = FilmRule.of(state) if self._scale is not None else None

    @property
    def has_factors(self) -> bool:
        """Whether anything is known that could be suggested."""
        return bool(self.box.varied or self.box.fixed) or self._film_known

    @property
    def _film_known(self) -> bool:
        return self._film is not None and self._film.name not in self.whole.unknown

    @property
    def knows_nothing(self) -> bool:
        """Whether too few attempts were graded to ask a model."""
        return knows_nothing(self.analysis.state)

    def of(self, jar: Jar, at: datetime) -> InHand:
        """Return what a jar fixes at a moment; raises InputError ``time.runs_backwards`` before its start."""
        at = as_utc(at)
        given = shelf_conditions(self.state, jar, at)
        held = {name: float(value) for name, value in given.items() if not isinstance(value, str)}
        lid = _lid_factor(self.limits.factors)
        if lid is not None and jar.lid in lid.levels:
            held[lid.name] = float(lid.levels.index(jar.lid))
        film = self._film_of(jar, age_h(jar.started_at, at))
        unknown = {f.name for f in self.state.visible_factors if is_fixed(f)} - held.keys()
        if isinstance(film, UsualFilm):
            unknown |= {film.name}
        return InHand(jar, at, self._answer_for(jar, given), held, film, tuple(sorted(unknown)))

    def _film_of(self, jar: Jar, aged_h: float) -> JarFilm | UsualFilm | None:
        film = self._film
        if film is None or film.name in self.whole.unknown:
            return None
        inputs = film_inputs(self.state, jar, film_constants())
        if self._rule is None or inputs is None:
            middle = film.middle
            assert not isinstance(middle, str)
            return UsualFilm(film.name, self.whole.filler, middle)
        rule = replace(self._rule, jar=inputs, exposure_h=(Column(_UNDER_OIL),), age_h=())
        return JarFilm(film.name, rule, aged_h)

    def _answer_for(self, jar: Jar, given: Mapping[str, Value]) -> Analysis:
        grouping = self.analysis.table.grouping
        known: Mapping[str, object] = {LOT_EFFECT_LOT: jar.lot_id, LOT_EFFECT_JAR: jar.id}
        bench = own_bench(self.state.settings) if grouping == LOT_EFFECT_BENCH else None
        name = known.get(grouping, given.get(grouping, bench))
        lot = str(name) if name in self.analysis.model.lot_names else None
        if lot not in self._answers:
            self._answers[lot] = self.analysis if lot == self.analysis.lot else self.analysis.for_lot(lot)
        return self._answers[lot]

    # -- what may be opened ------------------------------------------------------------------------

    def why_not(self, jar: Jar, at: datetime, hand: InHand | None = None) -> Reason | None:
        """Return why a jar must not, or cannot, be opened for an attempt at a moment; None where it may.

        The limits come first: look and age of the class, and the use-by. Then its ages must lie within the ranges
        that suggestions keep to. ``hand`` is what the jar fixes then, where that was asked already.
        """
        for found in jar_findings(self.state, jar, at):
            if found.level == "block":
                return Reason(found.code, found.params)
        limit = use_by(self.state, jar)
        if limit is not None and as_utc(at) >= limit:
            return Reason("tonight.use_by_past", {"jar": jar.id})
        hand = hand or self.of(jar, at)
        for factor in self.limits.factors:
            problem = self._outside(hand, factor)
            if problem is not None:
                return problem
        return None

    def _outside(self, hand: InHand, factor: Factor) -> Reason | None:
        value = hand.held.get(factor.name)
        if value is None or factor.is_choice:
            return None
        low, high = self.limits.ranges[factor.name]
        if low <= value <= high:
            return None
        params: dict[str, object] = {"jar": hand.jar.id, "factor": factor.name, "value": Amount(value, factor.unit)}
        if value > high:
            longer = not self.limits.may_wait and is_running(factor)
            code = "tonight.longer_exposure" if longer else "tonight.beyond_range"
            return Reason(code, params | {"most": Amount(high, factor.unit)})
        return Reason("tonight.below_range", params | {"least": Amount(low, factor.unit)})


def _rows(columns: Columns) -> int:
    """Return how many candidates there are: one where nothing but the film index is a factor."""
    return len(next(iter(columns.values()), (0,)))


def is_fixed(factor: Factor) -> bool:
    """Whether the jar in hand settles a factor: an age that the clock moves, or a property of the jar."""
    return is_running(factor) or is_of_jar(factor)


def is_of_jar(factor: Factor) -> bool:
    """Whether a factor is a property of the jar on the shelf, settled when it was started: oil depth or lid."""
    name = factor.name.casefold()
    return name == "lid" if factor.is_choice else name == "oil depth" and factor.unit == "mm"


def _lid_factor(factors: tuple[Factor, ...]) -> Factor | None:
    return next((each for each in factors if each.is_choice and is_of_jar(each)), None)
