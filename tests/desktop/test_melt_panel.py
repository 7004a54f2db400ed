"""The melt panel: curves, facts and gaps of a report, and the switch at the right side that brings it up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.desktop.app import make_parts
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.physics.fact_lines import MARKS
from stirfall.desktop.physics.melt_panel import MeltPanel
from stirfall.desktop.physics.melt_plot import axes_of, value_at
from stirfall.desktop.physics.melt_state import MeltPicture, MeltTrace, melt_state
from stirfall.desktop.physics.right_side import RightSide
from stirfall.desktop.shell import Shell
from stirfall.desktop.theme import LIGHT, THEMES, apply_theme
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.reporting.sentences import sentence
from stirfall.session.document import Document
from stirfall.session.melt import LiquidAtHand, MeltCurves, MeltFact, MeltReport
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.bench.campaign import CampaignState

NARROW, LOW = 560, 600
MELTING_C = 139.0
T_C = np.linspace(100.0, 230.0, 66)
LIQUID = np.where(T_C >= MELTING_C, 1.0, np.nan)


def a_report(at_c: float | None = 150.0) -> MeltReport:
    """An invented metal that melts at 139 °C under an invented oil, with a fact of every level."""
    facts = tuple(
        MeltFact(key, level, None, None, None, "", code)
        for key, level, code in (
            ("melt", "fact", "film.ranking_aid"),
            ("settling", "note", "assay.one_only"),
            ("tip_speed", "unknown", "weighing.needs_step"),
            ("weber_blob", "warn", "assay.has_voids"),
        )
    )
    return MeltReport(
        LiquidAtHand("invented alloy"),
        LiquidAtHand("invented oil"),
        at_c,
        MELTING_C,
        (144.0, 175.0),
        MeltCurves(
            T_C,
            LIQUID * (8500.0 - T_C),
            900.0 - 0.6 * T_C,
            LIQUID * (2.5 - T_C / 200.0),
            40.0 * np.exp(-T_C / 60.0),
        ),
        facts,
        (Reason("weighing.needs_step"), Reason("weighing.needs_charge")),
    )


@dataclass
class Asked:
    """Makes reports and keeps what it was asked for."""

    conditions: list[Conditions] = field(default_factory=list)

    def __call__(self, state: CampaignState, conditions: Conditions) -> MeltReport:
        del state
        self.conditions.append(conditions)
        return a_report(conditions.number("temperature"))


@pytest.fixture
def asked() -> Asked:
    return Asked()


@pytest.fixture
def panel(qtbot: QtBot, workspace: Workspace, document: Document, asked: Asked) -> MeltPanel:
    workspace.open_document(document)
    made = MeltPanel(workspace, asked)
    qtbot.addWidget(made)
    made.resize(NARROW, LOW)
    with qtbot.waitExposed(made):
        made.show()
    QApplication.processEvents()
    return made


# -- from a report to a state -----------------------------------------------------------------------------


def test_warnings_come_first_and_what_is_unknown_last_and_nothing_is_said_twice() -> None:
    state = melt_state(a_report(), "density")
    assert [line.level for line in state.lines] == ["warn", "fact", "note", "unknown", "unknown"]
    texts = [line.text for line in state.lines]
    assert len(set(texts)) == len(texts)
    assert sentence("weighing.needs_charge") in texts
    assert state.wants_settings


def test_a_report_without_gaps_does_not_ask_for_the_settings() -> None:
    report = a_report()
    known = tuple(fact for fact in report.facts if fact.level != "unknown")
    assert not melt_state(replace(report, facts=known, missing=()), "density").wants_settings


def test_each_quantity_has_the_curves_of_metal_and_oil() -> None:
    report = a_report()
    assert report.curves is not None
    density, viscosity = melt_state(report, "density").picture, melt_state(report, "viscosity").picture
    assert density is not None
    assert viscosity is not None
    assert [trace.word for trace in density.traces] == ["metal", "oil"]
    assert density.traces[0].values is report.curves.metal_density
    assert viscosity.traces[1].values is report.curves.oil_viscosity


def test_unknown_curves_are_left_out_and_none_at_all_is_no_picture() -> None:
    report = a_report()
    assert report.curves is not None
    no_oil = replace(report.curves, oil_density=None)
    picture = melt_state(replace(report, curves=no_oil), "density").picture
    assert picture is not None
    assert [trace.word for trace in picture.traces] == ["metal"]
    nothing = replace(report.curves, metal_density=np.full(len(T_C), np.nan), oil_density=None)
    assert melt_state(replace(report, curves=nothing), "density").picture is None
    assert melt_state(replace(report, curves=None), "viscosity").picture is None


def test_axes_hold_curves_melting_point_and_the_temperature_in_hand() -> None:
    for quantity in ("density", "viscosity"):
        picture = melt_state(a_report(250.0), quantity).picture
        assert picture is not None
        axes = axes_of(picture)
        assert axes.across.bounds == (100.0, 250.0)
        low, high = axes.upward.bounds
        for trace in picture.traces:
            assert low < np.nanmin(trace.values)
            assert np.nanmax(trace.values) < high
    assert axes.upward.unit == "mPa s"


def test_values_are_read_between_points_and_never_beyond_what_is_known() -> None:
    picture = MeltPicture("density", T_C, (MeltTrace("metal", LIQUID * T_C),))
    assert value_at(picture, picture.traces[0].values, 151.0) == pytest.approx(151.0)
    assert value_at(picture, picture.traces[0].values, 120.0) is None
    assert value_at(picture, picture.traces[0].values, 231.0) is None


# -- following the conditions in hand -----------------------------------------------------------------------


def test_it_follows_the_conditions_in_hand(panel: MeltPanel, workspace: Workspace, asked: Asked) -> None:
    workspace.set_in_hand(InHand(Conditions({"temperature": 165.0}), "form"))
    assert asked.conditions[-1].number("temperature") == 165.0
    assert "165" in panel.title.text()
    assert panel.plot.picture is not None
    assert panel.plot.picture.at_c == 165.0


def test_nothing_is_worked_out_while_hidden(panel: MeltPanel, workspace: Workspace, asked: Asked) -> None:
    panel.hide()
    before = len(asked.conditions)
    for celsius in (150.0, 160.0, 170.0):
        workspace.set_in_hand(InHand(Conditions({"temperature": celsius}), "form"))
    assert len(asked.conditions) == before
    panel.show()
    assert len(asked.conditions) == before + 1
    assert "170" in panel.title.text()


def test_without_a_session_one_sentence_says_what_will_appear(panel: MeltPanel, workspace: Workspace) -> None:
    workspace.close_document()
    assert panel.message.isVisibleTo(panel)
    assert panel.message.text() == sentence("melt_panel.closed")


def test_the_open_campaign_has_a_report_in_plain_sentences(
    qtbot: QtBot, workspace: Workspace, document: Document
) -> None:
    workspace.open_document(document)
    made = MeltPanel(workspace)
    qtbot.addWidget(made)
    made.resize(NARROW, LOW)
    with qtbot.waitExposed(made):
        made.show()
    state = made.view_model.state
    assert state.message == ""
    assert state.lines
    assert [line.text for line in state.lines if line.text.startswith(("melt.", "melt_"))] == []


# -- on screen ------------------------------------------------------------------------------------------------


def test_the_switch_shows_the_other_quantity(panel: MeltPanel, workspace: Workspace, qtbot: QtBot) -> None:
    workspace.set_in_hand(InHand(Conditions({"temperature": 165.0}), "form"))
    qtbot.mouseClick(panel.switches["viscosity"], Qt.MouseButton.LeftButton)
    assert panel.plot.picture is not None
    assert panel.plot.picture.quantity == "viscosity"
    assert "mPa s" in panel.plot.accessibleDescription()
    assert "operating window 144 to 175" in panel.plot.accessibleDescription()


def test_every_line_has_shape_and_word(panel: MeltPanel) -> None:
    shown = [line for line in panel.facts.lines if line.isVisibleTo(panel)]
    assert len(shown) == len(panel.view_model.state.lines)
    for widget, line in zip(shown, panel.view_model.state.lines, strict=True):
        glyph, word = MARKS[line.level]
        assert glyph in widget.mark.text()
        assert word in widget.mark.text()
        assert widget.accessibleName().startswith(f"{word}: ")


def test_the_button_asks_for_the_campaign_settings(panel: MeltPanel, workspace: Workspace, qtbot: QtBot) -> None:
    with qtbot.waitSignal(workspace.settings_requested):
        qtbot.mouseClick(panel.settings, Qt.MouseButton.LeftButton)


@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_nothing_is_cut_and_nothing_runs_sideways(panel: MeltPanel, themed: QApplication, scale: float) -> None:
    apply_theme(themed, LIGHT, scale)
    try:
        panel.render(panel.view_model.state)
        QApplication.processEvents()
        assert panel.area.horizontalScrollBar().maximum() == 0
        for label in panel.content.findChildren(QLabel):
            if label.isVisibleTo(panel) and label.text() and label.wordWrap():
                assert label.height() + 1 >= label.heightForWidth(label.width()), label.text()
    finally:
        apply_theme(themed, LIGHT)


def test_every_theme_recolours_the_picture(panel: MeltPanel, workspace: Workspace) -> None:
    for theme in THEMES.values():
        workspace.set_theme(theme)
        assert panel.plot.grab().toImage().pixelColor(1, 1).name() == theme.raised


def test_everything_that_takes_the_keyboard_has_a_name(panel: MeltPanel) -> None:
    reached = list(focusable_widgets(panel))
    assert {"melt_settings", "melt_density"} <= {widget.objectName() for widget in reached}
    assert all(widget.accessibleName() for widget in reached)


def test_rendering_twice_changes_nothing(panel: MeltPanel) -> None:
    before = panel.grab().toImage()
    panel.render(panel.view_model.state)
    QApplication.processEvents()
    assert panel.grab().toImage() == before


# -- the right side ---------------------------------------------------------------------------------------------


def test_a_panel_is_built_when_it_is_first_shown(qtbot: QtBot, themed: QApplication) -> None:
    built: list[str] = []

    def maker(name: str) -> QWidget:
        built.append(name)
        return QLabel(name)

    side = RightSide(QLabel("odds"), {"melt": lambda: maker("melt"), "film": lambda: maker("film")})
    qtbot.addWidget(side)
    assert side.current == "odds"
    assert built == []
    side.switch.button("film").click()
    side.show_side("odds")
    side.show_side("film")
    assert built == ["film"]
    assert side.current == "film"
    assert side.switch.button("film").isChecked()


@pytest.fixture
def shell(qtbot: QtBot, qapp: QApplication, tmp_path: Path, document: Document) -> Iterator[Shell]:
    made = Shell(qapp, Settings(tmp_path / "settings.json"), make_parts)
    made.window.resize(1280, 720)
    made.window.show()
    path = document.path
    document.close()
    made.files.open_path(path)
    qtbot.waitUntil(lambda: made.executor.is_idle, timeout=60_000)
    yield made
    made.window.close()
    made.window.deleteLater()
    made.deleteLater()


def test_the_view_menu_and_the_keyboard_lead_to_each_side(shell: Shell, qtbot: QtBot) -> None:
    window = shell.window
    with qtbot.waitActive(window):
        window.activateWindow()
    for key, name in ((Qt.Key.Key_3, "film"), (Qt.Key.Key_1, "odds")):
        qtbot.keyClick(window, key, Qt.KeyboardModifier.AltModifier)
        assert window.side.current == name
        assert shell.actions.side_actions[name].isChecked()
        qtbot.waitUntil(lambda: shell.executor.is_idle, timeout=60_000)
    shell.actions.side_actions["film"].trigger()
    assert window.side.current == "film"
    assert window.side.switch.button("film").isChecked()


def test_the_switch_takes_no_height_from_the_odds(shell: Shell) -> None:
    window = shell.window
    before = window.side.height()
    window.side.switch.setVisible(False)
    QApplication.processEvents()
    assert window.side.height() - before <= 8
    window.side.switch.setVisible(True)


def test_a_wish_for_two_jars_brings_up_the_film_with_them(shell: Shell, qtbot: QtBot) -> None:
    shell.workspace.request_film("J3", "J1")
    assert shell.window.side.current == "film"
    state = shell.window.side.panel("film").view_model.state
    assert (state.first, state.second) == ("J3", "J1")
    qtbot.waitUntil(lambda: shell.executor.is_idle, timeout=60_000)
