"""The Trust view without its widgets: what is shown, and what a person can want from it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from stirfall.desktop.odds.on_demand import OnDemandViewModel
from stirfall.desktop.odds.trust_state import Phase, TrustContent, TrustState
from stirfall.desktop.odds.trust_words import trust_content
from stirfall.desktop.workspace import InHand
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import ChangeSettings

if TYPE_CHECKING:
    from PySide6.QtCore import QObject

    from stirfall.desktop.workspace import Workspace

_SLOT = "odds trust"


class TrustViewModel(OnDemandViewModel[TrustContent, TrustState]):
    """Holds one TrustState and turns wishes into commands and requests."""

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(workspace, trust_content, slot=_SLOT, parent=parent)
        workspace.document_opened.connect(self._work_out)
        self._show_form_details = False
        self._opened: frozenset[str] = frozenset()
        self.state = self._present()

    # -- what a person can want ------------------------------------------------------------------------

    def pin_form(self, key: str) -> None:
        """Answer with one form only, "" with all of them weighed; a campaign setting that can be undone."""
        document = self._workspace.document
        if document is None or document.read_only or document.state.settings.form == key:
            return
        self._workspace.execute(ChangeSettings(replace(document.state.settings, form=key)), origin=self)

    def show_attempt(self, attempt_id: str) -> None:
        """Take an attempt in hand and go to its row in the ledger."""
        document = self._workspace.document
        if document is None:
            return
        self._workspace.set_in_hand(InHand.of_attempt(document.state.attempt(attempt_id)), self)
        self._workspace.show_page("attempts")

    def toggle_form_details(self, shown: bool) -> None:
        """Show or hide all forms with their numbers."""
        self._show_form_details = shown
        self._work_out()

    def toggle_check(self, key: str, shown: bool) -> None:
        """Show or hide the details of one check."""
        self._opened = self._opened | {key} if shown else self._opened - {key}
        self._work_out()

    # -- the state -------------------------------------------------------------------------------------

    def _present(self) -> TrustState:
        source = self._source
        document = self._workspace.document
        if document is None:
            content = TrustContent("closed", sentence("trust_view.closed"))
        elif source.answer is None:
            waits: Phase = "failed" if source.problem else "waiting"
            content = TrustContent(waits, source.problem or sentence("trust_view.waiting"))
        else:
            content = source.answer
            if content.phase == "first" and source.problem:  # what it promises will not come
                content = TrustContent("failed", source.problem)
            if document.read_only and content.phase == "ready":
                forms = replace(content.forms, why_fixed=sentence("trust_view.read_only"))
                content = replace(content, forms=forms)
        return TrustState(content, source.is_stale, source.problem, self._show_form_details, self._opened)
