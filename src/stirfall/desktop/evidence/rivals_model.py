"""The view-model of "Rival explanations": asks for them while somebody looks, and fills the form with a pair."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.desktop.evidence.rivals_state import RivalsState
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from datetime import datetime

    from stirfall.bench.cancel import CancelToken
    from stirfall.session.analysis import Analysis
    from stirfall.session.rivals_found import Rival

_SLOT = "evidence rivals"


def work_out_rivals(analysis: Analysis, now: datetime, token: CancelToken) -> tuple[Rival, ...]:
    """Return the rival explanations; their libraries are loaded on the worker that asks."""
    from stirfall.session.rivals import rivals

    return rivals(analysis, now=now, token=token)


class RivalsModel(QObject):
    """Holds what the section shows; works only while somebody looks.

    Signals:
        changed(RivalsState).
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = RivalsState()
        self._is_shown = False
        self._forget()
        workspace.document_opened.connect(self._on_document_opened)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._ask)
        workspace.refinement_failed.connect(self._ask)
        workspace.theme_changed.connect(self._show_anew)
        self._show_anew()

    def _forget(self) -> None:
        self._found: tuple[Rival, ...] = ()
        self._asked: Analysis | None = None
        self._chosen = self._problem = ""
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
        """Ask of the refined answer, unless just this was asked."""
        document, analysis = self.workspace.document, self.workspace.analysis
        if document is None or analysis is None or not self._is_shown or self._asked is analysis:
            return
        if self.workspace.is_stale or self.workspace.is_refining:
            return
        self._asked, self._is_asking = analysis, True
        job = partial(work_out_rivals, analysis, document.now())
        self.workspace.submit(job, self._take, self._failed, slot=_SLOT)
        self.refresh()

    def _take(self, found: tuple[Rival, ...]) -> None:
        self._found, self._is_asking, self._problem = found, False, ""
        self._show_anew()

    def _failed(self, error: Exception) -> None:
        self._asked, self._is_asking = None, False
        self._problem = sentence("rivals.failed")
        self.workspace.notifier.fail(error)
        self._show_anew()

    # -- showing -----------------------------------------------------------------------------------------

    def _show_anew(self, *_unused: object) -> None:
        from stirfall.desktop.evidence.rivals_building import build_state

        document = self.workspace.document
        if document is None:
            self._show(RivalsState(message=sentence("rivals.no_session")))
        elif not self._found:
            has_any = bool(document.state.attempts)
            message = self._problem or ("" if has_any else sentence("rivals.empty"))
            self._show(RivalsState(message=message, hypothesis=sentence("rivals.working")))
        else:
            self._show(build_state(self._found, document.state, self._chosen, decimal=self.workspace.decimal))

    def refresh(self, *_unused: object) -> None:
        """Show whether what is there is still the answer."""
        self._show(self.state)

    def _show(self, made: RivalsState) -> None:
        late = self.workspace.is_stale or self.workspace.is_refining or self._is_asking
        document = self.workspace.document
        may_fill = document is not None and not document.read_only
        has_pair = bool(made.detail.sides)
        new = replace(made, is_stale=late, can_fill=may_fill and has_pair)
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    # -- what the person does ----------------------------------------------------------------------------

    def choose(self, place: int) -> None:
        """Open the explanation at this place."""
        if 0 <= place < len(self.state.lines):
            self._chosen = self.state.lines[place].key
            self._show_anew()

    def fill_in(self, place: int) -> bool:
        """Put one of the pair into the bench form: 0 the first, 1 the second."""
        rival = next((each for each in self._found if each.key == self.state.chosen), None)
        if rival is None or rival.pair is None or not self.state.can_fill:
            return False
        from stirfall.reporting.rivals_words import title, title_of

        side = (rival.pair.first, rival.pair.second)[place]
        origin = sentence(
            "rivals.origin",
            {
                "rival": title(rival),
                "other": title_of(rival.nearest),
                "place": sentence(("rivals.first", "rivals.second")[place]).lower(),
            },
        )
        self.workspace.request_form(FormRequest(side.conditions, side.jar_id, origin, planned=True))
        return True
