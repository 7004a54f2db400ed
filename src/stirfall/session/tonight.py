"""Tonight: which jars to open, in which order and under which conditions, and which jars to start."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from stirfall.bench.ages import as_utc
from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Reason
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.planning.evening import Pause, default_seed
from stirfall.planning.goals import Goal, read_goal
from stirfall.planning.next_attempts import knows_nothing
from stirfall.session.commands import SplitLot
from stirfall.session.forecast import forecast_jars
from stirfall.session.forecast_evenings import clock_words, local_day
from stirfall.session.tonight_calendar import choose_evening
from stirfall.session.tonight_choice import Choice
from stirfall.session.tonight_jars import Hands
from stirfall.session.tonight_openings import Asked, Openings, closed_jars, plan_openings
from stirfall.session.tonight_parts import (
    CLOSED,
    CONTROL,
    EITHER,
    NEXT,
    OPEN,
    PROOF,
    WAIT,
    JarToStart,
    Opening,
    OpenOrWait,
    Tonight,
)
from stirfall.session.tonight_starts import plan_starts
from stirfall.session.tonight_wait import decide

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.analysis import Analysis

__all__ = [
    "CLOSED",
    "CONTROL",
    "EITHER",
    "NEXT",
    "OPEN",
    "PROOF",
    "WAIT",
    "JarToStart",
    "OpenOrWait",
    "Opening",
    "Pause",
    "Tonight",
    "evening_plan",
    "plan_tonight",
    "start_commands",
]


def plan_tonight(
    analysis: Analysis,
    state: CampaignState,
    now: datetime,
    *,
    hours_free: float | None = None,
    goal: Goal | str = Goal.LEARN,
    seed: int | None = None,
    token: CancelToken | None = None,
    tz: tzinfo | None = None,
    begins_at: datetime | None = None,
) -> Tonight:
    """Return the plan of the evening; made for a worker thread. Same arguments, same answer.

    ``hours_free`` None: what the campaign says of its bench days; the evening is then the next one of these.
    Given, the work begins at the campaign's evening hour of today, or now where that is past, or at ``begins_at``.
    ``seed`` None: one that follows from the local day and the number of attempts. ``tz`` None is the zone of the
    computer. Raises InputError ``tonight.hours`` or ``plan.goal_unknown``, and Cancelled.
    """
    token = token or CancelToken()
    wanted, now = read_goal(goal), as_utc(now)
    effective = Goal.FIRST_DESIGN if knows_nothing(analysis.state) else wanted
    plan = state.settings.plan
    evening = choose_evening(plan, now, hours_free=hours_free, begins_at=begins_at, tz=tz)
    drawn = default_seed(local_day(evening.begins_at, tz), len(state.attempts)) if seed is None else seed
    blank = Tonight(now, evening.begins_at, evening.hours, plan.attempt_h, effective, drawn, notes=evening.notes)
    blocking = next((found for found in analysis.limits.findings if found.level == "block"), None)
    if blocking is not None or not analysis.limits.factors:
        why = Reason("plan.no_factors") if blocking is None else Reason(blocking.code, blocking.params)
        return replace(blank, blocked=why)
    hands = Hands(analysis, state, effective)
    if not hands.has_factors:
        return replace(blank, blocked=Reason("plan.no_factors"))
    forecasts = forecast_jars(analysis, state, now, token, evening_hour=plan.evening_hour, tz=tz)
    asked = Asked(state, now, evening, effective, drawn, token, tz, forecasts)
    closed = closed_jars(hands, asked)
    choice = Choice(hands, effective, now=now, seed=analysis.seed, token=token)
    opened = plan_openings(hands, choice, asked, closed)
    started = plan_starts(hands, choice, asked, closed, opened)
    decisions = decide(hands, asked, closed)
    return replace(
        blank,
        openings=opened.openings,
        pauses=opened.pauses,
        decisions=decisions,
        starts=started.starts,
        due_at=started.due_at,
        notes=(*evening.notes, *opened.notes, *_all_the_same(asked, opened, decisions), *started.notes),
    )


def _all_the_same(asked: Asked, opened: Openings, decisions: tuple[OpenOrWait, ...]) -> list[Reason]:
    """Say of each jar that is opened although a later evening would give it a better chance, that it is."""
    later = {each.jar_id: each.later_at for each in decisions if each.verdict == WAIT and each.later_at is not None}
    ends = asked.evening.ends_at
    return [
        Reason("tonight.opened_all_the_same", {"jar": one.jar_id, "when": clock_words(at, asked.now, asked.tz)})
        for one in opened.openings
        if (at := later.get(one.jar_id)) is not None and at > ends
    ]


def evening_plan(tonight: Tonight, words: Callable[[Reason], str]) -> EveningPlan:
    """Return the openings as a plan that the session can keep, each reason as the sentence that ``words`` makes."""
    lines = tuple(
        PlannedAttempt(each.conditions, each.jar_id, each.lot_id, each.purpose, words(each.reason), each.starts_h)
        for each in tonight.openings
    )
    return EveningPlan("", tonight.at, tonight.begins_at, tonight.hours, tonight.seed, lines)


def start_commands(starts: tuple[JarToStart, ...]) -> tuple[SplitLot, ...]:
    """Return the commands that start or plan these jars, one for each lot."""
    lots = dict.fromkeys(each.lot_id for each in starts)
    return tuple(SplitLot(lot, tuple(each.jar for each in starts if each.lot_id == lot)) for lot in lots)
