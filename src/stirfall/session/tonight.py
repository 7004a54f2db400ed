"""Tonight: which jars to open, in which order and under which conditions, and which jars to start."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Reason
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.planning.evening import Pause
from stirfall.planning.goals import Goal
from stirfall.session.commands import SplitLot
from stirfall.session.tonight_parts import (
    CLOSED,
    CONTROL,
    EITHER,
    NEXT,
    OPEN,
    WAIT,
    JarToStart,
    Opening,
    OpenOrWait,
    Tonight,
)

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.analysis import Analysis

__all__ = [
    "CLOSED",
    "CONTROL",
    "EITHER",
    "NEXT",
    "OPEN",
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
    raise NotImplementedError


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
