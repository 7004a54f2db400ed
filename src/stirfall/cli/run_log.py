"""``stirfall run``: the log of guided runs, each step as planned and as it was, each event with its true time."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.ages import stamp
from stirfall.bench.errors import InputError
from stirfall.bench.units import format_quantity
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.running import Run
    from stirfall.session.run_log import LoggedEvent, LoggedStep
    from stirfall.session.run_shown import ReachedValue

SCHEMA = "stirfall.run/1"


@click.command("run")
@session_argument
@click.option("--attempt", "number", type=click.IntRange(min=1), metavar="N", help="Only the run of this attempt.")
@json_option
def command(session: Path, *, number: int | None, as_json: bool) -> int:
    """Tell the guided runs of a session: one line each, or one of them with its steps and all that happened.

    Exit code 1 when a run is open: its closing list is not done.
    """
    with open_to_read(session) as document:
        state = document.state
        head = {"path": str(session), "title": state.settings.title, "invented": state.settings.invented}
        head["fingerprint"] = document.fingerprint
    runs = _chosen(state, number)
    if as_json:
        say_json({"schema": SCHEMA, "session": head, "runs": [_run_json(state, run) for run in runs]})
    elif number is not None:
        for line in _in_full(state, runs[0]):
            say(line)
    else:
        for run in runs:
            say(_one_line(state, run))
        if not runs:
            say("No guided run is in this session.")
    return int(any(run.is_open for run in runs))


def _chosen(state: CampaignState, number: int | None) -> list[Run]:
    if number is None:
        return list(state.runs)
    ids = {attempt.id for attempt in state.attempts if attempt.number == number}
    found = [run for run in state.runs if run.attempt_id in ids]
    if not found:
        raise InputError("run.none_of_attempt", number=number)
    return found


def _attempt_number(state: CampaignState, run: Run) -> int | None:
    return next((a.number for a in state.attempts if a.id == run.attempt_id), None)


def _one_line(state: CampaignState, run: Run) -> str:
    from stirfall.session.run_log import logged_steps

    number = _attempt_number(state, run)
    what = f"jar {run.jar_id}" if run.jar_id else "a charge without a jar"
    kept = f"attempt {number}" if number is not None else "not recorded"
    if run.is_open:
        end = f"open, at step {logged_steps(run)[-1].step.value}"
    else:
        end = f"given up: {run.end_reason}" if run.end_reason else "finished"
    return f"{stamp(run.started_at)}  {what}, {kept}, {end}"


def _in_full(state: CampaignState, run: Run) -> Iterator[str]:
    from stirfall.session.run_log import logged_events, logged_steps
    from stirfall.session.run_result import reached_values

    yield _one_line(state, run)
    yield ""
    yield "Steps"
    for step in logged_steps(run):
        yield f"  {_step_line(step)}"
    yield ""
    yield "What was reached"
    for value in reached_values(state, run):
        yield f"  {_reached_line(value)}"
    yield ""
    yield "Events, by true time since the run began"
    for each in logged_events(run):
        yield f"  {_event_line(each)}"


def _face(seconds: float) -> str:
    """Write whole seconds as minutes and seconds: no second of a run is rounded away."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"


def _step_line(step: LoggedStep) -> str:
    took = "not known" if step.took_s is None else f"{_face(step.took_s)} min"
    planned = "" if step.planned_s is None else f", planned {_face(step.planned_s)} min"
    target = "" if step.target_c is None else f", target {format_quantity(step.target_c, 'C')}"
    return f"{step.step.value}: {took}{planned}{target}"


def _reached_line(value: ReachedValue) -> str:
    def told(one: object) -> str:
        if one is None:
            return "unknown"
        return format_quantity(one, value.unit) if isinstance(one, float) else str(one)

    how = sentence(value.how.code, value.how.params)
    shown = "" if value.measured is None else f" {told(value.measured)},"
    return f"{value.factor}:{shown} planned {told(value.planned)} ({how})"


def _event_line(each: LoggedEvent) -> str:
    event = each.event
    unit = "C" if event.kind == "reading" else "s"  # all other values are times
    value = "" if event.value is None else f" {format_quantity(event.value, unit, digits=6)}"
    words = " ".join((event.step if event.kind == "step" else "", event.word, event.text))
    # A note may have lines of its own; here each event is one.
    return " ".join(f"{_face(each.seconds)} {event.kind.value} {words}".split()).replace(" ", "  ", 1) + value


def _run_json(state: CampaignState, run: Run) -> dict[str, object]:
    from stirfall.session.run_log import event_values, logged_events, logged_steps
    from stirfall.session.run_result import reached_values

    return {
        "id": run.id,
        "jar": run.jar_id,
        "lot": run.lot_id,
        "attempt": _attempt_number(state, run),
        "started_at": stamp(run.started_at),
        "ended_at": None if run.ended_at is None else stamp(run.ended_at),
        "end_reason": run.end_reason,
        "planned": dict(run.conditions),
        "steps": [
            {
                "step": step.step.value,
                "began_at": stamp(step.began_at),
                "planned_s": step.planned_s,
                "target_c": step.target_c,
                "took_s": step.took_s,
            }
            for step in logged_steps(run)
        ],
        "reached": [
            {
                "factor": value.factor,
                "unit": value.unit,
                "planned": value.planned,
                "measured": value.measured,
                "is_unknown": value.is_unknown,
                "how": value.how.code,
            }
            for value in reached_values(state, run)
        ],
        "events": [
            {
                "seconds": each.seconds,
                "step": each.step.value,
                "into_step_s": each.into_step_s,
                **event_values(each.event),
            }
            for each in logged_events(run)
        ],
    }
