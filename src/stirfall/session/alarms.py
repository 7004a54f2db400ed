"""What calls for the person now: windows that open and close, jars to start, use-by dates, residue, the open run.

All follows from the file, the forecasts and the time, so that no restart and no sleep of the computer loses any.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

from stirfall.bench.ages import as_utc
from stirfall.planning.limits_exposure import is_alarming
from stirfall.session.alarm import RANKS, RUN, SHELF, Alarm, Rank, most_urgent_first
from stirfall.session.alarm_rules import MISSED_FOR, rules

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.forecast import JarForecast

__all__ = ["RANKS", "RUN", "SHELF", "Alarm", "Rank", "alarms", "most_urgent_first", "still_shown"]

WINDOW_CLOSED = "alarm.window_closed"
_WINDOW_CODES = ("alarm.window_open", "alarm.window_open_until", "alarm.window_closing", WINDOW_CLOSED)
_GRAVER = ("alarm.inspect", "alarm.do_not_open")


def alarms(
    state: CampaignState,
    forecasts: Mapping[str, JarForecast],
    now: datetime,
    run_alarms: Sequence[Alarm] = (),
    *,
    tz: tzinfo | None = None,
) -> tuple[Alarm, ...]:
    """Return what calls for the person at ``now``, most urgent first, without what was seen already.

    First by rank, then by how long it is due, then by key. ``run_alarms`` are those of the open run. ``tz`` None is
    the zone of the computer.
    """
    found = [*rules(state, forecasts, as_utc(now), tz)]
    seen = {each.key for each in state.acknowledged}
    return most_urgent_first([*found, *(each for each in run_alarms if each.key not in seen)])


def still_shown(
    before: Sequence[Alarm], after: Sequence[Alarm], state: CampaignState, now: datetime
) -> tuple[Alarm, ...]:
    """Return the alarms to show: those of ``after``, and windows of ``before`` that only the forecast took away.

    What a person may be reading must not vanish under the eyes because new attempts moved the window: it stays,
    marked as changed, until it is seen, its jar leaves the shelf, or something graver is said of the jar. A window
    that closed unseen is told of for two days at most. Nothing is kept of a superoxide former.
    """
    if not state.settings.material.may_lengthen_age:
        return most_urgent_first(after)
    there = {each.about for each in after}
    in_hand = None if state.open_run is None else state.open_run.jar_id
    jars = {jar.id for jar in state.shelf if not is_alarming(state.settings, jar.look)} - {in_hand}
    seen = {each.key for each in state.acknowledged}
    told = {each.target for each in after if each.code in (*_WINDOW_CODES, *_GRAVER)}
    kept = [
        replace(each, is_changed=True)
        for each in before
        if each.code in _WINDOW_CODES
        and each.about not in there
        and each.target in jars
        and each.target not in told
        and each.key not in seen
        and not (each.code == WINDOW_CLOSED and as_utc(now) - each.due_at > MISSED_FOR)
    ]
    return most_urgent_first([*after, *kept])
