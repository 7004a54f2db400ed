"""The shelf page with real clicks and keys."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from time import perf_counter
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QAbstractItemModelTester, QTest

from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Jar
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.shelf.page import ShelfPage
from stirfall.desktop.shelf.table import COLUMNS, ShelfTable
from stirfall.desktop.theme import THEMES
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.session.commands import AddJar, ChangeJar, ChangeSettings, InspectJar
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from stirfall.session.clock import FixedClock

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def page(put_on_screen: Callable[..., ShelfPage], workspace: Workspace, document: Document) -> Iterator[ShelfPage]:
    workspace.open_document(document)
    made = put_on_screen(ShelfPage(workspace), 600, 560)
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
    assert " to " in cell(page, 0, "Now")
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
    assert cell(page, 0, "Says") == "■ Do not use", "three days are beyond the limit of its class"
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


# -- looks, corrections, comparison and residue ----------------------------------------------------------------


def alkali(document: Document) -> None:
    document.execute(ChangeSettings(replace(document.state.settings, material=MaterialClass.ALKALI_METAL)))


def test_a_look_is_noted_with_two_clicks(page: ShelfPage, document: Document) -> None:
    choose(page, 1)
    QTest.mouseClick(page.detail.inspect, LEFT)
    assert not page.inspect_panel.accept.isEnabled()
    QTest.mouseClick(page.inspect_panel.look.button("grey"), LEFT)
    assert not page.inspect_panel.reason.isVisible()
    QTest.mouseClick(page.inspect_panel.accept, LEFT)
    jar = document.state.jar("J1")
    assert jar is not None
    assert (jar.look, jar.looked_at) == ("grey", document.now())
    assert cell(page, 1, "Look") == "grey, just now"
    assert not page.inspect_panel.isVisible()


def test_an_alarming_look_takes_the_jar_out_of_hand_and_keeps_it_from_the_bench(
    page: ShelfPage, document: Document, workspace: Workspace, qtbot: QtBot
) -> None:
    alkali(document)
    choose(page, 1)
    assert workspace.in_hand.jar_id == "J1"
    QTest.mouseClick(page.detail.inspect, LEFT)
    QTest.mouseClick(page.inspect_panel.look.button("furry"), LEFT)
    assert "Do not open it" in page.inspect_panel.meaning.text()
    QTest.mouseClick(page.inspect_panel.accept, LEFT)
    assert cell(page, 1, "Says") == "■ Do not open. Get help."
    assert cell(page, 1, "Now") == "–"
    assert workspace.in_hand.jar_id is None
    choose(page, 1)
    assert workspace.in_hand.jar_id is None
    assert not page.use.isEnabled()
    page.table.setFocus()
    with qtbot.assertNotEmitted(workspace.form_requested), qtbot.waitSignal(workspace.notified) as told:
        QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert "furry" in told.args[0].text
    assert "furry" in page.jar_warning.text()


def test_a_reason_is_asked_only_when_an_alarming_look_is_taken_back(page: ShelfPage, document: Document) -> None:
    alkali(document)
    document.execute(InspectJar("J1", "white", document.now()))
    choose(page, 1)
    QTest.mouseClick(page.detail.inspect, LEFT)
    panel = page.inspect_panel
    QTest.mouseClick(panel.look.button("yellow"), LEFT)
    assert not panel.reason.isVisible()
    assert panel.accept.isEnabled()
    QTest.mouseClick(panel.look.button("grey"), LEFT)
    assert panel.reason.isVisible()
    assert not panel.accept.isEnabled()
    QTest.keyClicks(panel.reason, "a reflection, seen by two of us")
    QTest.mouseClick(panel.accept, LEFT)
    jar = document.state.jar("J1")
    assert jar is not None
    assert jar.look == "grey"
    assert page.model.state is not None
    assert not page.model.state.rows[1].is_blocked


def test_a_jar_is_corrected_in_place_with_a_reason(page: ShelfPage, document: Document) -> None:
    before = document.state.jar("J1")
    choose(page, 1)
    QTest.mouseClick(page.detail.correct, LEFT)
    panel = page.jar_panel
    assert panel.jar.isReadOnly()
    QTest.keyClicks(panel.lines["diameter"], "40")
    assert not panel.accept.isEnabled(), "the reason is missing"
    QTest.keyClicks(panel.reason, "measured today")
    QTest.mouseClick(panel.accept, LEFT)
    assert before is not None
    assert document.state.jar("J1") == replace(before, inner_diameter_mm=40.0)


def test_a_started_jar_says_what_reaches_the_metal_and_the_next_one_remembers_it(
    page: ShelfPage, document: Document
) -> None:
    QTest.mouseClick(page.start, LEFT)
    panel = page.jar_panel
    assert not panel.reason.isVisible()
    assert not panel.lines["diameter"].isVisible()
    QTest.mouseClick(panel.fold.toggle, LEFT)
    for name, text in (("diameter", "40"), ("pieces", "12"), ("piece_size", "6"), ("humidity", "45")):
        QTest.keyClicks(panel.lines[name], text)
    QTest.keyClicks(panel.oil_depth, "15")
    QTest.mouseClick(panel.history.button("new"), LEFT)
    QTest.mouseClick(panel.accept, LEFT)
    jar = document.state.jar("J4")
    assert jar is not None
    assert (jar.inner_diameter_mm, jar.piece_count, jar.piece_mm) == (40.0, 12, 6.0)
    assert (jar.room_rh_percent, jar.oil_history) == (45.0, "new")
    row = page.table_model.row_of("J4")
    assert row is not None
    assert " to " in cell(page, row, "Film index")
    assert cell(page, 0, "Film index") == "–"
    QTest.mouseClick(page.start, LEFT)
    assert panel.lines["diameter"].text() == "40"
    assert "12 pieces of 6\u2009mm" in panel.remembered.text()


def test_a_lot_is_corrected_with_its_assay(page: ShelfPage, document: Document) -> None:
    QTest.mouseClick(page.correct_lot, LEFT)
    panel = page.lot_panel
    assert panel.which.currentData() == "L1"
    for line, text in ((panel.metal, "81.3"), (panel.metal_u, "0.6"), (panel.assays, "3"), (panel.reason, "came")):
        QTest.keyClicks(line, text)
    QTest.mouseClick(panel.accept, LEFT)
    before = document.state.lot("L1")
    assert before is not None
    assert (before.metal_percent, before.metal_u_percent, before.assays) == (81.3, 0.6, 3)
    assert before.made_at == document.now() - timedelta(days=40)


def test_two_rows_are_compared(page: ShelfPage, workspace: Workspace, qtbot: QtBot) -> None:
    choose(page, 0)
    place = page.table.visualRect(page.table_model.index(1, 0)).center()
    QTest.mouseClick(page.table.viewport(), LEFT, Qt.KeyboardModifier.ControlModifier, place)
    assert page.model.state is not None
    assert page.model.state.pair == ("J3", "J1")
    assert not page.use.isEnabled()
    with qtbot.waitSignal(workspace.film_requested) as wanted:
        QTest.mouseClick(page.detail.compare, LEFT)
    assert wanted.args == ["J3", "J1"]


def test_a_second_jar_is_chosen_by_one_press_with_gloves(
    page: ShelfPage, workspace: Workspace, qtbot: QtBot
) -> None:
    choose(page, 0)
    QTest.mouseClick(page.detail.compare, LEFT)
    assert "to compare jar J3 with" in page.jar_text.text()
    with qtbot.waitSignal(workspace.film_requested) as wanted:
        choose(page, 1)
    assert wanted.args == ["J3", "J1"]
    assert not page.detail.compare.isChecked()


def test_residue_is_listed_apart_with_what_the_limits_say(page: ShelfPage, document: Document) -> None:
    document.execute(AddJar(Jar("R1", "L1", document.now() - timedelta(days=8), contents="residue")))
    assert page.table_model.row_of("R1") is None
    assert page.views.button("residue").text() == "○ ⚠ Residue 1"
    assert not page.residues.isVisible()
    QTest.mouseClick(page.views.button("residue"), LEFT)
    assert page.residues.isVisible()
    assert not page.table.isVisible()
    assert "R1" in page.empty.text()
    assert "8\u2009days" in page.empty.text()
    place = page.residues.visualRect(page.residue_model.index(0, 0)).center()
    QTest.mouseClick(page.residues.viewport(), LEFT, pos=place)
    assert "holds residue" in page.jar_text.text()
    assert not page.use.isVisible()
    assert not page.detail.compare.isVisible()


def test_a_superoxide_former_is_shown_no_index_to_reach(page: ShelfPage, document: Document) -> None:
    jar = document.state.jar("J1")
    assert jar is not None
    full = replace(jar, oil_depth_mm=10.0, inner_diameter_mm=40.0, metal_area_cm2=20.0)
    document.execute(ChangeJar(full, "measured"))
    document.execute(ChangeSettings(replace(document.state.settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    choose(page, 1)
    assert "less is safer" in page.jar_text.text()
    shown = " ".join((page.jar_text.text(), page.jar_warning.text(), page.warning.text())).casefold()
    for word in ("wait", "ready", "reach", "until", "best"):
        assert word not in shown.split(), word
    assert "longer" not in page.jar_text.text()


def test_three_hundred_jars_are_shown_quickly(
    workspace: Workspace, document: Document, tmp_path: Path, qtbot: QtBot
) -> None:
    state, now = document.state, document.now()
    jars = tuple(
        Jar(
            f"K{at}",
            "L1",
            now - timedelta(hours=at),
            "oil",
            12.0,
            "loose",
            inner_diameter_mm=40.0,
            metal_area_cm2=9.0,
        )
        for at in range(1, 301)
    )
    with Document.create(
        tmp_path / "many.stirfall", state.settings, state.factors, lots=state.lots, jars=jars
    ) as many:
        workspace.open_document(many)
        page = ShelfPage(workspace)
        qtbot.addWidget(page)
        page.resize(600, 560)
        page.show()
        assert page.table_model.rowCount() == 300
        began = perf_counter()
        page.model.refresh()
        page.show_state(page.model.state)
        # Half a second is ours; a blink of a slow machine, once a minute.
        assert perf_counter() - began < 0.5
        workspace.close_document()
