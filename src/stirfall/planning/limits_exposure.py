"""Limits of age and exposure, of the look of the surface, and of jars."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.ages import age_h, as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, Role, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings, Jar
from stirfall.bench.substances import SurfaceLook
from stirfall.bench.units import Amount, convert, unit_kind
from stirfall.planning.findings import Finding, Level, amount, finding, most_severe_first
from stirfall.planning.situation import Situation
from stirfall.storage.limit_table import limit_table

_AGES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE)


@dataclass(frozen=True)
class AgeLimit:
    """The longest age in hours for the campaign's class of metal, and what happens beyond it."""

    most_h: float
    level: Level
    code: str
    rule: str


def shipped_age_h(material: MaterialClass) -> tuple[float, str] | None:
    """Return the shipped age limit of a class in hours with the key of its rule, None where it has none."""
    if material is MaterialClass.BASE_METAL:
        return None
    rule = "superoxide_age" if material is MaterialClass.SUPEROXIDE_FORMER else "jar_age"
    return limit_table()[rule].number("most"), rule


def age_limit(settings: CampaignSettings) -> AgeLimit | None:
    """Return the age limit of a campaign: the shipped one of its class, or its own where that is shorter."""
    own, shipped = settings.substances.limits.age_h, shipped_age_h(settings.material)
    known = [each for each in (own, shipped[0] if shipped else None) if each is not None]
    if not known:
        return None
    if settings.material is MaterialClass.SUPEROXIDE_FORMER:
        return AgeLimit(min(known), "block", "limits.too_long_exposed", "superoxide_age")
    return AgeLimit(min(known), "warn", "limits.inspect_age", "jar_age")


def age_top(factor: Factor, settings: CampaignSettings) -> float | None:
    """Return the class's longest value of an age in the factor's unit, None where there is none to compare.

    Every time that a superoxide former is exposed for counts, the hot time too.
    """
    limit = age_limit(settings)
    is_superoxide = settings.material is MaterialClass.SUPEROXIDE_FORMER
    counts = factor.role is not None and (factor.role.is_exposure if is_superoxide else factor.role in _AGES)
    if limit is None or factor.is_choice or not counts or unit_kind(factor.unit) != "time":
        return None
    return convert(limit.most_h, "h", factor.unit)


def check_exposure(
    factor: Factor, value: Value, settings: CampaignSettings, ceilings: Mapping[str, float]
) -> Iterator[Finding]:
    """Hold one age or exposure in hand against the class's limit and, for a superoxide former, the shortest."""
    if isinstance(value, str):
        return
    limit, top = age_limit(settings), age_top(factor, settings)
    if limit is not None and top is not None and not value <= top:
        shown, most = amount(value, factor), amount(top, factor)
        yield finding(limit.level, limit.code, factor, rule=limit.rule, what=factor.name, value=shown, most=most)
        if limit.level == "block":
            return
    ceiling = ceilings.get(factor.name)
    if ceiling is not None and value > ceiling:
        shown, shortest = amount(value, factor), amount(ceiling, factor)
        yield finding(
            "warn", "limits.longer_exposure", factor, rule="superoxide_age", value=shown, shortest=shortest
        )


def shortest_exposures(state: CampaignState) -> dict[str, float]:
    """Return the shortest recorded value of every exposure factor, hidden ones too.

    Struck-out and aborted attempts count as well: a shorter ceiling is the safe reading of a doubtful record. A
    factor that no attempt has a value for takes the ceiling of those that mean the same ("days in the jar" added
    beside a "sample age" that was recorded), so that a new name never allows a longer exposure.
    """
    exposures = [f for f in state.factors if not f.is_choice and f.role is not None and f.role.is_exposure]
    shortest: dict[str, float] = {}
    for factor in exposures:
        values = [attempt.conditions.number(factor.name) for attempt in state.attempts]
        known = [value for value in values if value is not None and math.isfinite(value)]
        if known:
            shortest[factor.name] = min(known)
    for factor in [each for each in exposures if each.name not in shortest]:
        alike = [other for other in exposures if _mean_the_same(factor, other) and other.name in shortest]
        if alike:
            shortest[factor.name] = min(convert(shortest[other.name], other.unit, factor.unit) for other in alike)
    return shortest


