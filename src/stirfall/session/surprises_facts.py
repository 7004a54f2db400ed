"""What an attempt has on record beyond its factors, as pairs that two attempts can be compared by."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import tzinfo

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor, Role, Value
from stirfall.bench.records import Attempt, bench_of
from stirfall.bench.running import FIRST_MERGING, FIRST_POWDER, Run, Step
from stirfall.inference.confounding import days_of
from stirfall.session.run_log import logged_steps
from stirfall.session.run_timing import TrueTimes

FACTS: Mapping[str, str] = {
    "lot": "",
    "jar": "",
    "day": "",
    "place_in_day": "",
    "operator": "",
    "tool": "",
    "oil": "",
    "oil_history": "",
    "lid": "",
    "oil_depth": "mm",
    "humidity": "%",
    "charge": "g",
    "look": "",
    "parting_time": "s",
    "merging_time": "s",
    "hot_time": "min",
    "peak": "C",
    "lifted_at": "C",
    "warnings": "",
    "bench": "",
}
"""The facts by their keys, each with its unit; ``fact.KEY`` names it in words."""

DEPTH = re.compile(r"\bdepth\b", re.IGNORECASE)
HUMIDITY = re.compile(r"humid|\brh\b", re.IGNORECASE)


def facts_of(
    state: CampaignState, attempt: Attempt, places: Mapping[str, int], tz: tzinfo | None = None
) -> dict[str, Value | None]:
    """Return every fact of ``FACTS`` that no factor tells already; None where it was not recorded.

    ``places`` is the place of each attempt in its day of work (``places_in_days``); days are local, in ``tz`` or
    that of the computer.
    """
    jar, facts = state.jar(attempt.jar_id), attempt.facts
    run = state.run(attempt.run_id)
    oil = (jar.oil if jar is not None else "") or state.settings.oil
    found: dict[str, Value | None] = {
        "lot": attempt.lot_id,
        "jar": attempt.jar_id,
        "day": None if attempt.started_at is None else attempt.started_at.astimezone(tz).date().isoformat(),
        "place_in_day": _number(places.get(attempt.id)),
        "operator": facts.operator or None,
        "tool": facts.tool or None,
        "oil": oil or None,
        "oil_history": (jar.oil_history if jar is not None else "")
        or state.settings.substances.oil.history
        or None,
        "lid": (jar.lid if jar is not None else "") or None,
        "oil_depth": _number(jar.oil_depth_mm if jar is not None else None),
        "humidity": _number(facts.room_rh_percent),
        "charge": _number(attempt.masses.charge_g),
        "look": facts.look or None,
        "parting_time": mark_seconds(run, FIRST_POWDER),
        "merging_time": mark_seconds(run, FIRST_MERGING),
        "hot_time": hot_minutes(run),
        "peak": _number(facts.peak_c),
        "lifted_at": _number(facts.lifted_at_c),
        "warnings": "; ".join(kept.text for kept in facts.accepted) or "none",
        "bench": bench_of(attempt, state.settings) if _has_benches(state, attempt) else None,
    }
    for key in _told_by(state.visible_factors):
        del found[key]
    return found


def _has_benches(state: CampaignState, attempt: Attempt) -> bool:
    """Whether it is known at which bench an attempt was made."""
    return attempt.origin is not None or bool(state.settings.bench_name)


def _told_by(factors: tuple[Factor, ...]) -> list[str]:
    told = []
    if any(DEPTH.search(factor.name) for factor in factors):
        told.append("oil_depth")
    if any(HUMIDITY.search(factor.name) for factor in factors):
        told.append("humidity")
    if any(factor.role is Role.HOT_TIME for factor in factors):
        told.append("hot_time")
    return told


def places_in_days(state: CampaignState) -> dict[str, int]:
    """Return for each attempt with a time its place in its day of work, from 1."""
    moments = np.array(
        [np.nan if a.started_at is None else a.started_at.timestamp() / 3600.0 for a in state.attempts]
    )
    places = days_of(moments)
    return {a.id: int(at) + 1 for a, at in zip(state.attempts, places, strict=True) if at >= 0}


def mark_seconds(run: Run | None, word: str) -> float | None:
    """Return the true seconds from the beginning of stirring (of the run where none is known) to the first mark."""
    mark = None if run is None else next((each for each in run.marks() if each.word == word), None)
    if run is None or mark is None:
        return None
    times = TrueTimes(run)
    stir = next((event for event in run.events if event.step == Step.STIR), None)
    begun = 0.0 if stir is None else times.of(stir)
    passed = times.of(mark) - begun
    return float(round(passed)) if passed >= 0 else None


def hot_minutes(run: Run | None) -> float | None:
    """Return the minutes of a run between melting and stirring; None where they were not walked through."""
    if run is None:
        return None
    steps = [each for each in logged_steps(run) if each.step in (Step.HOLD, Step.ADDITIVE)]
    known = [each.took_s for each in steps if each.took_s is not None]
    return round(sum(known) / 60.0, 1) if known and len(known) == len(steps) else None


def _number(value: float | None) -> float | None:
    return None if value is None else float(value)
