"""The bench form without its widgets: intents in, one FormState out, everything recorded through commands."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.desktop.bench_form.checks import day_of, ticked_lines
from stirfall.desktop.bench_form.draft import from_draft, to_draft
from stirfall.desktop.bench_form.entries import FormEntries
from stirfall.desktop.bench_form.filling import explored_form, next_form, repeated_form, requested_form
from stirfall.desktop.bench_form.form import Form, fresh_form, in_shown_units, last_attempt
from stirfall.desktop.bench_form.photos import FormPhotos
from stirfall.desktop.bench_form.state import attempt_of
from stirfall.desktop.notifier import Notice
from stirfall.desktop.photos.tray import free_name
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.commands import Changes, InspectJar, RecordAttempt, TickChecklist

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from stirfall.session.analysis import Analysis

DRAFT_DELAY_MS = 400
IN_HAND_DELAY_MS = 100
CLOCK_INTERVAL_MS = 60_000


class BenchFormModel(FormEntries):
    """Keeps the form's draft, records from it, and takes what other views offer.

    Signals:
        field_wanted(str): please put the focus on this factor.
        recorded(Attempt): an attempt went into the file.
    """

    field_wanted = Signal(str)
    recorded = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(workspace, parent)
        self.photos = FormPhotos(workspace, self)
        self._draft_timer = self._timer(DRAFT_DELAY_MS, self._save_draft, single=True)
        self._hand_timer = self._timer(IN_HAND_DELAY_MS, self.push_in_hand, single=True)
        self._clock_timer = self._timer(CLOCK_INTERVAL_MS, self.refresh, single=False)
        self._clock_timer.start()
        self.edited.connect(self._draft_timer.start)
        self.edited.connect(self._hand_timer.start)
        self.photos.changed.connect(self._draft_timer.start)
        self.photos.refused.connect(self.remove_photo)
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.analysis_finished.connect(self._on_analysis_finished)
        workspace.in_hand_changed.connect(self._on_in_hand_changed)
        workspace.form_requested.connect(self.fill_from_request)
        workspace.theme_changed.connect(self.refresh)
        self._on_document_opened()

    def _timer(self, interval_ms: int, slot: Callable[[], object], *, single: bool) -> QTimer:
        timer = QTimer(self)
        timer.setSingleShot(single)
        timer.setInterval(interval_ms)
        timer.timeout.connect(slot)
        return timer

    # -- the document ------------------------------------------------------------------------------

    def _on_document_opened(self) -> None:
        document = self.workspace.document
        self._editing, self._ticked = None, frozenset()
        self.photos.clear()
        self._draft_timer.stop()
        self._hand_timer.stop()
        self._limits = None
        if document is None:
            self._form, self.state = Form(), None
            self.changed.emit(None)
            return
        draft = document.draft
        restored = from_draft(draft) if draft is not None else None
        self._form = restored or fresh_form(document.state, self.workspace.decimal)
        if restored is not None:
            self.photos.restore(restored.photos)
            self.workspace.notify(
                Notice("info", "The half-filled form is back as you left it.", "Start afresh", self.clear)
            )
        self.state = None
        self.refresh()

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.settings or changes.factors:
            self._limits = None  # what attempts change in the limits comes with the analysis, off this thread
        if changes.settings or changes.checklist:
            self._ticked = frozenset()
        self.refresh()

    def _on_analysis_finished(self, analysis: Analysis) -> None:
        self._limits = analysis.limits
        self.refresh()

    def take_form(self, form: Form) -> None:
        """Show this form, kept at once: the guided run fills in what it reached."""
        self._edit(form)
        self.flush_draft()

    # -- the jar's look, and starting afresh ---------------------------------------------------------

    def note_look(self) -> None:
        """Note the look on the jar as well."""
        document, state = self.workspace.document, self.state
        if document is None or state is None or state.jar is None or not state.look.look:
            return
        command = InspectJar(state.jar.id, state.look.look, document.now())
        if self.workspace.execute(command, origin=self) is not None:
            text = f"Noted on jar {state.jar.id}: {state.look.look}."
            self.workspace.notify(Notice("info", text, "Undo", self.workspace.undo))

    def clear(self) -> None:
        """Start afresh: no jar, the campaign's usual values or else those of last time, no outcome."""
        document = self.workspace.document
        if document is None:
            return
        before = self._form
        self._form = fresh_form(document.state, self.workspace.decimal, usual=True)
        self._draft_timer.stop()
        if not document.read_only:
            document.clear_draft()
        self.photos.draft_is_gone()
        self.refresh()
        self._hand_timer.start()
        self.workspace.notify(Notice("info", "The form is empty.", "Bring it back", lambda: self._edit(before)))

    # -- photos ------------------------------------------------------------------------------------

    def add_photo_file(self, path: str) -> None:
        """Keep a picture file to be attached when the attempt is recorded; an unusable file is told."""
        if path not in self._form.photos:
            self._edit(self._form.with_photo(path))
            self.photos.read_file(path)

    def add_pasted_photo(self, image: QImage) -> None:
        """Keep a pasted picture to be attached when the attempt is recorded."""
        key = free_name(self._form.photos)
        self._edit(self._form.with_photo(key))
        self.photos.read_image(image, key)

    def remove_photo(self, key: str) -> None:
        """Do not attach this picture."""
        self.photos.drop(key)
        self._edit(self._form.without_photo(key))

    # -- the checklist -----------------------------------------------------------------------------

    def finish_checklist(self) -> None:
        """Keep in the file that all lines of today's checklist were ticked."""
        document = self.workspace.document
        if document is None or self.state is None or not self.state.checklist.is_complete:
            return
        keys = tuple(item.key for item in self.state.checklist.items)
        self.workspace.execute(TickChecklist(day_of(document.now()), keys), origin=self)

    # -- recording ---------------------------------------------------------------------------------

    def record(self) -> bool:
        """Record the attempt if nothing is missing; the form then keeps its conditions for the next one."""
        self.finish_typing()
        self.refresh()
        document, state = self.workspace.document, self.state
        if document is None or state is None or not state.can_record:
            return False
        try:
            lines = ticked_lines(document.state, state.starts_at)
            attempt = attempt_of(state, ticked=lines, invented=document.state.settings.invented)
        except StirfallError as error:
            self.workspace.notifier.fail(error)
            return False
        empties = state.form.empties_jar and state.jar is not None
        changes = self.workspace.execute(RecordAttempt(attempt, empties_jar=empties), origin=self)
        if changes is None or changes.new_attempt_id is None:
            return False
        self._draft_timer.stop()
        self._form = next_form(state.form, state.fields, document.state, self.workspace.decimal, emptied=empties)
        attached = self.photos.attach(changes.new_attempt_id, state.form.photos, origin=self)
        steps = 1 + attached
        self._hand_timer.stop()
        self.refresh()
        self._tell_recorded(document.attempt(changes.new_attempt_id), state.form, steps)
        return True

    def _tell_recorded(self, attempt: Attempt, filled: Form, steps: int) -> None:
        # The odds stay with what was just recorded, so that the new number replaces the old one in place.
        label = f"Attempt {attempt.number}"
        in_hand = InHand(attempt.conditions, "attempt", label, attempt.lot_id, attempt.jar_id)
        self.workspace.set_in_hand(in_hand, origin=self)
        word = self.workspace.theme.mark(attempt.outcome).word
        text = f"Attempt {attempt.number} is recorded: {word}."
        if attempt.outcome is Outcome.NOT_GRADED:
            text += " It counts as not graded and is left out of the odds."
        document = self.workspace.document
        last_step = document.undo_name if document is not None else None
        undo = partial(self._take_back, filled, self._form, steps, last_step)
        self.workspace.notify(Notice("info", text, "Undo", undo))
        self.recorded.emit(attempt)

    def _take_back(self, filled: Form, left_as: Form, steps: int, last_step: str | None) -> None:
        """Undo a recording with its photos; the form comes back as it was filled, unless it was edited since."""
        document = self.workspace.document
        if document is None or document.undo_name != last_step:
            self.workspace.undo()
            return
        for _ in range(steps):
            if self.workspace.undo() is None:
                return
        if self._form == in_shown_units(left_as, document.state.factors, self.workspace.decimal):
            self._edit(filled)

    def repeat_last(self, factor_name: str) -> None:
        """Fill the form as in the last attempt and go to the one factor that is to change."""
        document = self.workspace.document
        last = last_attempt(document.state) if document else None
        if document is None or last is None:
            return
        self._edit(repeated_form(self._form, last, document.state, self.workspace.decimal))
        self.field_wanted.emit(factor_name)

    # -- requests from other views -----------------------------------------------------------------

    def fill_from_request(self, request: FormRequest) -> None:
        """Fill the form with conditions and perhaps a jar that another view offers."""
        document = self.workspace.document
        if document is None:
            return
        is_current = self.state is not None and self.state.form == self._form
        known = dict(self.state.conditions) if self.state is not None and is_current else {}
        form = requested_form(
            self._form,
            known,
            conditions=request.conditions,
            jar=document.state.jar(request.jar_id),
            campaign=document.state,
            decimal=self.workspace.decimal,
            now=document.now(),
            planned=request.planned,
        )
        self._edit(
            replace(
                form,
                filled_from=request.note_origin,
                started_at=document.now(),
                proof_id=request.proof_id if self._form.parted is None else form.proof_id,
            )
        )
        self.push_in_hand()
        if request.focus:  # once the page that asks has given way to the form
            QTimer.singleShot(0, self, partial(self.field_wanted.emit, request.focus))

    def _on_in_hand_changed(self, in_hand: InHand, origin: object) -> None:
        document = self.workspace.document
        if origin is self or in_hand.source != "form" or document is None or self.state is None:
            return
        form = explored_form(self._form, self.state.fields, in_hand.conditions, self.workspace.decimal)
        if form != self._form:
            self._form = replace(form, started_at=form.started_at or document.now())
            self.refresh()
            self._draft_timer.start()

    def push_in_hand(self) -> None:
        """Show the other views the conditions of the form."""
        self._hand_timer.stop()
        if self.workspace.document is None or self.state is None:
            return
        jar, lot = self.state.jar, self.state.lot
        in_hand = InHand(
            self.state.conditions,
            "form",
            f"Jar {jar.id}" if jar else "",
            lot_id=lot.id if lot else None,
            jar_id=jar.id if jar else None,
        )
        self.workspace.set_in_hand(in_hand, origin=self)

    # -- the draft ---------------------------------------------------------------------------------

    def _save_draft(self) -> None:
        document = self.workspace.document
        if document is None or document.read_only:
            return
        try:
            document.save_draft(to_draft(self._form))
            self.photos.keep_with_draft(self._form.photos)
        except (StirfallError, OSError) as error:
            self.workspace.notifier.fail(error)

    def flush_draft(self) -> None:
        """Save a draft that still waits for its moment; called before the window closes."""
        if self._draft_timer.isActive():
            self._draft_timer.stop()
            self._save_draft()
