"""The view-model of "Why": asks for the surprises and for one attempt, while somebody looks."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.desktop.evidence.why_asking import Answer, work_out_why
from stirfall.desktop.evidence.why_state import WhyState
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

_SLOT = "evidence why"


class WhyModel(QObject):
    """Holds what the section shows; works only while somebody looks.

    Signals:
        changed(WhyState).
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = WhyState()
        self._is_shown = False
        self._forget()
        workspace.document_opened.connect(self._on_document_opened)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._ask)
        workspace.refinement_failed.connect(self._ask)
        workspace.theme_changed.connect(self._show_anew)
        self._show_anew()

    def _forget(self) -> None:
        self._answer: Answer | None = None
        self._asked: tuple[Analysis, str] | None = None
        self._chosen = self._problem = ""
        self._typed: str | None = None
        self._is_asking = False

    def _on_document_opened(self) -> None:
        self._forget()
        self._ask()
        self._show_anew()

    def set_shown(self, shown: bool) -> None:
        """Begin to work, or rest while another section is in front."""
        self._is_shown = shown
        if shown:
            self._ask()
            self._show_anew()

    # -- in the background -------------------------------------------------------------------------------

    def _ask(self, *_unused: object) -> None:
        """Ask of the newest analysis, unless just this was asked; the quick answer is asked too."""
        analysis = self.workspace.analysis
        if analysis is None or not self._is_shown or self.workspace.is_stale:
            return
        if self._asked is not None and self._asked[0] is analysis and self._asked[1] == self._chosen:
            return
        self._asked, self._is_asking = (analysis, self._chosen), True
        known = None
        if self._answer is not None and self._answer.analysis is analysis:
            known = self._answer.surprises
        chosen = self._chosen if self._still_there(analysis) else ""
        self.workspace.submit(partial(work_out_why, analysis, chosen, known), self._take, self._failed, slot=_SLOT)
        self.refresh()

    def _still_there(self, analysis: Analysis) -> bool:
        return any(attempt.id == self._chosen for attempt in analysis.state.attempts)

    def _take(self, answer: Answer) -> None:
        self._answer, self._is_asking = answer, False
        self._show_anew()

    def _failed(self, error: Exception) -> None:
        self._asked, self._is_asking = None, False
        self._problem = sentence("why.failed_to_work_out")
        self.workspace.notifier.fail(error)
        self._show_anew()

    # -- showing -----------------------------------------------------------------------------------------

    def _show_anew(self, *_unused: object) -> None:
        """Build the whole state."""
        from stirfall.desktop.evidence.why_building import build_state

        if self.workspace.document is None:
            self._show(WhyState(message=sentence("why.no_session")))
        elif self._answer is None:
            has_any = bool(self.workspace.document.state.attempts)
            message = "" if has_any else sentence("why.none_judged")
            self._show(WhyState(message=message, count=sentence("why.working")))
        else:
            self._show(build_state(self._answer, decimal=self.workspace.decimal))

    def refresh(self, *_unused: object) -> None:
        """Show whether what is there is still the answer."""
        self._show(self.state)

    def _show(self, made: WhyState) -> None:
        late = self.workspace.is_stale or self._is_asking
        new = replace(made, is_stale=late, problem=self._problem)
        if self._typed is not None:
            new = replace(new, number=self._typed)
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    # -- what the person does ----------------------------------------------------------------------------

    def choose(self, attempt_id: str) -> None:
        """Answer for this attempt."""
        self._chosen, self._typed, self._problem = attempt_id, None, ""
        self._ask()
        self._show_anew()

    def type_number(self, text: str) -> None:
        """Type the number of an attempt; nothing is asked before it is entered."""
        self._typed, self._problem = text, ""
        self._show_anew()

    def enter_number(self) -> bool:
        """Answer for the attempt whose number was typed; False where there is none."""
        document = self.workspace.document
        text = (self._typed if self._typed is not None else self.state.number).strip()
        if document is None or not text:
            return False
        found = next((each.id for each in document.state.attempts if str(each.number) == text.lstrip("0")), None)
        if found is None:
            self._problem = sentence("why.unknown_number", {"number": text})
            self._show_anew()
            return False
        self.choose(found)
        return True

    def show_in_ledger(self) -> None:
        """Show the attempt in the ledger."""
        document = self.workspace.document
        if document is not None and self.state.chosen:
            self.workspace.set_in_hand(InHand.of_attempt(document.attempt(self.state.chosen)), origin=self)
            self.workspace.show_page("attempts")
