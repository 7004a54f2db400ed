"""The plan page with clicks and keys: its sections, the timetable, the kept plan, and the lines on other pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import pytest
from looking import cut_texts, laid_out, nameless, silent_pictures
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton
from small_campaigns import an_evening

from stirfall.bench.factors import Conditions
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.bench.records import CampaignSettings
from stirfall.desktop.plan.next_line import NextLine
from stirfall.desktop.plan.page import SECTIONS, PlanPage
from stirfall.desktop.step_bar import StepBar
from stirfall.desktop.theme import DARK, LIGHT, apply_theme
from stirfall.desktop.workspace import PAGES, FormRequest, InHand, Workspace
from stirfall.session.commands import KeepEvening
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

    from stirfall.session.clock import FixedClock

LEFT = Qt.MouseButton.LeftButton
HEAT = Conditions({"oil exposure time": 20.0, "temperature": 150.0})


@pytest.fixture
def document(tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock) -> Iterator[Document]:
    with an_evening(tmp_path, campaign_settings, clock) as made:
        yield made


@pytest.fixture
def page(put_on_screen: Callable[..., PlanPage], workspace: Workspace, document: Document) -> Iterator[PlanPage]:
    workspace.open_document(document)
    yield put_on_screen(PlanPage(workspace), 600, 620)
    workspace.close_document()


def keep_plan(document: Document) -> EveningPlan:
    """Keep a plan that does not need the odds."""
    now = document.now()
    lines = tuple(
        PlannedAttempt(HEAT, jar, "L1", purpose, "Because.", hours)
        for jar, purpose, hours in (("J20", "next", 0.0), ("J10", "control", 1.5))
    )
    document.execute(KeepEvening(EveningPlan("", now, now, 3.0, 3, lines)))
    plan = document.state.evening
    assert plan is not None
    return plan


# -- the page and its sections ---------------------------------------------------------------------


def test_the_sections_are_reached_by_click_and_by_key(page: PlanPage) -> None:
    assert page.section == "tonight"
    for name in reversed(SECTIONS):
        QTest.mouseClick(page.switch.button(name), LEFT)
        assert page.section == name
        assert page.switch.button(name).isChecked()
    page.switch.button("tonight").setFocus()
    QTest.keyClick(page.switch.button("tonight"), Qt.Key.Key_Right)
    QTest.keyClick(page.focusWidget(), Qt.Key.Key_Space)
    assert page.section == "proof"


def test_without_a_session_each_section_says_what_will_appear(
    put_on_screen: Callable[..., PlanPage], workspace: Workspace
) -> None:
    page = put_on_screen(PlanPage(workspace), 600, 620)
    for name in SECTIONS:
        page.show_section(name)
        laid_out(page)
        shown = page.stack.currentWidget()
        assert shown is not None
        assert any(label.text() for label in shown.findChildren(type(page.tonight.message)) if label.isVisible())
    assert not page.how_you_work.isEnabled()


def test_how_you_work_opens_over_the_page(page: PlanPage) -> None:
    QTest.mouseClick(page.how_you_work, LEFT)
    assert page.dialog is not None
    assert page.dialog.isVisible()
    assert page.dialog.isModal()
    page.dialog.reject()


def test_the_timetable_is_printed_as_it_is_shown(page: PlanPage) -> None:
    QTest.mouseClick(page.tonight.paper, LEFT)
    dialog = page.tonight.dialog
    assert dialog is not None
    assert dialog.windowTitle() == "Plan of the evening"
    assert dialog.isVisible()
    dialog.reject()


# -- tonight ---------------------------------------------------------------------------------------


def test_the_evening_is_planned_kept_and_dropped_by_hand(page: PlanPage, document: Document) -> None:
    tonight = page.tonight
    cards = [card for card in tonight.timetable.cards if card.isVisible()]
    assert len(cards) == len(tonight.model.state.lines) == 2
    assert [card.jar.text() for card in cards] == [line.jar for line in tonight.model.state.lines]
    assert not tonight.next.isVisible()
    QTest.mouseClick(tonight.controls.less, LEFT)
    assert tonight.controls.hours.text() == "2.5\u2009h"
    assert [card.isVisible() for card in tonight.timetable.cards] == [True, False]
    assert tonight.controls.keep_hours.isVisible()
    tonight.controls.hours.selectAll()
    QTest.keyClicks(tonight.controls.hours, "3 h")
    QTest.keyClick(tonight.controls.hours, Qt.Key.Key_Return)
    assert [card.isVisible() for card in tonight.timetable.cards] == [True, True]
    before = tonight.seed.text()
    QTest.mouseClick(tonight.controls.draw, LEFT)
    assert tonight.seed.text() != before
    tonight.keep.setFocus()
    QTest.keyClick(tonight.keep, Qt.Key.Key_Space)
    assert document.state.evening is not None
    assert page.focusWidget() is tonight.drop, "the keyboard stays where it was"
    assert tonight.next.isVisible()
    assert not tonight.controls.isVisible()
    QTest.mouseClick(tonight.drop, LEFT)
    assert document.state.evening is None
    assert tonight.controls.isVisible()


def test_hours_that_cannot_be_read_leave_the_plan_as_it_is(page: PlanPage) -> None:
    hours = page.tonight.controls.hours
    hours.setFocus()
    hours.selectAll()
    QTest.keyClicks(hours, "long")
    QTest.keyClick(hours, Qt.Key.Key_Return)
    assert hours.text() == "3\u2009h"


def test_cards_take_the_keyboard_and_tell_themselves(page: PlanPage, workspace: Workspace) -> None:
    held: list[InHand] = []
    workspace.in_hand_changed.connect(lambda in_hand, _origin: held.append(in_hand))
    first, second = page.tonight.timetable.cards[:2]
    first.setFocus()
    QTest.keyClick(first, Qt.Key.Key_Down)
    assert page.focusWidget() is second
    QTest.keyClick(second, Qt.Key.Key_Return)
    line = page.tonight.model.state.lines[1]
    assert [each.jar_id for each in held] == [line.jar]
    assert second.accessibleName().startswith(f"2: {line.clock}, jar {line.jar}")
    assert line.chance is not None
    assert line.chance.in_full in second.accessibleDescription()
    assert line.why.rstrip(".") in second.accessibleDescription()


def test_the_attempt_in_turn_fills_the_form_and_begins_the_run(
    page: PlanPage, document: Document, workspace: Workspace
) -> None:
    asked: list[FormRequest] = []
    runs: list[str] = []
    workspace.form_requested.connect(asked.append)
    workspace.run_requested.connect(runs.append)
    keep_plan(document)
    panel = page.tonight.next
    assert (panel.jar.text(), panel.isVisible()) == ("J20", True)
    QTest.mouseClick(panel.fill_in, LEFT)
    QTest.mouseClick(panel.begin, LEFT)
    assert [(each.jar_id, each.planned) for each in asked] == [("J20", True), ("J20", True)]
    assert runs == ["J20"]


def test_jars_are_started_and_undone(page: PlanPage, document: Document, workspace: Workspace) -> None:
    before = document.state.jars
    tonight = page.tonight
    most = tonight.model.state.start_most
    assert most > 1
    QTest.mouseClick(tonight.fewer, LEFT)
    assert tonight.count.text() == str(most - 1)
    QTest.mouseClick(tonight.start, LEFT)
    assert len(document.state.jars) == len(before) + most - 1
    workspace.undo()
    assert document.state.jars == before


def test_a_file_that_is_read_only_can_be_looked_at_only(
    put_on_screen: Callable[..., PlanPage], workspace: Workspace, document: Document
) -> None:
    keep_plan(document)
    with Document.open(document.path) as second:
        assert second.read_only
        workspace.open_document(second)
        page = put_on_screen(PlanPage(workspace), 600, 620)
        assert page.tonight.timetable.isVisible()
        for act in (page.tonight.drop, page.tonight.start, page.tonight.next.fill_in, page.how_you_work):
            assert not act.isEnabled()
        workspace.close_document()


def test_all_is_named_and_nothing_cut_in_large_text_and_in_the_dark(
    page: PlanPage, qapp: QApplication, workspace: Workspace
) -> None:
    assert (nameless(page), silent_pictures(page)) == ([], [])
    for theme, scale, width in ((DARK, 1.0, 600), (LIGHT, 2.0, 760)):
        apply_theme(qapp, theme, scale)
        workspace.set_theme(theme)
        page.resize(width, 620)
        laid_out(page)
        assert cut_texts(page) == [], scale
        small = [
            act.objectName() for act in page.findChildren(QPushButton) if act.isVisible() and act.height() < 44
        ]
        assert small == []
    apply_theme(qapp, LIGHT)


# -- the line on other pages -----------------------------------------------------------------------


def test_other_pages_say_what_is_next_while_a_plan_of_tonight_is_kept(
    put_on_screen: Callable[..., NextLine], workspace: Workspace, document: Document, clock: FixedClock
) -> None:
    asked: list[FormRequest] = []
    workspace.form_requested.connect(asked.append)
    workspace.open_document(document)
    line = put_on_screen(NextLine(workspace, "bench"), 600, 60)
    assert line.isHidden()
    keep_plan(document)
    assert line.isVisible()
    assert line.text.text() == "Tonight: next is jar J20 (1 of 2)."
    QTest.mouseClick(line.fill_in, LEFT)
    assert [each.jar_id for each in asked] == ["J20"]
    line.show_for("J20")
    assert line.isHidden(), "the form holds it already"
    line.show_for("J10")
    assert line.isVisible()
    clock.advance(hours=9.5)
    line.refresh()
    assert line.isHidden(), "the evening is over"
    workspace.close_document()


# -- the steps of the job --------------------------------------------------------------------------


def test_the_step_bar_gives_up_icons_then_numbers_but_never_words(
    put_on_screen: Callable[..., StepBar], qtbot: QtBot
) -> None:
    bar = put_on_screen(StepBar(LIGHT), 900, 60)
    plan = bar.button("plan")
    assert [PAGES.index(name) for name in ("shelf", "plan", "bench")] == [0, 1, 2]
    assert (plan.text(), plan.icon().isNull()) == ("2  Plan", False)
    seen = []
    for width in range(900, bar.minimumSizeHint().width() - 1, -20):
        bar.resize(width, 60)
        laid_out(bar)
        assert cut_texts(bar) == [], width
        seen.append((plan.text(), plan.icon().isNull()))
    assert list(dict.fromkeys(seen)) == [("2  Plan", False), ("2  Plan", True), ("Plan", True)]
