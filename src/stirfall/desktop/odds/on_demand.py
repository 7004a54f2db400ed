"""Answers that are worked out only while somebody looks: one worker slot, old answers greyed meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Generic, TypeVar

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.session.analysis import Analysis

T = TypeVar("T")
S = TypeVar("S")
Make = Callable[["Analysis", str, "CancelToken | None"], T]


class OnDemand(QObject, Generic[T]):
    """Makes one answer from each analysis, off the window's thread, and only while it is shown.

    Attributes:
        answer: what was made last for the open document, or None.
        is_stale: whether the answer is older than the document.
        problem: why there is no newer answer, in a sentence; else "".

    Signals:
        changed(): any attribute changed.
    """

    changed = Signal()

    def __init__(self, workspace: Workspace, make: Make[T], *, slot: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.answer: T | None = None
        self.is_stale = False
        self.problem = ""
        self._workspace, self._make, self._slot = workspace, make, slot
        self._is_shown = False
        self._made_from: tuple[int, str] | None = None
        self._wanted: tuple[int, str] | None = None
        self._kept_stage = ""
        self._no_refinement = ""
        self._serial = 0
        workspace.document_opened.connect(self._on_document_opened)
        workspace.analysis_started.connect(self._on_analysis_started)
        workspace.analysis_finished.connect(self._on_analysis_finished)
        workspace.analysis_failed.connect(self._fail)
        workspace.refinement_failed.connect(self._on_refinement_failed)
        workspace.theme_changed.connect(self._on_shown_differently)

    def set_shown(self, shown: bool) -> None:
        """Begin or end to look; the first look at a new analysis starts the work."""
        self._is_shown = shown
        if shown:
            self._request()

    def _on_document_opened(self) -> None:
        self.answer, self.is_stale, self.problem = None, False, ""
        self._made_from = self._wanted = None
        self._kept_stage = ""
        self.changed.emit()

    def _on_analysis_started(self) -> None:
        self._no_refinement = ""
        if self.answer is not None and not self.is_stale:
            self.is_stale = True
            self.changed.emit()

    def _on_analysis_finished(self, _analysis: object) -> None:
        self._serial += 1
        self._request()

    def _on_refinement_failed(self, error: BaseException) -> None:
        """No refined answer will come, so the first one is better than an old one."""
        self._kept_stage = ""
        self._no_refinement = _sentence_of(error, self._workspace.decimal)
        self.problem = self._no_refinement
        self.changed.emit()
        self._request()

    def _on_shown_differently(self, _theme: object) -> None:
        self._request()

    def _request(self) -> None:
        """Start the work for the present analysis, unless its answer is there or under way already."""
        analysis = self._workspace.analysis
        if analysis is None or not self._is_shown:
            return
        if analysis.stage == "first" and self._kept_stage == "refined":
            return  # the refined answer is on its way; until then the greyed one says more than a first one
        decimal = self._workspace.decimal
        key = (self._serial, decimal)
        if key == self._wanted:
            return
        if key == self._made_from:
            self._wanted = key
            return
        self._wanted = key
        make = self._make

        def job(token: CancelToken) -> T:
            return make(analysis, decimal, token)

        def done(answer: T) -> None:
            if key == self._wanted:
                self._take(answer, key, analysis)

        def failed(error: Exception) -> None:
            self._wanted = None
            self._fail(error)
            if not isinstance(error, StirfallError):
                self._workspace.notifier.fail(error)

        self._workspace.submit(job, done, failed, slot=self._slot)

    def _take(self, answer: T, key: tuple[int, str], analysis: Analysis) -> None:
        self.answer, self.problem = answer, self._no_refinement
        self._made_from, self._kept_stage = key, analysis.stage
        self.is_stale = analysis is not self._workspace.analysis or self._workspace.is_stale
        self.changed.emit()

    def _fail(self, error: BaseException) -> None:
        self.problem = _sentence_of(error, self._workspace.decimal)
        self.is_stale = self.answer is not None
        self.changed.emit()


class OnDemandViewModel(QObject, Generic[T, S]):
    """Holds one state of a view, presented anew whenever its answer is made, and made only while somebody looks.

    Signals:
        changed(state): something that is shown has changed.
    """

    changed = Signal(object)
    state: S

    def __init__(self, workspace: Workspace, make: Make[T], *, slot: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._source: OnDemand[T] = OnDemand(workspace, make, slot=slot, parent=self)
        self._source.changed.connect(self._work_out)

    def set_shown(self, shown: bool) -> None:
        """Begin or end to look."""
        self._source.set_shown(shown)

    def _present(self) -> S:
        raise NotImplementedError

    def _work_out(self) -> None:
        state = self._present()
        if state != self.state:
            self.state = state
            self.changed.emit(state)


def _sentence_of(error: BaseException, decimal: str) -> str:
    reason = error_sentence(error, decimal=decimal) if isinstance(error, StirfallError) else ""
    return sentence("odds.failed", {"reason": reason}).strip()
