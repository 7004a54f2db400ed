"""Typing into the cells of a table."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QStyledItemDelegate, QWidget

_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class CellEntry(QStyledItemDelegate):
    """Takes what was typed into a cell at the moment when Enter is pressed.

    Qt's own delegate takes it a turn of the event loop later. When more is waiting by then, as after a scanner or
    quick keys, the editor may have been closed in between, and what was typed would be taken from a dead editor.
    """

    def eventFilter(self, editor: QObject, event: QEvent) -> bool:
        """Take Enter; all other keys are Qt's."""
        is_enter = isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and event.key() in _ENTER
        if is_enter and isinstance(editor, QWidget):
            self.commitData.emit(editor)
            self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.SubmitModelCache)
            return True
        return super().eventFilter(editor, event)
