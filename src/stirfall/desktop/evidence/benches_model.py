"""The view-model of "Other benches": asks for it while somebody looks."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.desktop.evidence.benches_state import BenchesState, state_of
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.session.analysis import Analysis
    from stirfall.session.benches import HoldsElsewhere

_SLOT = "evidence benches"


class BenchesModel(QObject):
    """Holds what the section shows; works only while somebody looks, and on the refined answer.

    Signals:
        changed(BenchesState).
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = BenchesState()
        self._found: HoldsElsewhere | None = None
        self._answered: Analysis | None = None
        self._is_shown = self._is_asking = False
        workspace.document_opened.connect(self._on_document_opened)
        workspace.analysis_started.connect(self._show_late)
        workspace.analysis_finished.connect(self._ask)
        workspace.refinement_failed.connect(self._ask)
        workspace.analysis_failed.connect(self._show_late)
        workspace.theme_changed.connect(self._show_anew)
        self._on_document_opened()

    def _on_document_opened(self) -> None:
        self._found = self._answered = None
        self._is_asking = False
        self._show_anew()

    def set_shown(self, shown: bool) -> None:
        """Begin to work, or rest while another section is in front."""
        self._is_shown = shown
        if shown:
            self._ask()

    def _ask(self, *_unused: object) -> None:
        analysis = self.workspace.analysis
        waits = analysis is None or self.workspace.is_stale or self.workspace.is_refining
        if not self._is_shown or waits or analysis is self._answered:
            self._show_late()
            return
        assert analysis is not None
        self._answered, self._is_asking = analysis, True
        self.workspace.submit(partial(_hold, analysis), self._take, self._failed, slot=_SLOT)
        self._show_late()

    def _take(self, found: HoldsElsewhere) -> None:
        self._found, self._is_asking = found, False
        self._show_anew()

    def _failed(self, error: Exception) -> None:
        self._answered, self._is_asking = None, False
        self.workspace.notifier.fail(error)
        self._show_late()

    def pick(self, place: int) -> None:
        """Pick out one line, so that its words stand below."""
        if 0 <= place < len(self.state.lines) and place != self.state.picked:
            self._show(replace(self.state, picked=place))

    def step(self, steps: int) -> None:
        """Pick out the next line, or the one before."""
        self.pick(min(max(self.state.picked + steps, 0), len(self.state.lines) - 1))

    def _show_anew(self, *_unused: object) -> None:
        if self._found is None:
            waits = self.workspace.document is not None
            self._show(BenchesState(message=sentence("benches_page.waits") if waits else ""))
            return
        made = state_of(self._found, decimal=self.workspace.decimal)
        if made.lines and self.state.found is self._found:
            made = replace(made, picked=self.state.picked)
        self._show(made)

    def _show_late(self, *_unused: object) -> None:
        self._show(self.state)

    def _show(self, made: BenchesState) -> None:
        late = self.workspace.is_stale or self.workspace.is_refining or self._is_asking
        new = replace(made, is_stale=late)
        if new != self.state:
            self.state = new
            self.changed.emit(new)


def _hold(analysis: Analysis, token: CancelToken) -> HoldsElsewhere:
    """Run on a worker, which loads the libraries that it needs."""
    from stirfall.session.benches import holds_elsewhere

    return holds_elsewhere(analysis, token=token)
