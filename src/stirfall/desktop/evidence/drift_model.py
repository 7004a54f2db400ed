"""The view-model of "Drift": asks for it while somebody looks, and marks changes at the bench."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.issued import ChangeMark, MarkKind
from stirfall.desktop.evidence.drift_asking import work_out_drift
from stirfall.desktop.evidence.drift_building import build_state
from stirfall.desktop.evidence.drift_state import DriftState
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import DropMark, MarkChange

if TYPE_CHECKING:
    from datetime import datetime

    from stirfall.bench.campaign import CampaignState
    from stirfall.session.analysis import Analysis
    from stirfall.session.drift_records import Drift

_SLOT = "evidence drift"


class DriftModel(QObject):
    """Holds what the section shows; works only while somebody looks.

    Signals:
        changed(DriftState).
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = DriftState()
        self._measure, self._chart, self._pointed = "clean", "values", ""
        self._found: Drift | None = None
        self._has_failed = False
        self._is_shown = self._is_asking = False
        self._answered: tuple[Analysis | None, CampaignState, str] | None = None
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._ask)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._ask)
        workspace.refinement_failed.connect(self._ask)
        workspace.analysis_failed.connect(self._ask_without)
        workspace.theme_changed.connect(self._show_anew)
        self._on_document_opened()

    # -- what comes from outside -------------------------------------------------------------------------

    def _on_document_opened(self) -> None:
        self._found, self._answered, self._pointed, self._is_asking = None, None, "", False
        self._measure, self._chart = "clean", "values"
        self._ask()
        self._show_anew()

    def set_shown(self, shown: bool) -> None:
        """Begin to work, or rest while another section is in front."""
        self._is_shown = shown
        if shown:
            self._ask()

    def _ask_without(self, *_unused: object) -> None:
        """Draw what the attempts say by themselves where there is no model."""
        self._ask(is_failed=True)

    def _ask(self, *_unused: object, is_failed: bool = False) -> None:
        document, analysis = self.workspace.document, self.workspace.analysis
        waits = analysis is None and self.workspace.is_stale and not is_failed
        if document is None or not self._is_shown or waits:
            self.refresh()
            return
        wanted = (analysis, document.state, self._measure)
        if self._answered is not None and all(new is old for new, old in zip(wanted, self._answered, strict=True)):
            self.refresh()
            return
        self._answered, self._is_asking, self._has_failed = wanted, True, False
        self.workspace.submit(
            partial(work_out_drift, analysis, document.state, self._measure), self._take, self._failed, slot=_SLOT
        )
        self.refresh()

    def _take(self, found: Drift) -> None:
        self._found, self._is_asking = found, False
        self._show_anew()

    def _failed(self, error: Exception) -> None:
        self._answered, self._is_asking, self._has_failed = None, False, True
        self.workspace.notifier.fail(error)
        self._show_anew()

    # -- showing -----------------------------------------------------------------------------------------

    def _show_anew(self, *_unused: object) -> None:
        """Build the whole state; the picture is made anew."""
        shown = self._found if self._found is not None and self._found.measure == self._measure else None
        made = build_state(shown, self._measure, self._chart, self._pointed, decimal=self.workspace.decimal)
        if shown is None and self._has_failed:
            made = replace(made, message=sentence("drift.failed"), is_working=False)
        self._show(made)

    def refresh(self, *_unused: object) -> None:
        """Show whether what is there is still the answer."""
        self._show(self.state)

    def _show(self, made: DriftState) -> None:
        document = self.workspace.document
        late = self.workspace.is_stale or self.workspace.is_refining or self._is_asking
        new = replace(made, can_mark=document is not None and not document.read_only, is_stale=late)
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    # -- what the person does ----------------------------------------------------------------------------

    def choose_measure(self, measure: str) -> None:
        """Follow another measure."""
        if measure != self._measure:
            self._measure, self._pointed = measure, ""
            self._ask()
            self._show_anew()

    def choose_chart(self, chart: str) -> None:
        """Draw another chart of the same attempts."""
        self._chart = chart
        self._show_anew()

    def point_at(self, attempt_id: str) -> None:
        """Name an attempt; "" names none and keeps what was named."""
        if attempt_id and attempt_id != self._pointed:
            self._pointed = attempt_id
            picture = self.state.picture
            made = build_state(self._found, self._measure, self._chart, attempt_id, decimal=self.workspace.decimal)
            self._show(replace(made, picture=picture))  # the same picture: nothing is drawn anew

    def open_attempt(self, attempt_id: str) -> None:
        """Take an attempt in hand and show it in the ledger."""
        document = self.workspace.document
        if document is not None and attempt_id:
            self.workspace.set_in_hand(InHand.of_attempt(document.attempt(attempt_id)), origin=self)
            self.workspace.show_page("attempts")

    def open_pointed(self) -> None:
        """Show the attempt that is named in the ledger."""
        self.open_attempt(self.state.pointed_id)

    def now(self) -> datetime | None:
        """Return the time of the document, None without one."""
        return None if self.workspace.document is None else self.workspace.document.now()

    def mark(self, at: datetime, kind: str, words: str) -> bool:
        """Mark a change at the bench; False where it was refused."""
        mark = ChangeMark("", at, MarkKind(kind), words)
        return self.workspace.execute(MarkChange(mark), origin=self) is not None

    def drop_mark(self, mark_id: str) -> bool:
        """Take a mark away; undo brings it back."""
        if not mark_id:
            return False
        return self.workspace.execute(DropMark(mark_id), origin=self) is not None
