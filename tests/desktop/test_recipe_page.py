"""The recipe page: made in the background from what was asked for, and exported whole."""

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
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.notifier import Notice
from stirfall.desktop.recipe_page.export import FORMATS
from stirfall.desktop.recipe_page.html import recipe_html
from stirfall.desktop.recipe_page.page import RecipePage
from stirfall.desktop.recipe_page.state import Source
from stirfall.desktop.theme import LIGHT, THEMES
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.session.commands import ChangeSettings

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
    made.resize(620, 560)
    made.show()
    qtbot.waitExposed(made)
    ready(qtbot, made)
    yield made
    workspace.close_document()


def ready(qtbot: QtBot, page: RecipePage) -> None:
    qtbot.waitUntil(lambda: page.model.state is not None and page.model.state.can_export, timeout=10_000)


def values(page: RecipePage) -> dict[str, object]:
    assert page.model.state is not None
    assert page.model.state.recipe is not None
    return {value.name: value.value for value in page.model.state.recipe.values}


def test_the_recipe_follows_the_conditions_in_hand(page: RecipePage, workspace: Workspace, qtbot: QtBot) -> None:
    assert values(page) == dict(MIDDLE)
    assert "chance of a clean separation" in page.preview.toPlainText()
    assert "24 attempts" in page.preview.toPlainText()
    assert INVENTED_NOTICE in page.preview.toPlainText()
    workspace.set_in_hand(InHand(MIDDLE.with_value("temperature", 155.0), "form"), origin=None)
    assert page.model.state is not None
    assert not page.model.state.can_export
    ready(qtbot, page)
    assert values(page)["temperature"] == 155.0


def test_the_best_condition_becomes_the_recipe_and_the_odds_answer_for_it(
    page: RecipePage, workspace: Workspace, qtbot: QtBot
) -> None:
    QTest.mouseClick(page.source.button("best condition"), LEFT)
    ready(qtbot, page)
    assert workspace.in_hand.source == "recipe"
    assert dict(workspace.in_hand.conditions) == values(page)
    assert workspace.analysis is not None
    assert workspace.analysis.limits.allows(workspace.in_hand.conditions)


def test_an_attempt_becomes_the_recipe(page: RecipePage, document: Document, qtbot: QtBot) -> None:
    QTest.mouseClick(page.source.button("an attempt"), LEFT)
    assert page.attempt.isVisible()
    page.attempt.setValue(12)
    ready(qtbot, page)
    assert values(page) == dict(document.state.attempts[11].conditions)


def test_a_larger_drop_never_narrows_a_tolerance(page: RecipePage, qtbot: QtBot) -> None:
    def ranges() -> dict[str, tuple[float, float]]:
        assert page.model.state is not None
        assert page.model.state.recipe is not None
        known = (value for value in page.model.state.recipe.values if value.low is not None)
        return {value.name: (float(value.low or 0), float(value.high or 0)) for value in known}

    QTest.mouseClick(page.drop.button("5 points"), LEFT)
    ready(qtbot, page)
    narrow = ranges()
    QTest.mouseClick(page.drop.button("20 points"), LEFT)
    ready(qtbot, page)
    wide = ranges()
    assert narrow
    for name, (low, high) in narrow.items():
        assert wide[name][0] <= low
        assert wide[name][1] >= high


def test_a_warning_stands_above_the_recipe(page: RecipePage, workspace: Workspace, qtbot: QtBot) -> None:
    workspace.set_in_hand(InHand(MIDDLE.with_value("temperature", 185.0), "form"), origin=None)
    ready(qtbot, page)
    assert page.warning_strip.isVisible()
    assert "flash" in page.warning.text()


