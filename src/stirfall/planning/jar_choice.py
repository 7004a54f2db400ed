"""Which jar on the shelf fits a suggestion soonest, from the ages that the time stamps give, or from its film."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import numpy.typing as npt

from stirfall.bench.ages import age_h
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.records import Jar
from stirfall.bench.units import convert, unit_kind
from stirfall.planning.limits import OperatingLimits, jar_findings

# An age within a tenth of the one suggested is the same age: jars and operators scatter more (our proposal).
_SAME_AGE = 1.1
Numbers = npt.NDArray[np.float64]

FilmWait = Callable[[Jar, Factor, float, datetime], float | None]
"""The hours from a moment until a jar reaches a film index, in its factor's unit; None where it never does."""


def choose_jar(
    state: CampaignState,
    limits: OperatingLimits,
    conditions: Conditions,
    now: datetime | None,
    film_wait: FilmWait | None = None,
    *,
    lot_id: str | None = None,
) -> tuple[str | None, float | None]:
    """Return the jar whose age fits soonest and the hours to wait for it; (None, None) where none fits.

    With ``lot_id`` only jars of that lot are looked at.

    Where conditions name a film index and no age, ``film_wait`` finds the jar that reaches it soonest. A jar with
    residue is none to choose, nor is one that the limits say must not be opened.

    Nothing is ever waited for with a superoxide former, and no jar is offered for it: on the shelf it only gets
    older than the pinned exposure.
    """
    if now is None or not limits.may_wait:
        return None, None
    fits = []
    for jar in _usable(state, now, lot_id):
        wait = _wait_for(state, jar, conditions, now)
        if wait is None and film_wait is not None:
            wait = _wait_for_film(state, jar, conditions, now, film_wait)
        if wait is not None:
            fits.append((wait, jar.id))
    if not fits:
        return None, None
    wait, jar_id = min(fits)
    return jar_id, wait


@dataclass(frozen=True)
class Waits:
    """The ageing that conditions ask for, one number per condition, (c,).

    ``ageing_h`` is that of a jar started now, ``first_h`` the hours until the first jar on the shelf has the ages
    (infinite where none can), ``jars`` how many of them have the ages then.
    """

    ageing_h: Numbers
    first_h: Numbers
    jars: npt.NDArray[np.intp]


def waits_on_the_shelf(
    limits: OperatingLimits, columns: Mapping[str, Numbers], now: datetime | None, lot_id: str | None = None
) -> Waits:
    """Return for each condition how long fresh jars must age and how soon jars on the shelf fit.

    Nothing is ever waited for with a superoxide former: all ages are nothing and no jar is named. Without a clock
    no jar fits. With ``lot_id`` only jars of that lot count.
    """
    count = len(next(iter(columns.values())))
    none = Waits(np.zeros(count), np.full(count, np.inf), np.zeros(count, dtype=np.intp))
    if not limits.may_wait:
        return none
    state = limits.state
    wanted = {f.name: convert(1.0, f.unit, "h") * columns[f.name] for f in _aged(state) if f.name in columns}
    if not wanted:
        return none
    ageing = np.max(list(wanted.values()), axis=0)
    jars = [] if now is None else [_spans(state, jar, wanted, now) for jar in _usable(state, now, lot_id)]
    known = [each for each in jars if each is not None]
    if not known:
        return Waits(ageing, none.first_h, none.jars)
    earliest, latest, exact = (np.stack(each) for each in zip(*known, strict=True))
    first = np.where(latest < earliest, np.inf, np.minimum(np.maximum(exact, earliest), latest))
    soonest = first.min(axis=0)
    jars_then = ((earliest <= soonest + 1e-9) & (soonest <= latest + 1e-9)).sum(axis=0)
    return Waits(ageing, soonest, np.where(np.isfinite(soonest), jars_then, 0))


def ages_on_the_shelf(
    limits: OperatingLimits, now: datetime | None, lot_id: str | None = None
) -> list[dict[str, float]]:
    """Return the ages that usable jars have now, by factor and in its unit; only jars whose ages the limits allow.

    None for a superoxide former, which is never aged on purpose, and none without a clock.
    """
    if now is None or not limits.may_wait:
        return []
    state = limits.state
    found = []
    for jar in _usable(state, now, lot_id):
        ages = {f.name: (f, _age_now(state, jar, f, now)) for f in _aged(state)}
        values = {name: convert(age, "h", f.unit) for name, (f, age) in ages.items() if age is not None}
        if ages and len(values) == len(ages) and all(_allowed(limits, name, at) for name, at in values.items()):
            found.append(values)
    return found


def _allowed(limits: OperatingLimits, name: str, value: float) -> bool:
    low, high = limits.ranges[name]
    return low <= value <= high


def _spans(
    state: CampaignState, jar: Jar, wanted: Mapping[str, Numbers], now: datetime
) -> tuple[Numbers, Numbers, Numbers] | None:
    """Return the hours between which a jar has all ages, nearly, and until it has them exactly; None if unknown."""
    count = len(next(iter(wanted.values())))
    earliest, latest, exact = np.zeros(count), np.full(count, np.inf), np.zeros(count)
    for factor in _aged(state):
        if factor.name not in wanted:
            continue
        has = _age_now(state, jar, factor, now)
        if has is None:
            return None
        earliest = np.maximum(earliest, wanted[factor.name] / _SAME_AGE - has)
        latest = np.minimum(latest, wanted[factor.name] * _SAME_AGE - has)
        exact = np.maximum(exact, wanted[factor.name] - has)
    return earliest, latest, exact


def _usable(state: CampaignState, now: datetime, lot_id: str | None) -> list[Jar]:
    """Return the jars on the shelf that may be opened: no residue, and none that the limits forbid."""
    return [
        jar
        for jar in state.shelf
        if not jar.is_residue
        and lot_id in (None, jar.lot_id)
        and not any(found.level == "block" for found in jar_findings(state, jar, now))
    ]


def _aged(state: CampaignState) -> list[Factor]:
    """Return the visible ages and oil exposures that are times."""
    return [factor for factor in state.visible_factors if is_waited_for(factor)]


def is_waited_for(factor: Factor) -> bool:
    """Whether a factor is an age or an oil exposure in a unit of time, so that jars reach it by waiting."""
    ages = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE)
    return not factor.is_choice and factor.role in ages and unit_kind(factor.unit) == "time"


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
