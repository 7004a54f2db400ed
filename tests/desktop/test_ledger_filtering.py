"""Filters, search, columns and several rows in the ledger, with real clicks and keys."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QCoreApplication, QItemSelectionModel, Qt
from PySide6.QtTest import QTest

from stirfall.bench.number_style import NumberStyle
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.ledger.columns import ColumnChoice
from stirfall.desktop.ledger.filters import FilterEntry, quick_filters, read_filter
from stirfall.desktop.ledger.page import LedgerPage
from stirfall.desktop.ledger.table import Arrangement, LedgerTable
from stirfall.desktop.theme import LIGHT
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.session.commands import StrikeAttempt
from stirfall.session.ledger_filter import Around, Condition, How, matcher

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton
HOT = Condition("factor:temperature", How.OVER, 152.0)


@pytest.fixture
def page(
    put_on_screen: Callable[..., LedgerPage], workspace: Workspace, document: Document
) -> Iterator[LedgerPage]:
    workspace.open_document(document)
    made = put_on_screen(LedgerPage(workspace), 700, 760)
    yield made
    workspace.close_document()


def numbers(page: LedgerPage) -> list[int]:
    return [attempt.number for attempt in page.table_model.shown_attempts()]


def header(page: LedgerPage) -> list[str]:
    return [column.title for column in page.table_model.columns]


def choose(page: LedgerPage, row: int, keys: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    place = page.table.visualRect(page.table_model.index(row, 1)).center()
    QTest.mouseClick(page.table.viewport(), LEFT, keys, place)


def test_a_filter_is_built_by_choosing_and_taken_away_by_its_chip(page: LedgerPage) -> None:
    QTest.mouseClick(page.bar.add, LEFT)
    panel = page.filter_panel
    panel.what.setCurrentText("Temperature")
    panel.how.setCurrentText("is over")
    assert not panel.accept.isEnabled()
    QTest.keyClicks(panel.value, "152")
    assert panel.said.text() == "Shows attempts: temperature is over 152\u2009°C"
    QTest.keyClick(panel.value, Qt.Key.Key_Return)
    assert numbers(page) == [23, 19, 15, 11, 7, 3]  # those at 153 °C
    assert page.count.text() == "6 of 24 attempts"
    (chip,) = page.bar.chips
    assert chip.accessibleName() == "Filter: temperature is over 152\u2009°C"
    QTest.mouseClick(chip, LEFT)
    assert page.count.text() == "24 attempts"
    assert not page.bar.strip.isVisible()


def test_a_bare_number_of_a_filter_counts_in_the_shown_unit(page: LedgerPage, workspace: Workspace) -> None:
    workspace.set_temperature_unit("F")
    read = page.model.read_filter(FilterEntry("factor:temperature", How.OVER, "306"))
    assert read.condition is not None
    assert read.condition.value == pytest.approx(
        152.2222, abs=1e-3
    )  # (306 - 32) / 1.8, the definition of the scale
    page.model.add_filter(HOT)
    assert page.bar.chips[0].text().startswith("temperature is over 305.6\u2009°F")
    assert "Temperature, °F" in header(page)
    assert page.table_model.index(0, header(page).index("Temperature, °F")).data() == "307.4"


def test_search_looks_in_all_shown_text_and_counts(page: LedgerPage, qtbot: QtBot) -> None:
    QTest.keyClick(page, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    assert page.bar.search.hasFocus()
    QTest.keyClicks(page.bar.search, "beads 153")
    QTest.keyClick(page.bar.search, Qt.Key.Key_Return)
    found = numbers(page)
    assert found
    assert page.count.text() == f"{len(found)} of 24 attempts"
    QTest.keyClicks(page.bar.search, " nowhere")
    QTest.keyClick(page.bar.search, Qt.Key.Key_Return)
    assert numbers(page) == []
    assert page.empty.isVisible()
    assert "Take a filter away" in page.empty.text()
    QTest.keyClick(page.bar.search, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: len(numbers(page)) == 24, timeout=2000)


def test_filters_and_order_keep_what_is_selected(page: LedgerPage, document: Document) -> None:
    choose(page, 1)  # attempt 23, at 153 °C
    page.model.add_filter(HOT)
    current = page.table_model.attempt(page.table.currentIndex().row())
    assert current is not None
    assert current.number == 23
    document.execute(StrikeAttempt("a19", "wrong jar"))
    page.model.add_filter(Condition("struck", How.NO))
    assert numbers(page) == [23, 15, 11, 7, 3]
    assert page.table.currentIndex().row() == 0
    page.model.drop_filters()
    assert page.table.currentIndex().row() == 1
    assert len(numbers(page)) == 24


def test_several_rows_are_counted_and_the_last_one_drives_the_odds(page: LedgerPage, workspace: Workspace) -> None:
    choose(page, 0)
    choose(page, 2, Qt.KeyboardModifier.ShiftModifier)
    picked = [page.table_model.attempt(row) for row in range(3)]
    clean = sum(attempt.clean_count[0] for attempt in picked if attempt is not None and attempt.clean_count)
    assert page.count.text() == f"24 attempts; 3 selected: {clean} clean of 3"
    assert workspace.in_hand.label == "Attempt 22"
    assert "the last that was chosen" in page.facts.text()
    page.table.sortByColumn(header(page).index("Temperature, °C"), Qt.SortOrder.AscendingOrder)
    assert "3 selected" in page.count.text()
    rows = {index.row() for index in page.table.selectionModel().selectedRows()}
    assert {page.table_model.attempt(row).number for row in rows} == {24, 23, 22}  # type: ignore[union-attr]


def test_same_but_asks_for_the_form_with_the_factor_to_change(
    page: LedgerPage, workspace: Workspace, qtbot: QtBot
) -> None:
    choose(page, 0)
    page.detail.same_menu.aboutToShow.emit()
    actions = {action.text(): action for action in page.detail.same_menu.actions()}
    with qtbot.waitSignal(workspace.form_requested) as wanted:
        actions["Temperature"].trigger()
    (request,) = wanted.args
    assert isinstance(request, FormRequest)
    assert (request.focus, request.conditions["temperature"]) == ("temperature", 150.0)


def test_columns_are_ticked_moved_and_remembered(page: LedgerPage, workspace: Workspace, qtbot: QtBot) -> None:
    page.columns_menu.aboutToShow.emit()
    menus = {action.text(): action.menu() for action in page.columns_menu.actions() if action.menu() is not None}
    look = next(action for action in menus["What was seen"].actions() if action.text() == "Surface")  # type: ignore[attr-defined]
    with qtbot.waitSignal(workspace.setting_changed) as kept:
        look.setChecked(True)
    assert kept.args[0] == "ledger_columns"
    assert "Surface" in header(page)
    assert ColumnChoice.of_text(workspace.ledger_columns) == page.table_model.choice
    moved = page.table.horizontalHeader()
    moved.moveSection(moved.visualIndex(header(page).index("Surface")), 1)
    qtbot.waitUntil(lambda: header(page)[1] == "Surface", timeout=2000)
    again = LedgerPage(workspace)
    qtbot.addWidget(again)
    assert header(again)[1] == "Surface"
    page.table.setCurrentIndex(page.table_model.index(0, 1))
    page.columns_menu.aboutToShow.emit()
    right = next(each for each in page.columns_menu.actions() if each.text() == "Move “Surface” right")
    right.trigger()
    assert header(page)[2] == "Surface"
    page.columns_menu.aboutToShow.emit()
    page.columns_menu.actions()[-1].trigger()
    assert "Surface" not in header(page)
    assert workspace.ledger_columns == ""


def test_cells_offer_their_own_filters(page: LedgerPage, document: Document) -> None:
    attempt = document.state.attempts[-1]
    assert quick_filters("place", attempt) == (Condition("lot", How.IS, "L1"),)
    for key in ("outcome", "factor:temperature", "factor:stirring action", "note"):
        for condition in quick_filters(key, attempt):
            page.model.add_filter(condition)
    assert read_filter(FilterEntry("nothing"), document.state, ".").problem is not None
    assert len(page.bar.chips) == 7


def test_every_control_of_filters_is_named(page: LedgerPage) -> None:
    page.model.add_filter(HOT)
    page.model.add_filter(Condition("struck", How.NO))
    page.open_filter()
    assert [widget.objectName() for widget in focusable_widgets(page) if not widget.accessibleName()] == []
    assert all(chip.minimumHeight() >= 44 for chip in page.bar.chips)


def test_a_hundred_thousand_rows_are_filtered_and_sorted_in_slices(themed: object, document: Document) -> None:
    assert themed is not None
    base = document.state.attempts
    many = tuple(replace(base[at % 24], id=f"x{at}", number=at + 1) for at in range(100_000))
    model = LedgerTable(LIGHT)
    model.show_campaign(replace(document.state, attempts=many))
    gc.collect()
    gc.freeze()  # what else this process holds is none of the ledger's business
    longest, before = 0.0, time.thread_time()
    around = Around.of(document.state, document.now())
    model.arrange(Arrangement(matcher([HOT], around)))
    model.sort(5, Qt.SortOrder.DescendingOrder)
    while model.is_busy:
        QCoreApplication.processEvents()
        now = time.thread_time()
        longest, before = max(longest, now - before), now
    assert model.rowCount() == sum(attempt.conditions["temperature"] == 153.0 for attempt in many)
    gc.unfreeze()
    # The time of this thread alone, whatever else the machine does: a slice takes 6 ms, the whole 0.3 s.
    assert longest < 0.05, longest


def test_selecting_everything_asks_no_row(page: LedgerPage) -> None:
    page.table.selectAll()
    assert "24 selected" in page.count.text()
    page.table.selectionModel().clearSelection()
    assert page.count.text() == "24 attempts"
    flag = QItemSelectionModel.SelectionFlag.Rows | QItemSelectionModel.SelectionFlag.Select
    page.table.selectionModel().select(page.table_model.index(3, 0), flag)
    assert page.count.text() == "24 attempts"


def test_cells_follow_the_decimal_comma(page: LedgerPage, workspace: Workspace) -> None:
    workspace.set_decimal(",")
    column = header(page).index("Sample age, h")
    assert "," in str(page.table_model.index(10, column).data())
    assert page.model.read_filter(FilterEntry("factor:sample age", How.OVER, "1,125")).words.endswith(
        "1,125\u2009h"
    )
    assert page.table_model.choice == ColumnChoice()
    assert NumberStyle(",") == workspace.decimal
