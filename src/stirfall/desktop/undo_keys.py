"""Undo and redo by key reach the campaign unless the field that has the keyboard has something of its own."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QTextEdit,
    QWidget,
)
from shiboken6 import isValid

from stirfall.desktop.focus_ring import stands_in


class UndoKeys(QObject):
    """Follows the focus inside one window.

    A text field takes the keys for undo and redo to itself even when it has nothing to undo. After a recording,
    when the empty line for the next jar has the keyboard, they would then do nothing.
    """

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._watched: QWidget | None = None
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._follow)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let the keys pass to the menu where the field has nothing to take back or to do again."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            undoes = event.matches(QKeySequence.StandardKey.Undo)
            redoes = event.matches(QKeySequence.StandardKey.Redo)
            own = _own_steps(watched)
            if own is not None and ((undoes and not own[0]) or (redoes and not own[1])):
                event.ignore()
                return True
        return super().eventFilter(watched, event)

    def _follow(self, _old: QWidget | None, now: QWidget | None) -> None:
        if self._watched is not None and isValid(self._watched):
            self._watched.removeEventFilter(self)
        self._watched = None
        if now is not None and stands_in(self._window, now) and _own_steps(now) is not None:
            self._watched = now
        if self._watched is not None:
            self._watched.installEventFilter(self)


def _own_steps(widget: QObject) -> tuple[bool, bool] | None:
    """Return whether a field can undo and redo what was typed into it; None for what is no field."""
    if isinstance(widget, (QPlainTextEdit, QTextEdit)):
        document = widget.document()
        may = not widget.isReadOnly()
        return may and document.isUndoAvailable(), may and document.isRedoAvailable()
    line = _line_of(widget)
    return (line.isUndoAvailable(), line.isRedoAvailable()) if line is not None else None


def _line_of(widget: QObject) -> QLineEdit | None:
    """Return the line that text goes to; a list or a spin box has the keyboard in place of its line."""
    if isinstance(widget, QComboBox):
        return widget.lineEdit()
    if isinstance(widget, QAbstractSpinBox):
        return widget.findChild(QLineEdit)
    return widget if isinstance(widget, QLineEdit) else None
