"""A run at one moment: which step, how long, what was seen, what blocks the way; pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.materials import MaterialClass
from stirfall.bench.running import (
    ALARMING_MARKS,
    EventKind,
    Moment,
    Run,
    RunEvent,
    Step,
)
from stirfall.bench.units import Amount
from stirfall.planning.findings import Finding
from stirfall.planning.limits import lift_findings, live_findings
from stirfall.session.run_closing import attempt_of_run, closing_list, first_open, given_up
from stirfall.session.run_look import Look
from stirfall.session.run_plan import notes_at_start, planned_additive
from stirfall.session.run_questions import answer_notes, due_questions
from stirfall.session.run_result import grade_of, hot_readings, last_cool_reading_c, reached_values
from stirfall.session.run_shown import (
    ClosingLine,
    Done,
    Mark,
    Question,
    ReachedValue,
    Reading,
    RunView,
)
from stirfall.session.run_steps import caution_keys, instructions
from stirfall.session.run_timing import (
    began_at,
    events_in,
)

__all__ = ["ClosingLine", "Done", "Mark", "Question", "ReachedValue", "Reading", "RunView", "run_view"]

SCANNED_JAR = "jar"
"""The ANSWER event that a jar was scanned; its text is the jar."""
DANGER_OVER = "danger over"
"""The TICK event that what was marked as smoke or spill is over."""
COLD_WITHOUT = "cold without a thermometer"
"""The TICK event that the metal is cold, where there is no thermometer."""
COLD_WITHOUT_S = 3600.0
"""How long the heat must have been off for that; our proposal, no source. Only for a base metal."""
READ_AGAIN_S = 600.0
"""After how long without a reading of hot oil one is asked for; our proposal, no source."""
_HEATED = (Step.HEAT, Step.HOLD, Step.ADDITIVE, Step.STIR, Step.SETTLE)
_WATCHED = (Step.HEAT, Step.HOLD, Step.ADDITIVE, Step.STIR, Step.SETTLE, Step.COOL)
_NEXT_IS_HOT = (Step.HEAT, Step.HOLD, Step.ADDITIVE)
_MELTED = (Step.HOLD, Step.ADDITIVE, Step.STIR)
_WITH_RESULT = (Step.GRADE, Step.WEIGH, Step.CLOSE)


def run_view(state: CampaignState, run: Run, moment: Moment) -> RunView:
    """Return what a run shows at ``moment``."""
    return _Guarded(state, run, moment).view()


@dataclass(frozen=True)
class _Guarded(Look):
    """A look with everything that is to be said, and with what stands in the way."""

    def view(self) -> RunView:
        steps = tuple(each.step for each in self.run.steps)
        place = steps.index(self.step) if self.step in steps else 0
        material = self.state.settings.material
        with_result = self.step in _WITH_RESULT
        recorded = attempt_of_run(self.state, self.run)
        return RunView(
            run_id=self.run.id,
            material=material,
            jar_id=self.run.jar_id,
            lot_id=self.run.lot_id,
            started_at=self.run.started_at,
            step=self.step,
            number=place + 1,
            count=len(steps),
            title=Reason(f"run.title.{self.step.value}"),
            instructions=instructions(self.state, self.run, self.step),
            cautions=caution_keys(self.step, material),
            step_began_at=began_at(self.run, self.here),
            elapsed_s=int(self.elapsed),
            steps=steps,
            target_c=self.target_c,
            previous_step=self.path[-2].step if len(self.path) > 1 else None,
            next_step=steps[place + 1] if place + 1 < len(steps) else None,
            last_done=self.last_done(),
            marks=self.marks(),
            next_mark=self.next_mark(),
            reading=self.reading(),
            wants_reading=self.step in (*_WATCHED, Step.LIFT),
            may_lift_without=self.may_lift_without,
            dangers=tuple(Reason(f"run.danger.{word}") for word in self.dangers),
            dangers_at=tuple(self.dangers.values()),
            findings=self.findings,
            lift=self.lift,
            notes=self.notes(),
            additive_g=planned_additive(self.run)[1],
            grade=grade_of(self.run),
            questions=self.questions,
            blocked=self.blocked(),
            closing=self.closing,
            reached=reached_values(self.state, self.run) if with_result else (),
            given_up=given_up(self.run),
            attempt_id=recorded.id if recorded is not None else None,
            attempt_number=recorded.number if recorded is not None else None,
            **self.timer(),  # type: ignore[arg-type]  # the names of its fields
        )

    # -- limits and dangers ----------------------------------------------------------------------------

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the limits say about the last readings, while the metal may be hot."""
        if self.step not in _WATCHED:
            return ()
        readings = [
            (self.times.of(event) / 60.0, event.value) for event in self.run.readings() if event.value is not None
        ]
        planned = self.run.planned(Step.HEAT)
        set_c = planned.target_c if planned is not None else None
        # Without a set point only the ceilings of the oil can be broken.
        return live_findings(float("inf") if set_c is None else set_c, readings, self.state)

    @cached_property
    def lift(self) -> tuple[Finding, ...]:
        """What the limits say about lifting at the last reading since the cooling began."""
        reading = last_cool_reading_c(self.run)
        return () if reading is None else lift_findings(self.state, reading)

    @property
    def may_lift_without(self) -> bool:
        """Whether the metal may be lifted without a thermometer: a base metal, long after the heat went off."""
        cooling = next((stretch for stretch in self.path if stretch.step is Step.COOL), None)
        if cooling is None or self.state.settings.material is not MaterialClass.BASE_METAL:
            return False
        if last_cool_reading_c(self.run) is not None or self.step not in (Step.COOL, Step.LIFT):
            return False
        return self.now - self.times.of(cooling.began) >= COLD_WITHOUT_S

    @cached_property
    def dangers(self) -> dict[str, datetime]:
        """What was marked as smoke or spill and is not over, with its last mark; cooling down ends it as well."""
        told: dict[str, datetime] = {}
        for event in self.run.events:
            if event.kind is EventKind.MARK and event.word in ALARMING_MARKS:
                told[event.word] = event.at
            elif _ends_dangers(event):
                told = {}
        return told

    def notes(self) -> tuple[Reason, ...]:
        notes = [*self._break_notes(), *self._clock_notes(), *answer_notes(self.run)]
        if self.step is Step.CHECKS:
            at_start = notes_at_start(self.state, self.run.started_at)
            notes += [Reason(each.code, each.params) for each in at_start]
        if self.step in (Step.STIR, Step.SETTLE) and not hot_readings(self.run)[0]:
            notes.append(Reason("run.note.not_read"))
        elif self.step in _HEATED and self._is_long_unread():
            notes.append(Reason("run.note.read_again", {"most": Amount(READ_AGAIN_S, "s")}))
        if self.step is Step.COOL and self._needs_lift_reading() and not self._may_never_lift_without():
            notes.append(Reason("run.note.lift_without", {"least": Amount(COLD_WITHOUT_S, "s")}))
        notes += [Reason(each.code, each.params) for each in self.lift if each.level == "note"]
        return tuple(notes)

    def _break_notes(self) -> list[Reason]:
        away = [event.value or 0.0 for event in self.events if event.kind is EventKind.RESUMED]
        return [Reason("run.note.taken_up", {"away": Amount(max(away[-1], 0.0), "s")})] if away else []

    def _clock_notes(self) -> list[Reason]:
        jumps = [event.value or 0.0 for event in self.events if event.kind is EventKind.CLOCK]
        if not jumps:
            return []
        code = "run.note.clock_forward" if jumps[-1] > 0 else "run.note.clock_back"
        return [Reason(code, {"by": Amount(abs(jumps[-1]), "s")})]

    def _is_long_unread(self) -> bool:
        heated = next((stretch for stretch in self.path if stretch.step is Step.HEAT), self.here)
        last = max((self.times.of(event) for event in self.run.readings()), default=0.0)
        return self.now - max(last, self.times.of(heated.began)) > READ_AGAIN_S

    def _may_never_lift_without(self) -> bool:
        return self.state.settings.material is not MaterialClass.BASE_METAL

    # -- the way on ------------------------------------------------------------------------------------

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        return due_questions(self.run)

    @cached_property
    def closing(self) -> tuple[ClosingLine, ...]:
        return closing_list(self.state, self.run) if self.step is Step.CLOSE else ()

    def blocked(self) -> Reason | None:
        if self.questions:
            first = self.questions[0]
            return Reason("run.wait.questions", {"question": first.problem or first.text})
        if self.step is Step.CHECKS and (other := self._scanned_other()):
            return Reason("run.wait.jar", {"jar": other, "planned": self.run.jar_id})
        live = next((each for each in self.findings if each.level == "block"), None)
        if live is not None and self.step in _NEXT_IS_HOT:
            return Reason("run.wait.live", {"finding": Reason(live.code, live.params)})
        if self.step in (Step.COOL, Step.LIFT):
            return self._blocked_lift()
        if self.step is Step.GRADE and grade_of(self.run) is None:
            return Reason("run.wait.grade")
        line = first_open(self.closing)
        return Reason("run.wait.close", {"line": line.text}) if line is not None else None

    def _scanned_other(self) -> str:
        """Return the jar that was scanned last where it is not the jar of the run, "" where it is, or none was."""
        told = [e.text for e in self.run.events if e.kind is EventKind.ANSWER and e.word == SCANNED_JAR]
        is_other = bool(told) and self.run.jar_id is not None and told[-1].casefold() != self.run.jar_id.casefold()
        return told[-1] if is_other else ""

    def _blocked_lift(self) -> Reason | None:
        hot = next((each for each in self.lift if each.level == "block"), None)
        if hot is not None:
            return Reason("run.wait.lift", {"finding": Reason(hot.code, hot.params)})
        return Reason("run.wait.reading") if self._needs_lift_reading() else None

    def _needs_lift_reading(self) -> bool:
        """Whether nothing tells yet that the metal is cold: no reading, and no word that it is cold without one."""
        if last_cool_reading_c(self.run) is not None:
            return False
        if self.state.settings.material is not MaterialClass.BASE_METAL:
            return True
        cooling = next((stretch for stretch in self.path if stretch.step is Step.COOL), None)
        events = events_in(self.run, cooling) if cooling is not None else ()
        return not any(e.kind is EventKind.TICK and e.word == COLD_WITHOUT for e in events)


def _ends_dangers(event: RunEvent) -> bool:
    if event.kind is EventKind.STEP:
        return Step(event.step) in (Step.LIFT, *_WITH_RESULT)
    return event.kind is EventKind.TICK and event.word == DANGER_OVER
