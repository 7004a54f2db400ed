"""Which two jars the film page compares, kept true to the document and the clock."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.desktop.physics.film_state import FilmContent, FilmState, caution_of, film_content, jar_entries
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

_SLOT = "film page"


class FilmViewModel(QObject):
    """Holds one FilmState; the comparison is worked out off the window's thread, and only while somebody looks.

    Signals:
        changed(FilmState): something that is shown has changed.
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._is_shown = False
        self._is_due = True
        self._decimal = workspace.decimal
        self.state = FilmState(sentence("film_page.closed"))
        workspace.document_opened.connect(self._on_opened)
        workspace.document_changed.connect(self._on_changed)
        workspace.theme_changed.connect(self._on_shown_differently)
        workspace.film_requested.connect(self.choose)
        self._on_opened()

    def set_shown(self, shown: bool) -> None:
        """Begin or end to look; jars go on ageing, so every look begins with the present time."""
        self._is_shown = shown
        if shown:
            self._on_changed()

    def choose(self, first: str, second: str) -> None:
        """Compare two jars by their ids; "" leaves the choice as it is."""
        self._set(first=first or self.state.first, second=second or self.state.second)
        self._on_changed()

    def swap(self) -> None:
        """Exchange the two jars."""
        self.choose(self.state.second, self.state.first)

    def _on_opened(self) -> None:
        self._set(first="", second="", content=FilmContent(), is_stale=False)
        self._on_changed()

    def _on_shown_differently(self, _theme: object) -> None:
        if self._decimal != self._workspace.decimal:
            self._on_changed()

    def _on_changed(self, *_what: object) -> None:
        """Read the jars anew, keep the choice where it still stands, and compare."""
        document = self._workspace.document
        if document is None:
            self._set(message=sentence("film_page.closed"), caution="", jars=())
            return
        self._decimal = decimal = self._workspace.decimal
        state = document.state
        entries = jar_entries(state, document.now(), decimal=decimal)
        ids = [entry.id for entry in entries]
        first = self.state.first if self.state.first in ids else (ids[0] if ids else "")
        others = [each for each in ids if each != first]
        second = self.state.second if self.state.second in ids else (others[0] if others else "")
        self._set(
            message="" if others else sentence("film_page.few_jars"),
            caution=caution_of(state),
            jars=entries,
            first=first,
            second=second,
            decimal=decimal,
        )
        if others and self._is_shown:
            self._request()

    def _request(self) -> None:
        document = self._workspace.document
        assert document is not None
        state, now = document.state, document.now()
        pair, decimal = (self.state.first, self.state.second), self._decimal
        self._set(is_stale=bool(self.state.content.headline))
        self._workspace.submit(
            lambda token: film_content(state, pair, now, decimal=decimal, token=token),
            self._take,
            self._fail,
            slot=_SLOT,
        )

    def _take(self, content: FilmContent) -> None:
        self._set(content=content, is_stale=False)

    def _fail(self, error: Exception) -> None:
        if isinstance(error, StirfallError):
            self._set(message=error_sentence(error, decimal=self._decimal))
            return
        self._set(message=sentence("film_page.failed"))
        self._workspace.notifier.fail(error)

    def _set(self, **changes: object) -> None:
        self.state = replace(self.state, **changes)  # type: ignore[arg-type]  # names and types as in FilmState
        self.changed.emit(self.state)
