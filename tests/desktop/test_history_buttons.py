"""Undo and redo in the head: named, elided where room is short, said after they were done."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt

from stirfall.desktop.header import Header
from stirfall.desktop.history_buttons import HistoryButtons
from stirfall.desktop.notifier import Notice
from stirfall.desktop.workspace import Workspace, in_a_sentence
from stirfall.session.commands import RecordAttempt

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.session.document import Document


@pytest.mark.parametrize(
    ("name", "within"), [("Record attempt 12", "record attempt 12"), ("", ""), ("CSV in", "CSV in"), ("A b", "A b")]
)
def test_the_name_of_a_step_within_a_sentence(name: str, within: str) -> None:
    assert in_a_sentence(name) == within


def test_buttons_name_the_step_and_say_what_happened(workspace: Workspace, document: Document) -> None:
    workspace.open_document(document)
    buttons = HistoryButtons()
    workspace.document_changed.connect(lambda _changes: buttons.show_document(workspace.document))
    buttons.undo.clicked.connect(workspace.undo)
    buttons.redo.clicked.connect(workspace.redo)
    buttons.show_document(document)
    assert not buttons.undo.isEnabled()
    assert "Nothing to undo" in buttons.undo.toolTip()
    notices: list[Notice] = []
    workspace.notified.connect(notices.append)
    attempt = replace(document.state.attempts[-1], id="", number=0, recorded_at=None, started_at=None)
    workspace.execute(RecordAttempt(attempt))
    assert buttons.undo.accessibleName() == "Undo record attempt 25"
    assert buttons.undo.toolTip() == "Undo record attempt 25 (Ctrl+Z)"
    buttons.undo.click()
    assert (notices[-1].text, notices[-1].act) == ("Undone: record attempt 25.", "Redo")
    assert buttons.redo.accessibleName() == "Redo record attempt 25"
    assert not buttons.undo.isEnabled()
    notices[-1].on_act()
    assert len(document.state.attempts) == 25
    assert notices[-1].text == "Done again: record attempt 25."


def test_a_long_name_gives_way_and_is_whole_in_the_tooltip(workspace: Workspace, qtbot: QtBot) -> None:
    buttons = HistoryButtons()
    qtbot.addWidget(buttons)
    buttons.undo.setEnabled(True)
    buttons.undo.show_text("Undo correct the oil depth of the jar with a very long name")
    buttons.show()
    least = buttons.undo.minimumSizeHint()
    for width in (least.width(), buttons.undo.sizeHint().width()):
        buttons.undo.resize(width, 44)
        assert buttons.undo.text().startswith("Undo")
        assert buttons.undo.text().endswith("…")
        needed = buttons.undo.fontMetrics().horizontalAdvance(buttons.undo.text())
        assert needed <= width
    assert buttons.undo.minimumHeight() >= 44


@pytest.mark.parametrize("width", [760, 800, 1280, 1920])
def test_the_head_keeps_its_words_whole_at_any_width(
    workspace: Workspace, document: Document, qtbot: QtBot, width: int
) -> None:
    head = Header()
    qtbot.addWidget(head)
    head.show_document(document)
    head.resize(width, 60)
    head.show()
    for widget in (head.invented, head.history.undo, head.history.redo):
        assert widget.width() >= widget.minimumSizeHint().width()
        right = widget.mapTo(head, widget.rect().topRight()).x()
        assert right <= width
    assert head.history.undo.focusPolicy() & Qt.FocusPolicy.TabFocus
