"""The alarms of the open run: a danger that was marked or measured, and a step whose time is over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from stirfall.bench.estimates import Reason
from stirfall.bench.running import Moment
from stirfall.session.alarm import RUN, Alarm, Rank

if TYPE_CHECKING:
    from datetime import datetime

    from stirfall.bench.campaign import CampaignState
    from stirfall.session.run_shown import RunView


def alarms_of_open_run(state: CampaignState, now: datetime | Moment) -> tuple[Alarm, ...]:
    """Return what the open run calls for; nothing where there is none. A plain time is taken by the clock."""
    run = state.open_run
    if run is None:
        return ()
    from stirfall.session.run_view import run_view

    moment = now if isinstance(now, Moment) else Moment(now)
    return alarms_of_run(run_view(state, run, moment), moment.at)


def alarms_of_run(view: RunView, now: datetime) -> tuple[Alarm, ...]:
    """Return what a run calls for at ``now``; a danger says what to do, in the words of the run itself."""
    return (*_dangers(view, now), *_due(view))


def _dangers(view: RunView, now: datetime) -> Iterator[Alarm]:
    for reason, began in zip(view.dangers, view.dangers_at, strict=True):
        yield _alarm(view, f"{reason.code} {began.isoformat()}", "danger", began, reason)
    for found in view.findings:
        if found.level == "block":
            at = view.reading.at if view.reading is not None else now
            reason = Reason(found.code, found.params)
            yield _alarm(view, f"{found.code} {at.isoformat()}", "danger", at, reason)


def _due(view: RunView) -> Iterator[Alarm]:
    if view.is_due and view.due_at is not None:
        said = Reason("alarm.step_over", {"step": view.title})
        yield _alarm(view, f"step {view.step.value} {view.step_began_at.isoformat()}", "due", view.due_at, said)


def _alarm(view: RunView, what: str, rank: Rank, due_at: datetime, said: Reason) -> Alarm:
    key = f"run {view.run_id} {what}"
    return Alarm(key, rank, due_at, said.code, said.params, RUN, view.run_id)
