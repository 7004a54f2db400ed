"""The recipe page: batch size, the sheet for the bench, issuing, and the issued recipes."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from stirfall.bench.factors import Conditions
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.recipe_page.issue_dialog import IssueDialog
from stirfall.desktop.recipe_page.issued_model import PRESENT
from stirfall.desktop.recipe_page.page import RecipePage
from stirfall.desktop.recipe_page.sheets import SheetKind
from stirfall.desktop.theme import THEMES
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.reporting.recipe_text import recipe_text
from stirfall.session.commands import StrikeAttempt

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton
MIDDLE = Conditions({"sample age": 50.0, "temperature": 152.0, "stirring action": "swirl"})


@pytest.fixture
def page(qtbot: QtBot, workspace: Workspace, document: Document) -> Iterator[RecipePage]:
    workspace.open_document(document)
    workspace.set_in_hand(InHand(MIDDLE, "form"), origin=None)
    made = RecipePage(workspace)
    qtbot.addWidget(made)
    made.resize(620, 640)
    made.show()
    qtbot.waitExposed(made)
    ready(qtbot, made)
    yield made
    workspace.close_document()


def ready(qtbot: QtBot, page: RecipePage) -> None:
    qtbot.waitUntil(lambda: page.model.state is not None and page.model.state.can_export, timeout=10_000)


def issue(qtbot: QtBot, page: RecipePage, note: str) -> None:
    page.show_section("make")
    ready(qtbot, page)
    QTest.mouseClick(page.issue, LEFT)
    dialog = page.dialog
    assert isinstance(dialog, IssueDialog)
    QTest.keyClicks(dialog.note, note)
    QTest.keyClick(dialog.note, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: page.issued_model.state.recipe is not None, timeout=10_000)


def test_an_issued_recipe_stands_in_the_list_and_is_shown_again(
    page: RecipePage, document: Document, qtbot: QtBot, workspace: Workspace
) -> None:
    page.show_section("issued")  # an empty list teaches
    assert page.issued_part.empty.isVisible()
    assert "Issue" in page.issued_part.empty.text()
    assert not page.print.isEnabled()
    assert page.model.state is not None
    issued = page.model.state.for_files
    assert issued is not None
    issue(qtbot, page, "for the club")
    assert page.front == "issued"
    kept = document.state.recipes
    assert [(each.number, each.note) for each in kept] == [(1, "for the club")]
    assert page.issued_part.rows.rows[0].note == "for the club"
    assert " to " in page.issued_part.rows.rows[0].chance
    workspace.execute(StrikeAttempt(document.state.attempts[0].id, "oil ran over"))
    shown = page.issued_model.state.recipe
    assert shown is not None
    assert recipe_text(replace(shown, number=None), ".json") == recipe_text(issued, ".json")
    assert document.undo() is not None


def test_it_can_be_compared_with_the_present_one(
    page: RecipePage, document: Document, qtbot: QtBot, workspace: Workspace, tmp_path: Path
) -> None:
    issue(qtbot, page, "first")
    first = document.state.attempts[0]
    workspace.execute(StrikeAttempt(first.id, "oil ran over"))
    page.show_section("make")
    qtbot.waitUntil(lambda: page.model.state is not None and page.model.state.is_stale, timeout=10_000)
    ready(qtbot, page)
    page.show_section("issued")
    page.issued_part.other.setCurrentIndex(page.issued_part.other.findData(PRESENT))
    page.issued_part.other.activated.emit(page.issued_part.other.currentIndex())
    qtbot.waitUntil(lambda: page.issued_model.state.compared is not None, timeout=10_000)
    told = page.preview.toPlainText()
    assert f"Struck out since: 1 attempt ({first.number})" in told
    assert "What moved" in told
    assert not page.print.isEnabled()
    assert page.issued_model.export(str(tmp_path / "compared.md"), "Markdown")
    assert "What moved" in (tmp_path / "compared.md").read_text("utf-8")
    assert page.issued_model.export(str(tmp_path / "compared.json"), "JSON")
    assert json.loads((tmp_path / "compared.json").read_text("utf-8"))["evidence"]["struck"] == [first.number]
    page.issued_part.other.setCurrentIndex(0)
    page.issued_part.other.activated.emit(0)
    qtbot.waitUntil(lambda: page.issued_model.state.compared is None, timeout=10_000)


def test_the_bench_sheet_is_seen_as_pages_and_exported(page: RecipePage, qtbot: QtBot, tmp_path: Path) -> None:
    QTest.mouseClick(page.sheet.button(SheetKind.BENCH.value), LEFT)
    qtbot.waitUntil(lambda: page.sheets.pages.count > 0, timeout=10_000)
    ready(qtbot, page)
    assert page.sheets.currentWidget() is page.sheets.pages
    assert "cautions" in page.sheets.pages.accessibleDescription()
    for kind, suffix in (("Markdown", "md"), ("JSON", "json"), ("PDF", "pdf")):
        assert page.model.export(str(tmp_path / f"sheet.{suffix}"), kind)
    assert "## Cautions" in (tmp_path / "sheet.md").read_text("utf-8")
    assert json.loads((tmp_path / "sheet.json").read_text("utf-8"))["schema"] == "stirfall.bench-sheet/1"
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF-")
    QTest.mouseClick(page.print, LEFT)
    assert page.dialog is not None
    assert page.dialog.isVisible()
    page.dialog.close()


def test_a_batch_size_rescales_the_recipe_and_is_asked_for_again_where_it_cannot_be_read(
    page: RecipePage, qtbot: QtBot
) -> None:
    field = page.size_field
    QTest.keyClicks(field, "-3")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert "more than zero" in field.problem.text()
    field.clear()
    QTest.keyClicks(field, "30 g")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert field.problem.text() == ""
    assert page.model.state is not None
    assert page.model.state.batch.charge_g == 30.0
    ready(qtbot, page)
    made = page.model.state.recipe
    assert made is not None
    assert made.batch is not None
    assert made.batch.charge_g == 30.0
    QTest.mouseClick(page.more, LEFT)  # what it is made in is asked for behind More
    assert page.sheets.currentWidget() is page.more_part
    stirrer = page.more_part.form.fields["stirrer_mm"]
    QTest.keyClicks(stirrer, "50")
    QTest.keyClick(stirrer, Qt.Key.Key_Return)
    assert page.model.state.batch.stirrer_mm == 50.0
    ready(qtbot, page)
    QTest.mouseClick(page.more, LEFT)
    assert page.sheets.currentWidget() is page.preview


def test_a_blocked_recipe_cannot_be_issued(page: RecipePage, workspace: Workspace, qtbot: QtBot) -> None:
    workspace.set_in_hand(InHand(MIDDLE.with_value("temperature", 250.0), "form"), origin=None)
    qtbot.waitUntil(
        lambda: (
            page.model.state is not None
            and page.model.state.can_export
            and page.model.state.recipe is not None
            and page.model.state.recipe.blocked
        ),
        timeout=10_000,
    )
    assert not page.issue.isEnabled()
    assert page.model.issue("no") is None


def test_both_sections_are_drawn_and_named_in_every_theme(
    page: RecipePage, workspace: Workspace, qtbot: QtBot
) -> None:
    issue(qtbot, page, "seen")
    for theme in THEMES.values():
        workspace.set_theme(theme)
        for section in ("issued", "make"):
            page.show_section(section)
            assert not page.grab().isNull()
            assert [each for each in focusable_widgets(page) if not each.accessibleName()] == []
