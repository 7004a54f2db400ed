"""Puts the state of the section "Tonight" together: pure, without widgets."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from stirfall.bench.units import human_time
from stirfall.desktop.plan.kept import plan_in_force
from stirfall.desktop.plan.tonight_asking import Answer, Asked
from stirfall.desktop.plan.tonight_rows import (
    date_of,
    decision_lines,
    drawn_lines,
    kept_lines,
    said,
    start_lines,
    title_of,
    total_of,
)
from stirfall.desktop.plan.tonight_state import TonightState
from stirfall.reporting.sentences import sentence
from stirfall.session.forecast_evenings import local_day, said_moment

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.plans import EveningPlan

_OF_STARTS = frozenset(
    {
        "tonight.no_starts",
        "tonight.starts_tell_nothing",
        "tonight.no_lot",
        "tonight.enough_jars",
        "tonight.no_age",
        "tonight.nothing_to_learn",
        "tonight.crude_needed",
        "tonight.crude_unknown",
        "tonight.thinner",
    }
)


def build_state(
    state: CampaignState,
    answer: Answer | None,
    asked: Asked,
    now: datetime,
    *,
    decimal: str,
    count: int | None,
    problem: str,
) -> TonightState:
    """Return what is shown of a plan; ``count`` are the jars to start, None all that are proposed."""
    usual = state.settings.plan
    hours = usual.evening_h if asked.hours is None else asked.hours
    common = {
        "evening": asked.evening,
        "hours": hours,
        "hours_text": human_time(hours, "h", decimal=decimal),
        "usual_hours": usual.evening_h,
        "goal": asked.goal,
        "has_evenings": now_is_no_bench_day(state, now),
    }
    plan = plan_in_force(state, now)
    parts: dict[str, object] = {**common, **_beside(answer, now, decimal, count)}
    if plan is not None:
        parts |= _kept(plan, state, answer, now, decimal)
    elif answer is not None:
        parts |= _drawn(answer, state, now, decimal)
    else:
        parts["message"] = problem or _waiting(state)
    return TonightState(**parts)  # type: ignore[arg-type]  # by name, each of the kind that the state holds


def now_is_no_bench_day(state: CampaignState, now: datetime) -> bool:
    """Whether "today" and "the next bench day" are two evenings, so that there is something to choose."""
    return local_day(now).isoweekday() not in state.settings.plan.bench_days


def _waiting(state: CampaignState) -> str:
    if not state.lots:
        return sentence("plan_page.no_lot")
    return sentence("plan_page.waiting")


def _kept(
    plan: EveningPlan, state: CampaignState, answer: Answer | None, now: datetime, decimal: str
) -> dict[str, object]:
    from stirfall.session.tonight_progress import plan_lines

    found = plan_lines(state, plan)
    attempt_h = state.settings.plan.attempt_h
    estimates = {} if answer is None else answer.kept
    lines = kept_lines(plan, found, state, estimates=estimates, attempt_h=attempt_h, decimal=decimal)
    last_h = plan.attempts[-1].starts_h if plan.attempts else 0.0
    ends_at = plan.begins_at + timedelta(hours=last_h + attempt_h)
    return {
        "title": title_of(plan.begins_at, now),
        "date": date_of(plan.begins_at),
        "lines": lines,
        "total": total_of(len(lines), plan.begins_at, ends_at, plan.hours, decimal),
        "seed": plan.seed,
        "is_kept": True,
        "is_finished": all(line.is_over for line in lines),
    }


def _drawn(answer: Answer, state: CampaignState, now: datetime, decimal: str) -> dict[str, object]:
    tonight = answer.tonight
    lines = drawn_lines(tonight, state, decimal)
    notes = _notes(answer, decimal, of_starts=False)
    message = ""
    if tonight.blocked is not None:
        message = said(tonight.blocked, decimal)
    elif not lines:  # then the notes say why, and stand where the timetable would
        message, notes = " ".join(notes) or sentence("plan_page.no_opening"), ()
    return {
        "title": title_of(tonight.begins_at, now),
        "date": date_of(tonight.begins_at),
        "message": message,
        "notes": notes,
        "lines": lines,
        "total": total_of(len(lines), tonight.begins_at, tonight.ends_at, tonight.hours, decimal) if lines else "",
        "seed": tonight.seed,
    }


def _notes(answer: Answer, decimal: str, *, of_starts: bool) -> tuple[str, ...]:
    """Return what there is to know about the openings, or about the jars to start."""
    about = (note for note in answer.tonight.notes if (note.code in _OF_STARTS) is of_starts)
    return tuple(said(note, decimal) for note in about)


def _beside(answer: Answer | None, now: datetime, decimal: str, count: int | None) -> dict[str, object]:
    """Return what stands below the timetable: open now or wait, and what to start."""
    if answer is None:
        return {}
    tonight = answer.tonight
    starts = tonight.starts if count is None else tonight.starts[:count]
    due = said_moment(tonight.due_at, now) if tonight.due_at is not None else ""
    return {
        "decisions": decision_lines(tonight.decisions, now, decimal),
        "starts": start_lines(starts, now, decimal),
        "starts_title": sentence("plan_page.starts_due", {"due": due}) if due and starts else "",
        "starts_notes": _notes(answer, decimal, of_starts=True),
        "start_count": len(starts),
        "start_most": len(tonight.starts),
    }
