"""Keeps the open run: takes it up, looks at it in time, writes its events, and has its result recorded."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.running import EventKind, Moment, Run, RunEvent, Step
from stirfall.desktop.bench_form.form import Form
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.run.filling import filled_form
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.commands import AddRunEvent, Command
from stirfall.session.document import Document
from stirfall.session.run_timing import clock_jump, last_sign, path_of, seconds_away
from stirfall.session.run_view import RunView, run_view

TICK_MS = 200
_FROM_RUN = "the guided run"


class RunKeeper(QObject):
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

    # -- the result --------------------------------------------------------------------------------

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
