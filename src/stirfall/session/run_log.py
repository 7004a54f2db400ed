"""The log of a run: every event with its true time, every step as planned and as it was; pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.ages import stamp
from stirfall.bench.running import Run, RunEvent, Step
from stirfall.session.run_timing import Stretch, TrueTimes, began_at, path_of, stirring, walked_on


@dataclass(frozen=True)
class LoggedEvent:
    """One event: ``seconds`` are true seconds since the run began, ``into_step_s`` since its step began."""

    event: RunEvent
    seconds: float
    step: Step
    into_step_s: float


@dataclass(frozen=True)
class LoggedStep:
    """One step as planned and as it was; ``took_s`` is None while it goes on, or where a break leaves it open."""

    step: Step
    began_at: datetime
    planned_s: float | None
    target_c: float | None
    took_s: float | None


def logged_events(run: Run) -> tuple[LoggedEvent, ...]:
    """Return every event of a run in its order, also of steps that were gone back over."""
    times, found = TrueTimes(run), []
    path: tuple[Stretch, ...] = ()
    for event in run.events:
        path = walked_on(path, event)
        here = path[-1] if path else path_of(run)[0]
        seconds = times.of(event)
        found.append(LoggedEvent(event, seconds, here.step, seconds - times.of(here.began if path else None)))
    return tuple(found)


def logged_steps(run: Run) -> tuple[LoggedStep, ...]:
    """Return the steps that were walked, the last of an open run without an end."""
    path, times, made = path_of(run), TrueTimes(run), []
    for place, here in enumerate(path):
        after = path[place + 1] if place + 1 < len(path) else None
        planned = run.planned(here.step)
        took = None if after is None else times.of(after.began) - times.of(here.began)
        if took is not None and here.step is Step.STIR:
            told = stirring(run, here, took, after)
            took = told.seconds if told.is_known else None
        made.append(
            LoggedStep(
                here.step,
                began_at(run, here),
                planned.seconds if planned is not None else None,
                planned.target_c if planned is not None else None,
                took,
            )
        )
    return tuple(made)


def event_values(event: RunEvent) -> Mapping[str, object]:
    """Return what an event says as plain values for a JSON document."""
    return {
        "at": stamp(event.at),
        "kind": event.kind.value,
        "word": event.word,
        "value": event.value,
        "text": event.text,
    }
