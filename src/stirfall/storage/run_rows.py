"""Rows of guided runs, second grades, acknowledged alarms and temperature logs, and back."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta
from typing import cast

from stirfall.bench.ages import read_stamp, stamp
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome
from stirfall.bench.running import (
    Acknowledgement,
    EventKind,
    PlannedStep,
    Regrade,
    Run,
    RunEvent,
    TemperatureLog,
)
from stirfall.storage.rows import Row, read_moment, stamped
from stirfall.storage.values import to_json

RUN_COLUMNS = "id, started_at, conditions, steps, jar_id, lot_id, attempt_id, ended_at, end_reason"
EVENT_COLUMNS = "id, run_id, kind, at, step, word, value, text, ticks_s, boot"
REGRADE_COLUMNS = "id, attempt_id, at, outcome"
ACKNOWLEDGEMENT_COLUMNS = "id, key, at"
LOG_COLUMNS = "id, attempt_id, name, added_at, points"


def run_row(run: Run) -> Row:
    """Return the row of a run; its events have rows of their own."""
    return (
        run.id,
        stamp(run.started_at),
        to_json(run.conditions),
        to_json([vars(step) for step in run.steps]),
        run.jar_id,
        run.lot_id,
        run.attempt_id,
        stamped(run.ended_at),
        run.end_reason,
    )


def read_run(row: Row) -> Run:
    """Return the run of a row, without its events."""
    run_id, started_at, conditions, steps, jar_id, lot_id, attempt_id, ended_at, reason = row
    return Run(
        str(run_id),
        read_stamp(str(started_at)),
        Conditions(json.loads(str(conditions))),
        tuple(PlannedStep(**step) for step in json.loads(str(steps))),
        cast("str | None", jar_id),
        cast("str | None", lot_id),
        cast("str | None", attempt_id),
        read_moment(cast("str | None", ended_at)),
        str(reason),
    )


def with_events(runs: Iterable[Run], events: Iterable[RunEvent]) -> tuple[Run, ...]:
    """Return the runs, each with its events in the order given."""
    by_run: dict[str, list[RunEvent]] = {}
    for event in events:
        by_run.setdefault(event.run_id, []).append(event)
    return tuple(replace(run, events=tuple(by_run.get(run.id, ()))) for run in runs)


def event_row(event: RunEvent) -> Row:
    """Return the row of an event."""
    return (
        event.id,
        event.run_id,
        str(event.kind),
        stamp(event.at),
        event.step,
        event.word,
        event.value,
        event.text,
        event.ticks_s,
        event.boot,
    )


def read_event(row: Row) -> RunEvent:
    """Return the event of a row."""
    event_id, run_id, kind, at, step, word, value, text, ticks, boot = row
    return RunEvent(
        str(event_id),
        str(run_id),
        EventKind(str(kind)),
        read_stamp(str(at)),
        str(step),
        str(word),
        cast("float | None", value),
        str(text),
        cast("float | None", ticks),
        str(boot),
    )


def regrade_row(regrade: Regrade) -> Row:
    """Return the row of a second grade."""
    return regrade.id, regrade.attempt_id, stamp(regrade.at), regrade.outcome


def read_regrade(row: Row) -> Regrade:
    """Return the second grade of a row."""
    regrade_id, attempt_id, at, outcome = row
    return Regrade(str(regrade_id), str(attempt_id), read_stamp(str(at)), Outcome(str(outcome)).value)


def acknowledgement_row(seen: Acknowledgement) -> Row:
    """Return the row of an alarm that was seen."""
    return seen.id, seen.key, stamp(seen.at)


def read_acknowledgement(row: Row) -> Acknowledgement:
    """Return the seen alarm of a row."""
    seen_id, key, at = row
    return Acknowledgement(str(seen_id), str(key), read_stamp(str(at)))


def log_row(log: TemperatureLog) -> Row:
    """Return the row of a temperature log; its points are seconds after the first one and °C."""
    first = log.points[0][0] if log.points else None
    points: dict[str, object] = {"first": first and stamp(first), "s": [], "c": []}
    if first is not None:
        points["s"] = [round((at - first).total_seconds(), 3) for at, _ in log.points]
        points["c"] = [float(value) for _, value in log.points]
    # These are plain numbers already, and there may be a hundred thousand of them.
    text = json.dumps(points, separators=(",", ":"), allow_nan=False)
    return log.id, log.attempt_id, log.name, stamp(log.added_at), text


def read_log(row: Row) -> TemperatureLog:
    """Return the temperature log of a row."""
    log_id, attempt_id, name, added_at, text = row
    told = json.loads(str(text))
    points: tuple[tuple[object, float], ...] = ()
    if told["first"] is not None:
        first = read_stamp(told["first"])
        points = tuple((first + timedelta(seconds=s), c) for s, c in zip(told["s"], told["c"], strict=True))
    return TemperatureLog(str(log_id), str(attempt_id), str(name), read_stamp(str(added_at)), points)  # type: ignore[arg-type]
