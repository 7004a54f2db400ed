"""The guided run without its widgets: intents in, one RunView out, every event written at once."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import InputError, StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.running import EventKind, Moment, Run, RunEvent, Step
from stirfall.desktop.bench_form.form import Form
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.notifier import Notice
from stirfall.desktop.run.filling import begun_form, filled_form, graded_form
from stirfall.desktop.workspace import Workspace
from stirfall.planning.findings import CloseAmount
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.commands import AddRunEvent, BeginRun, Command, EndRun
from stirfall.session.document import Document
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
from stirfall.session.run_timing import BACK, clock_jump, last_sign, path_of, seconds_away
from stirfall.session.run_view import COLD_WITHOUT, DANGER_OVER, RunView, run_view

TICK_MS = 200
COLDEST_C, HOTTEST_C = -80.0, 700.0
"""What a thermometer in the oil can show; anything else is a slip of the hand. Our proposal, no source."""
_FROM_RUN = "the guided run"
_GRADED_IN = (Step.GRADE, Step.WEIGH)


class RunModel(QObject):
    """Holds the run that is open; ``view`` is what to show, None without one.

    Signals:
        changed(RunView | None): what to show; emitted only when it differs.
        said(str): a sentence about what was just done, or why it was not, for the status line of the page.
        opened(): a run began or was taken up again: the run page shall come to the front.
        closed(): the run is over: the page gives the window back.
    """

    changed = Signal(object)
    said = Signal(str)
    opened = Signal()
    closed = Signal()

    def __init__(self, workspace: Workspace, form: BenchFormModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.form = form
        self.view: RunView | None = None
        self._last_look: Moment | None = None
        self._recorded: Form | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self.look)
        workspace.document_opened.connect(self._take_up)
        workspace.document_closing.connect(self.leave)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.act_requested.connect(self.act)
        workspace.run_requested.connect(self._on_run_requested)
        workspace.jar_scanned.connect(self._on_jar_scanned)
        form.changed.connect(self._on_form_changed)
        self._take_up(announce=False)
        if self.run is not None:
            QTimer.singleShot(0, self, self.opened.emit)

    # -- the run and the document ------------------------------------------------------------------

    @property
    def _document(self) -> Document | None:
        return self.workspace.document

    @property
    def run(self) -> Run | None:
        """The run that is open, None without one."""
        return self.workspace.open_run

    def _take_up(self, *, announce: bool = True) -> None:
        """Take up the run that a document was left with, at the very second that it is at."""
        self._last_look = None
        document, run = self._document, self.run
        if document is None or run is None:
            self._show(None)
            return
        if not document.read_only:
            jump = clock_jump(last_sign(run), document.moment())
            self._note(EventKind.RESUMED, value=seconds_away(run, document.moment()))
            if jump is not None:
                self._note(EventKind.CLOCK, value=jump)
        self._fill_if_needed()
        self.look()
        if announce:
            self.opened.emit()

    def leave(self) -> None:
        """Write that the program is closed in good order; called before the document closes."""
        document, run = self._document, self.run
        if document is None or run is None or document.read_only:
            return
        if not run.events or run.events[-1].kind is not EventKind.LEFT:
            self._note(EventKind.LEFT)
        self._timer.stop()

    def look(self) -> None:
        """Work out what is to be shown now; notice a clock that was set."""
        document = self._document
        if document is None or self.run is None:
            self._show(None)
            return
        moment = document.moment()
        before, self._last_look = self._last_look, moment
        jump = clock_jump(before, moment) if before is not None and not document.read_only else None
        if jump is not None:
            self._note(EventKind.CLOCK, value=jump)
        run = self.run
        assert run is not None
        self._show(self._with_form(run_view(document.state, run, moment)))

    def _with_form(self, view: RunView) -> RunView:
        """Return the view with what the bench form still wants before the attempt can be recorded."""
        form = self.form.state
        if view.step is not Step.WEIGH or view.attempt_id is not None or view.blocked is not None or form is None:
            return view
        return replace(view, blocked=form.missing if form.run_id == view.run_id else None)

    def _show(self, view: RunView | None) -> None:
        was_open, self_view = self.view is not None, self.view
        if view is None:
            self._timer.stop()
        elif not self._timer.isActive():
            self._timer.start()
        if view != self_view:
            self.view = view
            self.changed.emit(view)
            if view is None and was_open:
                self.closed.emit()

    def _on_document_changed(self, *_unused: object) -> None:
        was_open = self.view is not None
        if self.run is not None or was_open:
            self._fill_if_needed()
            self.look()
        if self.view is not None and not was_open:
            self.opened.emit()

    def _on_form_changed(self, *_unused: object) -> None:
        if self.view is not None and self.view.step is Step.WEIGH:
            self.look()

    def _execute(self, command: Command) -> bool:
        changes = self.workspace.execute(command, origin=self)
        return changes is not None and bool(changes.name)

    def _note(
        self, kind: EventKind, *, step: str = "", word: str = "", value: float | None = None, text: str = ""
    ) -> bool:
        """Write one event of the open run; the document fills in the moment."""
        document, run = self._document, self.run
        if document is None or run is None:
            return False
        event = RunEvent("", run.id, kind, document.now(), step, word, value, text)
        return self._execute(AddRunEvent(event))

    def _say(self, code: str, **params: object) -> None:
        self.said.emit(sentence(code, params, decimal=self.workspace.decimal))

    def _say_reason(self, reason: Reason) -> None:
        self.said.emit(sentence(reason.code, reason.params, decimal=self.workspace.decimal))

    def _say_error(self, error: StirfallError) -> bool:
        self.said.emit(error_sentence(error, decimal=self.workspace.decimal))
        return False

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
        document, form = self._document, self.form.state
        if document is None or form is None:
            return False
        missing = form.missing_to_begin or refusal_to_begin(document.state)
        if missing is not None:
            text = sentence(missing.code, missing.params, decimal=self.workspace.decimal)
            self.workspace.show_page("bench")
            self.workspace.notify(Notice("warn", text))
            self.said.emit(text)
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

    def _on_jar_scanned(self, jar_id: str) -> None:
        run = self.run
        if run is None:
            return
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
        """Grade the result, 1 nothing parted to 4 clean pool; in the closing list: choose the answer of a line."""
        view = self.view
        if view is None or not 1 <= grade <= len(GRADES):
            return False
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

    def record(self) -> bool:
        """Record the attempt with the numbers of the form; the step "weigh" does so by itself when it is left.

        A run that was given up is recorded as a broken-off attempt. Nothing is recorded twice.
        """
        view, run, document = self.view, self.run, self._document
        if view is None or run is None or document is None:
            return False
        if view.attempt_id is not None:
            return True
        if view.step not in (Step.WEIGH, Step.CLOSE):
            return False
        self._fill(document, run, self.form.state.form if self.form.state is not None else None, view.given_up)
        kept = self.form.state.form if self.form.state is not None else None
        if self.form.record():
            self._recorded = kept
            return True
        missing = self.form.state.missing if self.form.state is not None else None
        if missing is not None:
            self._say_reason(missing)
        return False

    def _fill_if_needed(self) -> None:
        document, run, form = self._document, self.run, self.form.state
        if document is None or run is None or form is None or document.read_only or run.attempt_id is not None:
            return
        if path_of(run)[-1].step is Step.WEIGH:
            self._fill(document, run, form.form, "")

    def _fill(self, document: Document, run: Run, form: Form | None, aborted_for: str) -> None:
        """Put what the run reached into the form, once: the numbers stay correctable.

        A recording that was taken back brings the form back as it was recorded.
        """
        if form is None:
            return
        is_filled = form.filled_from == _FROM_RUN and (form.run_id, form.jar_id) == (run.id, run.jar_id)
        if is_filled and not aborted_for:
            return
        if self._recorded is not None and self._recorded.run_id == run.id:
            form, self._recorded = self._recorded, None
        else:
            form = filled_form(form, document.state, run, self.workspace.decimal, aborted_for=aborted_for)
        self.form.take_form(replace(form, filled_from=_FROM_RUN))
