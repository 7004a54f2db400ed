"""The bench page with real keys and clicks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QObject, QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLineEdit, QMainWindow, QWidget

from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted
from stirfall.desktop.bench_form.checklist import CheckLine
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.bench_form.value_edit import ChoiceRow, NumberRow
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.notifier import Notice
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT, THEMES, apply_theme, contrast
from stirfall.reporting.cautions import load_cautions
from stirfall.session.commands import ChangeSettings, TickChecklist

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton


def shown(qtbot: QtBot, workspace: Workspace, document: Document) -> BenchPage:
    workspace.open_document(document)
    page = BenchPage(workspace)
    qtbot.addWidget(page)
    page.resize(600, 640)
    page.show()
    qtbot.waitExposed(page)
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow, timeout=3000)
    return page


@pytest.fixture
def page(qtbot: QtBot, workspace: Workspace, document: Document) -> Iterator[BenchPage]:
    items = load_cautions(document.state.settings.material).checklist
    document.execute(TickChecklist(day_of(document.now()), tuple(item.key for item in items)))
    made = shown(qtbot, workspace, document)
    yield made
    workspace.close_document()


class Hand:
    """Counts presses: each click and each key other than the letters of a typed value is one touch."""

    def __init__(self, page: BenchPage) -> None:
        self.page, self.touches = page, 0

    def click(self, widget: QWidget) -> None:
        self.touches += 1
        QTest.mouseClick(widget, LEFT)

    def key(self, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        self.touches += 1
        QTest.keyClick(QApplication.focusWidget(), key, modifier)

    def type(self, text: str) -> None:
        QTest.keyClicks(QApplication.focusWidget(), text)


def number_row(page: BenchPage, name: str) -> NumberRow:
    row = page.rows[name]
    assert isinstance(row, NumberRow)
    return row


def test_an_attempt_is_recorded_with_clicks_in_at_most_twelve_touches(page: BenchPage, document: Document) -> None:
    hand = Hand(page)
    hand.click(page.jar.jar_line)
    hand.type("J3")
    hand.key(Qt.Key.Key_Return)
    row = number_row(page, "temperature")
    hand.click(row.plus)
    hand.click(row.plus)
    action = page.rows["stirring action"]
    assert isinstance(action, ChoiceRow)
    hand.click(action.segments.button("fold"))
    hand.click(page.record_bar.gates.parted.button("yes"))
    hand.click(page.record_bar.gates.pooled.button("one pool"))
    hand.click(page.record_bar.record)
    assert len(document.state.attempts) == 25
    attempt = document.state.attempts[-1]
    assert attempt.outcome is Outcome.CLEAN
    assert attempt.conditions["stirring action"] == "fold"
    assert attempt.jar_id == "J3"
    assert hand.touches <= 12


def test_an_attempt_is_recorded_with_keys_alone(page: BenchPage, document: Document) -> None:
    page.jar.jar.setFocus()
    hand = Hand(page)
    hand.type("J1")
    hand.key(Qt.Key.Key_Return)
    page.record_bar.gates.parted.setFocus()
    hand.key(Qt.Key.Key_3)
    hand.key(Qt.Key.Key_Tab)
    hand.key(Qt.Key.Key_1)
    hand.key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert document.state.attempts[-1].outcome is Outcome.PARTED_BEADS
    assert document.state.attempts[-1].jar_id == "J1"
    assert hand.touches <= 12


def test_the_echo_says_live_what_was_understood(page: BenchPage) -> None:
    row = number_row(page, "sample age")
    row.edit.setFocus()
    QTest.keyClicks(row.edit, "3 d")
    assert "= 72\u2009h" in row.echo.text()
    assert row.edit.text() == "3 d"


def test_a_problem_is_told_beside_the_field_and_to_screen_readers_once_it_was_left(
    page: BenchPage,
) -> None:
    row = number_row(page, "temperature")
    row.edit.setFocus()
    row.edit.selectAll()
    QTest.keyClicks(row.edit, "hot")
    assert row.message.isHidden()
    QTest.keyClick(row.edit, Qt.Key.Key_Tab)
    assert not row.message.isHidden()
    assert "hot" in row.message.text()
    assert row.message.text() in row.edit.accessibleDescription()
    assert row.edit.text() == "hot"
    assert not page.record_bar.record.isEnabled()


def test_arrow_keys_step_a_number_and_enter_goes_on_to_the_next_field(page: BenchPage) -> None:
    row = number_row(page, "temperature")
    row.edit.setFocus()
    before = row.edit.text()
    QTest.keyClick(row.edit, Qt.Key.Key_Up)
    assert float(row.edit.text()) == float(before) + 1
    QTest.keyClick(row.edit, Qt.Key.Key_Return)
    assert QApplication.focusWidget() is not row.edit


def test_overriding_the_clock_opens_the_reason_in_place(page: BenchPage) -> None:
    page.model.pick_jar("J3")
    row = number_row(page, "sample age")
    assert row.reason_line.isHidden()
    assert "from the clock" in row.echo.text()
    row.edit.setFocus()
    row.edit.selectAll()
    QTest.keyClicks(row.edit, "60")
    assert not row.reason_line.isHidden()
    QTest.mouseClick(row.clock_button, LEFT)
    assert row.reason_line.isHidden()
    assert "from the clock" in row.echo.text()


def test_the_second_question_is_closed_until_something_parted(page: BenchPage) -> None:
    gates = page.record_bar.gates
    assert not gates.pooled.isEnabled()
    QTest.mouseClick(gates.parted.button("partly"), LEFT)
    assert gates.pooled.isEnabled()
    QTest.mouseClick(gates.parted.button("no"), LEFT)
    assert not gates.pooled.isEnabled()
    assert gates.pooled.value == "not observed"
    assert page.record_bar.record.isEnabled()


def test_the_sentence_beside_the_button_says_what_is_missing_then_what_will_be_recorded(
    page: BenchPage,
) -> None:
    bar = page.record_bar
    assert "did the solids leave the metal" in bar.missing.text()
    QTest.mouseClick(bar.gates.parted.button("yes"), LEFT)
    assert "one pool" in bar.missing.text()
    QTest.mouseClick(bar.gates.pooled.button("beads"), LEFT)
    assert "parted but beads" in bar.missing.text()


def test_a_value_near_the_flash_point_asks_for_a_reason_in_place_and_keeps_it(
    page: BenchPage, document: Document
) -> None:
    page.model.set_parted(Parted.NO)
    row = number_row(page, "temperature")
    row.edit.setFocus()
    row.edit.selectAll()
    QTest.keyClicks(row.edit, "185")
    bar = page.record_bar
    assert bar.why.isVisible()
    assert not bar.record.isEnabled()
    assert "flash" in row.message.text()
    hand = Hand(page)
    hand.click(bar.why)
    hand.type("thermometer checked")
    assert bar.record.isEnabled()
    assert hand.touches == 1
    QTest.mouseClick(bar.record, LEFT)
    attempt = document.state.attempts[-1]
    assert attempt.conditions["temperature"] == 185.0
    assert {kept.reason for kept in attempt.facts.accepted} == {"thermometer checked"}
    assert "limits.near_flash" in {kept.code for kept in attempt.facts.accepted}
    assert all("\u2009°C" in kept.text or kept.code != "limits.near_flash" for kept in attempt.facts.accepted)


def test_a_value_too_near_the_flash_point_is_blocked_with_its_reason(page: BenchPage) -> None:
    page.model.set_parted(Parted.NO)
    page.model.type_value("temperature", "205")
    assert not page.record_bar.record.isEnabled()
    assert "flash" in page.record_bar.missing.text()
    assert page.record_bar.why.isHidden()
    page.record_bar.abort.click()
    page.model.set_text("abort_reason", "smoke")
    assert page.record_bar.record.isEnabled()


def test_the_checklist_stands_in_the_place_of_the_record_button_until_all_is_ticked(
    qtbot: QtBot, workspace: Workspace, document: Document
) -> None:
    page = shown(qtbot, workspace, document)
    assert page.checklist.isVisible()
    assert not page.record_bar.isVisible()
    lines = list(page.checklist.lines.values())
    assert len(lines) == len(load_cautions(MaterialClass.BASE_METAL).checklist)
    for line in lines[:-1]:
        QTest.mouseClick(line, LEFT, pos=QPoint(line.width() // 2, line.height() // 2))
    assert not page.checklist.start.isEnabled()
    lines[-1].box.setFocus()
    QTest.keyClick(lines[-1].box, Qt.Key.Key_Space)
    assert page.checklist.start.isEnabled()
    QTest.mouseClick(page.checklist.start, LEFT)
    assert page.record_bar.isVisible()
    assert document.state.ticks[-1].day == day_of(document.now())
    workspace.close_document()


@pytest.mark.parametrize("material", list(MaterialClass))
def test_cautions_of_the_class_are_always_in_view_and_open_to_all_with_their_sources(
    qtbot: QtBot, workspace: Workspace, document: Document, material: MaterialClass
) -> None:
    from dataclasses import replace

    from stirfall.session.commands import ChangeSettings

    document.execute(ChangeSettings(replace(document.state.settings, material=material)))
    page = shown(qtbot, workspace, document)
    cautions = load_cautions(material)
    assert cautions.headline in page.cautions.headline.text()
    assert page.cautions.lines.text().count("•") == 3
    QTest.mouseClick(page.cautions.more, LEFT)
    assert page.cautions.full.isVisible()
    QTest.mouseClick(page.cautions.more, LEFT)
    assert page.cautions.lines.isVisible()
    assert page.cautions.isVisible()
    workspace.close_document()


def test_repeat_last_lists_the_factors_and_focuses_the_one_to_change(page: BenchPage) -> None:
    menu = page.record_bar.repeat_menu
    menu.aboutToShow.emit()
    titles = [action.text() for action in menu.actions()]
    assert titles == ["Sample age, h", "Temperature, °C", "Stirring action"]
    menu.actions()[1].trigger()
    assert QApplication.focusWidget() is number_row(page, "temperature").edit
    assert not page.filled_from.isHidden()


def test_undo_in_the_notice_brings_the_count_back(
    page: BenchPage, workspace: Workspace, document: Document
) -> None:
    said: list[Notice] = []
    workspace.notified.connect(said.append)
    page.model.set_parted(Parted.NO)
    QTest.mouseClick(page.record_bar.record, LEFT)
    assert len(document.state.attempts) == 25
    assert said[-1].on_act is not None
    said[-1].on_act()
    assert len(document.state.attempts) == 24


def test_the_outcome_and_the_record_button_stay_in_view_at_the_smallest_window(page: BenchPage) -> None:
    page.resize(576, 520)
    QApplication.processEvents()
    page.model.pick_jar("J3")
    for widget in (page.record_bar.record, page.record_bar.gates.parted, page.cautions.headline):
        top = widget.mapTo(page, QPoint(0, 0))
        assert page.rect().contains(top)
        assert page.rect().contains(widget.mapTo(page, QPoint(widget.width() - 1, widget.height() - 1)))


def test_nothing_in_the_form_is_wider_than_the_page(page: BenchPage) -> None:
    page.resize(590, 640)
    page.model.pick_jar("J3")
    page.model.type_value("sample age", "60")
    page.jar.change.setChecked(True)
    for name in ("fold_seen", "fold_masses", "fold_note"):
        fold = page.findChild(QAbstractButton, name)
        assert isinstance(fold, QAbstractButton)
        fold.setChecked(True)
    QApplication.processEvents()
    assert page.body.minimumSizeHint().width() <= page.scroller.viewport().width()


def test_everything_that_is_pressed_is_at_least_44_pixels_high(page: BenchPage) -> None:
    page.model.pick_jar("J3")
    page.record_bar.abort.setChecked(True)
    QApplication.processEvents()
    # 44 pixels: WCAG 2.2, success criterion 2.5.5 (target size, enhanced).
    pressed = (QAbstractButton, QLineEdit, QComboBox)
    small = [
        widget.objectName()
        for widget in focusable_widgets(page)
        if isinstance(widget, pressed)
        and widget.isVisible()
        and widget.height() < TARGET
        and widget.objectName() != "all_cautions"
        and not isinstance(widget.parent(), QComboBox)
    ]
    assert small == []


def names_of(root: QWidget) -> dict[str, str]:
    return {
        f"{type(widget).__name__} {widget.objectName()}": widget.accessibleName()
        for widget in focusable_widgets(root)
        if not isinstance(widget.parent(), QComboBox)
    }


def test_every_control_has_a_name_for_screen_readers(page: BenchPage) -> None:
    page.model.pick_jar("J3")
    page.model.type_value("sample age", "60")
    for name in ("fold_seen", "fold_masses", "fold_note"):
        page.folds.open(name)
    page.model.set_mass("beads_g", "1")
    page.weighing.tares.setChecked(True)
    page.record_bar.limits.toggle.setChecked(True)
    QApplication.processEvents()
    assert [where for where, name in names_of(page).items() if not name] == []


def test_tab_walks_through_the_form_in_reading_order_without_a_trap(page: BenchPage) -> None:
    page.jar.jar.setFocus()
    order: list[QObject | None] = []
    for _ in range(60):
        focused = QApplication.focusWidget()
        if focused in order:
            break
        order.append(focused)
        QTest.keyClick(focused, Qt.Key.Key_Tab)
    wanted = [
        page.jar.jar,
        number_row(page, "sample age").edit,
        number_row(page, "sample age").minus,
        number_row(page, "temperature").edit,
        page.record_bar.gates.parted.button("no"),
        page.record_bar.abort,
    ]
    places = [order.index(widget) for widget in wanted]
    assert places == sorted(places)


@pytest.mark.parametrize("name", list(THEMES))
def test_the_page_renders_in_every_theme_with_contrast_of_at_least_seven(
    page: BenchPage, workspace: Workspace, themed: QApplication, name: str
) -> None:
    theme = THEMES[name]
    apply_theme(themed, theme)
    workspace.set_theme(theme)
    assert not page.grab().isNull()
    assert theme.text in page.styleSheet()
    # 7:1 is WCAG 2.2, success criterion 1.4.6 (contrast, enhanced).
    for text, surface in (
        (theme.text, theme.raised),
        (theme.text, theme.surface),
        (theme.on_accent, theme.accent),
        (theme.text, theme.caution_surface),
    ):
        assert contrast(text, surface) >= 7
    apply_theme(themed, LIGHT)


def test_three_themes_are_different(page: BenchPage, workspace: Workspace) -> None:
    sheets = set()
    for theme in (LIGHT, DARK, HIGH_CONTRAST):
        workspace.set_theme(theme)
        page.apply_theme(theme)
        sheets.add(page.styleSheet())
    assert len(sheets) == 3


def test_without_a_session_the_page_says_what_will_appear(qtbot: QtBot, workspace: Workspace) -> None:
    page = BenchPage(workspace)
    qtbot.addWidget(page)
    page.show()
    assert page.empty.isVisible()
    assert not page.record_bar.isVisible()
    assert not page.checklist.isVisible()


def test_a_draft_that_still_waits_is_saved_when_the_window_closes(
    qtbot: QtBot, workspace: Workspace, document: Document
) -> None:
    workspace.open_document(document)
    window = QMainWindow()
    qtbot.addWidget(window)
    page = BenchPage(workspace)
    window.setCentralWidget(page)
    window.show()
    qtbot.waitExposed(window)
    page.model.set_text("note", "typed just now")
    assert document.draft is None
    window.close()
    assert document.draft is not None
    assert document.draft["note"] == "typed just now"
    workspace.close_document()


def test_the_wheel_over_a_field_never_changes_it(page: BenchPage) -> None:
    page.model.pick_jar("J3")
    for widget in (page.jar.jar, page.jar.moment):
        place = QPointF(widget.rect().center())
        wheel = QWheelEvent(
            place,
            QPointF(widget.mapToGlobal(widget.rect().center())),
            QPoint(),
            QPoint(0, -120),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(widget, wheel)
        assert page.model.state is not None
        assert page.model.state.form.jar_id == "J3"
        assert page.model.state.form.started_at == page.workspace.document.now()  # type: ignore[union-attr]


def test_another_class_of_metal_shows_its_own_checklist_and_nothing_of_the_old_one(
    qtbot: QtBot, workspace: Workspace, document: Document
) -> None:
    page = shown(qtbot, workspace, document)
    for material in (MaterialClass.SUPEROXIDE_FORMER, MaterialClass.BASE_METAL, MaterialClass.ALKALI_METAL):
        old = page.findChildren(CheckLine)
        workspace.execute(ChangeSettings(replace(document.state.settings, material=material)))
        assert not any(line.isVisible() for line in old)
        wanted = [item.text for item in load_cautions(material).checklist]

        def is_right(wanted: list[str] = wanted) -> bool:
            lines = [line for line in page.findChildren(CheckLine) if line.isVisible()]
            return [line.box.accessibleName() for line in lines] == wanted

        qtbot.waitUntil(is_right, timeout=3000)
    workspace.close_document()
