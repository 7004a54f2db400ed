"""The first answer and the refined one, and for which lot the pane answers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.desktop.notifier import Notice
from stirfall.desktop.odds.pane import OddsPane
from stirfall.desktop.odds.view_model import OddsViewModel
from stirfall.desktop.shelf.page import ShelfPage
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.session.commands import ChangeSettings, RecordAttempt, StrikeAttempt
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

    from stirfall.bench.factors import Factor
    from stirfall.session.clock import FixedClock

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
CONDITIONS = Conditions({"sample age": 40.0, "temperature": 150.0, "stirring action": "swirl"})


@dataclass
class Held:
    run: Callable[[], object]
    fail: Callable[[Exception], object]
    cancelled: bool = False
    is_finished: bool = False

    def cancel(self) -> None:
        self.cancelled = True


@dataclass
class Holding:
    """Keeps every job until the test lets it go, or fail; a cancelled one never answers."""

    jobs: list[Held] = field(default_factory=list)

    def submit(self, job: Callable, done: Callable, failed: Callable) -> Held:
        held = Held(lambda: done(job(CancelToken())), failed)
        self.jobs.append(held)
        return held

    def let_go(self) -> None:
        waiting, self.jobs = self.jobs, []
        for held in waiting:
            if not held.cancelled:
                held.run()


def attempts_of_two_lots() -> tuple[Attempt, ...]:
    """Lot L1 parts from 20 h on, lot L2 from 80 h on."""
    made = []
    for number in range(1, 25):
        age, lot = 4.0 * 1.18**number, "L1" if number % 2 else "L2"
        parted = Parted.YES if age > (20.0 if lot == "L1" else 80.0) or number % 7 == 0 else Parted.NO
        pooled = graded_pool(parted, number)
        conditions = CONDITIONS.with_value("sample age", age)
        made.append(Attempt(f"a{number}", number, conditions, lot_id=lot, parted=parted, pooled=pooled))
    return tuple(made)


def graded_pool(parted: Parted, number: int) -> Pooled | None:
    if parted is not Parted.YES:
        return None
    return Pooled.BEADS if number % 5 == 0 else Pooled.ONE_POOL


@pytest.fixture
def two_lots(
    tmp_path: Path, campaign_settings: CampaignSettings, few_factors: tuple[Factor, ...], clock: FixedClock
) -> Iterator[Document]:
    made = Document.create(
        tmp_path / "lots.stirfall",
        campaign_settings,
        few_factors,
        lots=tuple(Lot(name, NOW - timedelta(days=40)) for name in ("L1", "L2", "L9")),
        jars=(Jar("J7", "L2", NOW - timedelta(days=2)),),
        attempts=attempts_of_two_lots(),
        clock=clock,
    )
    with made:
        yield made


@pytest.fixture
def model(workspace: Workspace, two_lots: Document) -> OddsViewModel:
    made = OddsViewModel(workspace)
    workspace.open_document(two_lots)
    workspace.set_in_hand(InHand(CONDITIONS, "form"))
    return made


@pytest.fixture
def held(themed: QApplication, two_lots: Document) -> tuple[Workspace, Holding, OddsViewModel]:
    """The moment after the first answer: picture, suggestions and refinement are under way."""
    executor = Holding()
    workspace = Workspace(executor)
    model = OddsViewModel(workspace, workspace)
    workspace.open_document(two_lots)
    workspace.set_in_hand(InHand(CONDITIONS, "form"))
    executor.let_go()
    return workspace, executor, model


def mean_for(workspace: Workspace, lot: str | None) -> float:
    assert workspace.analysis is not None
    return workspace.analysis.for_lot(lot).estimate(CONDITIONS).mean


def shown_mean(model: OddsViewModel) -> float:
    assert model.state.headline.estimate is not None
    return model.state.headline.estimate.mean


# -- first and refined ------------------------------------------------------------------------------------


def test_the_first_answer_says_that_it_is_the_first(held: tuple[Workspace, Holding, OddsViewModel]) -> None:
    workspace, _, model = held
    assert workspace.analysis is not None
    assert workspace.analysis.stage == "first"
    assert workspace.is_refining
    assert model.state.stage == "First answer. Refining …"
    assert model.state.lot_choices == ()


def test_the_refined_answer_replaces_the_numbers_and_says_what_it_allows_for(
    held: tuple[Workspace, Holding, OddsViewModel],
) -> None:
    workspace, executor, model = held
    first = shown_mean(model)
    executor.let_go()
    assert not workspace.is_refining
    assert workspace.analysis is not None
    assert shown_mean(model) != first
    count = len(workspace.analysis.forms)
    assert count > 1
    assert model.state.stage == f"Refined: {count} forms weighed, lots allowed for. For a new lot."


def test_nothing_is_greyed_or_emptied_while_the_refined_answer_takes_its_place(
    held: tuple[Workspace, Holding, OddsViewModel], qtbot: QtBot
) -> None:
    _, executor, model = held
    refining = executor.jobs.pop()
    executor.let_go()
    shown = model.state
    assert len(shown.suggestions) == 3
    assert not shown.suggestions_are_stale
    assert shown.curve is not None
    seen: list[tuple[bool, bool, bool, int]] = []
    model.changed.connect(
        lambda state: seen.append(
            (state.is_stale, state.picture_is_late, state.suggestions_are_stale, len(state.suggestions))
        )
    )
    refining.run()
    qtbot.wait(250)  # longer than the moment after which a late picture is greyed
    assert model.state.suggestions == shown.suggestions
    assert model.state.curve is shown.curve
    executor.let_go()
    assert model.state.curve is not shown.curve
    assert set(seen) == {(False, False, False, 3)}


def test_a_new_command_cancels_the_refinement(held: tuple[Workspace, Holding, OddsViewModel]) -> None:
    workspace, executor, _ = held
    refining = executor.jobs[-1]
    workspace.execute(RecordAttempt(Attempt("", 0, CONDITIONS, lot_id="L1", parted=Parted.NO)))
    assert refining.cancelled
    assert not workspace.is_refining
    refining.run()
    assert workspace.analysis is not None
    assert workspace.analysis.stage == "first"


def test_a_session_closed_while_refining_hears_nothing_more(
    held: tuple[Workspace, Holding, OddsViewModel],
) -> None:
    workspace, executor, model = held
    heard: list[object] = []
    workspace.analysis_finished.connect(heard.append)
    refining = executor.jobs[-1]
    workspace.close_document()
    assert refining.cancelled
    refining.run()
    assert heard == []
    assert workspace.analysis is None
    assert model.state.phase == "closed"


def test_where_refining_fails_the_first_answer_stays_and_a_notice_says_so(
    held: tuple[Workspace, Holding, OddsViewModel],
) -> None:
    workspace, executor, model = held
    told: list[Notice] = []
    workspace.notified.connect(told.append)
    before = model.state.headline
    executor.jobs.pop().fail(InputError("ml.no_rows"))
    assert model.state.headline == before
    assert model.state.phase == "ready"
    assert model.state.stage == "First answer: one form, no lots. It could not be refined."
    assert [notice.kind for notice in told] == ["warn"]
    assert told[0].text.startswith("The odds shown are the first answer")


def test_a_pinned_form_is_named(model: OddsViewModel, workspace: Workspace, two_lots: Document) -> None:
    workspace.execute(ChangeSettings(replace(two_lots.state.settings, form="two gates, straight")))
    assert model.state.stage == "For a new lot. Refined with the pinned form “Two gates, straight”."


def test_attempts_of_one_lot_alone_are_said_to_be_so(
    model: OddsViewModel, workspace: Workspace, two_lots: Document
) -> None:
    for attempt in two_lots.state.attempts:
        if attempt.lot_id == "L2":
            workspace.execute(StrikeAttempt(attempt.id, "of another lot"))
    assert model.state.stage.endswith("Only lot L1 was tried: others may differ.")


# -- lots -------------------------------------------------------------------------------------------------


def test_the_answer_is_for_the_lot_in_hand(model: OddsViewModel, workspace: Workspace) -> None:
    assert model.state.lot_choices[0].text == "Form's lot: new"
    assert shown_mean(model) == pytest.approx(mean_for(workspace, None))
    workspace.set_in_hand(InHand(CONDITIONS, "form", lot_id="L2"))
    assert model.state.lot_choices[0].text == "Form's lot: L2"
    assert shown_mean(model) == pytest.approx(mean_for(workspace, "L2"))
    assert mean_for(workspace, "L2") < mean_for(workspace, None) < mean_for(workspace, "L1")
    assert model.state.stage.endswith("For lot L2.")


def test_a_lot_without_attempts_is_answered_as_a_new_one(model: OddsViewModel, workspace: Workspace) -> None:
    workspace.set_in_hand(InHand(CONDITIONS, "jar", "Jar J9", lot_id="L9"))
    assert model.state.lot_choices[0].text == "Jar's lot: L9 (new)"
    assert shown_mean(model) == pytest.approx(mean_for(workspace, None))
    assert model.state.stage.endswith("For a new lot.")


def test_a_chosen_lot_holds_whatever_is_taken_in_hand(model: OddsViewModel, workspace: Workspace) -> None:
    model.choose_lot("lot:L1")
    workspace.set_in_hand(InHand(CONDITIONS, "form", lot_id="L2"))
    assert model.state.lot_choice == "lot:L1"
    assert shown_mean(model) == pytest.approx(mean_for(workspace, "L1"))
    model.choose_lot("")
    assert shown_mean(model) == pytest.approx(mean_for(workspace, "L2"))


def test_the_choice_of_a_lot_outlives_a_new_attempt(model: OddsViewModel, workspace: Workspace) -> None:
    model.choose_lot("lot:L1")
    workspace.execute(RecordAttempt(Attempt("", 0, CONDITIONS, lot_id="L1", parted=Parted.NO)))
    assert model.state.lot_choice == "lot:L1"
    assert shown_mean(model) == pytest.approx(mean_for(workspace, "L1"))


def test_pictures_are_drawn_for_the_same_lot_and_say_so(model: OddsViewModel, workspace: Workspace) -> None:
    before = model.state.curve
    model.choose_lot("lot:L2")
    curve = model.state.curve
    assert curve is not None
    assert curve is not before
    assert "For lot L2." in curve.caption
    assert workspace.analysis is not None
    expected = workspace.analysis.for_lot("L2").curve("sample age", CONDITIONS)
    assert curve.mean == pytest.approx(expected.mean)
    model.choose_view("map")
    assert model.state.surface is not None
    assert "For lot L2." in model.state.surface.caption
    model.choose_view("outcomes")
    assert model.state.outcomes is not None
    assert "For lot L2." in model.state.outcomes.caption


def test_moving_the_mark_within_a_lot_keeps_the_curve(model: OddsViewModel) -> None:
    model.choose_lot("lot:L2")
    before = model.state.curve
    model.move_to(1.0)
    model.move_to(1.3)
    assert model.state.curve is before


def test_an_attempt_in_the_picture_brings_its_lot(model: OddsViewModel) -> None:
    model.choose_attempt("a2")
    assert model.state.lot_choices[0].text == "Attempt's lot: L2"
    assert model.state.stage.endswith("For lot L2.")


def test_next_attempts_are_for_a_new_lot_or_the_chosen_one(model: OddsViewModel, workspace: Workspace) -> None:
    new = model.state.suggestions
    assert model.state.suggestions_for == "For a new lot."
    workspace.set_in_hand(InHand(CONDITIONS, "form", lot_id="L2"))
    assert model.state.suggestions == new
    model.choose_lot("lot:L2")
    assert model.state.suggestions_for == "For lot L2."
    assert model.state.suggestions != new


def test_the_selector_is_used_by_keyboard_and_hidden_without_lots(
    workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    pane = OddsPane(workspace)
    qtbot.addWidget(pane)
    pane.resize(690, 800)
    assert pane.headline.lot.isHidden()
    workspace.open_document(two_lots)
    workspace.set_in_hand(InHand(CONDITIONS, "form"))
    with qtbot.waitExposed(pane):
        pane.show()
    lot = pane.headline.lot
    assert lot.isVisible()
    assert [lot.itemText(place) for place in range(lot.count())] == [
        "Form's lot: new", "A new lot", "Lot L1", "Lot L2",
    ]  # fmt: skip
    number = pane.headline.number.pos()
    lot.setFocus()
    for _ in range(3):
        qtbot.keyClick(lot, Qt.Key.Key_Down)
    assert pane.view_model.state.lot_choice == "lot:L2"
    assert pane.headline.stage.text().endswith("For lot L2.")
    assert pane.headline.number.pos() == number
    workspace.close_document()
    workspace.open_document(two_lots_without_effect(two_lots))
    assert pane.headline.lot.isHidden()


def two_lots_without_effect(document: Document) -> Document:
    made = Document.open(document.path)
    made.execute(ChangeSettings(replace(made.state.settings, lot_effect="none")))
    return made


def test_the_shelf_tells_each_jar_its_chance_for_its_own_lot(
    workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    page = ShelfPage(workspace)
    qtbot.addWidget(page)
    workspace.open_document(two_lots)
    assert page.model.state is not None
    row = page.model.state.rows[0]
    analysis = workspace.analysis
    assert analysis is not None
    whole = analysis.complete(row.conditions)
    assert row.estimate == analysis.for_lot("L2").estimate(whole)
    page.model.select("J7")
    assert (workspace.in_hand.lot_id, workspace.in_hand.jar_id) == ("L2", "J7")


# -- attempts and trials ----------------------------------------------------------------------------------


@pytest.fixture
def counted(
    tmp_path: Path, campaign_settings: CampaignSettings, few_factors: tuple[Factor, ...], clock: FixedClock
) -> Iterator[Document]:
    rows = [(6.0, 2, 9), (20.0, 5, 8), (60.0, 7, 9), (200.0, 4, 10)]
    attempts = tuple(
        Attempt(f"c{n}", n, CONDITIONS.with_value("sample age", age), successes=k, trials=trials)
        for n, (age, k, trials) in enumerate(rows, 1)
    )
    settings = replace(campaign_settings, gates=1)
    jars = (Jar("J7", "L2", NOW - timedelta(days=2)),)
    lots = (Lot("L2", NOW - timedelta(days=40)),)
    path = tmp_path / "counted.stirfall"
    with Document.create(path, settings, few_factors, lots=lots, jars=jars, attempts=attempts, clock=clock) as made:
        yield made


def test_where_attempts_hold_several_trials_trials_are_counted(
    workspace: Workspace, counted: Document, qtbot: QtBot
) -> None:
    pane, shelf = OddsPane(workspace), ShelfPage(workspace)
    qtbot.addWidget(pane)
    qtbot.addWidget(shelf)
    workspace.open_document(counted)
    workspace.set_in_hand(InHand(CONDITIONS, "form"))
    state = pane.view_model.state
    assert pane.headline.certainty.text().endswith(", 36 trials")
    assert "what 36 trials and" in state.headline.details[0]
    assert state.curve is not None
    assert "36 trials." in state.curve.caption
    assert "from 36 trials:" in state.curve.sentence
    assert "intervals, 36 trials" in shelf.basis.text()
