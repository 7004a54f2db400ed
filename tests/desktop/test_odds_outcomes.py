"""The picture of the outcomes, and the row that chooses the view."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QTableWidget

from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.desktop.odds.export import save_csv
from stirfall.desktop.odds.outcomes import shares_at
from stirfall.desktop.odds.pane import OddsPane
from stirfall.desktop.odds.state import OutcomePicture
from stirfall.desktop.odds.table_dialog import TableDialog
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT, Theme, apply_theme
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.reporting.shares import percent
from stirfall.session.commands import ChangeSettings, RecordAttempt
from stirfall.session.document import Document

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
    qtbot.mouseClick(made.controls.view_buttons["outcomes"], LEFT)
    return made


def shown(pane: OddsPane) -> OutcomePicture:
    picture = pane.view_model.state.outcomes
    assert picture is not None
    return picture


def at(pane: OddsPane, x: float, y: float) -> QPoint:
    return pane.outcomes.viewport_position(x, y).toPoint()


# -- the numbers ------------------------------------------------------------------------------------------


def test_the_bands_fill_the_whole_and_clean_is_the_curve(pane: OddsPane, workspace: Workspace) -> None:
    picture = shown(pane)
    assert [band.outcome for band in picture.bands] == [
        Outcome.CLEAN, Outcome.PARTED_BEADS, Outcome.NOTHING_PARTED,
    ]  # fmt: skip
    total = np.sum([band.mean for band in picture.bands], axis=0)
    assert total == pytest.approx(np.ones(len(picture.x)))
    assert workspace.analysis is not None
    curve = workspace.analysis.curve("sample age", IN_HAND.conditions)
    assert picture.bands[0].mean == pytest.approx(curve.mean)
    for band in picture.bands:
        assert np.all((band.lower >= 0) & (band.lower <= band.mean))
        assert np.all((band.mean <= band.upper) & (band.upper <= 1))


def test_young_metal_stays_unparted_and_old_metal_beads(pane: OddsPane) -> None:
    clean, beads, not_parted = shown(pane).bands
    assert not_parted.mean[0] > max(clean.mean[0], beads.mean[0])
    assert beads.mean[-1] > beads.mean[0]
    assert not_parted.mean[-1] < not_parted.mean[0]


def test_the_mark_tells_the_three_shares_and_agrees_with_the_headline(pane: OddsPane) -> None:
    estimate = pane.view_model.state.headline.estimate
    assert estimate is not None
    texts = [tag.toPlainText() for tag in pane.outcomes.tags]
    assert texts[0] == f"● {percent(estimate.mean)}"
    shares = shares_at(shown(pane), pane.outcomes.at or 0.0, estimate.mean)
    assert sum(shares) == pytest.approx(1.0)
    assert texts[1:] == [f"▲ {percent(shares[1])}", f"✕ {percent(shares[2])}"]
    assert pane.outcomes.said in pane.outcomes.accessibleDescription()
    assert "parted but beads" in pane.outcomes.said


def test_no_word_of_too_little_film_where_a_longer_exposure_is_never_advised(
    pane: OddsPane, workspace: Workspace, campaign_settings: CampaignSettings
) -> None:
    def words() -> str:
        return " ".join(label for band in shown(pane).bands for label in band.labels)

    assert "too little film" in words()
    workspace.execute(ChangeSettings(replace(campaign_settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    assert "film" not in words()
    assert "film" not in " ".join(item.toPlainText() for item in pane.outcomes._labels)


# -- drawing and moving -----------------------------------------------------------------------------------


def test_each_band_carries_its_words_and_two_carry_a_pattern(pane: OddsPane) -> None:
    words = " ".join(item.toPlainText() for item in pane.outcomes._labels)
    for word in ("clean", "beads", "not parted"):
        assert word in words
    patterns = pane.outcomes._patterns
    assert patterns[Outcome.CLEAN].path().isEmpty()
    assert not patterns[Outcome.PARTED_BEADS].path().isEmpty()
    assert not patterns[Outcome.NOTHING_PARTED].path().isEmpty()


def test_what_was_not_tried_is_hatched_and_faint(pane: OddsPane) -> None:
    assert not pane.outcomes._hatch.path().isEmpty()
    assert not pane.outcomes._dashes.path().isEmpty()
    solid = pane.outcomes._bands[Outcome.CLEAN].brush().color().alphaF()
    faint = pane.outcomes._faint[Outcome.CLEAN].brush().color().alphaF()
    assert faint < solid
    assert "not tried" in [item.toPlainText() for item in pane.outcomes._labels]


def test_a_click_and_the_arrow_keys_move_the_mark(pane: OddsPane, workspace: Workspace, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.outcomes.viewport(), LEFT, pos=at(pane, 2.0, 30.0))
    moved = workspace.in_hand.conditions.number("sample age")
    assert moved == pytest.approx(100.0, rel=0.03)
    qtbot.keyClick(pane.outcomes, Qt.Key.Key_Right)
    further = workspace.in_hand.conditions.number("sample age")
    assert further is not None
    assert moved is not None
    assert further > moved


def test_attempts_stand_on_rails_and_are_walked_over_by_keys(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    assert len(pane.outcomes.spots) == 24
    pane.outcomes.setFocus()
    qtbot.keyClick(pane.outcomes, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert pane.readout.text().startswith("Attempt 1: ")
    qtbot.keyClick(pane.outcomes, Qt.Key.Key_Return)
    assert workspace.in_hand.label == "attempt 1"


def test_a_choice_on_the_axis_shows_a_bar_for_each_level(pane: OddsPane) -> None:
    pane.view_model.choose_axis("stirring action")
    picture = shown(pane)
    assert list(picture.x) == [0, 1, 2, 3]
    tried = pane.outcomes._bands[Outcome.CLEAN].path().boundingRect()
    assert -0.5 < tried.left() < 0 < tried.right() < 0.5  # only the first level was tried
    assert [item.toPlainText() for item in pane.outcomes._labels].count("not tried") == 3


@pytest.mark.parametrize("theme", [LIGHT, DARK, HIGH_CONTRAST], ids=lambda theme: theme.name)
def test_a_theme_recolours_the_bands(
    pane: OddsPane, workspace: Workspace, qapp: QApplication, theme: Theme
) -> None:
    apply_theme(qapp, theme)
    workspace.set_theme(theme)
    for outcome in (Outcome.CLEAN, Outcome.PARTED_BEADS, Outcome.NOTHING_PARTED):
        colour = QColor(pane.outcomes._bands[outcome].brush().color())
        colour.setAlphaF(1.0)
        assert colour == QColor(theme.mark(outcome).colour)
    assert pane.outcomes._edges.pen().color() == QColor(theme.text)


# -- table and files --------------------------------------------------------------------------------------


def test_the_outcomes_have_a_table_and_a_csv(pane: OddsPane, tmp_path: Path) -> None:
    pane.menu_button.show_table()
    dialog = pane.findChild(TableDialog)
    assert dialog is not None
    table = dialog.findChild(QTableWidget, "odds_table")
    assert table is not None
    assert (table.rowCount(), table.columnCount()) == (121, 5)
    dialog.close()
    save_csv(pane.view_model.state, tmp_path / "outcomes.csv")
    text = (tmp_path / "outcomes.csv").read_bytes().decode("utf-8")
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert rows[0] == [
        "sample age [h]",
        "clean", "clean, lower", "clean, upper",
        "parted but beads", "parted but beads, lower", "parted but beads, upper",
        "not parted", "not parted, lower", "not parted, upper",
        "tried",
    ]  # fmt: skip
    sums = [float(row[1]) + float(row[4]) + float(row[7]) for row in rows[1:]]
    assert sums == pytest.approx([1.0] * 121, abs=2e-4)


# -- the row of views ---------------------------------------------------------------------------------------


def test_with_one_gate_the_outcomes_are_closed_and_say_why(
    pane: OddsPane, workspace: Workspace, campaign_settings: CampaignSettings
) -> None:
    assert pane.view_model.state.view == "outcomes"
    workspace.execute(ChangeSettings(replace(campaign_settings, gates=1)))
    button = pane.controls.view_buttons["outcomes"]
    assert not button.isEnabled()
    assert button.toolTip() == pane.view_model.state.no_outcomes != ""
    assert pane.view_model.state.view == "curve"
    pane.view_model.choose_view("outcomes")
    assert pane.view_model.state.view == "curve"


def test_effects_and_trust_take_the_place_of_the_picture(pane: OddsPane, qtbot: QtBot) -> None:
    for view, widget in (("effects", pane.effects), ("trust", pane.trust)):
        qtbot.mouseClick(pane.controls.view_buttons[view], LEFT)
        assert pane.plots.currentWidget() is widget
        assert not pane.controls.axis.isVisible()
        assert not pane.controls.gates.isVisible()
        assert not pane.menu_button.isVisible()
        assert not any(action.isEnabled() for action in pane.menu_button.actions_by_name.values())
    qtbot.mouseClick(pane.controls.view_buttons["curve"], LEFT)
    assert pane.curve.isVisible()
    assert pane.controls.axis.isVisible()


@pytest.mark.parametrize("view", ["curve", "map", "outcomes"])
def test_where_there_is_little_room_a_selector_stands_in_for_the_buttons(
    pane: OddsPane, qtbot: QtBot, view: str
) -> None:
    pane.view_model.choose_view(view)  # type: ignore[arg-type]
    button = pane.controls.view_buttons["curve"]
    qtbot.waitUntil(button.isVisible)
    pane.resize(420, 800)
    qtbot.waitUntil(button.isHidden)
    assert pane.controls.views.isVisible()
    assert pane.controls.views.currentData() == view
    pane.controls.views.setFocus()
    other = "curve" if view != "curve" else "map"
    qtbot.keyClick(pane.controls.views, other[0].upper())
    assert pane.view_model.state.view == other


# -- separated outcomes ---------------------------------------------------------------------------------------


def test_the_details_say_where_outcomes_are_parted_without_exception(
    workspace: Workspace, empty_document: Document, qtbot: QtBot
) -> None:
    pane = OddsPane(workspace)
    qtbot.addWidget(pane)
    workspace.open_document(empty_document)
    for number, age in enumerate((6.0, 9.0, 14.0, 40.0, 60.0, 90.0)):
        parted = Parted.YES if age > 20 else Parted.NO
        pool = Pooled.ONE_POOL if parted is Parted.YES else None
        conditions = Conditions({"sample age": age, "temperature": 150.0 + number % 2})
        workspace.execute(RecordAttempt(Attempt("", 0, conditions, parted=parted, pooled=pool)))
    assert pane.view_model.state.separation == ()  # nobody reads the details yet
    qtbot.mouseClick(pane.headline.more, LEFT)
    first = pane.view_model.state.separation[0]
    assert first.startswith("Parted: Every attempt with sample age at 40")
    assert "tells most." in first
    assert first in pane.headline.details.text()


def test_details_of_outcomes_that_overlap_say_nothing_of_it(pane: OddsPane, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.headline.more, LEFT)
    assert pane.view_model.state.separation == ()
