"""Guided runs and second grades as tables of the open text form; a package without any has no such files."""

from __future__ import annotations

from typing import cast

from stirfall.bench.factors import Conditions, Value
from stirfall.bench.outcomes import Outcome
from stirfall.bench.running import EventKind, PlannedStep, Regrade, Run, RunEvent
from stirfall.storage.package_cells import (
    ID,
    LIST,
    MAYBE_ID,
    MAYBE_NUMBER,
    MAYBE_TIME,
    OBJECT,
    TEXT,
    TIME,
    one_of,
)
from stirfall.storage.package_tables import Row, Table, columns


def _run_row(run: Run) -> Row:
    return vars(run) | {
        "conditions": dict(run.conditions),
        "steps": [vars(step) | {"step": str(step.step)} for step in run.steps],
    }


def _run(row: Row) -> Run:
    steps = cast("list[dict[str, object]]", row["steps"])
    conditions = cast("dict[str, Value]", row["conditions"])
    values = dict(row) | {
        "steps": tuple(PlannedStep(**step) for step in steps),  # type: ignore[arg-type]
        "conditions": Conditions(conditions),
    }
    return Run(**values)  # type: ignore[arg-type]


RUNS = Table(
    "runs",
    columns(
        ("id", ID, "Identity of the run."),
        ("started_at", TIME, "When it was begun, UTC."),
        ("conditions", OBJECT, "The conditions as planned, JSON."),
        ("steps", LIST, "The steps as planned, a JSON array: step, seconds, target_c, text."),
        ("jar_id", MAYBE_ID, "The jar."),
        ("lot_id", MAYBE_ID, "The lot."),
        ("attempt_id", MAYBE_ID, "The attempt that it was recorded as."),
        ("ended_at", MAYBE_TIME, "When its closing list was done, or when it was given up, UTC."),
        ("end_reason", TEXT, "Why it was given up; empty: it was finished."),
    ),
    _run_row,
    _run,
    key="id",
    links=(("jar_id", "jars"), ("lot_id", "lots"), ("attempt_id", "attempts")),
)

RUN_EVENTS = Table(
    "run_events",
    columns(
        ("id", ID, "Identity of the event."),
        ("run_id", ID, "The run."),
        ("kind", one_of(EventKind), "What the event tells."),
        ("at", TIME, "When it happened by the clock, UTC."),
        ("step", TEXT, "The step that was begun, or in which it happened."),
        ("word", TEXT, "What was marked, graded, asked or ticked."),
        ("value", MAYBE_NUMBER, "Degrees Celsius of a reading; seconds of a break or of a change of the clock."),
        ("text", TEXT, "Words."),
        ("ticks_s", MAYBE_NUMBER, "Seconds by a counter that nobody can set."),
        ("boot", TEXT, "Which run of that counter."),
    ),
    vars,
    lambda row: RunEvent(**row),  # type: ignore[arg-type]
    key="id",
    links=(("run_id", "runs"),),
)

REGRADES = Table(
    "second_grades",
    columns(
        ("id", ID, "Identity of the second grade."),
        ("attempt_id", ID, "The attempt."),
        ("at", TIME, "When it was graded again, UTC."),
        ("outcome", one_of(Outcome), "The class that was given blind."),
    ),
    vars,
    lambda row: Regrade(**(dict(row) | {"outcome": str(row["outcome"])})),  # type: ignore[arg-type]
    key="id",
    links=(("attempt_id", "attempts"),),
)
