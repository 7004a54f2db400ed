"""The odds pane without its widgets: what it says, and what it does with wishes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from stirfall.bench.cancel import CancelToken
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.odds.answers import left_out_text
from stirfall.desktop.odds.view_model import OddsViewModel
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.inference.table import AttemptCounts
from stirfall.reporting.shares import percent
from stirfall.session.commands import ChangeSettings, RecordAttempt, StrikeAttempt
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

    from stirfall.session.clock import FixedClock

IN_HAND = InHand(Conditions({"sample age": 24.0, "temperature": 150.0, "stirring action": "swirl"}), "form")


@pytest.fixture
def model(workspace: Workspace, document: Document) -> OddsViewModel:
    made = OddsViewModel(workspace)
    workspace.open_document(document)
    workspace.set_in_hand(IN_HAND)
    return made


@dataclass
class HeldJob:
    run: Callable[[], object]
    cancelled: bool = False

    def cancel(self) -> None:
        self.cancelled = True


@dataclass
class HoldingExecutor:
    """Keeps every job until the test lets it go; a cancelled one never answers."""

    jobs: list[HeldJob] = field(default_factory=list)

    def submit(self, job: Callable, done: Callable, failed: Callable) -> HeldJob:
        def run() -> None:
            try:
                result = job(CancelToken())
            except Exception as error:
                failed(error)
            else:
                done(result)

        held = HeldJob(run)
        self.jobs.append(held)
        return held

    def let_go(self) -> None:
        waiting, self.jobs = self.jobs, []
        for held in waiting:
            if not held.cancelled:
                held.run()


@pytest.fixture
def holding(themed: QApplication, document: Document) -> tuple[Workspace, HoldingExecutor, OddsViewModel]:
    executor = HoldingExecutor()
    workspace = Workspace(executor)
    model = OddsViewModel(workspace, workspace)
    workspace.open_document(document)
    for _ in range(3):
        executor.let_go()
    return workspace, executor, model


# -- what it says ------------------------------------------------------------------------------------------


def test_without_a_session_the_pane_says_what_will_appear(workspace: Workspace) -> None:
    state = OddsViewModel(workspace).state
    assert state.phase == "closed"
    assert "Open one" in state.message


def test_the_number_is_that_of_the_analysis_with_interval_and_n(model: OddsViewModel, workspace: Workspace) -> None:
    assert workspace.analysis is not None
    expected = workspace.analysis.estimate(IN_HAND.conditions)
    assert model.state.headline.estimate == expected
    assert expected.n == 24
    assert expected.lower < expected.mean < expected.upper


def test_two_gates_give_the_two_smaller_numbers(
    holding: tuple[Workspace, HoldingExecutor, OddsViewModel],
) -> None:
    workspace, executor, model = holding
    workspace.set_in_hand(IN_HAND)
    record(workspace)
    executor.let_go()
    assert workspace.analysis is not None
    assert workspace.analysis.stage == "first"  # one form of two gates: the refined answer averages other forms too
    assert [word for word, _ in model.state.headline.gates] == ["parted", "pooled, if parted"]
    parted, pooled = (estimate.mean for _, estimate in model.state.headline.gates)
    estimate = model.state.headline.estimate
    assert estimate is not None
    assert estimate.mean == pytest.approx(parted * pooled, abs=0.02)


def test_the_direction_follows_the_exposure(model: OddsViewModel, workspace: Workspace) -> None:
    def direction_at(age: float) -> str:
        workspace.set_in_hand(replace(IN_HAND, conditions=IN_HAND.conditions.with_value("sample age", age)))
        return model.state.headline.direction

    for age, words in ((5.0, "→ Too little film: wait longer"), (420.0, "← Too much film: it beads. Wait less")):
        said = direction_at(age)
        assert said.startswith(words)
        analysis = workspace.analysis
        assert analysis is not None
        advice = analysis.direction(workspace.in_hand.conditions)
        assert advice is not None
        assert said.endswith(f"helps: {percent(advice.prob_longer)}).")


def test_the_details_carry_the_probability_of_the_direction(model: OddsViewModel) -> None:
    assert any("helps with a probability of" in line for line in model.state.headline.details)


def test_values_that_were_filled_in_are_named(model: OddsViewModel, workspace: Workspace) -> None:
    assert model.state.headline.filled == ""
    workspace.set_in_hand(replace(IN_HAND, conditions=IN_HAND.conditions.with_value("temperature", None)))
    assert model.state.headline.filled == f"Assumed here: temperature 150{THIN_SPACE}°C."


def test_left_out_attempts_are_counted_by_reason() -> None:
    counts = AttemptCounts(used=40, aborted=3, struck=1, missing=2)
    assert left_out_text(counts) == "Left out: 3 aborted, 1 struck out, 2 with unknown values."
    assert left_out_text(AttemptCounts(used=40)) == ""


@pytest.mark.parametrize(
    ("source", "label", "title"),
    [
        ("form", "", "Form on the bench"),
        ("attempt", "attempt 12", "Attempt 12"),
        ("jar", "jar J4", "Jar J4"),
        ("recipe", "", "Recipe"),
    ],
)
def test_the_title_says_what_is_in_hand(
    model: OddsViewModel, workspace: Workspace, source: str, label: str, title: str
) -> None:
    workspace.set_in_hand(InHand(Conditions({"sample age": 30.0}), source, label))  # type: ignore[arg-type]
    assert model.state.headline.title == title


def test_without_attempts_the_prior_is_broad_and_said_to_be_one(
    workspace: Workspace, empty_document: Document
) -> None:
    model = OddsViewModel(workspace)
    workspace.open_document(empty_document)
    estimate = model.state.headline.estimate
    assert estimate is not None
    assert estimate.n == 0
    assert estimate.upper - estimate.lower > 0.8
    assert model.state.headline.direction.startswith("No attempt yet")
    assert model.state.stage == "Forms and lots are weighed as soon as there are attempts."
    assert "First attempts are spread" in model.state.suggestions_note
    assert len(model.state.suggestions) == 3


def test_with_few_attempts_the_pane_says_that_they_are_few(workspace: Workspace, empty_document: Document) -> None:
    model = OddsViewModel(workspace)
    workspace.open_document(empty_document)
    for number in range(2):
        attempt = Attempt(
            "", 0, Conditions({"sample age": 10.0 + number}), parted=Parted.YES, pooled=Pooled.ONE_POOL
        )
        workspace.execute(RecordAttempt(attempt))
    assert model.state.headline.direction.startswith("Only 2 attempts so far")


def test_a_caution_of_the_limits_stands_beside_the_number(model: OddsViewModel, workspace: Workspace) -> None:
    workspace.set_in_hand(replace(IN_HAND, conditions=IN_HAND.conditions.with_value("temperature", 178.0)))
    assert "flash point" in model.state.headline.caution


def test_a_superoxide_former_gets_no_advice_to_wait(
    workspace: Workspace, document: Document, campaign_settings: CampaignSettings
) -> None:
    model = OddsViewModel(workspace)
    workspace.open_document(document)
    workspace.execute(ChangeSettings(replace(campaign_settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    workspace.set_in_hand(IN_HAND)
    assert "wait longer" not in model.state.headline.direction
    assert model.state.headline.direction == "For this metal no longer exposure is ever advised."
    for hours, caution in ((12.0, "longer than the shortest recorded"), (200.0, "Do not open")):
        older = IN_HAND.conditions.with_value("sample age", hours)
        workspace.set_in_hand(InHand(older, "attempt", "attempt 20"))
        assert caution in model.state.headline.caution
        assert not model.state.headline.can_take
    shortest = IN_HAND.conditions.with_value("sample age", 4.0)
    workspace.set_in_hand(InHand(shortest, "attempt", "attempt 1"))
    assert model.state.headline.can_take


def test_the_form_never_follows_the_mark_to_a_longer_exposure_of_a_superoxide_former(
    workspace: Workspace, document: Document, campaign_settings: CampaignSettings
) -> None:
    model = OddsViewModel(workspace)
    workspace.open_document(document)
    workspace.execute(ChangeSettings(replace(campaign_settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    workspace.set_in_hand(replace(IN_HAND, conditions=IN_HAND.conditions.with_value("sample age", 4.0)))
    model.move_to(0.5)
    assert workspace.in_hand.source == "form"
    model.move_to(1.5)
    assert workspace.in_hand.source == "suggestion"
    assert model.state.headline.title == "Moved from form on the bench"
    assert not model.state.headline.can_take
    assert "Do not open" in model.state.headline.caution


# -- the picture -------------------------------------------------------------------------------------------


def test_the_curve_starts_along_the_sample_age_with_all_attempts_as_marks(model: OddsViewModel) -> None:
    state = model.state
    assert state.axis == "sample age"
    assert state.curve is not None
    assert len(state.curve.spots) == 24
    assert {spot.outcome for spot in state.curve.spots} >= {Outcome.CLEAN, Outcome.NOTHING_PARTED}
    assert "from 24 attempts" in state.curve.sentence


def test_a_struck_out_attempt_is_no_mark(model: OddsViewModel, workspace: Workspace, document: Document) -> None:
    struck = document.state.attempts[0].id
    workspace.execute(StrikeAttempt(struck, "wrong jar"))
    assert model.state.curve is not None
    assert struck not in [spot.attempt_id for spot in model.state.curve.spots]
    assert model.state.headline.left_out == "Left out: 1 struck out."


def test_any_factor_can_be_the_axis_also_a_choice(model: OddsViewModel) -> None:
    model.choose_axis("stirring action")
    assert model.state.curve is not None
    assert list(model.state.curve.x) == [0, 1, 2, 3]
    assert model.state.curve.tried_levels == {"swirl"}
    assert model.state.at == 0.0


def test_moving_along_the_axis_keeps_the_curve(model: OddsViewModel, workspace: Workspace) -> None:
    before = model.state.curve
    model.move_to(1.0)
    assert workspace.in_hand.conditions["sample age"] == 10.0
    assert workspace.in_hand.source == "form"
    assert model.state.curve is before
    assert model.state.at == pytest.approx(1.0)


def test_a_change_off_the_axis_draws_another_curve(model: OddsViewModel, workspace: Workspace) -> None:
    before = model.state.curve
    workspace.set_in_hand(replace(IN_HAND, conditions=IN_HAND.conditions.with_value("temperature", 153.0)))
    assert model.state.curve is not before


def test_moving_from_an_attempt_says_so_and_leaves_the_form_alone(
    model: OddsViewModel, workspace: Workspace
) -> None:
    model.choose_attempt("a9")
    assert workspace.in_hand.label == "attempt 9"
    model.step(1, 0)
    model.step(1, 0)
    assert workspace.in_hand.source == "attempt"
    assert workspace.in_hand.label == "Moved from attempt 9"


def test_the_map_moves_two_values_at_once(model: OddsViewModel, workspace: Workspace) -> None:
    model.choose_view("map")
    assert model.state.map_axes == ("sample age", "temperature")
    assert model.state.surface is not None
    model.move_to((1.0, 152.3))
    assert workspace.in_hand.conditions["sample age"] == 10.0
    assert workspace.in_hand.conditions["temperature"] == 152.0
    model.step(0, 1)
    assert workspace.in_hand.conditions["temperature"] > 152.0


def test_choosing_the_same_factor_twice_swaps_the_axes_of_the_map(model: OddsViewModel) -> None:
    model.choose_view("map")
    model.choose_map_axes("temperature", "temperature")
    assert model.state.map_axes == ("temperature", "sample age")


def test_pointing_at_a_mark_tells_number_outcome_and_conditions(model: OddsViewModel) -> None:
    model.point_at("a9")
    assert model.state.pointed.startswith("Attempt 9: ")
    assert "sample age" in model.state.pointed
    assert "temperature" in model.state.pointed
    model.point_at("")
    assert model.state.pointed == ""


# -- next attempts -----------------------------------------------------------------------------------------


def test_three_suggestions_come_with_reason_probability_and_what_differs(model: OddsViewModel) -> None:
    rows = model.state.suggestions
    assert len(rows) == 3
    for row in rows:
        assert row.reason.endswith(".")
        assert row.estimate.n == 24
        assert any(value.differs for value in row.values)
        assert row.compared_with == "attempt 24"


def test_another_goal_brings_other_suggestions(model: OddsViewModel) -> None:
    before = model.state.suggestions
    model.choose_goal("reliable")
    assert model.state.goal == "reliable"
    assert [row.conditions for row in model.state.suggestions] != [row.conditions for row in before]


def test_a_suggestion_goes_into_the_form_and_shows_it(
    model: OddsViewModel, workspace: Workspace, qtbot: QtBot
) -> None:
    pages: list[str] = []
    workspace.page_requested.connect(pages.append)
    with qtbot.waitSignal(workspace.form_requested) as caught:
        model.take_suggestion(1)
    request = caught.args[0]
    assert isinstance(request, FormRequest)
    assert request.conditions == model.state.suggestions[1].conditions
    assert request.note_origin == "Suggestion 2"
    assert pages == ["bench"]


def test_looking_at_a_suggestion_takes_it_in_hand_only(model: OddsViewModel, workspace: Workspace) -> None:
    requests: list[object] = []
    workspace.form_requested.connect(requests.append)
    model.look_at_suggestion(0)
    assert workspace.in_hand.source == "suggestion"
    assert model.state.headline.title == "Suggestion 1"
    assert requests == []


def test_where_the_limits_block_the_reason_stands_in_the_place_of_the_suggestions(
    workspace: Workspace, tmp_path: Path, clock: FixedClock
) -> None:
    settings = CampaignSettings("No flash", MaterialClass.BASE_METAL, melting_point_c=139.0)
    model = OddsViewModel(workspace)
    workspace.open_document(Document.create(tmp_path / "blocked.stirfall", settings, clock=clock))
    assert model.state.suggestions == ()
    assert "flash point of this oil is not known" in model.state.suggestions_note


# -- staleness and late results ------------------------------------------------------------------------------


def record(workspace: Workspace) -> None:
    conditions = Conditions({"sample age": 33.0, "temperature": 150.0, "stirring action": "fold"})
    started = datetime(2026, 11, 24, 9, tzinfo=UTC)
    workspace.execute(RecordAttempt(Attempt("", 0, conditions, started_at=started, parted=Parted.NO)))


def test_numbers_stay_but_are_stale_until_the_new_ones_come(
    holding: tuple[Workspace, HoldingExecutor, OddsViewModel],
) -> None:
    workspace, executor, model = holding
    before = model.state
    assert not before.is_stale
    record(workspace)
    assert model.state.is_stale
    assert model.state.suggestions_are_stale
    assert model.state.headline == before.headline
    assert model.state.curve is before.curve
    for _ in range(3):
        executor.let_go()
    assert not model.state.is_stale
    assert model.state.headline.estimate is not None
    assert model.state.headline.estimate.n == 25


def test_a_curve_that_comes_late_for_older_conditions_is_dropped(
    holding: tuple[Workspace, HoldingExecutor, OddsViewModel],
) -> None:
    workspace, executor, model = holding
    first = replace(IN_HAND, conditions=IN_HAND.conditions.with_value("temperature", 151.0))
    second = replace(IN_HAND, conditions=IN_HAND.conditions.with_value("temperature", 153.0))
    workspace.set_in_hand(first)
    old = executor.jobs.pop()
    workspace.set_in_hand(second)
    executor.let_go()
    shown = model.state.curve
    assert shown is not None
    assert f"temperature 153{THIN_SPACE}°C" in shown.caption
    old.run()
    assert model.state.curve is shown


def test_the_picture_is_greyed_only_when_the_new_one_keeps_people_waiting(
    holding: tuple[Workspace, HoldingExecutor, OddsViewModel], qtbot: QtBot
) -> None:
    workspace, executor, model = holding
    workspace.set_in_hand(replace(IN_HAND, conditions=IN_HAND.conditions.with_value("temperature", 151.0)))
    assert not model.state.picture_is_late
    qtbot.waitUntil(lambda: model.state.picture_is_late, timeout=2000)
    executor.let_go()
    assert not model.state.picture_is_late


def test_closing_the_session_brings_the_empty_state_back(model: OddsViewModel, workspace: Workspace) -> None:
    workspace.close_document()
    assert model.state.phase == "closed"
    assert model.state.suggestions == ()


def test_the_decimal_sign_of_the_person_is_used_everywhere(model: OddsViewModel, workspace: Workspace) -> None:
    workspace.set_decimal(",")
    model.point_at("a3")
    assert "6,6" in model.state.pointed
    assert model.state.decimal == ","


def test_every_number_shown_is_whole_per_cent(model: OddsViewModel) -> None:
    estimate = model.state.headline.estimate
    assert estimate is not None
    assert percent(estimate.mean).removesuffix(f"{THIN_SPACE}%").split()[-1].isdigit()