def _mean_the_same(first: Factor, second: Factor) -> bool:
    return first.role is second.role and unit_kind(first.unit) == unit_kind(second.unit) == "time"


# ----------------------------------------------------------------------------------------------- jars and looks


def is_alarming(settings: CampaignSettings, look: str) -> bool:
    """Whether this look means "do not open": on a reactive metal, or one of unknown class."""
    known = look in tuple(SurfaceLook)
    return settings.material is not MaterialClass.BASE_METAL and known and SurfaceLook(look).is_alarming


def look_findings(state: CampaignState, situation: Situation) -> Iterator[Finding]:
    """Block where the surface was seen to be alarming, now or when the jar was inspected last.

    A calm look does not take back an alarming one of the jar; that needs an inspection with its reason.
    """
    looks = (situation.facts.look, situation.jar.look if situation.jar else "")
    alarming = [look for look in looks if is_alarming(state.settings, look)]
    if alarming:
        yield finding("block", "limits.alarming_look", rule="alarming_look", look=alarming[0])


def age_findings(state: CampaignState, situation: Situation) -> Iterator[Finding]:
    """Hold the age of the jar, and of the lot of a superoxide former, against the limit of the class."""
    limit, at = age_limit(state.settings), situation.at
    if limit is None or at is None:
        return
    starts: dict[str, datetime | None] = {}
    if situation.jar is not None:
        starts[f"jar {situation.jar.id}"] = situation.jar.started_at
    if situation.lot is not None and state.settings.material is MaterialClass.SUPEROXIDE_FORMER:
        starts[f"lot {situation.lot.id}"] = situation.lot.made_at
    for what, start in starts.items():
        aged = None if start is None else _age(start, at)
        if aged is not None and not aged <= limit.most_h:
            yield finding(
                limit.level,
                limit.code,
                rule=limit.rule,
                what=what,
                value=Amount(aged, "h"),
                most=Amount(limit.most_h, "h"),
            )


def _age(start: datetime, at: datetime) -> float | None:
    try:
        return age_h(start, at)
    except InputError:
        # The stamp lies in the future, so a clock was wrong: the age is not known.
        return None


def residue_jar_findings(situation: Situation) -> Iterator[Finding]:
    """Block an attempt with a jar of residue."""
    if situation.jar is not None and situation.jar.is_residue:
        yield finding("block", "limits.residue_jar", rule="residue_jar", jar=situation.jar.id)


def jar_findings(state: CampaignState, jar: Jar, now: datetime) -> tuple[Finding, ...]:
    """Return what the limits say about one jar now: look, and age for its class of metal, most severe first.

    A jar of residue is judged by its look and, with the others, by ``residue_findings``.
    """
    situation = Situation(jar=jar, lot=state.lot(jar.lot_id), at=now)
    found = [*look_findings(state, situation)]
    if not jar.is_residue:
        found += age_findings(state, situation)
    return most_severe_first(found)


def residue_days(settings: CampaignSettings) -> float:
    """Return after how many days a residue jar is spoken of: the shipped number, or the campaign's own."""
    shipped, own = limit_table()["residue"].number("most"), settings.substances.limits.residue_days
    return shipped if own is None else min(shipped, own)


def residue_findings(state: CampaignState, now: datetime) -> tuple[Finding, ...]:
    """Return one note that names every residue jar open for too many days; its ``day`` is the local day.

    Whoever shows it says it once a day: a note of the same day says nothing new.
    """
    most = residue_days(state.settings)
    old = []
    for jar in state.jars:
        aged = _age(jar.started_at, now) if jar.is_residue and jar.emptied_at is None else None
        if aged is not None and aged > most * 24.0:
            old.append((aged, jar.id))
    if not old:
        return ()
    named = ", ".join(jar_id for _, jar_id in sorted(old, reverse=True))
    day = as_utc(now).astimezone().date().isoformat()
    oldest = Amount(max(old)[0], "h")
    return (finding("note", "limits.residue_open", rule="residue", jars=named, oldest=oldest, most=most, day=day),)
