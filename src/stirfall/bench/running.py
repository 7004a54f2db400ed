"""A guided run: its steps from jar to result, and what happened when; frozen values, pure functions, no clock."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from math import isfinite

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions


class Step(StrEnum):
    """The steps of a run, in their order; a run without an additive leaves that one out."""

    CHECKS = "checks"
    HEAT = "heat"
    HOLD = "hold"
    ADDITIVE = "additive"
    STIR = "stir"
    SETTLE = "settle"
    COOL = "cool"
    LIFT = "lift"
    GRADE = "grade"
    WEIGH = "weigh"
    CLOSE = "close"


class EventKind(StrEnum):
    """What an event of a run tells."""

    STEP = "step"  # a step was begun: ``step``
    MARK = "mark"  # something was seen: ``word`` is one of MARKS or the person's own
    READING = "reading"  # a thermometer was read: ``value`` in °C
    ANSWER = "answer"  # a question after a break was answered: ``word`` the question, ``text`` the answer
    GRADE = "grade"  # a grade was given: ``word`` is a class of the outcome
    LEFT = "left"  # the program was closed in good order
    RESUMED = "resumed"  # the run was taken up again: ``value`` the seconds that the program was away
    CLOCK = "clock"  # the clock of the computer was changed: ``value`` the seconds it jumped
    TICK = "tick"  # a line of the checks or of the closing list was ticked: ``word``
    NOTE = "note"  # words: ``text``


FIRST_POWDER, FIRST_MERGING, SMOKE, SPILL, OTHER_MARK = "first powder", "first merging", "smoke", "spill", "moment"
MARKS = (FIRST_POWDER, FIRST_MERGING, SMOKE, SPILL, OTHER_MARK)
ALARMING_MARKS = (SMOKE, SPILL)


@dataclass(frozen=True)
class Moment:
    """A point in time: ``at`` by the clock (UTC), ``ticks_s`` by a counter that nobody can set.

    The counter runs on while the computer sleeps and starts anew with each ``boot``; "" means that none is known.
    """

    at: datetime
    ticks_s: float | None = None
    boot: str = ""


def seconds_between(first: Moment, second: Moment) -> float:
    """Return the true seconds from ``first`` to ``second``: by the counter within one boot, else by the clock."""
    if first.boot and first.boot == second.boot and first.ticks_s is not None and second.ticks_s is not None:
        return second.ticks_s - first.ticks_s
    return (second.at - first.at).total_seconds()


@dataclass(frozen=True)
class PlannedStep:
    """One step as planned: how long it should take, and at which temperature; None means that nothing is set."""

    step: Step
    seconds: float | None = None
    target_c: float | None = None
    text: str = ""

    def __post_init__(self) -> None:
        """Make plain values and check them; raises InputError ``run.*``."""
        object.__setattr__(self, "step", Step(self.step))
        for name in ("seconds", "target_c"):
            value = getattr(self, name)
            if value is None:
                continue
            object.__setattr__(self, name, float(value))
            if not isfinite(value) or (name == "seconds" and value < 0):
                raise InputError("run.impossible", name=name, value=f"{float(value):g}")


@dataclass(frozen=True)
class RunEvent:
    """One thing that happened in a run; which fields say something depends on the kind (see ``EventKind``)."""

    id: str
    run_id: str
    kind: EventKind
    at: datetime
    step: str = ""
    word: str = ""
    value: float | None = None
    text: str = ""
    ticks_s: float | None = None
    boot: str = ""

    @property
    def moment(self) -> Moment:
        """When it happened, by clock and counter."""
        return Moment(self.at, self.ticks_s, self.boot)


@dataclass(frozen=True)
class Run:
    """One guided run at planned ``conditions``; ``events`` in the order in which they were written.

    ``attempt_id`` is the attempt that it was recorded as. The run is over when ``ended_at`` is set, which says
    that the closing list was worked through, or that the run was given up with ``end_reason``.
    """

    id: str
    started_at: datetime
    conditions: Conditions = field(default_factory=Conditions)
    steps: tuple[PlannedStep, ...] = ()
    jar_id: str | None = None
    lot_id: str | None = None
    attempt_id: str | None = None
    ended_at: datetime | None = None
    end_reason: str = ""
    events: tuple[RunEvent, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether the run still waits for its end."""
        return self.ended_at is None

    @property
    def current(self) -> RunEvent | None:
        """The beginning of the step that the run is at, None before the first."""
        return next((event for event in reversed(self.events) if event.kind is EventKind.STEP), None)

    def planned(self, step: str) -> PlannedStep | None:
        """Return a step as planned, None where the run has no such step."""
        return next((each for each in self.steps if each.step == step), None)

    def marks(self) -> tuple[RunEvent, ...]:
        """Return what was marked, the first first."""
        return tuple(event for event in self.events if event.kind is EventKind.MARK)

    def readings(self) -> tuple[RunEvent, ...]:
        """Return the thermometer readings, the first first."""
        return tuple(event for event in self.events if event.kind is EventKind.READING)


@dataclass(frozen=True)
class Regrade:
    """A second grading of an attempt, made blind: by its photos alone, with the conditions hidden."""

    id: str
    attempt_id: str
    at: datetime
    outcome: str


@dataclass(frozen=True)
class Acknowledgement:
    """That an alarm was seen and quieted; ``key`` names the alarm for good."""

    id: str
    key: str
    at: datetime


@dataclass(frozen=True)
class TemperatureLog:
    """What a logger wrote during an attempt: pairs of moment (UTC) and °C, rising in time."""

    id: str
    attempt_id: str
    name: str
    added_at: datetime
    points: tuple[tuple[datetime, float], ...] = ()
