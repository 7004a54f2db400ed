"""Splitting a lot in place, with real clicks and keys."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QAbstractItemModelTester, QTest
from PySide6.QtWidgets import QLineEdit

from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Jar
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.shelf.page import ShelfPage
from stirfall.desktop.shelf.split_grid import SPLIT_COLUMNS, SplitGrid
from stirfall.desktop.shelf.split_model import made_text
from stirfall.desktop.shelf.split_starts import AGES, AT_ONCE, IN_TURN
from stirfall.desktop.workspace import Workspace
from stirfall.session.commands import AddJar, ChangeSettings
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def document(document_of_few: Document) -> Document:
    return document_of_few


@pytest.fixture
def page(put_on_screen: Callable[..., ShelfPage], workspace: Workspace, document: Document) -> Iterator[ShelfPage]:
    workspace.open_document(document)
    made = put_on_screen(ShelfPage(workspace), 600, 900)
    QTest.mouseClick(made.split, LEFT)
    yield made
    workspace.close_document()


def cell(page: ShelfPage, row: int, column: str) -> str:
    return str(page.split_panel.grid_model.index(row, SPLIT_COLUMNS.index(column)).data())


def test_six_jars_are_made_with_few_touches_and_one_undo_takes_them_back(
    page: ShelfPage, workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    panel = page.split_panel
    assert panel.isVisible()
    assert panel.mass.hasFocus()
    QTest.keyClicks(panel.mass, "12")
    assert panel.grid_model.rowCount() == 6
    assert "6 jars of lot L1, 72\u2009g in all, 6 start now." in panel.summary.text()
    with qtbot.waitSignal(workspace.notified) as told:
        QTest.mouseClick(panel.accept, LEFT)
    assert told.args[0].text == "Lot L1 is split: 6 jars started."
    assert told.args[0].act == "Print labels"
    assert not panel.isVisible()
    assert len(document.state.shelf) == 8
    workspace.undo()
    assert len(document.state.shelf) == 2
    workspace.redo()
    assert len(document.state.shelf) == 8


def test_the_mass_of_one_jar_is_typed_over_in_the_table(page: ShelfPage, document: Document, qtbot: QtBot) -> None:
    panel = page.split_panel
    QTest.keyClicks(panel.mass, "10")
    place = panel.jars.visualRect(panel.grid_model.index(1, 1)).center()
    QTest.mouseClick(panel.jars.viewport(), LEFT, pos=place)
    editor = panel.jars.findChild(QLineEdit)
    assert editor is not None
    editor.selectAll()
    QTest.keyClicks(editor, "7.5")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: cell(page, 1, "Mass, g") == "7.5", timeout=2000)
    assert [cell(page, row, "Mass, g") for row in range(3)] == ["10", "7.5", "10"]
    panel.accept.click()
    assert [jar.charge_g for jar in document.state.jars[2:5]] == [10.0, 7.5, 10.0]


def test_a_wrong_cell_says_so_and_holds_the_verb_back(page: ShelfPage) -> None:
    panel = page.split_panel
    panel.grid_model.setData(panel.grid_model.index(2, 2), "thick")
    assert cell(page, 2, "Depth, mm") == "⚠ thick"
    assert not panel.accept.isEnabled()
    assert panel.warnings.isVisible()
    panel.grid_model.setData(panel.grid_model.index(2, 2), "9")
    assert panel.accept.isEnabled()


def test_ages_for_one_evening_become_planned_jars(
    page: ShelfPage, workspace: Workspace, document: Document
) -> None:
    panel = page.split_panel
    assert not panel.ages.isVisible()
    QTest.mouseClick(panel.starts.button(AGES), LEFT)
    assert panel.ages.isVisible()
    assert panel.ages.text() == "2, 8, 24, 96 h"
    panel.count.setText("4")
    assert {cell(page, row, "Age") for row in range(4)} == {"2\u2009h", "8\u2009h", "24\u2009h", "4\u2009days"}
    assert f"with seed {panel.seed.text()}" in panel.summary.text()
    panel.accept.click()
    assert len(document.state.planned_jars) == 4
    assert len({jar.started_at for jar in document.state.planned_jars}) == 4
    assert workspace.document is document


def test_an_evening_too_near_is_refused_in_words(page: ShelfPage, document: Document) -> None:
    panel = page.split_panel
    panel.starts.button(AGES).click()
    panel.evening.setDateTime(panel.begin.dateTime().addSecs(6 * 3600))
    assert not panel.accept.isEnabled()
    assert "which is past" in panel.ages.accessibleDescription()
    assert len(document.state.jars) == 2


def test_jars_in_turn_show_when_each_starts(page: ShelfPage) -> None:
    panel = page.split_panel
    panel.starts.button(IN_TURN).click()
    assert panel.every.isVisible()
    assert not panel.accept.isEnabled()
    QTest.keyClicks(panel.every, "1 d")
    assert cell(page, 0, "Starts") == "now"
    assert cell(page, 1, "Starts").startswith("tomorrow")
    assert "1 starts now and 5 are planned" in panel.summary.text()


def test_the_film_index_of_each_jar_is_foretold_where_enough_is_known(page: ShelfPage, document: Document) -> None:
    panel = page.split_panel
    assert cell(page, 0, "Film index") == "–"
    for name, text in (("diameter", "40"), ("pieces", "5"), ("piece_size", "9")):
        panel.fold.lines[name].setText(text)
    panel.oil_depth.setText("12")
    assert " to " in cell(page, 0, "Film index")
    assert document.state.jars[-1].id == "J3"


def test_a_superoxide_former_can_only_start_now_and_the_form_says_why(page: ShelfPage, document: Document) -> None:
    page.close_panels()
    document.execute(ChangeSettings(replace(document.state.settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    page.split.click()
    panel = page.split_panel
    assert panel.starts.value == AT_ONCE
    assert not panel.starts.button(AGES).isEnabled()
    assert not panel.starts.button(IN_TURN).isEnabled()
    assert "superoxide" in panel.why.text()
    assert panel.why.isVisible()
    assert cell(page, 0, "Film index") == "–"


def test_a_split_remembers_how_the_newest_jar_is_kept(page: ShelfPage, document: Document) -> None:
    page.close_panels()
    document.execute(
        AddJar(Jar("J9", "L1", document.now(), "white oil", 14.0, "closed", inner_diameter_mm=38.0, note="mine"))
    )
    page.split.click()
    panel = page.split_panel
    assert (panel.oil.text(), panel.oil_depth.text(), panel.lid.value) == ("white oil", "14", "closed")
    assert panel.fold.lines["diameter"].text() == "38"
    assert panel.mass.text() == ""


def test_every_control_of_the_split_is_named_and_the_table_keeps_the_rules(page: ShelfPage) -> None:
    for mode in (AGES, IN_TURN, AT_ONCE):
        page.split_panel.starts.button(mode).click()
        unnamed = [widget.objectName() for widget in focusable_widgets(page) if not widget.accessibleName()]
        assert unnamed == []
    model = SplitGrid()
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning)
    read = page.split_model.read(page.split_panel.form)
    model.show_read(read, {}, ".")
    model.show_read(replace(read, jars=read.jars[:2]), {}, ",")
    assert model.rowCount() == 2
    assert tester.model() is model


@pytest.mark.parametrize(
    ("started", "planned", "said"),
    [
        (6, 3, "6 jars started, 3 planned"),
        (1, 0, "1 jar started"),
        (0, 1, "1 jar planned"),
        (0, 4, "4 jars planned"),
    ],
)
def test_what_was_made_is_counted(started: int, planned: int, said: str) -> None:
    assert made_text(started, planned) == said
