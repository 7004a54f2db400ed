"""Which jar on the shelf fits a suggestion soonest, from the ages that the time stamps give, or from its film."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import datetime

from stirfall.bench.ages import age_h
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.records import Jar
from stirfall.bench.units import convert, unit_kind
from stirfall.planning.limits import OperatingLimits, jar_findings

# An age within a tenth of the one suggested is the same age: jars and operators scatter more (our proposal).
_SAME_AGE = 1.1

FilmWait = Callable[[Jar, Factor, float, datetime], float | None]
"""The hours from a moment until a jar reaches a film index, in its factor's unit; None where it never does."""


def choose_jar(
    state: CampaignState,
    limits: OperatingLimits,
    conditions: Conditions,
    now: datetime | None,
    film_wait: FilmWait | None = None,
) -> tuple[str | None, float | None]:
    """Return the jar whose age fits soonest and the hours to wait for it; (None, None) where none fits.

    Where conditions name a film index and no age, ``film_wait`` finds the jar that reaches it soonest. A jar with
    residue is none to choose, nor is one that the limits say must not be opened.

    Nothing is ever waited for with a superoxide former, and no jar is offered for it: on the shelf it only gets
    older than the pinned exposure.
    """
    if now is None or not limits.may_wait:
        return None, None
    fits = []
    for jar in state.shelf:
        if jar.is_residue or any(found.level == "block" for found in jar_findings(state, jar, now)):
            continue
        wait = _wait_for(state, jar, conditions, now)
        if wait is None and film_wait is not None:
            wait = _wait_for_film(state, jar, conditions, now, film_wait)
        if wait is not None:
            fits.append((wait, jar.id))
    if not fits:
        return None, None
    wait, jar_id = min(fits)
    return jar_id, wait


def _wait_for(state: CampaignState, jar: Jar, conditions: Conditions, now: datetime) -> float | None:
    """Return the hours until every computed age of the jar is near the suggested one, or None."""
    earliest, latest, exact = 0.0, math.inf, []
    for factor in state.visible_factors:
        wanted = _wanted_h(factor, conditions)
        if wanted is None:
            continue
        has = _age_now(state, jar, factor, now)
        if has is None:
            return None
        earliest = max(earliest, wanted / _SAME_AGE - has)
        latest = min(latest, wanted * _SAME_AGE - has)
        exact.append(max(0.0, wanted - has))
    if not exact or latest < earliest:
        return None
    return round(min(max(*exact, earliest), latest), 3)


def _wait_for_film(
    state: CampaignState, jar: Jar, conditions: Conditions, now: datetime, film_wait: FilmWait
) -> float | None:
    if any(_wanted_h(factor, conditions) is not None for factor in state.visible_factors):
        return None
    films = [factor for factor in state.visible_factors if factor.role is Role.FILM_INDEX and not factor.is_choice]
    for factor in films:
        wanted = conditions.number(factor.name)
        if wanted is not None:
            return film_wait(jar, factor, wanted, now)
    return None


def _wanted_h(factor: Factor, conditions: Conditions) -> float | None:
    value = conditions.number(factor.name)
    if value is None or factor.is_choice or factor.role not in (Role.SAMPLE_AGE, Role.OIL_EXPOSURE):
        return None
    return convert(value, factor.unit, "h") if unit_kind(factor.unit) == "time" else None


def _age_now(state: CampaignState, jar: Jar, factor: Factor, now: datetime) -> float | None:
    if factor.role is Role.OIL_EXPOSURE:
        start: datetime | None = jar.started_at
    else:
        lot = state.lot(jar.lot_id)
        start = lot.made_at if lot else None
    if start is None:
        return None
    try:
        return age_h(start, now)
    except InputError:
        # The stamp lies in the future, so a clock was wrong: this jar cannot be judged.
        return None
