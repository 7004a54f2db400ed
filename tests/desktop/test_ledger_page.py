"""The ledger page with real clicks and keys, and its model with a hundred thousand rows."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QGuiApplication
from PySide6.QtTest import QAbstractItemModelTester, QTest
from PySide6.QtWidgets import QTableView

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.ledger.page import LedgerPage
from stirfall.desktop.ledger.table import LedgerTable
from stirfall.desktop.notifier import Notice
from stirfall.desktop.theme import LIGHT, THEMES
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.commands import RecordAttempt

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def page(
    put_on_screen: Callable[..., LedgerPage], workspace: Workspace, document: Document
) -> Iterator[LedgerPage]:
    workspace.open_document(document)
    made = put_on_screen(LedgerPage(workspace), 640, 600)
    yield made
    workspace.close_document()


def choose(page: LedgerPage, row: int) -> None:
    place = page.table.visualRect(page.table_model.index(row, 0)).center()
    QTest.mouseClick(page.table.viewport(), LEFT, pos=place)


def header(page: LedgerPage) -> list[str]:
    model = page.table_model
    return [str(model.headerData(at, Qt.Orientation.Horizontal)) for at in range(model.columnCount())]


def cell(page: LedgerPage, row: int, title: str) -> str:
    return str(page.table_model.index(row, header(page).index(title)).data())


def one_more() -> Attempt:
    return Attempt("", 0, Conditions({"temperature": 151.0}), parted=Parted.YES, pooled=Pooled.ONE_POOL)


def test_the_newest_attempt_stands_first_with_units_in_the_headers(page: LedgerPage) -> None:
    assert header(page) == [
        "No.",
        "Outcome",
        "Time",
        "Jar, lot",
        "Sample age, h",
        "Temperature, °C",
        "Stirring action",
        "Note",
    ]
    assert cell(page, 0, "No.") == "24"
    assert cell(page, 23, "No.") == "1"
    assert page.count.text() == "24 attempts"


def test_choosing_an_attempt_takes_its_conditions_in_hand(page: LedgerPage, workspace: Workspace) -> None:
    choose(page, 2)
    assert workspace.in_hand.source == "attempt"
    assert workspace.in_hand.label == "Attempt 22"
    assert workspace.in_hand.conditions["temperature"] == 152.0


def test_a_new_attempt_appears_on_top_and_the_selection_stays(page: LedgerPage, document: Document) -> None:
    choose(page, 2)
    document.execute(RecordAttempt(one_more()))
    assert cell(page, 0, "No.") == "25"
    assert page.table.currentIndex().row() == 3
    assert page.model.state is not None
    assert page.model.state.selected is not None
    assert page.model.state.selected.number == 22


def test_repeat_this_asks_for_the_form(page: LedgerPage, workspace: Workspace, qtbot: QtBot) -> None:
    choose(page, 0)
    with qtbot.waitSignal(workspace.form_requested) as wanted:
        QTest.mouseClick(page.repeat, LEFT)
    (request,) = wanted.args
    assert isinstance(request, FormRequest)
    assert request.note_origin == "attempt 24"


def test_a_value_is_corrected_in_place_with_its_reason_and_the_history_shows_both(
    page: LedgerPage, document: Document
) -> None:
    choose(page, 0)
    QTest.mouseClick(page.correct, LEFT)
    panel = page.correct_panel
    panel.what.setCurrentIndex(1)
    panel.value.setFocus()
    panel.value.selectAll()
    QTest.keyClicks(panel.value, "300 F")
    assert not panel.accept.isEnabled()
    assert "149" in panel.echo.text()
    panel.reason.setFocus()
    QTest.keyClicks(panel.reason, "read the wrong scale")
    assert panel.accept.isEnabled()
    QTest.mouseClick(panel.accept, LEFT)
    assert document.state.attempts[-1].conditions["temperature"] == pytest.approx((300 - 32) * 5 / 9)
    assert not panel.isVisible()
    QTest.mouseClick(page.history, LEFT)
    table = page.history_panel.table
    row = [table.item(0, column).text() for column in range(table.columnCount())]
    assert row[1:] == ["temperature", "150\u2009°C", "148.889\u2009°C", "read the wrong scale"]


def test_the_outcome_is_corrected_with_the_two_questions(page: LedgerPage, document: Document) -> None:
    choose(page, 0)
    QTest.mouseClick(page.correct, LEFT)
    panel = page.correct_panel
    panel.what.setCurrentIndex(3)
    assert panel.gates.isVisible()
    QTest.mouseClick(panel.gates.parted.button("no"), LEFT)
    panel.reason.setText("graded again from the photo")
    QTest.mouseClick(panel.accept, LEFT)
    assert document.state.attempts[-1].outcome is Outcome.NOTHING_PARTED


def test_striking_out_asks_for_the_reason_shows_it_and_can_be_restored_and_undone(
    page: LedgerPage, workspace: Workspace, document: Document
) -> None:
    choose(page, 0)
    QTest.mouseClick(page.strike, LEFT)
    assert not page.strike_panel.accept.isEnabled()
    QTest.keyClicks(page.strike_panel.reason, "wrong jar")
    QTest.keyClick(page.strike_panel.reason, Qt.Key.Key_Return)
    assert document.state.attempts[-1].struck_reason == "wrong jar"
    assert cell(page, 0, "Outcome").startswith("struck out (")
    font = page.table_model.index(0, 0).data(Qt.ItemDataRole.FontRole)
    assert isinstance(font, QFont)
    assert font.strikeOut()
    assert page.strike.text() == "Restore"
    QTest.mouseClick(page.strike, LEFT)
    assert not document.state.attempts[-1].is_struck
    workspace.undo()
    assert document.state.attempts[-1].is_struck
    assert page.strike.text() == "Restore"


def test_escape_closes_a_panel_and_changes_nothing(page: LedgerPage, document: Document) -> None:
    choose(page, 0)
    QTest.mouseClick(page.strike, LEFT)
    QTest.keyClicks(page.strike_panel.reason, "no")
    QTest.keyClick(page.strike_panel.reason, Qt.Key.Key_Escape)
    assert not page.strike_panel.isVisible()
    assert page.detail.isVisible()
    assert not document.state.attempts[-1].is_struck


def test_copy_puts_all_attempts_or_the_several_selected_onto_the_clipboard(page: LedgerPage) -> None:
    QTest.mouseClick(page.copy, LEFT)
    assert len(QGuiApplication.clipboard().text().splitlines()) == 25
    choose(page, 0)
    place = page.table.visualRect(page.table_model.index(2, 0)).center()
    QTest.mouseClick(page.table.viewport(), LEFT, Qt.KeyboardModifier.ShiftModifier, pos=place)
    QTest.mouseClick(page.copy, LEFT)
    assert len(QGuiApplication.clipboard().text().splitlines()) == 4


def test_csv_is_written_whole_or_not_at_all(page: LedgerPage, workspace: Workspace, tmp_path: Path) -> None:
    said: list[Notice] = []
    workspace.notified.connect(said.append)
    target = tmp_path / "attempts.csv"
    assert page.model.export_csv(str(target))
    assert len(target.read_bytes().split(b"\r\n")) == 26
    assert said[-1].kind == "info"
    assert not page.model.export_csv(str(tmp_path / "nowhere" / "attempts.csv"))
    assert said[-1].kind == "error"


def test_sorting_by_a_column_keeps_the_attempt_in_hand(page: LedgerPage) -> None:
    choose(page, 0)
    column = header(page).index("Temperature, °C")
    page.table.sortByColumn(column, Qt.SortOrder.AscendingOrder)
    temperatures = [float(cell(page, row, "Temperature, °C")) for row in range(24)]
    assert temperatures == sorted(temperatures)
    current = page.table_model.attempt(page.table.currentIndex().row())
    assert current is not None
    assert current.number == 24
    page.table.sortByColumn(-1, Qt.SortOrder.AscendingOrder)
    assert cell(page, 0, "No.") == "24"


def test_a_new_attempt_finds_its_place_in_a_sorted_table(page: LedgerPage, document: Document) -> None:
    column = header(page).index("Temperature, °C")
    page.table.sortByColumn(column, Qt.SortOrder.DescendingOrder)
    document.execute(RecordAttempt(replace(one_more(), conditions=Conditions({"temperature": 170.0}))))
    assert "170" in [cell(page, row, "Temperature, °C") for row in range(2)]
    assert page.table_model.rowCount() == 25


@pytest.mark.parametrize("label", ["Attempt 5", "attempt 5"])
def test_an_attempt_taken_in_hand_elsewhere_is_chosen_in_the_table(
    page: LedgerPage, workspace: Workspace, label: str
) -> None:
    attempt = workspace.document.state.attempts[4]  # type: ignore[union-attr]
    workspace.set_in_hand(InHand(attempt.conditions, "attempt", label), origin=object())
    assert page.table_model.attempt(page.table.currentIndex().row()) == attempt


def test_an_empty_ledger_teaches(qtbot: QtBot, workspace: Workspace, empty_document: Document) -> None:
    workspace.open_document(empty_document)
    page = LedgerPage(workspace)
    qtbot.addWidget(page)
    page.show()
    assert page.empty.isVisible()
    assert "bench form" in page.empty.text()
    assert not page.export.isEnabled()
    workspace.close_document()


def test_the_table_model_keeps_the_rules_of_qt(document: Document) -> None:
    model = LedgerTable(LIGHT)
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning)
    model.show_campaign(document.state)
    document.execute(RecordAttempt(one_more()))
    assert not model.show_campaign(document.state)
    model.sort(1, Qt.SortOrder.AscendingOrder)
    model.sort(4, Qt.SortOrder.DescendingOrder)
    document.undo()
    model.show_campaign(document.state)
    model.show_campaign(None)
    assert model.rowCount() == 0
    assert tester.model() is model


def test_a_hundred_thousand_attempts_are_shown_and_sorted_without_a_wait(qtbot: QtBot, document: Document) -> None:
    base = document.state.attempts[0]
    many = tuple(replace(base, id=f"x{number}", number=number) for number in range(1, 100_001))
    model = LedgerTable(LIGHT)
    view = QTableView()
    qtbot.addWidget(view)
    view.setModel(model)
    view.resize(640, 480)
    view.show()
    qtbot.waitExposed(view)
    begun = time.perf_counter()
    model.show_campaign(replace(document.state, attempts=many))
    view.grab()
    shown = time.perf_counter() - begun
    begun = time.perf_counter()
    more = (*many, replace(base, id="y", number=100_001))
    model.show_campaign(replace(document.state, attempts=more))
    view.grab()
    grown = time.perf_counter() - begun
    assert model.rowCount() == 100_001
    assert model.index(0, 0).data() == "100001"
    # Generous bounds: two busy cores; a model that writes every cell would need many seconds.
    assert shown < 2.0
    assert grown < 1.0


def test_every_control_is_named(page: LedgerPage) -> None:
    choose(page, 0)
    for act in (page.correct, page.strike, page.history):
        page.close_panels()
        act.click()
        unnamed = [widget.objectName() for widget in focusable_widgets(page) if not widget.accessibleName()]
        assert unnamed == []


@pytest.mark.parametrize("name", list(THEMES))
def test_the_page_renders_in_every_theme(page: LedgerPage, workspace: Workspace, name: str) -> None:
    workspace.set_theme(THEMES[name])
    assert THEMES[name].text in page.styleSheet()
    assert not page.grab().isNull()
