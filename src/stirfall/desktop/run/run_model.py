"""The guided run without its widgets: intents in, one RunView out, every event written at once."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QObject

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.running import EventKind, Step
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.notifier import Notice
from stirfall.desktop.run.filling import bare_form, begun_form, graded_form
from stirfall.desktop.run.run_keeper import RunKeeper
from stirfall.desktop.workspace import Workspace
from stirfall.planning.findings import CloseAmount
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import BeginRun, EndRun
from stirfall.session.run_closing import (
    ATTEMPT,
    GIVE_UP,
    NOT_RECORDED,
    RECORDED,
    first_open,
    read_tick,
    was_heated,
)
from stirfall.session.run_plan import plan_run, refusal_to_begin
from stirfall.session.run_questions import read_answer
from stirfall.session.run_result import GRADES
from stirfall.session.run_timing import BACK
from stirfall.session.run_view import COLD_WITHOUT, DANGER_OVER, SCANNED_JAR, RunView

COLDEST_C, HOTTEST_C = -80.0, 700.0
"""What a thermometer in the oil can show; anything else is a slip of the hand. Our proposal, no source."""
_GRADED_IN = (Step.GRADE, Step.WEIGH)


class RunModel(RunKeeper):
    """The intents of a run: from beginning to end each is one press, one key or one scan.

    Signals are those of ``RunKeeper``: ``changed``, ``said``, ``opened``, ``closed``.
    """

    def __init__(self, workspace: Workspace, form: BenchFormModel, parent: QObject | None = None) -> None:
        super().__init__(workspace, form, parent)
        workspace.act_requested.connect(self.act)
        workspace.run_requested.connect(self._on_run_requested)
        workspace.jar_scanned.connect(self._on_jar_scanned)

    # -- the beginning -----------------------------------------------------------------------------

    def _on_run_requested(self, jar_id: str) -> None:
        if self.run is not None:
            self.opened.emit()
        else:
            self.begin(jar_id)

    def begin(self, jar: str = "") -> bool:
        """Begin a run of what the bench form holds, with ``jar`` picked first where one is named.

        What stands in the way is told in the message strip, and the bench form is shown. An open run is shown.
        """
        if self.run is not None:
            self.opened.emit()
            return False
        if jar:
            self.form.pick_jar(jar)
        self.form.finish_typing()
        self.form.refresh()
        document, before = self._document, self.form.state
        if document is None or before is None:
            return False
        self.form.take_form(bare_form(before.form))
        form = self.form.state or before
        missing = form.missing_to_begin or refusal_to_begin(document.state)
        if missing is not None:
            self.form.take_form(before.form)
            self._refuse(missing)
            return False
        planned = plan_run(
            document.state,
            form.conditions,
            jar=form.jar,
            lot=form.lot,
            masses=form.weighing.net,
            started_at=document.now(),
        )
        if not self._execute(BeginRun(planned)) or (run := self.workspace.open_run) is None:
            return False
        self._note(EventKind.STEP, step=Step.CHECKS)
        self.form.take_form(begun_form(form.form, run))
        self.look()
        self._say("run.said.begun")
        return True

    def _refuse(self, missing: Reason) -> None:
        text = sentence(missing.code, missing.params, decimal=self.workspace.decimal)
        self.workspace.show_page("bench")
        self.workspace.notify(Notice("warn", text))
        self.said.emit(text)

    def _on_jar_scanned(self, jar_id: str) -> None:
        """Hold a scanned jar against the plan; at the checks a wrong one keeps the step until the right one."""
        run, view = self.run, self.view
        if run is None or view is None:
            return
        if view.step is Step.CHECKS:
            self._note(EventKind.ANSWER, step=view.step, word=SCANNED_JAR, text=jar_id)
        if run.jar_id is not None and jar_id.casefold() == run.jar_id.casefold():
            self._say("run.said.jar_right", jar=jar_id)
        else:
            planned = f"jar {run.jar_id}" if run.jar_id else "a charge without a jar"
            self._say("run.said.jar_wrong", jar=jar_id, planned=planned)

    # -- from step to step -------------------------------------------------------------------------

    def next(self) -> bool:
        """Go on to the next step, unless something blocks it (then that is said).

        Leaving the step "weigh" records the attempt; leaving the closing list ends the run.
        """
        self.look()
        view = self.view
        if view is None:
            return False
        if view.blocked is not None:
            self._say_reason(view.blocked)
            return False
        if view.step is Step.WEIGH and not self.record():
            return False
        if view.next_step is None:
            return self._end(view)
        return self._note(EventKind.STEP, step=view.next_step)

    def _end(self, view: RunView) -> bool:
        if not self._execute(EndRun(view.run_id, view.given_up)):
            return False
        self._say("run.said.over")
        return True

    def back(self) -> bool:
        """Go back to the step before, whose timer runs on as it was."""
        self.look()
        view = self.view
        if view is None:
            return False
        if view.given_up:
            self._say("run.wait.given_up")
        elif view.attempt_number is not None and view.previous_step is Step.WEIGH:
            self._say("run.wait.recorded", number=view.attempt_number)
        elif view.questions and view.blocked is not None:
            self._say_reason(view.blocked)
        elif view.previous_step is None:
            self._say("run.wait.first_step")
        else:
            return self._note(EventKind.STEP, step=view.previous_step, word=BACK)
        return False

    def act(self, key: str) -> bool:
        """Do an act by its key: NEXT, MARK, BACK, G1 to G4, DONE (a foot switch, a scanned card)."""
        if self.view is None:
            return False
        match key:
            case "NEXT":
                return self.next()
            case "MARK":
                return self.mark()
            case "BACK":
                return self.back()
            case "DONE":
                return self.view.step in (Step.WEIGH, Step.CLOSE) and self.next()
            case "G1" | "G2" | "G3" | "G4":
                return self.grade(int(key[1]))
        return False

    # -- what is seen, read and said ---------------------------------------------------------------

    def mark(self, word: str | None = None) -> bool:
        """Mark what was seen: ``word`` is one of ``MARKS``, None takes the one that comes next.

        In the closing list None ticks the first open line that asks for nothing but a tick.
        """
        view = self.view
        if view is None:
            return False
        if word is None and view.closing:
            line = first_open(view.closing)
            return line is not None and self.tick(line.key)
        told = " ".join((word or view.next_mark).split())
        if not told or not self._note(EventKind.MARK, step=view.step, word=told):
            return False
        danger = next((each for each in (self.view or view).dangers if each.code.endswith(f".{told}")), None)
        self._say_reason(danger or Reason("run.said.marked", {"word": told}))
        return True

    def danger_is_over(self) -> bool:
        """Say that what was marked as smoke or spill is over."""
        return self.view is not None and bool(self.view.dangers) and self._note(EventKind.TICK, word=DANGER_OVER)

    def read_temperature(self, text: str) -> bool:
        """Note a thermometer reading as typed; a bare number is in the unit that the person likes."""
        view = self.view
        if view is None or not text.strip():
            return False
        try:
            value = self.workspace.shown.read(text, "C")
            if not COLDEST_C <= value <= HOTTEST_C:
                raise InputError("run.reading_impossible", value=CloseAmount(value, "C"))
        except InputError as error:
            return self._say_error(error)
        if not self._note(EventKind.READING, step=view.step, value=value):
            return False
        found = next((each for each in (self.view or view).findings if each.level == "block"), None)
        told = Reason("run.said.read", {"value": CloseAmount(value, "C")})
        self._say_reason(told if found is None else Reason(found.code, found.params))
        return True

    def lift_without_thermometer(self) -> bool:
        """Say that there is no thermometer and that the cautious choice of ``view.may_lift_without`` holds."""
        self.look()
        if self.view is None or not self.view.may_lift_without:
            return False
        return self._note(EventKind.TICK, word=COLD_WITHOUT)

    def grade(self, grade: int) -> bool:
        """Grade the result, 1 nothing parted to 4 clean pool.

        Where a question or a line of the closing list waits for an answer, this chooses it by its number.
        """
        view = self.view
        if view is None or not 1 <= grade <= len(GRADES):
            return False
        if view.questions:
            asked = view.questions[0]
            return grade <= len(asked.answers) and self.answer(asked.key, asked.answers[grade - 1])
        if view.closing:
            line = first_open(view.closing)
            options = line.options if line is not None else ()
            return line is not None and grade <= len(options) and self.tick(line.key, options[grade - 1])
        if view.step not in _GRADED_IN or view.attempt_id is not None:
            return False
        outcome = GRADES[grade - 1]
        if not self._note(EventKind.GRADE, step=view.step, word=outcome.value):
            return False
        if view.step is Step.WEIGH and (run := self.run) is not None and self.form.state is not None:
            self.form.take_form(graded_form(self.form.state.form, run))
        self._say("run.said.graded", word=outcome.value)
        return True

    def answer(self, key: str, text: str) -> bool:
        """Answer a question after a break."""
        run = self.run
        if run is None:
            return False
        try:
            word, seconds = read_answer(run, key, text)
        except InputError as error:
            return self._say_error(error)
        return self._note(EventKind.ANSWER, word=key, text=word, value=seconds)

    def add_note(self, text: str) -> bool:
        """Write words into the run."""
        told = text.strip()
        return self.view is not None and bool(told) and self._note(EventKind.NOTE, step=self.view.step, text=told)

    # -- the end -----------------------------------------------------------------------------------

    def tick(self, key: str, text: str = "") -> bool:
        """Tick a line of the closing list, with the answer chosen where it has options."""
        document, run = self._document, self.run
        if document is None or run is None:
            return False
        try:
            word = read_tick(document.state, run, key, text)
        except InputError as error:
            return self._say_error(error)
        if key == ATTEMPT and word == RECORDED:
            return self.record()
        return self._note(EventKind.TICK, word=key, text=word)

    def give_up(self, reason: str, *, record: bool = True) -> bool:
        """Break the run off: an aborted attempt is recorded if wanted, then the closing list is worked through.

        A run that is still at its checks is over at once: there was no attempt yet, and nothing is hot.
        """
        view, run = self.view, self.run
        if view is None or run is None or view.given_up:
            return False
        if not reason.strip():
            self._say("run.no_reason")
            return False
        if not was_heated(run):
            return self._end(replace(view, given_up=reason.strip()))
        if not self._note(EventKind.ANSWER, step=view.step, word=GIVE_UP, text=reason.strip()):
            return False
        if view.step is not Step.CLOSE:
            self._note(EventKind.STEP, step=Step.CLOSE)
        if view.attempt_id is None and record:
            self.record()
        elif view.attempt_id is None:
            self._note(EventKind.TICK, word=ATTEMPT, text=NOT_RECORDED)
        return True
