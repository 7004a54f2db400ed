"""The sections "Why" and "Rival explanations": answers, choices, the form, empty states, themes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from stirfall.bench.outcomes import Parted
from stirfall.desktop.evidence.page import EvidencePage
from stirfall.desktop.ledger.page import LedgerPage
from stirfall.desktop.theme import DARK, HIGH_CONTRAST
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.reporting.sentences import sentence
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot


@pytest.fixture
def surprising(document: Document, tmp_path: Path) -> Iterator[Document]:
    """The same campaign, in which one attempt of a middling age parted nothing."""
    state = document.state
    attempts = tuple(
        replace(each, parted=Parted.NO, pooled=None) if each.id == "a16" else each for each in state.attempts
    )
    made = replace(state, attempts=attempts)
    with Document.create_from(tmp_path / "surprising.stirfall", made, clock=FixedClock(document.now())) as opened:
        yield opened


@pytest.fixture
def page(workspace: Workspace, surprising: Document, qtbot: QtBot) -> EvidencePage:
    """The page with 24 attempts, of which one surprised: everything is worked out at once."""
    made = EvidencePage(workspace)
    qtbot.addWidget(made)
    made.resize(700, 700)
    made.show()
    workspace.open_document(surprising)
    return made


def words_of(widget: object) -> str:
    assert hasattr(widget, "findChildren")
    return " ".join(label.text() for label in widget.findChildren(QLabel) if label.isVisible())


def test_why_answers_for_the_most_surprising_attempt_at_once(page: EvidencePage) -> None:
    page.show_section("why")
    state = page.why.model.state
    assert state.listed[0][0] == state.chosen
    assert "By chance alone" in page.why.count.text()
    assert state.gates[0].glyph in ("✔", "✘")
    assert page.why.gates[0].isVisible()
    assert page.why.table.isVisible()
    assert state.title in page.why.title.text()
    assert state.verdict in page.why.area.accessibleDescription()


def test_any_attempt_is_chosen_by_its_number(page: EvidencePage, qtbot: QtBot) -> None:
    page.show_section("why")
    field = page.why.number
    field.selectAll()
    qtbot.keyClicks(field, "7")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert page.why.model.state.chosen == "a7"
    assert page.why.title.text().startswith("Attempt 7,")
    field.selectAll()
    qtbot.keyClicks(field, "99")
    qtbot.mouseClick(page.why.act, Qt.MouseButton.LeftButton)
    assert page.why.problem.text() == "There is no attempt 99."
    assert page.why.model.state.chosen == "a7"


def test_a_surprise_is_chosen_by_its_button(page: EvidencePage, qtbot: QtBot) -> None:
    page.show_section("why")
    key, text = page.why.model.state.listed[-1]
    button = page.why.listed.button(key)
    assert text.split()[0] in button.text()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert page.why.model.state.chosen == key


def test_the_ledger_asks_why_for_its_row(
    page: EvidencePage, workspace: Workspace, surprising: Document, qtbot: QtBot
) -> None:
    ledger = LedgerPage(workspace)
    qtbot.addWidget(ledger)
    ledger.model.select("a9")
    with qtbot.waitSignal(workspace.page_requested) as asked:
        ledger.detail.why.click()
    assert asked.args == ["evidence"]
    assert page.section == "why"
    assert page.why.model.state.chosen == "a9"
    with qtbot.waitSignal(workspace.page_requested) as back:
        page.why.ledger.click()
    assert back.args == ["attempts"]
    assert workspace.in_hand.source == "attempt"
    assert surprising.state.comparisons == ()


def test_nothing_is_worked_out_for_a_section_that_is_not_in_front(page: EvidencePage) -> None:
    assert page.section == "compare"
    assert page.why.model.state.listed == ()
    assert page.rivals.model.state.lines == ()


def test_rivals_stand_as_cards_and_one_is_open(page: EvidencePage, qtbot: QtBot) -> None:
    page.show_section("rivals")
    state = page.rivals.model.state
    assert len(state.lines) == 6
    assert state.chosen == state.lines[0].key
    last = page.rivals.cards.cards[5]
    qtbot.keyClick(last, Qt.Key.Key_Return)
    assert page.rivals.model.state.chosen == state.lines[5].key
    assert page.rivals.title.text() == state.lines[5].title
    assert sentence("rivals.hypothesis").split(":")[0] in page.rivals.hypothesis.text()
    assert state.lines[0].glyph in words_of(page.rivals.cards)
    assert last.accessibleName() == state.lines[5].title


def test_the_pair_fills_the_form(page: EvidencePage, workspace: Workspace, qtbot: QtBot) -> None:
    page.show_section("rivals")
    place = [line.key for line in page.rivals.model.state.lines].index("learning")
    page.rivals.model.choose(place)
    asked: list[FormRequest] = []
    workspace.form_requested.connect(asked.append)
    qtbot.mouseClick(page.rivals.second, Qt.MouseButton.LeftButton)
    (request,) = asked
    assert request.planned
    assert set(request.conditions) == {"sample age", "temperature", "stirring action"}
    assert "second" in request.note_origin


def test_the_states_of_an_empty_program_teach(workspace: Workspace, empty_document: Document, qtbot: QtBot) -> None:
    page = EvidencePage(workspace)
    qtbot.addWidget(page)
    page.show()
    for name in ("why", "rivals"):
        page.show_section(name)
    assert page.why.message.text() == sentence("why.no_session")
    assert page.rivals.message.text() == sentence("rivals.no_session")
    workspace.open_document(empty_document)
    assert page.why.model.state.message == sentence("why.none_judged")
    assert page.rivals.model.state.message == sentence("rivals.empty")


@pytest.mark.parametrize("section", ["why", "rivals"])
def test_both_stand_in_every_theme_and_in_a_narrow_column(
    page: EvidencePage, workspace: Workspace, section: str
) -> None:
    page.show_section(section)
    for theme in (DARK, HIGH_CONTRAST):
        workspace.set_theme(theme)
        assert not page.grab().isNull()
    page.resize(420, 700)
    view = getattr(page, section)
    assert view.content.width() <= view.area.viewport().width()


def test_render_twice_changes_nothing(page: EvidencePage) -> None:
    render: Callable[[object], None]
    for name in ("why", "rivals"):
        page.show_section(name)
        view = getattr(page, name)
        before = words_of(view)
        render = view.render
        render(view.model.state)
        assert words_of(view) == before
