"""Limits of the work around the melt: humidity, vessel, batch, breaks."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import islice

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.bench.units import Amount, unit_label
from stirfall.planning.findings import Finding, finding
from stirfall.planning.limits_additive import batch_factor, charge_of, grams_per
from stirfall.planning.situation import Situation
from stirfall.storage.limit_table import limit_table

# More attempts than this are not made in two days.
_MOST_LOOKED_AT = 500


def humidity_limit(settings: CampaignSettings) -> float | None:
    """Return the highest room humidity in % for this metal, None where none holds.

    It holds for reactive metals and those of unknown class; an own limit holds for every metal.
    """
    own = settings.substances.limits.humidity_percent
    if settings.material is MaterialClass.BASE_METAL:
        return own
    shipped = limit_table()["humidity"].number("most")
    return shipped if own is None else min(shipped, own)


def is_humidity(factor: Factor) -> bool:
    """Whether a factor means the humidity of the room: a number in %, called a humidity."""
    return not factor.is_choice and "humidity" in factor.name.casefold() and unit_label(factor.unit).strip() == "%"


def humidity_findings(state: CampaignState, situation: Situation) -> Iterator[Finding]:
    """Warn of a humid room: as noted, else of the conditions, else as the jar has it."""
    most = humidity_limit(state.settings)
    value, factor = _humidity(state, situation)
    if most is not None and value is not None and value > most:
        yield finding("warn", "limits.humid", factor, rule="humidity", value=value, most=most)


def _humidity(state: CampaignState, situation: Situation) -> tuple[float | None, Factor | None]:
    if situation.facts.room_rh_percent is not None:
        return situation.facts.room_rh_percent, None
    for factor in state.factors:
        value = situation.conditions.number(factor.name) if is_humidity(factor) else None
        if value is not None:
            return value, factor
    return (situation.jar.room_rh_percent if situation.jar else None), None


def vessel_findings(state: CampaignState, situation: Situation) -> Iterator[Finding]:
    """Warn where the hot oil fills too much of the vessel."""
    volume, oil = state.settings.substances.vessel.volume_ml, situation.facts.oil_ml
    if volume is None or oil is None:
        return
    share = limit_table()["freeboard"].number("most")
    top = volume * share / 100.0
    if oil > top:
        yield finding(
            "warn",
            "limits.freeboard",
            rule="freeboard",
            value=Amount(oil, "mL"),
            top=Amount(top, "mL"),
            share=share,
            volume=Amount(volume, "mL"),
        )


def proven_charge_g(state: CampaignState) -> float | None:
    """Return the largest charge in g that came out clean, None where none is known."""
    batch = batch_factor(state)
    per = grams_per(batch.unit) if batch is not None else None
    charges = {jar.id: jar.charge_g for jar in state.jars}
    largest = None
    for attempt in state.attempts:
        charge = attempt.masses.charge_g
        if not charge and batch is not None and per is not None:
            value = attempt.conditions.number(batch.name)
            charge = None if value is None else value * per
        charge = charge or charges.get(attempt.jar_id or "")
        if not charge or (largest is not None and charge <= largest):
            continue  # most attempts end here, and how they came out takes longer to ask
        count = attempt.clean_count
        if count is not None and count[0]:
            largest = charge
    return largest


def batch_findings(state: CampaignState, situation: Situation, proven_g: float | None) -> Iterator[Finding]:
    """Warn of a charge far above the largest that came out clean."""
    charge, times = charge_of(state, situation), limit_table()["batch"].number("most")
    if charge is None or proven_g is None or charge <= times * proven_g:
        return
    yield finding(
        "warn",
        "limits.batch",
        rule="batch",
        value=Amount(charge, "g"),
        proven=Amount(proven_g, "g"),
        times=times,
    )


# --------------------------------------------------------------------------------------------------- breaks


def break_findings(state: CampaignState, now: datetime) -> tuple[Finding, ...]:
    """Return the notes that ask for a break before a hot run that begins at ``now``.

    Counted are the attempts of the same local day that have a start, aborted ones too, struck-out ones not. An
    attempt ends when it was recorded, where that was soon after its start; otherwise its end is not known and its
    start stands for it.
    """
    rule = limit_table()["session_length"]
    at = as_utc(now)
    runs = _runs_before(state, at)
    today = at.astimezone().date()
    count = sum(start.astimezone().date() == today for start, _ in runs)
    found = []
    if count + 1 > rule.number("runs"):
        found.append(
            finding("note", "limits.many_runs", rule=rule.key, count=f"{count}", most=f"{rule.number('runs'):.0f}")
        )
    since = _working_since(runs, at, timedelta(minutes=rule.number("gap")))
    worked_h = (at - since).total_seconds() / 3600.0
    if worked_h > rule.number("without"):
        found.append(
            finding(
                "note",
                "limits.no_break",
                rule=rule.key,
                worked=Amount(worked_h, "h"),
                gap=Amount(rule.number("gap"), "min"),
            )
        )
    return tuple(found)


def _runs_before(state: CampaignState, at: datetime) -> list[tuple[datetime, datetime]]:
    """Return start and end of the hot runs of the last day before ``at``, newest first."""
    runs = []
    for attempt in islice(reversed(state.attempts), _MOST_LOOKED_AT):
        start = attempt.started_at
        if start is not None and not attempt.is_struck and start < at and at - start < timedelta(days=1):
            runs.append((start, min(_end(attempt, start), at)))
    return sorted(runs, reverse=True)


def _end(attempt: Attempt, start: datetime) -> datetime:
    ended = attempt.recorded_at
    longest = timedelta(hours=limit_table()["session_length"].number("without"))
    return ended if ended is not None and start <= ended <= start + longest else start


def _working_since(runs: list[tuple[datetime, datetime]], at: datetime, gap: timedelta) -> datetime:
    since = at
    for start, end in runs:
        if since - end >= gap:
            break
        since = start
    return since
