"""The terms by which rival explanations are tested: one number or word per attempt, from what is on record.

Film is the film index (where jars do not tell it, the oil depth stands in for it), time is the time under oil (else
the sample age), practice the place among the attempts (of the same person, where more than one has a name).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Role, Scale, Value
from stirfall.bench.issued import MarkKind
from stirfall.bench.records import Attempt
from stirfall.bench.units import unit_kind
from stirfall.session.film import UNIT, film_of_attempt
from stirfall.session.surprises_facts import DEPTH, HUMIDITY

FloatArray = NDArray[np.float64]
Getter = Callable[[CampaignState, Attempt], Value | None]

FILM, DEPTH_TERM, TIME, HUMIDITY_TERM = "film index", "oil depth", "time under oil", "room humidity"
EXPOSURE = "time under oil with its film"
PRACTICE, HISTORY, OIL_AGE, OIL = (
    "attempts made before",
    "history of the oil",
    "days since the oil was changed",
    "oil",
)
# So many of the attempts must tell a term, and so many stand at each level of a choice (our proposal).
_KNOWN = 0.8
_FEWEST = 8
_PER_LEVEL = 3
# A term whose ends lie nearer than this (largest over smallest, or as a difference of humidity) never varied.
_LEAST_RATIO, _LEAST_HUMIDITY = 1.15, 5.0


@dataclass(frozen=True)
class TestedTerm:
    """One term that the attempts can speak for: a factor of its own, and its values; NaN where unknown."""

    name: str
    factor: Factor
    values: FloatArray

    __test__ = False


@dataclass(frozen=True)
class Terms:
    """What can be tested, by name, and of everything else why it cannot."""

    tested: Mapping[str, TestedTerm]
    untested: Mapping[str, Reason]


def terms_of(state: CampaignState, attempts: Sequence[Attempt]) -> Terms:
    """Return the terms of attempts (n,) in their order; what too few tell, or what never varied, is not tested."""
    practice = _practice(state)
    numbers: dict[str, tuple[str, Scale, list[float | None]]] = {
        FILM: (UNIT, Scale.LOG, [_film(state, each) for each in attempts]),
        DEPTH_TERM: ("mm", Scale.LOG, [_depth(state, each) for each in attempts]),
        TIME: ("h", Scale.LOG, [_time_h(state, each) for each in attempts]),
        HUMIDITY_TERM: ("%", Scale.LINEAR, [_humidity(state, each) for each in attempts]),
        PRACTICE: ("", Scale.LOG, [practice.get(each.id) for each in attempts]),
        OIL_AGE: ("d", Scale.LINEAR, [_oil_days(state, each) for each in attempts]),
    }
    tested: dict[str, TestedTerm] = {}
    untested: dict[str, Reason] = {}
    for name, (unit, scale, values) in numbers.items():
        _sort_in(name, _number(name, unit, scale, values), tested, untested)
    for name, getter in ((HISTORY, _history), (OIL, _oil)):
        _sort_in(name, _choice(name, [getter(state, each) for each in attempts]), tested, untested)
    return Terms(tested, untested)


def _sort_in(
    name: str,
    found: TestedTerm | Reason,
    tested: dict[str, TestedTerm],
    untested: dict[str, Reason],
) -> None:
    if isinstance(found, Reason):
        untested[name] = found
    else:
        tested[name] = found


def _number(name: str, unit: str, scale: Scale, given: Sequence[float | None]) -> TestedTerm | Reason:
    values = np.array([math.nan if each is None else each for each in given], dtype=float)
    if scale is Scale.LOG:
        values[~(values > 0)] = math.nan
    known = values[np.isfinite(values)]
    if len(known) < max(_FEWEST, _KNOWN * len(values)):
        return Reason("rivals.too_few_know", {"term": name, "known": len(known), "of": len(values)})
    low, high = float(known.min()), float(known.max())
    least = low * _LEAST_RATIO if scale is Scale.LOG else low + (_LEAST_HUMIDITY if unit == "%" else 1.0)
    if not high >= least:
        return Reason("rivals.never_varied", {"term": name, "of": len(known)})
    # The middle nine tenths are the range: one far value must not squeeze all others together.
    ends = np.quantile(known, (0.05, 0.95))
    ends = ends if ends[1] > ends[0] * (1.0 if scale is Scale.LINEAR else 1.01) else np.array([low, high])
    factor = Factor(name, unit, float(ends[0]), float(ends[1]), scale, role=Role.GENERAL)
    return TestedTerm(name, factor, values)


def _choice(name: str, given: Sequence[str | None]) -> TestedTerm | Reason:
    words = [word for word in given if word is not None]
    if len(words) < max(_FEWEST, _KNOWN * len(given)):
        return Reason("rivals.too_few_know", {"term": name, "known": len(words), "of": len(given)})
    levels = tuple(level for level in dict.fromkeys(words) if words.count(level) >= _PER_LEVEL)
    if len(levels) < 2:
        return Reason("rivals.never_varied", {"term": name, "of": len(words)})
    places = {level: float(place) for place, level in enumerate(levels)}
    values = np.array([math.nan if word is None else places.get(word, math.nan) for word in given])
    return TestedTerm(name, Factor(name, levels=levels, role=Role.GENERAL), values)


# -- one value per attempt ---------------------------------------------------------------------------------


def _film(state: CampaignState, attempt: Attempt) -> float | None:
    found = film_of_attempt(state, attempt)
    return None if found is None else found.index


def _depth(state: CampaignState, attempt: Attempt) -> float | None:
    jar = state.jar(attempt.jar_id)
    return _by_name(state, attempt, DEPTH) or (None if jar is None else jar.oil_depth_mm)


def _humidity(state: CampaignState, attempt: Attempt) -> float | None:
    """Return the humidity that the jar stood in, else that of the room when it was opened."""
    jar = state.jar(attempt.jar_id)
    told = _by_name(state, attempt, HUMIDITY)
    if told is None and jar is not None:
        told = jar.room_rh_percent
    return attempt.facts.room_rh_percent if told is None else told


def _by_name(state: CampaignState, attempt: Attempt, name: object) -> float | None:
    for factor in state.factors:
        if not factor.is_choice and name.search(factor.name) and factor.role is Role.GENERAL:  # type: ignore[attr-defined]
            return attempt.conditions.number(factor.name)
    return None


def _time_h(state: CampaignState, attempt: Attempt) -> float | None:
    """Return the time under oil in hours, else the sample age."""
    from stirfall.bench.units import convert

    for role in (Role.OIL_EXPOSURE, Role.SAMPLE_AGE):
        for factor in state.factors:
            value = attempt.conditions.number(factor.name)
            if factor.role is role and value is not None and unit_kind(factor.unit) == "time":
                return convert(value, factor.unit, "h")
    return None


def _practice(state: CampaignState) -> dict[str, float]:
    """Return the place of each attempt, from 1: of the same person where two or more have a name, by time."""
    made = [each for each in state.attempts if not each.is_struck]
    people = {each.facts.operator for each in made if each.facts.operator}
    counts: dict[str, int] = {}
    found: dict[str, float] = {}
    for attempt in sorted(made, key=lambda each: (each.started_at is None, each.started_at or 0, each.number)):
        person = attempt.facts.operator if len(people) > 1 else ""
        counts[person] = counts.get(person, 0) + 1
        found[attempt.id] = float(counts[person])
    return found


def _oil_days(state: CampaignState, attempt: Attempt) -> float | None:
    """Return the days from the last change of oil that was marked before the attempt."""
    at = attempt.started_at
    changes = [mark.at for mark in state.marks if mark.kind is MarkKind.OIL and at is not None and mark.at <= at]
    return None if at is None or not changes else (at - max(changes)).total_seconds() / 86400.0


def _history(state: CampaignState, attempt: Attempt) -> str | None:
    jar = state.jar(attempt.jar_id)
    return (jar.oil_history if jar is not None else "") or None


def _oil(state: CampaignState, attempt: Attempt) -> str | None:
    jar = state.jar(attempt.jar_id)
    return (jar.oil if jar is not None else "") or None
