"""Which of two undos a key means: that of the text being typed, or that of the campaign."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QComboBox, QLineEdit, QMainWindow, QPlainTextEdit, QSpinBox, QVBoxLayout, QWidget

from stirfall.desktop.undo_keys import UndoKeys

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytestqt.qtbot import QtBot

CONTROL = Qt.KeyboardModifier.ControlModifier
Z = Qt.Key.Key_Z


class Window(QMainWindow):
    """A line, a list that can be typed into, and an undo in the menu that counts how often it is asked."""

    def __init__(self) -> None:
        super().__init__()
        self.asked = 0
        self.line, self.combo = QLineEdit(), QComboBox()
        self.combo.setEditable(True)
        self.note, self.spin = QPlainTextEdit(), QSpinBox()
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.addWidget(self.line)
        for each in (self.combo, self.note, self.spin):
            column.addWidget(each)
        self.setCentralWidget(whole)
        self.undo = QAction("Undo", self)
        self.undo.setShortcut(QKeySequence(QKeySequence.StandardKey.Undo))
        self.undo.triggered.connect(self._count)
        self.addAction(self.undo)
        self.keys = UndoKeys(self)

    def _count(self) -> None:
        self.asked += 1


@pytest.fixture
def window(put_on_screen: Callable[[Window, int, int], Window]) -> Window:
    return put_on_screen(Window(), 300, 300)


@pytest.mark.parametrize("name", ["line", "combo", "note", "spin"])
def test_the_key_reaches_the_menu_where_nothing_was_typed(window: Window, qtbot: QtBot, name: str) -> None:
    getattr(window, name).setFocus()
    qtbot.keyClick(window.focusWidget(), Z, CONTROL)
    assert window.asked == 1


@pytest.mark.parametrize("name", ["line", "combo"])
def test_what_was_typed_is_taken_back_first(window: Window, qtbot: QtBot, name: str) -> None:
    widget = getattr(window, name)
    line = widget.lineEdit() if name == "combo" else widget
    widget.setFocus()
    qtbot.keyClicks(window.focusWidget(), "J57")
    qtbot.keyClick(window.focusWidget(), Z, CONTROL)
    assert line.text() == ""
    assert window.asked == 0
    qtbot.keyClick(window.focusWidget(), Z, CONTROL)
    assert window.asked == 1


def test_a_note_takes_back_its_own_words_first(window: Window, qtbot: QtBot) -> None:
    window.note.setFocus()
    qtbot.keyClicks(window.note, "oil")
    qtbot.keyClick(window.note, Z, CONTROL)
    assert (window.note.toPlainText(), window.asked) == ("", 0)
    window.note.setPlainText("filled in anew")  # by the program: nothing of one's own is left in it
    qtbot.keyClick(window.note, Z, CONTROL)
    assert (window.note.toPlainText(), window.asked) == ("filled in anew", 1)
