"""Enter in a cell counts at once, whatever comes before Qt's event loop has turned; Qt complains otherwise."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QTableView, QWidget

from stirfall.desktop.campaign.factor_table import FIELDS
from stirfall.desktop.campaign.factors_dialog import FactorsDialog
from stirfall.desktop.shelf.page import ShelfPage
from stirfall.desktop.shelf.split_grid import SPLIT_COLUMNS
from stirfall.desktop.workspace import Workspace
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

ENTER = Qt.Key.Key_Return


def open_editor(table: QTableView, index: QModelIndex, kind: type[QWidget] = QLineEdit) -> QWidget:
    table.setFocus()
    table.setCurrentIndex(index)
    if table.editTriggers() != QTableView.EditTrigger.AllEditTriggers:  # with all, it is open by now
        table.edit(index)
    editor = table.findChild(kind)
    assert editor is not None
    assert editor.hasFocus()
    return editor


@pytest.fixture
def page(put_on_screen: Callable[..., ShelfPage], workspace: Workspace, document_of_few: Document) -> ShelfPage:
    workspace.open_document(document_of_few)
    made = put_on_screen(ShelfPage(workspace), 600, 900)
    QTest.mouseClick(made.split, Qt.MouseButton.LeftButton)
    QTest.keyClicks(made.split_panel.mass, "10")
    return made


@pytest.fixture
def dialog(workspace: Workspace, document_of_few: Document, qtbot: QtBot) -> FactorsDialog:
    workspace.open_document(document_of_few)
    made = FactorsDialog(workspace, document_of_few.state)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(made)
    made.show()
    with qtbot.waitActive(made):
        made.activateWindow()
    return made


@pytest.mark.parametrize("then", ["fewer", "none", "elsewhere", "closed"])
def test_a_typed_mass_counts_although_the_table_changes_at_once(page: ShelfPage, then: str) -> None:
    panel = page.split_panel
    editor = open_editor(panel.jars, panel.grid_model.index(1, SPLIT_COLUMNS.index("Mass, g")))
    QTest.keyClicks(editor, "7.5")
    QTest.keyPress(editor, ENTER)
    if then in ("fewer", "none"):
        panel.count.setText("3" if then == "fewer" else "")
    elif then == "elsewhere":
        panel.oil.setFocus()
    else:
        panel.hide()
    QApplication.processEvents()
    assert panel.form.own_charge == {1: "7.5"}


def test_enter_twice_and_escape_leave_what_was_typed(page: ShelfPage) -> None:
    panel = page.split_panel
    editor = open_editor(panel.jars, panel.grid_model.index(2, SPLIT_COLUMNS.index("Depth, mm")))
    QTest.keyClicks(editor, "9")
    for key in (ENTER, ENTER, Qt.Key.Key_Escape):
        QTest.keyPress(QApplication.focusWidget(), key)
    QApplication.processEvents()
    assert panel.form.own_depth == {2: "9"}


def test_a_factor_is_taken_out_right_after_its_name_was_typed(dialog: FactorsDialog) -> None:
    row = dialog.model.add(is_choice=False)
    editor = open_editor(dialog.table, dialog.model.index(row, FIELDS.index("name")))
    QTest.keyClicks(editor, "draught")
    QTest.keyPress(editor, ENTER)
    assert dialog.model.rows[row].name == "draught"
    dialog.model.remove(row)
    QApplication.processEvents()
    assert dialog.model.rowCount() == row


def test_a_scale_is_chosen_and_the_dialog_left_at_once(dialog: FactorsDialog) -> None:
    editor = open_editor(dialog.table, dialog.model.index(1, FIELDS.index("scale")), QComboBox)
    assert isinstance(editor, QComboBox)
    before = dialog.model.rows[1].scale
    editor.setCurrentIndex(1 - editor.currentIndex())
    QTest.keyPress(editor, ENTER)
    dialog.table.hide()
    QApplication.processEvents()
    assert dialog.model.rows[1].scale is not before
