"""Goals, the explanation of a suggestion, the recommended recipe, the time to a clean batch: with real clicks."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from looking import laid_out
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QLabel

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.number_style import NumberStyle
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import PlanSettings, control_errors
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.odds.export import save_csv, save_png, save_svg, table_of
from stirfall.desktop.odds.goal_choice import GOALS
from stirfall.desktop.odds.next_detail import detail_lines, error_text
from stirfall.desktop.odds.pane import OddsPane
from stirfall.desktop.odds.table_dialog import as_csv
from stirfall.desktop.odds.time_picture import hours_text, jar_marks
from stirfall.desktop.odds.time_plot import TimePlot
from stirfall.desktop.theme import LIGHT, THEMES, Theme, apply_theme
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.planning.goals import Goal, GoalFigure
from stirfall.planning.suggestions import Suggestion
from stirfall.session.clock import FixedClock
from stirfall.session.commands import ChangeSettings
from stirfall.session.document import Document
from stirfall.session.jobs import ImmediateExecutor

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

LEFT = Qt.MouseButton.LeftButton
IN_HAND = InHand(Conditions({"sample age": 24.0, "temperature": 150.0, "stirring action": "swirl"}), "form")
NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
SETTINGS = CampaignSettings(
    material=MaterialClass.BASE_METAL,
    metal="invented alloy",
    melting_point_c=139.0,
    oil_flash_c=225.0,
    invented=True,
)
AGE = Factor("sample age", "h", 2.0, 480.0, Scale.LOG, role=Role.SAMPLE_AGE)
HEAT = Factor("temperature", "C", 140.0, 170.0, role=Role.TEMPERATURE)


@pytest.fixture(scope="module")
def opened(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[OddsPane, Workspace]]:
    """One pane with one campaign for all tests: to fit one takes longer than to look at it."""
    apply_theme(qapp, LIGHT)
    factors = (replace(AGE, default=24.0), HEAT, Factor("stirring action", levels=("fold", "swirl")))
    path = tmp_path_factory.mktemp("next") / "invented.stirfall"
    lots, jars = (Lot("L1", NOW - timedelta(days=8)),), (Jar("J1", "L1", NOW - timedelta(days=1)),)
    workspace = Workspace(ImmediateExecutor())
    made = OddsPane(workspace)
    made.resize(690, 800)
    document = Document.create(
        path, SETTINGS, factors, lots=lots, jars=jars, attempts=attempts_along_age(), clock=FixedClock(NOW)
    )
    workspace.open_document(document)
    made.show()
    yield made, workspace
    workspace.close_document()
    made.close()
    made.deleteLater()
    workspace.deleteLater()
    document.close()


@pytest.fixture
def workspace(opened: tuple[OddsPane, Workspace]) -> Workspace:
    return opened[1]


@pytest.fixture
def pane(opened: tuple[OddsPane, Workspace]) -> OddsPane:
    """The pane as it opens, whatever the test before did."""
    made, workspace = opened
    document = workspace.document
    assert document is not None
    if document.state.settings != SETTINGS:
        workspace.execute(ChangeSettings(SETTINGS))
    workspace.set_in_hand(IN_HAND)
    made.view_model.choose_view("curve")
    made.view_model.choose_goal("learn")
    laid_out(made)
    return made


def attempts_along_age() -> tuple[Attempt, ...]:
    """Twelve attempts: the young part badly, the old ones bead."""
    made = []
    for number in range(1, 13):
        age = 4.0 * 1.4**number
        parted = Parted.YES if age > 12 or number % 5 == 0 else Parted.NO
        pool = Pooled.ONE_POOL if age < 90 or number % 6 == 0 else Pooled.BEADS
        values = {"sample age": age, "temperature": 150.0 + number % 4, "stirring action": "swirl"}
        pooled = pool if parted is Parted.YES else None
        at = NOW - timedelta(days=30 - number)
        made.append(Attempt(f"a{number}", number, Conditions(values), at, at, "L1", parted=parted, pooled=pooled))
    return tuple(made)


def words(pane: OddsPane) -> str:
    """Everything that the explanation shows."""
    return "\n".join(label.text() for label in pane.detail.area.widget().findChildren(QLabel))


# -- goals ---------------------------------------------------------------------------------------------------


def test_four_goals_are_offered_each_with_what_it_is_for(pane: OddsPane) -> None:
    texts = [action.text() for action in pane.next_list.goal.menu().actions()]
    assert len(texts) == 4
    assert texts[2] == "Soonest batch: the shortest time to a clean batch, waiting and retries counted"
    assert [Goal(goal) for goal in GOALS] == [Goal.LEARN, Goal.RELIABLE, Goal.SOONEST, Goal.MOST]


@pytest.mark.parametrize(
    ("goal", "unit"), [("soonest", "First clean batch after"), ("most", "grams cannot be told")]
)
def test_a_goal_promises_its_figure_or_says_why_not(pane: OddsPane, qtbot: QtBot, goal: str, unit: str) -> None:
    pane.next_list.goal.goal_actions[goal].trigger()  # type: ignore[index]
    assert pane.view_model.state.goal == goal
    assert pane.next_list.goal.accessibleName().startswith("Goal: ")
    qtbot.mouseClick(pane.next_list.rows[0].ask_why, LEFT)
    assert unit in words(pane)


# -- the explanation -----------------------------------------------------------------------------------------


def test_why_opens_in_the_place_of_the_picture_and_nothing_else_moves(pane: OddsPane, qtbot: QtBot) -> None:
    before = [pane.next_list.geometry(), pane.plots.geometry(), pane.controls.geometry()]
    qtbot.mouseClick(pane.next_list.rows[0].ask_why, LEFT)
    laid_out(pane)
    assert pane.plots.currentWidget() is pane.detail
    assert [pane.next_list.geometry(), pane.plots.geometry(), pane.controls.geometry()] == before
    shown = words(pane)
    for part in ("If clean (", "If beads (", "If nothing parted (", "Nearest is attempt", "As well as you hold it"):
        assert part in shown
    assert "attempts" in shown
    qtbot.mouseClick(pane.next_list.rows[1].ask_why, LEFT)
    assert pane.detail.title.text() == "Suggestion 2"
    assert [row.ask_why.isChecked() for row in pane.next_list.rows] == [False, True, False]
    qtbot.mouseClick(pane.next_list.rows[1].ask_why, LEFT)
    assert pane.plots.currentWidget() is pane.curve


def test_close_gives_the_keyboard_back_to_the_button_that_opened_it(pane: OddsPane, qtbot: QtBot) -> None:
    pane.activateWindow()
    qtbot.mouseClick(pane.next_list.rows[2].ask_why, LEFT)
    qtbot.mouseClick(pane.detail.close_button, LEFT)
    assert pane.plots.currentWidget() is pane.curve
    assert pane.focusWidget() is pane.next_list.rows[2].ask_why


def test_escape_in_the_explanation_brings_the_picture_back(pane: OddsPane, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.next_list.rows[0].ask_why, LEFT)
    qtbot.keyClick(pane.detail.area, Qt.Key.Key_Escape)
    assert pane.plots.currentWidget() is pane.curve


def test_another_view_closes_the_explanation(pane: OddsPane, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.next_list.rows[0].ask_why, LEFT)
    qtbot.mouseClick(pane.controls.view_buttons["map"], LEFT)
    assert pane.plots.currentWidget() is pane.map
    assert pane.view_model.state.why == ""


def test_the_recommended_recipe_goes_into_the_form(pane: OddsPane, workspace: Workspace, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.next_list.recipe, LEFT)
    recipe = pane.view_model.state.recipe
    assert recipe is not None
    assert pane.detail.title.text() == "Recommended now: most reliable"
    assert "If clean" not in words(pane)
    with qtbot.waitSignal(workspace.form_requested) as caught:
        qtbot.mouseClick(pane.detail.take, LEFT)
    assert caught.args[0].conditions == recipe.conditions
    assert caught.args[0].note_origin == "recommended recipe, most reliable"


def test_buttons_are_large_and_have_names(pane: OddsPane, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.next_list.recipe, LEFT)
    for place in (pane.next_list, pane.detail):
        for button in place.findChildren(QAbstractButton):
            if button.isVisible():
                assert button.height() >= TARGET, button.objectName()
                assert button.accessibleName()
    assert "Chance:" in pane.detail.area.accessibleDescription()


def test_where_nothing_may_be_suggested_the_reason_stands_there(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    workspace.execute(ChangeSettings(replace(SETTINGS, oil_flash_c=None)))
    qtbot.mouseClick(pane.next_list.recipe, LEFT)
    assert "flash point of this oil is not known" in words(pane)
    assert not pane.detail.take.isEnabled()
    qtbot.mouseClick(pane.controls.view_buttons["time"], LEFT)
    assert pane.plots.currentWidget() is pane.no_time
    assert "flash point of this oil is not known" in pane.no_time.text()


def suggestion(**changes: object) -> Suggestion:
    made = Suggestion(
        Conditions({"sample age": 24.0}),
        Estimate(0.62, 0.38, 0.81, 0.95, 47),
        Reason("plan.best"),
        Goal.SOONEST,
        (),
        None,
        None,
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def test_a_chance_is_told_with_interval_n_and_the_control_error() -> None:
    settings = CampaignSettings(plan=PlanSettings(control=(("temperature", 5.0),)))
    state = CampaignState(settings, (AGE, HEAT))
    held = Estimate(0.58, 0.35, 0.79, 0.95, 47)
    told = suggestion(held=held, figure=GoalFigure(48.0, 24.0, 720.0, "h"), outside_tried=("sample age",))
    lines = {line.label: line for line in detail_lines(told, state, jar="", decimal=",")}
    said = [text.replace("\u2009", " ") for text in lines["Chance"].texts]
    assert said[0] == "62 %, 38 to 81 %, 47 attempts."
    assert said[1] == "As well as you hold it (sample age ±10 %, temperature ±5 °C): 58 %, 35 to 79 %."
    assert said[2] == "First clean batch after 2 days on average, 24 h to 30 days, 47 attempts."
    assert lines["Caution"].is_caution
    assert lines["Jar"].texts == ("No jar on the shelf fits.",)


def test_a_difference_of_temperature_has_no_zero() -> None:
    state = CampaignState(CampaignSettings(), (HEAT,))
    (error,) = control_errors(state.factors, state.settings.plan)
    text = error_text(error, state, decimal=NumberStyle(".", "F"))
    assert text.replace("\u2009", " ") == "temperature ±5.4 °F"


# -- the time to a clean batch -------------------------------------------------------------------------------


def test_the_time_is_drawn_along_an_age_with_what_it_counts_in_words(pane: OddsPane, qtbot: QtBot) -> None:
    qtbot.mouseClick(pane.controls.view_buttons["time"], LEFT)
    picture = pane.view_model.state.time
    assert picture is not None
    assert pane.plots.currentWidget() is pane.time
    assert [pane.controls.axis.itemText(place) for place in range(pane.controls.axis.count())] == ["sample age"]
    assert (picture.lower <= picture.mean).all()
    assert (picture.mean <= picture.upper).all()
    assert picture.mean.max() <= picture.horizon_h + 1e-6
    said = [item.toPlainText().replace("\u2009", " ") for item in pane.time._labels]
    assert "3 jars at a time, 90 min at the bench each, counted up to 8 weeks." in said
    assert any(text.startswith("Soonest at ") and text.endswith("12 attempts.") for text in said)
    assert pane.time.accessibleName() == "Time to a clean batch along sample age"
    assert "jars started now" in pane.time.accessibleDescription()
    assert [jar.jar_id for jar in picture.jars] == ["J1"]
    assert len(pane.time._jars.getData()[0]) == 1


def test_the_mark_on_the_time_is_moved_by_keys_and_tells_the_time_there(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    qtbot.mouseClick(pane.controls.view_buttons["time"], LEFT)
    before = workspace.in_hand.conditions.number("sample age")
    qtbot.keyClick(pane.time, Qt.Key.Key_Right)
    after = workspace.in_hand.conditions.number("sample age")
    assert before is not None
    assert after is not None
    assert after > before
    picture = pane.view_model.state.time
    assert picture is not None
    hours = float(np.interp(np.log10(after), np.log10(picture.x), picture.mean))
    assert pane.time._tag.toPlainText() == hours_text(hours)


def test_the_time_has_its_table_and_its_files(pane: OddsPane, tmp_path: Path) -> None:
    pane.view_model.choose_view("time")
    state = pane.view_model.state
    table = table_of(state)
    assert table is not None
    assert state.time is not None
    rows = list(csv.reader(io.StringIO(as_csv(table))))
    assert rows[0] == ["sample age [h]", "hours", "lower", "upper", "chance within the horizon", "tried"]
    assert [float(row[1]) for row in rows[1:]] == pytest.approx(list(state.time.mean), abs=0.01)
    for name, save in (("a.png", save_png), ("a.svg", save_svg), ("a.csv", save_csv)):
        save(state, tmp_path / name)
        assert (tmp_path / name).stat().st_size > 500


@pytest.mark.parametrize("theme", list(THEMES.values()), ids=list(THEMES))
def test_a_plot_of_times_without_a_picture_can_be_shown(qtbot: QtBot, themed: QApplication, theme: Theme) -> None:
    plot = TimePlot(theme)
    qtbot.addWidget(plot)
    plot.resize(400, 300)
    plot.show_picture(None, late=False)
    plot.show_mark(None, None)
    assert not plot.grab().isNull()


def test_a_superoxide_former_gets_the_reason_and_no_time(
    pane: OddsPane, workspace: Workspace, qtbot: QtBot
) -> None:
    qtbot.mouseClick(pane.controls.view_buttons["time"], LEFT)
    workspace.execute(ChangeSettings(replace(SETTINGS, material=MaterialClass.SUPEROXIDE_FORMER)))
    assert pane.plots.currentWidget() is pane.no_time
    assert pane.no_time.text().startswith("This metal is never left to age")
    assert pane.view_model.state.time is None
    assert not pane.menu_button.actions_by_name["table"].isEnabled()
    for place in range(len(pane.view_model.state.suggestions)):
        pane.view_model.explain(str(place))  # type: ignore[arg-type]
        assert "sample age moves" not in words(pane)


def test_jars_stand_at_their_present_age() -> None:
    now = NOW
    lots = (Lot("L1", now - timedelta(hours=100)), Lot("L2"))
    jars = tuple(Jar(f"J{n}", lot, now - timedelta(hours=10.0**n)) for n, lot in ((1, "L1"), (0, "L1"), (2, "L2")))
    state = CampaignState(CampaignSettings(), (AGE,), lots=lots, jars=jars)
    oil = replace(AGE, name="oil exposure", role=Role.OIL_EXPOSURE)
    assert [(mark.jar_id, mark.x) for mark in jar_marks(state, oil, now)] == [("J0", 0.0), ("J1", 1.0), ("J2", 2.0)]
    # A lot without a date says nothing of its age.
    assert [(mark.jar_id, mark.x) for mark in jar_marks(state, AGE, now)] == [("J0", 2.0), ("J1", 2.0)]
