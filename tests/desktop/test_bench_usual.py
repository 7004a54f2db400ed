"""Repeat last, same but, and the campaign's usual values."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QShortcut
from PySide6.QtTest import QTest

from stirfall.bench.factors import Conditions
from stirfall.desktop.bench_form.form import Origin
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.bench_form.usual import usual_factors
from stirfall.desktop.workspace import FormRequest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

CONTROL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def page(put_on_screen: Callable[..., BenchPage], workspace: Workspace, document: Document) -> Iterator[BenchPage]:
    workspace.open_document(document)
    made = put_on_screen(BenchPage(workspace), 640, 700)
    workspace.page_requested.connect(lambda _name: None)
    yield made
    workspace.close_document()


def values(page: BenchPage) -> tuple[object, object]:
    assert page.model.state is not None
    conditions = page.model.state.conditions
    return conditions.get("temperature"), conditions.get("stirring action")


def press(page: BenchPage, action: QAction) -> None:
    menu = page.fill_in.menu()
    assert menu is not None
    menu.aboutToShow.emit()
    assert action.isEnabled()
    action.trigger()


def test_the_last_attempt_is_repeated_by_one_key(page: BenchPage) -> None:
    page.model.type_value("temperature", "170")
    QTest.keyClick(page, Qt.Key.Key_L, CONTROL)
    assert values(page) == (150.0, "swirl")
    assert page.filled_from.text() == "Filled in from attempt 24"


def test_same_but_goes_to_the_factor_that_is_to_change(page: BenchPage) -> None:
    keys = [shortcut.key().toString() for shortcut in page.findChildren(QShortcut)]
    assert "Ctrl+Shift+L" in keys  # it opens the menu, which has no screen of its own here
    page.record_bar.repeat_menu.aboutToShow.emit()
    page.record_bar.repeat_menu.actions()[1].trigger()
    assert page.filled_from.text() == "Filled in from attempt 24"
    assert page.rows["temperature"].edit.hasFocus()  # type: ignore[union-attr]


def test_usual_values_are_kept_by_name_used_by_a_cleared_form_and_undone(
    page: BenchPage, document: Document, workspace: Workspace
) -> None:
    before = document.state.factors
    page.model.type_value("temperature", "160")
    page.model.choose("stirring action", "fold")
    press(page, page.fill_in.keep)
    assert document.undo_name == "Keep usual values"
    usual = {factor.name: factor.default for factor in document.state.factors}
    assert (usual["temperature"], usual["stirring action"]) == (160.0, "fold")
    page.model.type_value("temperature", "151")
    page.model.clear()
    assert values(page) == (160.0, "fold")
    assert page.model.state is not None
    assert page.model.state.field("temperature").entry.origin is Origin.USUAL
    workspace.undo()
    assert document.state.factors == before


def test_usual_values_are_filled_in_and_the_jar_stays(page: BenchPage) -> None:
    page.model.pick_jar("J1")
    page.model.type_value("temperature", "171")
    press(page, page.fill_in.as_usual)
    assert page.model.state is not None
    assert page.model.state.jar is not None
    assert page.model.state.jar.id == "J1"
    assert values(page) == (150.0, "swirl")
    assert page.model.state.field("sample age").entry.origin is Origin.CLOCK


def test_what_is_unknown_outside_the_range_or_an_age_is_nobodys_usual_value(document: Document) -> None:
    conditions = Conditions([("sample age", 99.0), ("temperature", 9999.0), ("stirring action", "fold")])
    before = {factor.name: factor.default for factor in document.state.factors}
    after = {factor.name: factor.default for factor in usual_factors(conditions, document.state)}
    assert after == {**before, "stirring action": "fold"}


def test_a_request_names_the_factor_that_takes_the_keyboard(
    page: BenchPage, workspace: Workspace, qtbot: QtBot
) -> None:
    workspace.request_form(FormRequest(Conditions({"temperature": 155.0}), None, "attempt 3", focus="temperature"))
    qtbot.waitUntil(page.rows["temperature"].edit.hasFocus, timeout=2000)  # type: ignore[union-attr]
