"""Jars that shall be started later: their list, starting, correcting and dropping them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from stirfall.bench.records import Jar
from stirfall.desktop.shelf.page import ShelfPage
from stirfall.desktop.shelf.planned import planned_rows
from stirfall.session.commands import AddJar

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.clock import FixedClock
    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def document(document_of_few: Document) -> Document:
    return document_of_few


@pytest.fixture
def page(put_on_screen: Callable[..., ShelfPage], workspace: Workspace, document: Document) -> Iterator[ShelfPage]:
    workspace.open_document(document)
    made = put_on_screen(ShelfPage(workspace), 600, 620)
    yield made
    workspace.close_document()


def plan(document: Document, hours: float, jar_id: str = "T4AX") -> None:
    document.execute(AddJar(Jar(jar_id, "L1", document.now() + timedelta(hours=hours), planned=True)))


def test_planned_jars_wait_in_a_list_of_their_own_and_start_with_one_press(
    page: ShelfPage, document: Document, workspace: Workspace, qtbot: QtBot, clock: FixedClock
) -> None:
    plan(document, 5.0)
    assert page.table_model.row_of("T4AX") is None
    QTest.mouseClick(page.views.button("to start"), LEFT)
    assert page.planned.isVisible()
    QTest.mouseClick(
        page.planned.viewport(), LEFT, pos=page.planned.visualRect(page.planned_model.index(0, 0)).center()
    )
    assert "it is 5\u202fh early" in page.jar_text.text()
    assert workspace.in_hand.jar_id is None
    with qtbot.waitSignal(workspace.notified) as told:
        QTest.mouseClick(page.detail.start, LEFT)
    assert told.args[0].text == "Jar T4AX has started, 5\u2009h early."
    jar = document.state.jar("T4AX")
    assert jar is not None
    assert (jar.planned, jar.started_at) == (False, document.now())
    assert (workspace.in_hand.source, workspace.in_hand.jar_id) == ("jar", "T4AX"), "the odds answer for it"
    workspace.undo()
    assert len(document.state.planned_jars) == 1


def test_a_planned_jar_whose_time_has_come_has_a_shape_and_can_be_dropped(
    page: ShelfPage, document: Document, workspace: Workspace, clock: FixedClock
) -> None:
    plan(document, 1.0)
    assert page.views.button("to start").text() == "○ To start 1"
    clock.advance(hours=3.0)
    page.model.tick()
    assert page.views.button("to start").text() == "○ ⚠ To start 1"
    (row,) = planned_rows(document.state, document.now(), ".")
    assert (row.is_due, row.wait, row.apart) == (True, "⚠ due 2\u2009h ago", "2\u2009h late")
    page.show_view("to start")
    page.model.select("T4AX")
    QTest.mouseClick(page.detail.more, LEFT)
    QTest.mouseClick(page.detail.drop, LEFT)
    assert document.state.planned_jars == ()
    workspace.undo()
    assert len(document.state.planned_jars) == 1


def test_a_planned_jar_is_corrected_to_another_time_to_come(page: ShelfPage, document: Document) -> None:
    plan(document, 5.0)
    page.show_view("to start")
    page.model.select("T4AX")
    page.detail.more.click()
    QTest.mouseClick(page.detail.correct, LEFT)
    panel = page.jar_panel
    panel.started.setDateTime(panel.started.dateTime().addSecs(7200))
    QTest.keyClicks(panel.reason, "the evening moved")
    assert panel.accept.isEnabled()
    QTest.mouseClick(panel.accept, LEFT)
    (jar,) = document.state.planned_jars
    assert jar.planned
    assert abs(jar.started_at - document.now() - timedelta(hours=7)) < timedelta(minutes=1)
