"""Commands of a guided run and of alarms."""

from __future__ import annotations

import math
import uuid
from dataclasses import replace

from stirfall.bench.errors import InputError
from stirfall.bench.running import Acknowledgement, EventKind, Run, RunEvent
from stirfall.bench.units import format_number
from stirfall.session import commands as c
from stirfall.session import validation as check
from stirfall.session.planned_parts import Planned, Surroundings
from stirfall.storage.edits import Edit


def plan_run_command(
    command: c.BeginRun | c.AddRunEvent | c.EndRun | c.Acknowledge, around: Surroundings
) -> Planned:
    """Return what such a command would write; raises InputError ``run.*``, ``jar.*`` or ``lot.unknown``."""
    match command:
        case c.BeginRun():
            return _begin(command, around)
        case c.AddRunEvent():
            return _add_event(command, around)
        case c.EndRun():
            return _end(command, around)
        case c.Acknowledge():
            return _acknowledge(command, around)


def _begin(command: c.BeginRun, around: Surroundings) -> Planned:
    state, given = around.state, command.run
    if state.open_run is not None:
        raise InputError("run.another_open", id=state.open_run.id)
    if not given.steps:
        raise InputError("run.no_steps")
    check.check_conditions(given.conditions, state.factors)
    lot_id = given.lot_id
    if given.jar_id is not None:
        jar = check.require_jar(state, given.jar_id)
        check.refuse_planned(jar)
        if lot_id not in (None, jar.lot_id):
            raise InputError("attempt.lot_differs", jar=jar.id, lot=lot_id, jar_lot=jar.lot_id)
        lot_id = jar.lot_id
    elif lot_id is not None:
        check.require_lot(state, lot_id)
    run = Run(
        given.id or uuid.uuid4().hex,
        check.kept_moment(around.now),
        given.conditions,
        given.steps,
        given.jar_id,
        lot_id,
    )
    of = f" of jar {run.jar_id}" if run.jar_id else ""
    return Planned(f"Begin the run{of}", (Edit(run.id, None, run),))


def _add_event(command: c.AddRunEvent, around: Surroundings) -> Planned:
    run = _require_open(command.event.run_id, around)
    moment = around.moment
    event = replace(
        command.event,
        id=uuid.uuid4().hex,
        kind=EventKind(command.event.kind),
        at=check.kept_moment(moment.at),
        ticks_s=moment.ticks_s,
        boot=moment.boot,
        value=None if command.event.value is None else float(command.event.value),
    )
    if event.value is None and event.kind is EventKind.READING:
        raise InputError("run.reading_impossible", value="nothing")
    if event.value is not None and not math.isfinite(event.value):
        raise InputError("run.reading_impossible", value=f"{event.value:g}")
    if event.kind is EventKind.STEP and run.planned(event.step) is None:
        raise InputError("run.step_unknown", step=event.step, known=", ".join(each.step for each in run.steps))
    by_itself = event.kind in (EventKind.LEFT, EventKind.RESUMED, EventKind.CLOCK)
    return Planned(event_name(event), (Edit(event.id, None, event),), belongs_to=run.id if by_itself else None)


def event_name(event: RunEvent) -> str:
    """Return the undo name of an event."""
    match event.kind:
        case EventKind.STEP:
            return f"Begin step {event.step}"
        case EventKind.MARK:
            return f"Mark {event.word}"
        case EventKind.READING:
            return f"Note {format_number(event.value or 0.0)} °C"
        case EventKind.GRADE:
            return f"Grade {event.word}"
        case EventKind.ANSWER:
            return f"Answer: {event.text}"
        case EventKind.TICK:
            return f"Tick {event.word}"
        case EventKind.NOTE:
            return "Note in the run"
        case EventKind.LEFT:
            return "Leave the run"
        case EventKind.RESUMED:
            return "Take up the run"
        case EventKind.CLOCK:
            return "Note that the clock was changed"


def _end(command: c.EndRun, around: Surroundings) -> Planned:
    run = _require_open(command.run_id, around)
    ended = replace(run, ended_at=check.kept_moment(around.now), end_reason=command.reason.strip())
    return Planned("End the run", (Edit(run.id, run, ended),))


def _require_open(run_id: str, around: Surroundings) -> Run:
    run = around.state.run(run_id)
    if run is None:
        raise InputError("run.unknown", id=run_id)
    if not run.is_open:
        raise InputError("run.over", id=run_id)
    return run


def _acknowledge(command: c.Acknowledge, around: Surroundings) -> Planned:
    key = check.require_text(command.key, "alarm.no_key")
    name = f"Seen: {command.what.strip() or key}"
    if any(seen.key == key for seen in around.state.acknowledged):
        return Planned(name, ())
    seen = Acknowledgement(uuid.uuid4().hex, key, check.kept_moment(around.now))
    return Planned(name, (Edit(seen.id, None, seen),))
