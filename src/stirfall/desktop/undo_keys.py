"""Undo and redo by key reach the campaign unless the text line that has the keyboard has something of its own."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QWidget
from shiboken6 import isValid


class UndoKeys(QObject):
    """Follows the focus inside one window.

    A text line takes the keys for undo and redo to itself even when it has nothing to undo; after a recording, when
    the empty line for the next jar has the keyboard, they would then do nothing.
    """

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._watched: QWidget | None = None
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._follow)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let the keys pass to the menu where the line has nothing to take back or to do again."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            line = _line_of(watched)
            undoes = event.matches(QKeySequence.StandardKey.Undo)
            redoes = event.matches(QKeySequence.StandardKey.Redo)
            if line is not None and (
                (undoes and not line.isUndoAvailable()) or (redoes and not line.isRedoAvailable())
            ):
                event.ignore()
                return True
        return super().eventFilter(watched, event)

    def _follow(self, _old: QWidget | None, now: QWidget | None) -> None:
        if self._watched is not None and isValid(self._watched):
            self._watched.removeEventFilter(self)
        is_text = _line_of(now) is not None and now is not None and self._window.isAncestorOf(now)
        self._watched = now if is_text else None
        if self._watched is not None:
            self._watched.installEventFilter(self)


def _line_of(widget: QObject | None) -> QLineEdit | None:
    """Return the line that text goes to; a list that can be typed into has the keyboard in place of its line."""
    return widget.lineEdit() if isinstance(widget, QComboBox) else widget if isinstance(widget, QLineEdit) else None
