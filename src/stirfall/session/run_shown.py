"""What a run shows at one moment, as frozen values; ``session.run_view`` makes them.

Everything said is a ``Reason``: a code and its parameters, whose sentence stands in ``reporting/sentences/run.py``.
Times are whole seconds, so that two views are equal until something that is shown has changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.running import Step
from stirfall.planning.findings import Finding


@dataclass(frozen=True)
class Mark:
    """Something that was marked: ``into_step_s`` whole seconds after its step began, ``at`` by the clock (UTC)."""

    id: str
    word: str
    at: datetime
    step: Step
    into_step_s: int
    is_alarming: bool = False


@dataclass(frozen=True)
class Reading:
    """The newest thermometer reading in °C, ``at`` by the clock (UTC), ``ago_s`` true seconds before now."""

    value_c: float
    at: datetime
    ago_s: int


@dataclass(frozen=True)
class Done:
    """The last thing that the person did: what, and when by the clock (UTC)."""

    what: Reason
    at: datetime


@dataclass(frozen=True)
class Question:
    """One question that a run which was taken up again must ask.

    ``key`` goes to ``RunModel.answer``; ``answers`` are the words that may be given, ``takes_time`` says that a
    time such as "2 min" is an answer too. A question that was answered in a way that cannot stand is asked again,
    with ``problem`` saying why.
    """

    key: str
    text: Reason
    answers: tuple[str, ...]
    takes_time: bool = False
    problem: Reason | None = None


@dataclass(frozen=True)
class ClosingLine:
    """One line of the closing list; ``options`` are the answers to choose from, none where a tick is enough.

    ``said`` is the answer that was given, ``at`` when; ``hint`` what is still to do before it can be ticked.
    """

    key: str
    text: Reason
    is_done: bool = False
    options: tuple[str, ...] = ()
    said: str = ""
    at: datetime | None = None
    hint: Reason | None = None


@dataclass(frozen=True)
class ReachedValue:
    """One condition as planned and as it was really reached; ``measured`` None: not measured, the plan stands.

    ``how`` says where the measured value is from. ``is_unknown`` says that neither is known to be true, so that
    the form leaves it open.
    """

    factor: str
    unit: str
    planned: Value | None
    measured: Value | None
    how: Reason
    is_unknown: bool = False


@dataclass(frozen=True)
class RunView:
    """A run at one moment.

    ``number`` of ``count`` says where the step stands. ``elapsed_s`` are the seconds that count towards
    ``target_s`` (for stirring: without the time that nobody stirred), ``remaining_s`` never negative, ``overdue_s``
    the seconds since the target was reached (0 before), ``due_at`` when by the clock. ``target_c`` is the
    temperature of this step. ``cautions`` are keys of the shipped cautions that matter for this very step.
    ``dangers`` name an act that is to be done now, ``dangers_at`` when each was marked.
    ``findings`` are what the limits say about the last readings,
    ``lift`` what they say about lifting the metal. ``blocked`` is what stands in the way of the next step, None
    when nothing does. ``next_mark`` is what Enter would mark, ``given_up`` the reason, "" for a run that goes on.
    """

    run_id: str
    material: MaterialClass
    jar_id: str | None
    lot_id: str | None
    started_at: datetime
    step: Step
    number: int
    count: int
    title: Reason
    instructions: tuple[Reason, ...]
    cautions: tuple[str, ...]
    step_began_at: datetime
    elapsed_s: int
    steps: tuple[Step, ...] = ()
    target_s: int | None = None
    remaining_s: int | None = None
    is_due: bool = False
    overdue_s: int = 0
    due_at: datetime | None = None
    target_c: float | None = None
    previous_step: Step | None = None
    next_step: Step | None = None
    last_done: Done | None = None
    marks: tuple[Mark, ...] = ()
    next_mark: str = ""
    reading: Reading | None = None
    wants_reading: bool = False
    may_lift_without: bool = False
    dangers: tuple[Reason, ...] = ()
    dangers_at: tuple[datetime, ...] = ()
    findings: tuple[Finding, ...] = ()
    lift: tuple[Finding, ...] = ()
    notes: tuple[Reason, ...] = ()
    additive_g: float | None = None
    grade: int | None = None
    questions: tuple[Question, ...] = ()
    blocked: Reason | None = None
    closing: tuple[ClosingLine, ...] = ()
    reached: tuple[ReachedValue, ...] = ()
    given_up: str = ""
    attempt_id: str | None = None
    attempt_number: int | None = None

    @property
    def is_danger(self) -> bool:
        """Whether something is to be done at once."""
        return bool(self.dangers) or any(found.level == "block" for found in self.findings)