def test_markdown_and_json_are_written_whole(page: RecipePage, workspace: Workspace, tmp_path: Path) -> None:
    said: list[Notice] = []
    workspace.notified.connect(said.append)
    assert page.model.export(str(tmp_path / "r.md"), "Markdown")
    assert page.model.export(str(tmp_path / "r.json"), "JSON")
    assert (tmp_path / "r.md").read_text(encoding="utf-8").startswith("# Recipe: Invented dross")
    assert "schema" in json.loads((tmp_path / "r.json").read_text(encoding="utf-8"))
    assert [notice.kind for notice in said] == ["info", "info"]
    assert not page.model.export(str(tmp_path / "nowhere" / "r.md"), "Markdown")
    assert said[-1].kind == "error"
    assert sorted(path.name for path in tmp_path.iterdir() if path.name.startswith("r.")) == ["r.json", "r.md"]


def test_a_pdf_is_written(page: RecipePage, tmp_path: Path) -> None:
    assert page.model.export(str(tmp_path / "r.pdf"), "PDF")
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF-")  # ISO 32000-1, 7.5.2
    assert [path.name for path in tmp_path.iterdir() if "r.pdf" in path.name] == ["r.pdf"]


@pytest.mark.parametrize("kind", FORMATS)
def test_a_recipe_takes_the_place_of_an_older_file(page: RecipePage, tmp_path: Path, kind: str) -> None:
    # The dialog asked before: a file that is there is meant to be replaced, and by a whole one.
    target = tmp_path / f"recipe.{FORMATS[kind][0]}"
    target.write_bytes(b"old")
    assert page.model.export(str(target), kind)
    assert len(target.read_bytes()) > 1000
    assert [path for path in tmp_path.iterdir() if "recipe" in path.name] == [target]


def test_an_unknown_flash_point_is_said_instead_of_a_best_condition(
    page: RecipePage, document: Document, qtbot: QtBot
) -> None:
    document.execute(ChangeSettings(replace(document.state.settings, oil_flash_c=None)))
    page.model.choose_source(Source.BEST)
    qtbot.waitUntil(lambda: page.model.state is not None and page.model.state.problem is not None, timeout=10_000)
    assert page.said.isVisible()
    assert "flash" in page.said.text()
    assert not page.exports["PDF"].isEnabled()


def test_a_superoxide_former_beyond_its_shortest_exposure_gets_no_steps(
    page: RecipePage, document: Document, qtbot: QtBot
) -> None:
    document.execute(ChangeSettings(replace(document.state.settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    ready(qtbot, page)
    assert page.model.state is not None
    assert page.model.state.recipe is not None
    assert page.model.state.recipe.blocked
    assert page.warning_strip.isVisible()
    assert "No steps are given" in page.preview.toPlainText()


def test_a_hidden_page_does_no_work(page: RecipePage, workspace: Workspace, qtbot: QtBot) -> None:
    page.hide()
    before = page.model.state.recipe if page.model.state else None
    workspace.set_in_hand(InHand(MIDDLE.with_value("temperature", 157.0), "form"), origin=None)
    assert page.model.state is not None
    assert page.model.state.recipe is before
    assert page.model.state.is_stale
    page.show()
    ready(qtbot, page)
    assert values(page)["temperature"] == 157.0


def test_text_of_the_session_cannot_become_markup(page: RecipePage) -> None:
    assert page.model.state is not None
    recipe = page.model.state.recipe
    assert recipe is not None
    html = recipe_html(replace(recipe, title="<script>x</script>"), LIGHT)
    assert "<script>" not in html
    assert "&lt;script&gt;" in html


def test_without_a_session_the_page_says_what_will_appear(page: RecipePage, workspace: Workspace) -> None:
    workspace.close_document()
    assert page.said.isVisible()
    assert "Open a session" in page.said.text()
    assert not any(act.isEnabled() for act in page.exports.values())


def test_every_control_is_named(page: RecipePage) -> None:
    page.model.choose_source(Source.ATTEMPT)
    unnamed = [widget.objectName() for widget in focusable_widgets(page) if not widget.accessibleName()]
    assert unnamed == []


@pytest.mark.parametrize("name", list(THEMES))
def test_the_recipe_takes_the_colours_of_every_theme(page: RecipePage, workspace: Workspace, name: str) -> None:
    workspace.set_theme(THEMES[name])
    assert THEMES[name].muted in page.preview.toHtml()
    assert not page.grab().isNull()
