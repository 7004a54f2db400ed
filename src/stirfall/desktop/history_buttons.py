"""Undo and redo in the head of the window: each names what it would do, as far as there is room."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING
from stirfall.desktop.workspace import in_a_sentence

if TYPE_CHECKING:
    from stirfall.session.document import Document

_MOST_LETTERS, _LEAST_LETTERS = 32, 15
_EDGE = 30  # the padding of a button and its border, both sides


class ElidedButton(QPushButton):
    """A button whose text gives way: what does not fit ends in an ellipsis; the verb always fits."""

    def __init__(self, verb: str, name: str) -> None:
        super().__init__(verb)
        self.setObjectName(name)
        self._verb = verb
        self._whole = verb
        self.setMinimumHeight(TARGET)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)

    def show_text(self, text: str) -> None:
        """Show as much of a text as fits."""
        if text != self._whole:
            self._whole = text
            self.updateGeometry()
        self._elide()

    def sizeHint(self) -> QSize:
        """Return room for the whole text, or for so many letters of it."""
        return QSize(self._room(_MOST_LETTERS), super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        """Return room for the verb and the beginning of the name."""
        return QSize(self._room(_LEAST_LETTERS), super().minimumSizeHint().height())

    def _room(self, letters: int) -> int:
        metrics = self.fontMetrics()
        most = letters * metrics.averageCharWidth()
        needed = max(min(metrics.horizontalAdvance(self._whole), most), metrics.horizontalAdvance(self._verb + "…"))
        return needed + _EDGE

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Use the new room."""
        super().resizeEvent(event)
        self._elide()

    def _elide(self) -> None:
        room = max(self.width() - _EDGE, 0)
        shown = self.fontMetrics().elidedText(self._whole, Qt.TextElideMode.ElideRight, room)
        if shown != self.text():
            self.setText(shown)


class HistoryButtons(QWidget):
    """Two buttons; ``undo`` and ``redo`` are clicked, the window knows what to do."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.undo, self.redo = ElidedButton("Undo", "head_undo"), ElidedButton("Redo", "head_redo")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(SPACING // 2)
        row.addWidget(self.undo)
        row.addWidget(self.redo)
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.show_document(None)

    def show_document(self, document: Document | None) -> None:
        """Name what can be undone and done again now."""
        may_change = document is not None and not document.read_only
        undo_name = document.undo_name if document is not None and may_change else None
        redo_name = document.redo_name if document is not None and may_change else None
        _show(self.undo, "Undo", undo_name, "Ctrl+Z")
        _show(self.redo, "Redo", redo_name, "Ctrl+Shift+Z")


def _show(button: ElidedButton, verb: str, name: str | None, keys: str) -> None:
    whole = f"{verb} {in_a_sentence(name)}" if name else verb
    button.setEnabled(name is not None)
    button.show_text(whole)
    button.setToolTip(f"{whole} ({keys})" if name else f"Nothing to {verb.lower()}")
    name_control(button, whole)
