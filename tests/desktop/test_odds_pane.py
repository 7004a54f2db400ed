"""The odds pane under real clicks and keys."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor, QGuiApplication
from PySide6.QtWidgets import QPushButton, QTableWidget, QWidget

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome
from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.odds.curve_plot import CurvePlot
from stirfall.desktop.odds.pane import OddsPane
from stirfall.desktop.odds.picture_plot import PicturePlot
from stirfall.desktop.odds.table_dialog import TableDialog
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT, THEMES, Theme, apply_theme
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.document import Document
from stirfall.session.samples import open_sample

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

LEFT = Qt.MouseButton.LeftButton
IN_HAND = InHand(Conditions({"sample age": 24.0, "temperature": 150.0, "stirring action": "swirl"}), "form")


@pytest.fixture
def pane(qtbot: QtBot, workspace: Workspace, document: Document) -> OddsPane:
    made = OddsPane(workspace)
    qtbot.addWidget(made)
    made.resize(690, 800)
    workspace.open_document(document)
    workspace.set_in_hand(IN_HAND)
    with qtbot.waitExposed(made):
        made.show()
    return made


def at(plot: PicturePlot, x: float, y: float) -> QPoint:
    return plot.viewport_position(x, y).toPoint()


def label_text(pane: OddsPane, name: str) -> str:
    found = pane.findChild(QWidget, name)
    assert found is not None, name
    return str(found.property("text"))


@pytest.mark.parametrize("height", [620, 800])
def test_the_title_of_the_left_axis_is_whole_whatever_the_room(pane: OddsPane, qtbot: QtBot, height: int) -> None:
    pane.resize(690, height)
    for _ in range(3):
        qtbot.mouseClick(pane.headline.more, LEFT)
        qtbot.wait(50)
        axis = pane.curve.plot_item.getAxis("left")
        bottom = axis.label.pos().y()  # the text runs upwards from here
        assert axis.label.toPlainText().strip()
        assert bottom <= axis.size().height() + 1
        assert bottom - axis.label.boundingRect().width() >= -1


# -- the answer --------------------------------------------------------------------------------------------


def test_the_large_number_stands_with_interval_and_n_in_words(pane: OddsPane, workspace: Workspace) -> None:
    assert workspace.analysis is not None
    estimate = workspace.analysis.estimate(IN_HAND.conditions)
    assert label_text(pane, "odds_number") == f"{round(100 * estimate.mean)}{THIN_SPACE}%"
    bounds = f"{round(100 * estimate.lower)} to {round(100 * estimate.upper)}{THIN_SPACE}%"
    assert label_text(pane, "odds_certainty") == f"clean separation: {bounds}, 24 attempts"
    assert label_text(pane, "odds_title") == "Form on the bench"


def test_details_open_and_close_by_their_button(pane: OddsPane, qtbot: QtBot) -> None:
    assert not pane.headline.details_area.isVisible()
    qtbot.mouseClick(pane.headline.more, LEFT)
    assert pane.headline.details_area.isVisible()
    assert "cautious starting assumption" in label_text(pane, "odds_details")
    qtbot.mouseClick(pane.headline.more, LEFT)
    assert not pane.headline.details_area.isVisible()


def test_details_tell_the_metal_to_expect_where_clean_attempts_were_weighed(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot, tmp_path: Path
) -> None:
    qtbot.mouseClick(pane.headline.more, LEFT)
    assert "of clean metal" not in label_text(pane, "odds_details")
    workspace.open_document(open_sample("gallium-beads", tmp_path / "weighed.stirfall"))
    qtbot.waitUntil(lambda: pane.view_model.state.phase == "ready", timeout=20_000)
    text = label_text(pane, "odds_details")
    assert "Recovery of a new clean attempt" in text
    assert "of clean metal" in text


def test_nothing_moves_when_the_number_changes(pane: OddsPane, workspace: Workspace) -> None:
    before = [pane.curve.geometry(), pane.next_list.geometry(), pane.headline.number.pos()]
    workspace.set_in_hand(InHand(IN_HAND.conditions.with_value("sample age", 4.0), "form"))
    QGuiApplication.processEvents()
    assert [pane.curve.geometry(), pane.next_list.geometry(), pane.headline.number.pos()] == before


def test_conditions_of_an_attempt_go_into_the_form_by_the_button_above(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    assert not pane.headline.take.isEnabled()
    workspace.set_in_hand(InHand(IN_HAND.conditions, "attempt", "attempt 7"))
    with qtbot.waitSignal(workspace.form_requested) as caught:
        qtbot.mouseClick(pane.headline.take, LEFT)
    assert caught.args[0] == FormRequest(IN_HAND.conditions, None, "From the odds pane: Attempt 7")


# -- the curve ---------------------------------------------------------------------------------------------


def test_a_click_on_the_curve_moves_the_mark_and_the_form(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    with qtbot.waitSignal(workspace.in_hand_changed) as caught:
        qtbot.mouseClick(pane.curve.viewport(), LEFT, pos=at(pane.curve, 2.0, 90.0))
    in_hand, origin = caught.args
    assert in_hand.source == "form"
    assert in_hand.conditions.number("sample age") == pytest.approx(100.0, rel=0.03)
    assert origin is pane.view_model
    assert pane.curve.at == pytest.approx(2.0, abs=0.015)


def test_dragging_moves_the_mark_all_the_way(pane: OddsPane, workspace: Workspace, qtbot: QtBot) -> None:
    port = pane.curve.viewport()
    qtbot.mousePress(port, LEFT, pos=at(pane.curve, 1.0, 50.0))
    for place in (1.2, 1.5, 1.8):
        qtbot.mouseMove(port, at(pane.curve, place, 50.0))
    qtbot.mouseRelease(port, LEFT, pos=at(pane.curve, 1.8, 50.0))
    assert workspace.in_hand.conditions.number("sample age") == pytest.approx(10**1.8, rel=0.04)


def test_the_arrow_keys_move_the_mark_by_steps_of_the_factor(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    pane.curve.setFocus()
    qtbot.keyClick(pane.curve, Qt.Key.Key_Right)
    forward = workspace.in_hand.conditions.number("sample age")
    assert forward is not None
    assert 24.0 < forward < 30.0
    qtbot.keyClick(pane.curve, Qt.Key.Key_Left)
    assert workspace.in_hand.conditions.number("sample age") == pytest.approx(24.0, rel=0.05)
    pane.view_model.choose_axis("temperature")
    qtbot.keyClick(pane.curve, Qt.Key.Key_Right)
    moved = workspace.in_hand.conditions.number("temperature")
    assert moved is not None
    assert moved == int(moved) > 150


def test_walking_over_the_marks_by_keys_tells_about_each_and_enter_takes_it(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    control = Qt.KeyboardModifier.ControlModifier
    pane.curve.setFocus()
    qtbot.keyClick(pane.curve, Qt.Key.Key_Right, control)
    assert label_text(pane, "odds_readout").startswith("Attempt 1: nothing parted. sample age")
    qtbot.keyClick(pane.curve, Qt.Key.Key_Right, control)
    assert label_text(pane, "odds_readout").startswith("Attempt 2: ")
    qtbot.keyClick(pane.curve, Qt.Key.Key_Return)
    assert workspace.in_hand.label == "attempt 2"
    assert workspace.in_hand.source == "attempt"
    qtbot.keyClick(pane.curve, Qt.Key.Key_Escape)
    assert label_text(pane, "odds_readout").startswith("A click or")
    assert not pane.curve.note.isVisible()


def test_hovering_over_a_mark_tells_about_the_attempt_and_a_click_takes_it(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    spot, point = pane.curve.spots[10], pane.curve.spot_points[10]
    where = at(pane.curve, float(point[0]), float(point[1]))
    qtbot.mouseMove(pane.curve.viewport(), where)
    qtbot.waitUntil(lambda: label_text(pane, "odds_readout").startswith(f"Attempt {spot.number}: "))
    assert pane.curve.note.isVisible()
    assert pane.curve.note.text() == label_text(pane, "odds_readout")
    assert pane.curve.viewport().rect().contains(pane.curve.note.geometry())
    qtbot.mouseClick(pane.curve.viewport(), LEFT, pos=where)
    assert workspace.in_hand.label == f"attempt {spot.number}"


def test_marks_stand_on_the_rail_of_their_outcome(pane: OddsPane) -> None:
    for spot, (_, y) in zip(pane.curve.spots, pane.curve.spot_points, strict=True):
        assert y > 100 if spot.outcome is Outcome.CLEAN else y < 0


def test_no_mark_hides_another(pane: OddsPane) -> None:
    per_x, per_y = pane.curve.pixel_size()
    points = pane.curve.spot_points / (per_x, per_y)
    for index, point in enumerate(points):
        others = [other for number, other in enumerate(points) if number != index]
        assert min(((point - other) ** 2).sum() ** 0.5 for other in others) > 4.0


def test_what_lies_outside_the_tried_range_is_hatched_dashed_and_said_to_be_untried(pane: OddsPane) -> None:
    assert pane.view_model.state.curve is not None
    assert not pane.curve._hatch.path().isEmpty()
    x_dashed = pane.curve._dashes.getData()[0]
    low, high = pane.view_model.state.curve.tried or (0, 0)
    dashed = [10**x for x in x_dashed if x == x]
    assert dashed
    assert all(value <= low * 1.06 or value >= high / 1.06 for value in dashed)
    assert "not tried" in [item.toPlainText() for item in pane.curve._labels]


def test_the_axis_is_chosen_by_keyboard(pane: OddsPane, qtbot: QtBot) -> None:
    pane.controls.axis.setFocus()
    qtbot.keyClick(pane.controls.axis, Qt.Key.Key_Down)
    assert pane.view_model.state.axis == "temperature"
    assert pane.curve.accessibleName() == "Curve along temperature"


def test_both_gates_are_drawn_with_their_names(pane: OddsPane, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.controls.gates, LEFT, pos=QPoint(8, pane.controls.gates.height() // 2))
    assert pane.view_model.state.show_gates
    shown = {item.toPlainText() for item in pane.curve._labels}
    assert {"parted", "pooled, if parted"} <= shown


def test_a_choice_on_the_axis_shows_points_with_intervals(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    pane.view_model.choose_axis("stirring action")
    assert len(pane.curve._points.getData()[0]) == 4
    assert not pane.curve._bars.path().isEmpty()
    qtbot.mouseClick(pane.curve.viewport(), LEFT, pos=at(pane.curve, 2.1, 95.0))
    assert workspace.in_hand.conditions["stirring action"] == "press"


# -- the map -----------------------------------------------------------------------------------------------


def test_the_map_opens_and_its_mark_moves_by_click_and_keys(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    qtbot.mouseClick(pane.controls.view_buttons["map"], LEFT)
    assert pane.map.isVisible()
    assert not pane.curve.isVisible()
    qtbot.mouseClick(pane.map.viewport(), LEFT, pos=at(pane.map, 0.6, 110.0))
    assert workspace.in_hand.conditions.number("sample age") == pytest.approx(10**0.6, rel=0.04)
    assert workspace.in_hand.conditions.number("temperature") == pytest.approx(110, abs=1)
    qtbot.keyClick(pane.map, Qt.Key.Key_Up)
    assert workspace.in_hand.conditions.number("temperature") == pytest.approx(112, abs=2)
    assert pane.map.accessibleName() == "Map over sample age and temperature"


def test_contours_of_the_map_are_labelled_in_per_cent(pane: OddsPane, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.controls.view_buttons["map"], LEFT)
    labels = [item.toPlainText() for item in pane.map._labels]
    assert len([text for text in labels if text.endswith("%")]) >= 3
    assert "not tried" in labels


# -- next attempts -------------------------------------------------------------------------------------------


def test_the_button_of_a_suggestion_puts_it_into_the_form(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    with qtbot.waitSignal(workspace.form_requested) as caught:
        qtbot.mouseClick(pane.next_list.rows[1].button, LEFT)
    assert caught.args[0].conditions == pane.view_model.state.suggestions[1].conditions


def test_the_goal_switch_brings_other_suggestions(pane: OddsPane, qtbot: QtBot) -> None:
    before = pane.view_model.state.suggestions
    pane.next_list.goal.goal_actions["reliable"].trigger()
    assert pane.next_list.goal.text() == "Most reliable"
    assert not pane.next_list.goal.goal_actions["learn"].isChecked()
    assert pane.view_model.state.suggestions != before


def test_a_suggestion_is_looked_at_by_keyboard(pane: OddsPane, workspace: Workspace, qtbot: QtBot) -> None:
    first, second = pane.next_list.rows[:2]
    first.setFocus()
    qtbot.keyClick(first, Qt.Key.Key_Down)
    assert second.hasFocus()
    assert second.why.isVisible()
    qtbot.keyClick(second, Qt.Key.Key_Return)
    assert workspace.in_hand.label == "Suggestion 2"


def test_the_goal_can_be_changed_without_taking_a_suggestion_in_hand(pane: OddsPane, workspace: Workspace) -> None:
    before = workspace.in_hand
    pane.view_model.choose_goal("reliable")
    assert workspace.in_hand == before


# -- table, names, themes, speed -------------------------------------------------------------------------------


def test_the_table_shows_and_copies_the_numbers_of_the_curve(pane: OddsPane, qtbot: QtBot) -> None:
    pane.menu_button.actions_by_name["table"].trigger()
    dialog = pane.findChild(TableDialog)
    assert dialog is not None
    assert dialog.isVisible()
    table = dialog.findChild(QTableWidget, "odds_table")
    assert table is not None
    assert table.rowCount() == 121
    header = [table.horizontalHeaderItem(column).text() for column in range(table.columnCount())]
    assert header == [
        "sample age",
        "probability",
        "lower, 95 %",
        "upper, 95 %",
        "parted",
        "pooled, if parted",
        "tried",
    ]
    qtbot.mouseClick(dialog.copy_button, LEFT)
    lines = QGuiApplication.clipboard().text().split("\r\n")
    assert lines[0].split("\t")[:2] == ["sample age [h]", "probability"]
    assert len(lines) == 123
    dialog.close()


def test_the_map_has_a_table_too(pane: OddsPane) -> None:
    pane.view_model.choose_view("map")
    pane.menu_button.show_table()
    dialog = pane.findChild(TableDialog)
    assert dialog is not None
    table = dialog.findChild(QTableWidget, "odds_table")
    assert table is not None
    assert table.rowCount() == 41 * 41
    dialog.close()


def test_every_control_has_a_name_and_each_plot_a_sentence(pane: OddsPane) -> None:
    for view in ("curve", "map", "outcomes", "time", "effects", "trust"):
        pane.view_model.choose_view(view)  # type: ignore[arg-type]
        for widget in focusable_widgets(pane):
            assert widget.accessibleName(), widget.objectName() or widget
    assert "Tried from" in pane.curve.accessibleDescription()
    assert "highest near" in pane.map.accessibleDescription()
    assert "clean is likeliest near" in pane.outcomes.accessibleDescription()


def test_tab_follows_the_reading_order(pane: OddsPane, workspace: Workspace, qtbot: QtBot) -> None:
    workspace.set_in_hand(InHand(IN_HAND.conditions, "attempt", "attempt 7"))
    pane.activateWindow()
    pane.headline.take.setFocus()
    seen = []
    for _ in range(20):
        focused = pane.focusWidget()
        assert focused is not None
        seen.append(focused.objectName())
        qtbot.keyClick(focused, Qt.Key.Key_Tab)
        if pane.focusWidget() is pane.headline.take:
            break
    wanted = [
        "odds_take", "odds_more", "odds_view_curve", "odds_axis", "odds_gates_shown", "odds_picture_menu",
        "odds_curve", "odds_recipe", "odds_goal", "odds_next_1", "odds_next_1_why", "odds_next_1_take",
        "odds_next_2",
    ]  # fmt: skip
    assert [name for name in seen if name in wanted] == wanted


@pytest.mark.parametrize("theme", [LIGHT, DARK, HIGH_CONTRAST], ids=lambda theme: theme.name)
def test_a_theme_recolours_the_plots_that_exist(
    pane: OddsPane, workspace: Workspace, qapp: QApplication, theme: Theme
) -> None:
    apply_theme(qapp, theme)
    workspace.set_theme(theme)
    assert pane.curve.backgroundBrush().color() == QColor(theme.raised)
    assert pane.curve._line.opts["pen"].color() == QColor(theme.accent)
    assert pane.curve.plot_item.getAxis("left").textPen().color() == QColor(theme.text)
    image = pane.grab().toImage()
    corner = pane.curve.mapTo(pane, QPoint(pane.curve.width() - 3, 2))
    assert image.pixelColor(corner * image.devicePixelRatio()) == QColor(theme.raised)


@pytest.mark.parametrize("width", [560, 690, 1000, 1400])
def test_no_text_is_cut_at_any_width_of_the_pane(pane: OddsPane, qtbot: QtBot, width: int) -> None:
    pane.resize(width, 640)
    qtbot.waitUntil(lambda: pane.curve.height() >= 200)  # once the fewer lines around the picture are laid out
    assert pane.width() == width
    for button in pane.findChildren(QPushButton):
        if button.isVisible():
            assert button.width() >= button.minimumSizeHint().width(), button.text()
    for label in (pane.headline.number, pane.headline.certainty, pane.headline.gates, pane.headline.title):
        assert label.width() >= label.sizeHint().width(), label.text()
    assert pane.curve.height() >= 200


def test_moving_the_mark_draws_in_time(pane: OddsPane) -> None:
    pane.view_model.move_to(1.0)
    started = time.perf_counter()
    for step in range(20):
        pane.view_model.move_to(1.0 + step / 40)
    # The budget is 10 ms for each; shared machines get four times that.
    assert (time.perf_counter() - started) / 20 < 0.04


def test_the_plot_of_an_empty_campaign_shows_the_prior_as_untried(
    qtbot: QtBot, workspace: Workspace, empty_document: Document
) -> None:
    made = OddsPane(workspace)
    qtbot.addWidget(made)
    workspace.open_document(empty_document)
    with qtbot.waitExposed(made):
        made.show()
    assert made.curve.picture is not None
    assert made.curve.picture.tried is None
    assert made.curve._line.getData()[0] is None or len(made.curve._line.getData()[0]) == 0
    assert "not tried" in [item.toPlainText() for item in made.curve._labels]


def test_a_plot_renders_the_same_state_twice_without_drawing_again(pane: OddsPane) -> None:
    before = [id(item) for item in pane.curve._labels]
    pane.render(pane.view_model.state)
    pane.render(pane.view_model.state)
    assert [id(item) for item in pane.curve._labels] == before


@pytest.mark.parametrize("theme", list(THEMES.values()), ids=list(THEMES))
def test_a_plot_without_a_picture_can_be_shown(qtbot: QtBot, themed: QApplication, theme: Theme) -> None:
    plot = CurvePlot(theme)
    qtbot.addWidget(plot)
    plot.resize(400, 300)
    plot.show_picture(None, show_gates=False, late=False)
    plot.show_mark(None, None)
    assert not plot.grab().isNull()


def test_the_name_of_the_band_keeps_away_from_the_mark(pane: OddsPane) -> None:
    for step in range(40):
        pane.view_model.move_to(0.4 + step * 0.055)
        label = pane.curve._band_label
        if label is not None and pane.curve.at is not None:
            half = label.boundingRect().width() / 2 * pane.curve.pixel_size()[0]
            assert abs(label.pos().x() - pane.curve.at) > half
    assert len([item for item in pane.curve._labels if "interval" in item.toPlainText()]) <= 1


@pytest.mark.parametrize(("height", "beside_a_list"), [(800, False), (1000, True)])
def test_a_view_that_is_read_takes_the_room_of_the_next_attempts(
    pane: OddsPane, qtbot: QtBot, height: int, beside_a_list: bool
) -> None:
    pane.resize(690, height)
    for view, shown in (("curve", True), ("effects", beside_a_list), ("trust", beside_a_list), ("map", True)):
        qtbot.mouseClick(pane.findChild(QPushButton, f"odds_view_{view}"), LEFT)
        assert pane.next_list.isVisible() is shown, view
