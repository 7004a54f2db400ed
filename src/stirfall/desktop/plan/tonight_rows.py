"""From the plan of an evening to the rows that the section "Tonight" shows: pure, without widgets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.units import format_quantity, human_time
from stirfall.desktop.odds.phrases import conditions_text, joined
from stirfall.desktop.plan.tonight_state import (
    DAYS,
    DONE,
    GONE,
    NEXT_UP,
    TO_DO,
    Chance,
    DecisionLine,
    StartLine,
    TimetableLine,
)
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, counted, percent, span
from stirfall.session.forecast_evenings import MONTHS, local, local_day, said_moment

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.plans import EveningPlan
    from stirfall.session.tonight import JarToStart, OpenOrWait, Tonight
    from stirfall.session.tonight_progress import PlanLine

_LONG_BREAK_H = 0.01


def chance_of(estimate: Estimate | None) -> Chance | None:
    """Write an estimate; None stays None."""
    if estimate is None:
        return None
    shares = (float(estimate.lower), float(estimate.mean), float(estimate.upper))
    return Chance(percent(estimate.mean), span(estimate.lower, estimate.upper), basis(estimate), shares)


def said(reason: Reason, decimal: str) -> str:
    """Write a reason as its sentence."""
    return sentence(reason.code, reason.params, decimal=decimal)


def clock(moment: datetime, tz: tzinfo | None = None) -> str:
    """Write the local time of day."""
    return f"{local(moment, tz):%H:%M}"


def title_of(begins_at: datetime, now: datetime, tz: tzinfo | None = None) -> str:
    """Name the evening: "Tonight, 18:00", "Tomorrow 18:00", "Thu 18:00"."""
    if local_day(begins_at, tz) == local_day(now, tz):
        return sentence("plan_page.title_today", {"clock": clock(begins_at, tz)})
    when = said_moment(begins_at, now, tz)
    return f"{when[:1].upper()}{when[1:]}"


def date_of(begins_at: datetime, tz: tzinfo | None = None) -> str:
    """Write the local date of an evening as it stands on paper: "Tue 1 Dec 2026"."""
    day = local(begins_at, tz)
    return f"{DAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1]} {day.year}"


# -- the timetable ---------------------------------------------------------------------------------


def drawn_lines(tonight: Tonight, state: CampaignState, decimal: str) -> tuple[TimetableLine, ...]:
    """Return the lines of a plan that was just worked out."""
    pauses = {pause.before: said(pause.reason, decimal) for pause in tonight.pauses}
    lengths = {pause.before: pause.ends_h - pause.starts_h for pause in tonight.pauses}
    return tuple(
        TimetableLine(
            place=each.order,
            clock=clock(each.starts_at),
            jar=each.jar_id,
            lot=each.lot_id,
            values=_values(each.conditions, state, decimal),
            chance=chance_of(each.probability),
            purpose=each.purpose,
            why=said(each.reason, decimal),
            conditions=each.conditions,
            pause=_pause(lengths.get(each.order, 0.0), pauses.get(each.order, ""), decimal),
            outside=_outside(each.outside_tried),
        )
        for each in tonight.openings
    )


def kept_lines(
    plan: EveningPlan,
    lines: Sequence[PlanLine],
    state: CampaignState,
    *,
    estimates: Mapping[int, Estimate],
    attempt_h: float,
    decimal: str,
) -> tuple[TimetableLine, ...]:
    """Return the lines of a plan that was kept, with what became of each; ``estimates`` are by place."""
    turn = next((line.place for line in lines if not line.is_done), None)
    found = []
    ends_h = 0.0
    for line in lines:
        planned = line.planned
        gap = planned.starts_h - ends_h if line.place else 0.0
        ends_h = planned.starts_h + attempt_h
        found.append(
            TimetableLine(
                place=line.place + 1,
                clock=clock(plan.begins_at + timedelta(hours=planned.starts_h)),
                jar=planned.jar_id or "",
                lot=planned.lot_id or "",
                values=_values(planned.conditions, state, decimal),
                chance=chance_of(estimates.get(line.place)) if not line.is_done else None,
                purpose=planned.purpose,
                why=planned.why,
                conditions=planned.conditions,
                status=_status(line, turn),
                became=_became(line),
                pause=_pause(gap, "", decimal),
            )
        )
    return tuple(found)


def _status(line: PlanLine, turn: int | None) -> str:
    if line.is_done:
        return DONE if line.attempt is not None else GONE
    return NEXT_UP if line.place == turn else TO_DO


def _became(line: PlanLine) -> str:
    if line.attempt is not None:
        return sentence("plan_page.done", {"number": line.attempt.number, "outcome": line.attempt.outcome.value})
    return sentence("plan_page.gone") if line.is_gone else ""


def total_of(count: int, begins_at: datetime, ends_at: datetime, hours: float, decimal: str) -> str:
    """Say how many attempts there are and how long they take of the hours that are free."""
    params = {
        "attempts": counted(count),
        "from": clock(begins_at),
        "to": clock(ends_at),
        "taken": human_time((ends_at - begins_at).total_seconds() / 3600.0, "h", decimal=decimal),
        "free": human_time(hours, "h", decimal=decimal),
    }
    return sentence("plan_page.total", params)


def _values(conditions: Conditions, state: CampaignState, decimal: str) -> tuple[tuple[str, str], ...]:
    return conditions_text(state.visible_factors, conditions, decimal=decimal)


def _pause(hours: float, why: str, decimal: str) -> str:
    if hours < _LONG_BREAK_H:
        return ""
    return sentence("plan_page.break", {"time": human_time(hours, "h", decimal=decimal), "why": why}).strip()


def _outside(names: tuple[str, ...]) -> str:
    return sentence("odds.not_tried_here", {"factors": joined(list(names))}) if names else ""


# -- open now or wait, and what to start -----------------------------------------------------------


def decision_lines(decisions: Sequence[OpenOrWait], now: datetime, decimal: str) -> tuple[DecisionLine, ...]:
    """Return one line per jar of the shelf."""
    return tuple(
        DecisionLine(
            jar=each.jar_id,
            lot=each.lot_id,
            now=chance_of(each.now),
            later=chance_of(each.later),
            when="" if each.later_at is None or each.later is None else said_moment(each.later_at, now),
            verdict=each.verdict,
            why=said(each.reason, decimal),
        )
        for each in decisions
    )


def start_lines(starts: Sequence[JarToStart], now: datetime, decimal: str) -> tuple[StartLine, ...]:
    """Return one line per jar to start."""
    return tuple(
        StartLine(
            lot=each.lot_id,
            when=sentence("plan_page.start_now") if each.is_now else said_moment(each.start_at, now),
            age=human_time(each.age_h, "h", decimal=decimal),
            filled=_filled(each, decimal),
            chance=chance_of(each.probability),
            why=said(each.reason, decimal),
            is_now=each.is_now,
        )
        for each in starts
    )


def _filled(start: JarToStart, decimal: str) -> str:
    """Say how the jar is filled; what nothing tells is said to be open."""
    parts = [
        format_quantity(start.charge_g, "g", decimal=decimal) if start.charge_g is not None else "not weighed",
        f"{format_quantity(start.oil_depth_mm, 'mm', decimal=decimal)} of oil"
        if start.oil_depth_mm is not None
        else "oil depth not known",
        f"lid {start.lid}" if start.lid else "lid not known",
    ]
    return ", ".join(parts)
