"""A table brought in with the mouse and the keys: how it was read, its columns and words, what comes in, undo."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QItemSelectionModel, QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QPushButton, QWidget

from stirfall.desktop.files import FileFlows
from stirfall.desktop.importing.dialog import ImportDialog
from stirfall.desktop.importing.flows import ImportFlows
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.notifier import Notice
from stirfall.desktop.theme import THEMES, apply_theme
from stirfall.desktop.window import _dropped_session as dropped_file
from stirfall.session.document import Document
from stirfall.session.settings import Settings
from stirfall.storage.import_plan import Meaning

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

    from stirfall.desktop.workspace import Workspace

TABLE = (
    "date;lot;T (°C);age;power (W);result\n"
    "3/4/2026;L1;150,5;24;5;clean\n"
    "5/6/2026;L1;151;48;6;beads\n"
    "6/6/2026;L2;warm;72;7;meh\n"
)


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "spring.csv"
    path.write_text(TABLE, encoding="utf-8")
    return path


@pytest.fixture
def dialog(
    workspace: Workspace, document_of_two: Document, table: Path, put_on_screen: Callable[..., ImportDialog]
) -> ImportDialog:
    workspace.open_document(document_of_two)
    made = put_on_screen(ImportDialog(workspace), 1180, 672)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)  # the test looks at it afterwards
    made.model.start(str(table))
    return made


def choose(combo: QComboBox, key: str) -> None:
    """Choose as a person does: the activated signal comes with the choice."""
    place = combo.findData(key)
    assert place >= 0, key
    combo.setCurrentIndex(place)
    combo.activated.emit(place)


def pick(dialog: ImportDialog, heading: str) -> None:
    headings = [each.heading for each in dialog.model.state.plan.columns]  # type: ignore[union-attr]
    rows = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
    index = dialog.columns.grid.index(headings.index(heading), 0)
    dialog.columns.table.selectionModel().setCurrentIndex(index, rows)


def settle(dialog: ImportDialog) -> None:
    """Settle what the table leaves open: the order of dates and one word."""
    pick(dialog, "date")
    dialog.columns.dates.button("day-first").click()
    dialog.parts.button("words").click()
    chooser = next(each for key, each in dialog.words.choosers.items() if key[1] == "meh")
    choose(chooser, "partly parted")


def test_the_columns_are_shown_with_what_they_are_taken_for(dialog: ImportDialog) -> None:
    grid = dialog.columns.grid
    rows = [[grid.data(grid.index(row, at)) for at in range(3)] for row in range(grid.rowCount())]
    assert rows[2] == ["T (°C)", "150,5, 151, warm", "factor: temperature"]
    assert rows[4][2] == "factor: power"
    assert "semicolons" in dialog.columns.file.how.text()
    assert not dialog.verb.isEnabled()
    assert "day or the month" in dialog.problem.text()
    assert "And 1 more." in dialog.problem.text()
    assert "1 to settle" in dialog.parts.button("columns").text()


def test_what_is_open_is_settled_and_the_table_comes_in_and_is_undone(
    dialog: ImportDialog, document_of_two: Document, workspace: Workspace
) -> None:
    notices: list[Notice] = []
    workspace.notified.connect(notices.append)
    settle(dialog)
    assert "cells are refused" in dialog.problem.text()
    dialog.parts.button("preview").click()
    assert dialog.preview.grid.rowCount() == 2
    assert dialog.preview.refused_grid.rowCount() == 1
    assert not dialog.verb.isEnabled()
    dialog.preview.options["leaves_out"].click()
    assert dialog.verb.isEnabled()
    assert dialog.verb.text() == "&Take in 2 attempts"
    before = document_of_two.state
    dialog.verb.click()
    after = document_of_two.state
    assert len(after.attempts) == len(before.attempts) + 2
    assert [lot.id for lot in after.lots][-1] == "L1"
    assert any(each.name == "power" for each in after.factors)
    assert "2 attempts came into" in notices[-1].text
    workspace.undo()
    assert document_of_two.state.factors == before.factors
    assert document_of_two.state.attempts == before.attempts


def test_a_column_is_taken_for_something_else(dialog: ImportDialog) -> None:
    pick(dialog, "power (W)")
    columns = dialog.columns
    assert columns.name.isVisible()
    columns.name.setText("stirring power")
    columns.name.editingFinished.emit()
    columns.unit.setText("kW")
    columns.unit.editingFinished.emit()
    plan = dialog.model.state.plan
    assert plan is not None
    assert (plan.column(4).factor, plan.column(4).unit) == ("stirring power", "kW")
    columns.is_choice.click()
    assert dialog.model.state.plan.column(4).is_choice  # type: ignore[union-attr]
    assert not columns.unit.isVisible()
    choose(columns.meaning, "note")
    assert dialog.model.state.plan.column(4).meaning is Meaning.NOTE  # type: ignore[union-attr]
    assert not columns.name.isVisible()
    pick(dialog, "T (°C)")
    columns.decimal.button(".").click()
    imported = dialog.model.state.imported
    assert imported is not None
    assert [each.text for each in imported.refused if each.column == "T (°C)"] == ["warm"]


def test_the_file_can_be_read_in_another_way(dialog: ImportDialog, tmp_path: Path) -> None:
    dialog.columns.file.heading.setValue(2)
    dialog.columns.file.heading.editingFinished.emit()
    assert dialog.model.state.table is not None
    assert dialog.model.state.table.header[1] == "L1"
    choose(dialog.columns.file.delimiter, ",")
    assert dialog.model.state.table is None or len(dialog.model.state.table.header) != 6
    dialog.model.start(str(tmp_path / "nowhere.csv"))
    assert "cannot be read" in dialog.problem.text()
    assert not dialog.columns.isVisible()


def test_another_reading_that_fails_leaves_the_last_one_and_its_fields(dialog: ImportDialog) -> None:
    heading = dialog.columns.file.heading
    heading.setValue(4)  # the last row: nothing stands under it
    heading.editingFinished.emit()
    assert "has no rows under its headings in row 4" in dialog.model.state.trouble
    assert dialog.columns.file.isVisible()
    assert heading.value() == 1
    heading.setValue(2)
    heading.editingFinished.emit()
    assert dialog.model.state.trouble == ""
    assert dialog.model.state.table is not None
    assert dialog.model.state.table.heading == 2


def test_a_file_that_is_no_table_leads_to_another(dialog: ImportDialog, table: Path, tmp_path: Path) -> None:
    empty = tmp_path / "empty.csv"
    empty.write_text("", encoding="utf-8")
    assert not dialog.choose.isVisible()
    dialog.model.start(str(empty))
    assert dialog.choose.isVisible()
    QTest.mouseClick(dialog.choose, Qt.MouseButton.LeftButton)
    assert dialog.files is not None
    dialog.files.fileSelected.emit(str(table))
    dialog.files.close()
    assert dialog.model.state.table is not None
    assert not dialog.choose.isVisible()


def test_a_sheet_and_stored_values_can_be_chosen(dialog: ImportDialog, tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "empty"
    other = book.create_sheet("attempts")
    for row in (["T (°C)", "result"], [150, "clean"], ["=A2", "no"]):
        other.append(row)
    sheet.append(["T", "result"])
    sheet.append([151, "clean"])
    book.save(tmp_path / "b.xlsx")
    dialog.model.start(str(tmp_path / "b.xlsx"))
    assert not dialog.columns.file.stored.isVisible()
    choose(dialog.columns.file.sheet, "attempts")
    assert dialog.model.state.table is not None
    assert dialog.model.state.table.sheet == "attempts"
    assert [each.column for each in dialog.model.state.imported.refused] == ["T (°C)"]  # type: ignore[union-attr]
    assert dialog.columns.file.stored.isVisible()
    dialog.columns.file.stored.click()
    assert dialog.model.state.imported.refused == ()  # type: ignore[union-attr]


def test_refused_cells_leave_as_a_table_that_computes_nothing(dialog: ImportDialog, tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("T,result\n=1+1,clean\n151,no\n")
    dialog.model.start(str(path))
    dialog.parts.button("preview").click()
    dialog.preview.copy.click()
    rows = list(csv.reader(io.StringIO(QGuiApplication.clipboard().text())))
    assert rows[0] == ["row", "column", "text", "why"]
    assert rows[1][:3] == ["2", "T", "'=1+1"]
    dialog.preview.save_refused(tmp_path / "refused.csv")
    assert (tmp_path / "refused.csv").read_text(encoding="utf-8").startswith("row,column,text,why")


def test_a_table_dropped_on_the_dialog_is_read(dialog: ImportDialog, tmp_path: Path) -> None:
    other = tmp_path / "other.tsv"
    other.write_text("T\tresult\n150\tclean\n151\tno\n")
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(other))])
    action, buttons, keys = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    dialog.dropEvent(QDropEvent(QPointF(5, 5), action, data, buttons, keys))
    assert dialog.windowTitle() == "Import a table: other.tsv"
    assert dialog.verb.isEnabled()


def test_without_a_session_a_new_one_is_made(workspace: Workspace, themed: QApplication, tmp_path: Path) -> None:
    del themed
    window, opened = QWidget(), []
    path = tmp_path / "spring.csv"
    path.write_text("T,age,result\n150,24,clean\n151,48,beads\n")
    flows = ImportFlows(workspace, window, opened.append)
    dialog = flows.open_dialog(str(path), tmp_path)
    assert dialog is not None
    assert dialog.verb.text().endswith("as a new session…")
    dialog.verb.click()
    assert flows.place is not None
    flows.place.fileSelected.emit(str(tmp_path / "spring.stirfall"))
    assert opened == [tmp_path / "spring.stirfall"]
    with Document.open(tmp_path / "spring.stirfall") as document:
        assert len(document.state.attempts) == 2
    flows.place.reject()
    window.deleteLater()


def test_a_table_dropped_on_the_window_opens_the_dialog(
    workspace: Workspace, themed: QApplication, tmp_path: Path, settings_dir: Path
) -> None:
    del themed
    path = tmp_path / "Spring.CSV"
    path.write_text("T,result\n150,clean\n151,no\n")
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    action, buttons, keys = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    dropped = dropped_file(QDropEvent(QPointF(5, 5), action, data, buttons, keys))
    assert dropped == str(path)
    window = QWidget()
    files = FileFlows(workspace, Settings(settings_dir / "settings.json"), window)
    assert files.open_path(dropped)
    assert isinstance(files.dialog, ImportDialog)
    assert files.dialog.model.state.name == "Spring.CSV"
    files.dialog.reject()
    window.deleteLater()


def test_a_session_that_may_only_be_read_says_so(
    workspace: Workspace, document_of_two: Document, themed: QApplication
) -> None:
    del themed
    notices: list[Notice] = []
    workspace.notified.connect(notices.append)
    with Document.open(document_of_two.path, read_only=True) as reader:
        workspace.open_document(reader)
        window = QWidget()
        assert ImportFlows(workspace, window, lambda _path: None).open_dialog("x.csv") is None
        workspace.close_document()
        window.deleteLater()


@pytest.mark.parametrize("part", ["columns", "words", "preview"])
def test_every_part_is_reached_by_keys_and_named(dialog: ImportDialog, part: str) -> None:
    dialog.parts.button(part).setFocus()
    QTest.keyClick(dialog.parts.button(part), Qt.Key.Key_Space)
    assert dialog.model.state.part == part
    controls = list(focusable_widgets(dialog))
    assert len(controls) >= 5
    assert [each.objectName() for each in controls if not each.accessibleName()] == []
    small = [each for each in dialog.findChildren(QPushButton) if each.isVisible() and each.height() < 44]
    assert [each.text() for each in small] == []


@pytest.mark.parametrize("theme", list(THEMES.values()), ids=list(THEMES))
def test_every_part_is_drawn_in_every_theme(dialog: ImportDialog, qapp: QApplication, theme: object) -> None:
    apply_theme(qapp, theme)  # type: ignore[arg-type]
    for part in ("columns", "words", "preview"):
        dialog.model.show_part(part)
        picture = dialog.grab().toImage()
        assert picture.width() == dialog.width()
