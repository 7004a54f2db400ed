"""The bench form without widgets: drafts, requests, recording, and what other views see of it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtGui import QImage

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.bench_form.form import Origin
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.notifier import Notice
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.reporting.cautions import load_cautions
from stirfall.session.commands import TickChecklist
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.session.clock import FixedClock


def tick_today(document: Document) -> None:
    items = load_cautions(document.state.settings.material).checklist
    document.execute(TickChecklist(day_of(document.now()), tuple(item.key for item in items)))


@pytest.fixture
def notices(workspace: Workspace) -> list[Notice]:
    said: list[Notice] = []
    workspace.notified.connect(said.append)
    return said


@pytest.fixture
def model(workspace: Workspace, document: Document, notices: list[Notice]) -> Iterator[BenchFormModel]:
    tick_today(document)
    workspace.open_document(document)
    made = BenchFormModel(workspace)
    yield made
    made.deleteLater()


def grade(model: BenchFormModel) -> None:
    model.set_parted(Parted.YES)
    model.set_pooled(Pooled.ONE_POOL)


def test_recording_puts_the_attempt_into_the_file_with_lot_ages_and_outcome(
    model: BenchFormModel, document: Document, notices: list[Notice]
) -> None:
    assert model.pick_jar("j3")
    model.type_value("temperature", "300 F")
    grade(model)
    assert model.record()
    attempt = document.state.attempts[-1]
    assert attempt.number == 25
    assert (attempt.jar_id, attempt.lot_id, attempt.outcome) == ("J3", "L1", Outcome.CLEAN)
    assert attempt.conditions["sample age"] == 40 * 24.0
    assert attempt.conditions["temperature"] == pytest.approx((300 - 32) * 5 / 9)  # definition of the scale
    assert attempt.invented
    assert attempt.started_at == document.now()
    assert document.state.jar("J3").emptied_at is not None  # type: ignore[union-attr]
    assert notices[-1].text == "Attempt 25 is recorded: clean separation."
    assert notices[-1].act == "Undo"


def test_undo_from_the_notice_takes_the_attempt_and_the_emptied_jar_back(
    model: BenchFormModel, document: Document, notices: list[Notice]
) -> None:
    model.pick_jar("J3")
    grade(model)
    model.record()
    assert notices[-1].on_act is not None
    notices[-1].on_act()
    assert len(document.state.attempts) == 24
    assert document.state.jar("J3").emptied_at is None  # type: ignore[union-attr]


def test_undo_brings_the_form_back_as_it_was_filled_and_takes_the_photos_along(
    model: BenchFormModel, document: Document, notices: list[Notice]
) -> None:
    image = QImage(8, 8, QImage.Format.Format_RGB32)
    image.fill(0)
    model.pick_jar("J3")
    model.add_pasted_photo(image)
    model.set_text("note", "grey skin")
    grade(model)
    model.record()
    assert notices[-1].on_act is not None
    notices[-1].on_act()
    assert len(document.state.attempts) == 24
    assert model.state is not None
    assert model.state.form.note == "grey skin"
    assert model.state.form.parted is Parted.YES
    assert model.state.jar is not None
    assert model.record()
    assert [photo.name for photo in document.photos(document.state.attempts[-1].id)] == ["pasted 1.jpg"]


def test_after_recording_the_settings_stay_and_the_outcome_is_asked_anew(model: BenchFormModel) -> None:
    model.pick_jar("J3")
    model.type_value("temperature", "154")
    model.set_text("note", "grey skin")
    grade(model)
    model.record()
    assert model.state is not None
    assert model.state.conditions == Conditions({"temperature": 154.0, "stirring action": "swirl"})
    assert model.state.field("temperature").entry.origin is Origin.KEPT
    assert model.state.form.parted is None
    assert model.state.form.note == ""
    assert model.state.jar is None


def test_a_jar_that_is_not_used_up_stays_on_the_shelf_and_in_the_form(
    model: BenchFormModel, document: Document
) -> None:
    model.pick_jar("J3")
    model.set_empties_jar(False)
    grade(model)
    model.record()
    assert document.state.jar("J3").emptied_at is None  # type: ignore[union-attr]
    assert model.state is not None
    assert model.state.jar is not None
    assert model.state.conditions["sample age"] == 40 * 24.0


def test_nothing_is_recorded_while_something_is_missing(model: BenchFormModel, document: Document) -> None:
    model.set_parted(Parted.YES)
    assert not model.record()
    assert len(document.state.attempts) == 24


def test_an_unknown_jar_keeps_its_text_and_is_told(model: BenchFormModel) -> None:
    assert not model.pick_jar("J77")
    assert model.state is not None
    assert model.state.form.jar_text == "J77"
    assert model.state.jar_problem is not None


def test_a_scanned_code_with_a_prefix_finds_its_jar(model: BenchFormModel) -> None:
    assert model.pick_jar("JAR:J3")
    assert model.state is not None
    assert model.state.form.jar_id == "J3"


def test_a_half_filled_form_is_saved_and_comes_back_after_reopening(
    model: BenchFormModel, document: Document, workspace: Workspace, clock: FixedClock, qtbot: QtBot
) -> None:
    model.pick_jar("J3")
    model.type_value("temperature", "15")
    model.set_text("note", "half done")
    qtbot.waitUntil(lambda: document.draft is not None, timeout=3000)
    path = document.path
    workspace.close_document()
    said: list[Notice] = []
    workspace.notified.connect(said.append)
    with Document.open(path, clock=clock) as reopened:
        workspace.open_document(reopened)
        assert model.state is not None
        assert model.state.form.jar_id == "J3"
        assert model.state.form.note == "half done"
        assert model.state.field("temperature").entry.text == "15"
        assert said
        assert "back as you left it" in said[0].text
        workspace.close_document()


def test_a_draft_that_still_waits_is_saved_when_the_window_closes(
    model: BenchFormModel, document: Document
) -> None:
    model.set_text("note", "just typed")
    assert document.draft is None
    model.flush_draft()
    assert document.draft is not None
    assert document.draft["note"] == "just typed"


def test_recording_clears_the_draft_for_good(model: BenchFormModel, document: Document) -> None:
    grade(model)
    model.flush_draft()
    model.record()
    model.flush_draft()
    assert document.draft is None


def test_the_odds_pane_sees_the_form_soon_after_an_edit(
    model: BenchFormModel, workspace: Workspace, qtbot: QtBot
) -> None:
    with qtbot.waitSignal(workspace.in_hand_changed, timeout=2000) as seen:
        model.type_value("temperature", "161")
    in_hand, origin = seen.args
    assert origin is model
    assert in_hand.source == "form"
    assert in_hand.conditions["temperature"] == 161.0


def test_moving_the_mark_on_the_curve_changes_the_form_but_never_the_age_of_a_jar(
    model: BenchFormModel, workspace: Workspace
) -> None:
    model.pick_jar("J3")
    elsewhere = Conditions({"sample age": 5.0, "temperature": 164.0})
    workspace.set_in_hand(InHand(elsewhere, "form"), origin=object())
    assert model.state is not None
    assert model.state.conditions["temperature"] == 164.0
    assert model.state.conditions["sample age"] == 40 * 24.0


def test_moving_the_mark_changes_an_age_that_no_clock_tells(model: BenchFormModel, workspace: Workspace) -> None:
    workspace.set_in_hand(InHand(Conditions({"sample age": 5.0}), "form"), origin=object())
    assert model.state is not None
    assert model.state.conditions["sample age"] == 5.0


def test_a_suggestion_with_a_jar_takes_the_ages_from_the_clock(model: BenchFormModel, workspace: Workspace) -> None:
    conditions = Conditions({"sample age": 60.0, "temperature": 158.0, "stirring action": "fold"})
    workspace.request_form(FormRequest(conditions, "J1", "next attempt 1"))
    assert model.state is not None
    assert model.state.jar is not None
    assert model.state.conditions["temperature"] == 158.0
    assert model.state.conditions["stirring action"] == "fold"
    assert model.state.conditions["sample age"] == 40 * 24.0
    assert model.state.form.filled_from == "next attempt 1"


def test_repeat_last_fills_the_form_and_asks_for_the_one_thing_to_change(
    model: BenchFormModel, document: Document, qtbot: QtBot
) -> None:
    last = document.state.attempts[-1]
    with qtbot.waitSignal(model.field_wanted) as wanted:
        model.repeat_last("temperature")
    assert wanted.args == ["temperature"]
    assert model.state is not None
    assert model.state.conditions["temperature"] == last.conditions["temperature"]
    assert model.state.conditions["sample age"] == pytest.approx(float(last.conditions["sample age"]), rel=1e-5)


def test_ages_run_on_with_the_clock_until_the_attempt_starts(
    model: BenchFormModel, document: Document, clock: FixedClock
) -> None:
    model.pick_jar("J1")
    clock.advance(hours=3)
    model.refresh()
    assert model.state is not None
    assert model.state.conditions["sample age"] == 40 * 24.0  # it started when the jar was picked
    model.set_started_at(None)
    assert model.state.conditions["sample age"] == 40 * 24.0 + 3.0
    model.set_started_at(document.now() - timedelta(hours=1))
    assert model.state.conditions["sample age"] == 40 * 24.0 + 2.0


def test_clearing_the_form_can_be_taken_back(model: BenchFormModel, notices: list[Notice]) -> None:
    model.set_text("note", "do not lose me")
    model.clear()
    assert model.state is not None
    assert model.state.form.note == ""
    assert notices[-1].on_act is not None
    notices[-1].on_act()
    assert model.state.form.note == "do not lose me"


def test_a_photo_file_and_a_pasted_picture_go_into_the_file_with_the_attempt(
    model: BenchFormModel, document: Document, tmp_path: Path
) -> None:
    image = QImage(8, 8, QImage.Format.Format_RGB32)
    image.fill(0)
    path = tmp_path / "pool.png"
    assert image.save(str(path))
    model.add_photo_file(str(path))
    model.add_pasted_photo(image)
    grade(model)
    assert model.record()
    photos = document.photos(document.state.attempts[-1].id)
    assert {photo.name for photo in photos} == {"pool.png", "pasted 1.jpg"}
    # The mark at the start of a JPEG: ITU-T T.81, annex B.
    assert all(photo.data[:3] == b"\xff\xd8\xff" for photo in photos)
    assert model.state is not None
    assert model.state.form.photos == ()


def test_a_file_that_is_no_picture_is_refused_with_a_sentence(
    model: BenchFormModel, notices: list[Notice], tmp_path: Path
) -> None:
    path = tmp_path / "note.png"
    path.write_text("no picture")
    model.add_photo_file(str(path))
    assert notices[-1].kind == "error"
    assert "note.png" in notices[-1].text
    assert model.state is not None
    assert model.state.form.photos == ()


def test_a_read_only_session_says_why_nothing_can_be_recorded(
    document: Document, workspace: Workspace, clock: FixedClock
) -> None:
    tick_today(document)
    with Document.open(document.path, clock=clock, read_only=True) as second:
        workspace.open_document(second)
        model = BenchFormModel(workspace)
        grade(model)
        assert not model.record()
        assert model.state is not None
        assert model.state.missing is not None
        model.flush_draft()
        workspace.close_document()
        model.deleteLater()


def test_the_state_is_emitted_only_when_it_differs(model: BenchFormModel) -> None:
    seen: list[object] = []
    model.changed.connect(seen.append)
    model.refresh()
    model.refresh()
    assert seen == []
    model.set_text("note", "x")
    assert len(seen) == 1


def test_the_odds_stay_with_the_attempt_that_was_just_recorded(model: BenchFormModel, workspace: Workspace) -> None:
    model.type_value("temperature", "154")
    grade(model)
    model.record()
    assert workspace.in_hand.source == "attempt"
    assert workspace.in_hand.label == "Attempt 25"
    assert workspace.in_hand.conditions["temperature"] == 154.0


def test_opening_another_session_never_writes_the_old_form_into_it(
    model: BenchFormModel, workspace: Workspace, tmp_path: Path, clock: FixedClock, qtbot: QtBot
) -> None:
    model.set_text("note", "belongs to the first session")
    settings = workspace.document.state.settings  # type: ignore[union-attr]
    with Document.create(tmp_path / "other.stirfall", settings, clock=clock) as other:
        workspace.open_document(other)
        with qtbot.waitSignal(workspace.in_hand_changed, timeout=3000):
            model.type_value("temperature", "150")
        qtbot.waitUntil(lambda: other.draft is not None, timeout=3000)
        assert other.draft is not None
        assert other.draft["note"] == ""
        workspace.close_document()
