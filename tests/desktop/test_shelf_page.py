"""The shelf page with real clicks and keys."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QAbstractItemModelTester, QTest

from stirfall.bench.materials import MaterialClass
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.shelf.page import ShelfPage
from stirfall.desktop.shelf.table import COLUMNS, ShelfTable
from stirfall.desktop.theme import THEMES
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.session.commands import ChangeSettings

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.session.clock import FixedClock
    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def page(qtbot: QtBot, workspace: Workspace, document: Document) -> Iterator[ShelfPage]:
    workspace.open_document(document)
    made = ShelfPage(workspace)
    qtbot.addWidget(made)
    made.resize(600, 560)
    made.show()
    qtbot.waitExposed(made)
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow, timeout=3000)
    yield made
    workspace.close_document()


def cell(page: ShelfPage, row: int, column: str) -> str:
    return str(page.table_model.index(row, COLUMNS.index(column)).data())


def choose(page: ShelfPage, row: int) -> None:
    place = page.table.visualRect(page.table_model.index(row, 0)).center()
    QTest.mouseClick(page.table.viewport(), LEFT, pos=place)


def test_the_shelf_shows_each_jar_with_its_age_and_its_chance_with_an_interval(page: ShelfPage) -> None:
    assert page.table_model.rowCount() == 2
    assert cell(page, 0, "Jar") == "J3"
    assert cell(page, 0, "Age") == "3\u2009days"
    assert cell(page, 1, "Age") == "24\u2009h"
    assert " to " in cell(page, 0, "Clean now")
    assert "24 attempts" in page.basis.text()


def test_ages_run_on_by_themselves(page: ShelfPage, clock: FixedClock) -> None:
    clock.advance(hours=6)
    page.model.tick()
    assert cell(page, 1, "Age") == "30\u2009h"


def test_choosing_a_jar_takes_its_conditions_in_hand(page: ShelfPage, workspace: Workspace) -> None:
    choose(page, 1)
    assert workspace.in_hand.source == "jar"
    assert workspace.in_hand.label == "Jar J1"
    assert workspace.in_hand.conditions["sample age"] == 40 * 24.0
    assert "J1" in page.jar_text.text()


def test_use_on_the_bench_asks_for_the_form_with_this_jar(
    page: ShelfPage, workspace: Workspace, qtbot: QtBot
) -> None:
    choose(page, 0)
    with qtbot.waitSignal(workspace.form_requested) as wanted:
        QTest.mouseClick(page.use, LEFT)
    (request,) = wanted.args
    assert isinstance(request, FormRequest)
    assert request.jar_id == "J3"


def test_enter_on_a_jar_uses_it_on_the_bench(page: ShelfPage, workspace: Workspace, qtbot: QtBot) -> None:
    choose(page, 0)
    page.table.setFocus()
    with qtbot.waitSignal(workspace.form_requested):
        QTest.keyClick(page.table, Qt.Key.Key_Return)


def test_a_jar_is_started_in_place_and_then_in_hand(page: ShelfPage, document: Document) -> None:
    QTest.mouseClick(page.start, LEFT)
    assert page.jar_panel.isVisible()
    assert page.jar_panel.jar.text() == "J4"
    page.jar_panel.oil_depth.setFocus()
    QTest.keyClicks(page.jar_panel.oil_depth, "1.2 cm")
    QTest.mouseClick(page.jar_panel.accept, LEFT)
    jar = document.state.jar("J4")
    assert jar is not None
    assert jar.oil_depth_mm == 12.0
    assert jar.started_at == document.now()
    assert not page.jar_panel.isVisible()
    assert page.model.state is not None
    assert page.model.state.selected == "J4"


def test_a_problem_of_the_form_stands_in_place_and_closes_the_verb(page: ShelfPage) -> None:
    QTest.mouseClick(page.start, LEFT)
    page.jar_panel.jar.setText("J1")
    assert not page.jar_panel.accept.isEnabled()
    assert "J1" in page.jar_panel.jar.accessibleDescription()
    QTest.keyClick(page.jar_panel.jar, Qt.Key.Key_Escape)
    assert not page.jar_panel.isVisible()


def test_a_lot_is_registered_in_place(page: ShelfPage, document: Document) -> None:
    QTest.mouseClick(page.register, LEFT)
    assert page.lot_panel.isVisible()
    QTest.mouseClick(page.lot_panel.accept, LEFT)
    lot = document.state.lot("L2")
    assert lot is not None
    assert lot.made_at is not None
    assert abs(lot.made_at - document.now()) < timedelta(minutes=1)


def test_a_jar_taken_off_the_shelf_comes_back_with_undo(page: ShelfPage, workspace: Workspace) -> None:
    choose(page, 0)
    QTest.mouseClick(page.take_off, LEFT)
    assert page.table_model.rowCount() == 1
    workspace.undo()
    assert page.table_model.rowCount() == 2


def test_an_empty_shelf_teaches_the_one_step_that_fills_it(
    qtbot: QtBot, workspace: Workspace, empty_document: Document
) -> None:
    workspace.open_document(empty_document)
    page = ShelfPage(workspace)
    qtbot.addWidget(page)
    page.show()
    assert page.empty.isVisible()
    assert "First register the lot" in page.empty.text()
    assert not page.start.isEnabled()
    page.open_lot_panel()
    page.lot_panel.accept.click()
    assert "Start a jar" in page.empty.text()
    assert page.start.isEnabled()
    workspace.close_document()
    assert "Open a session" in page.empty.text()


def test_a_superoxide_former_shows_its_caution_above_the_shelf_and_on_each_jar(
    page: ShelfPage, document: Document
) -> None:
    settings = replace(document.state.settings, material=MaterialClass.SUPEROXIDE_FORMER)
    document.execute(ChangeSettings(settings))
    assert page.warning_strip.isVisible()
    assert "explode" in page.warning.text()
    assert cell(page, 0, "Says") == "⛔ Do not use", "three days are beyond the limit of its class"
    choose(page, 0)
    assert "Do not open" in page.jar_warning.text()
    assert not page.use.isEnabled()


def test_the_table_model_keeps_the_rules_of_qt(page: ShelfPage, workspace: Workspace) -> None:
    model = ShelfTable()
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning)
    state = page.model.state
    assert state is not None
    model.show_state(state)
    model.show_state(state)
    model.show_state(replace(state, rows=state.rows[:1]))
    model.show_state(None)
    assert model.rowCount() == 0
    assert tester.model() is model


def test_every_control_is_named(page: ShelfPage) -> None:
    page.open_jar_panel()
    unnamed = [widget.objectName() for widget in focusable_widgets(page) if not widget.accessibleName()]
    assert unnamed == []
    page.open_lot_panel()
    unnamed = [widget.objectName() for widget in focusable_widgets(page) if not widget.accessibleName()]
    assert unnamed == []


@pytest.mark.parametrize("name", list(THEMES))
def test_the_page_renders_in_every_theme(page: ShelfPage, workspace: Workspace, name: str) -> None:
    workspace.set_theme(THEMES[name])
    page.apply_theme(THEMES[name])
    assert THEMES[name].text in page.styleSheet()
    assert not page.grab().isNull()
