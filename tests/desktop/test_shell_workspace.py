"""The workspace: one document for all views, a fresh analysis, and errors as sentences."""

from __future__ import annotations

import threading
from functools import partial
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QObject
from shiboken6 import delete

from stirfall.bench.cancel import CancelToken
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.desktop.executor import QtExecutor
from stirfall.desktop.notifier import Notice
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.commands import RecordAttempt, StrikeAttempt

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

    from stirfall.session.document import Document


def an_attempt() -> Attempt:
    return Attempt(
        id="",
        number=0,
        conditions=Conditions({"sample age": 40.0, "temperature": 150.0, "stirring action": "swirl"}),
        parted=Parted.YES,
        pooled=Pooled.ONE_POOL,
    )


@pytest.fixture
def threaded(qtbot: QtBot) -> Iterator[Workspace]:
    executor = QtExecutor()
    made = Workspace(executor)
    yield made
    made.close_document()
    executor.close()


def test_opening_a_document_computes_its_odds(workspace: Workspace, document: Document, qtbot: QtBot) -> None:
    with qtbot.waitSignals([workspace.analysis_finished] * 2, order="strict"):
        workspace.open_document(document)
    assert workspace.analysis is not None
    assert not workspace.is_stale
    assert workspace.analysis.state is document.state


def test_a_recorded_attempt_makes_the_odds_stale_at_once_and_then_fresh(
    threaded: Workspace, document: Document, qtbot: QtBot
) -> None:
    with qtbot.waitSignal(threaded.analysis_finished, timeout=30_000):
        threaded.open_document(document)
    old = threaded.analysis
    with qtbot.waitSignal(threaded.analysis_finished, timeout=30_000):
        changes = threaded.execute(RecordAttempt(an_attempt()))
        assert threaded.is_stale
        assert threaded.analysis is old
    assert changes is not None
    assert changes.new_attempt_id is not None
    assert not threaded.is_stale
    assert threaded.analysis is not old
    assert threaded.analysis.state is document.state


def test_undo_brings_the_old_state_back_and_computes_again(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    workspace.open_document(document)
    before = document.state
    workspace.execute(RecordAttempt(an_attempt()))
    with qtbot.waitSignal(workspace.analysis_finished):
        workspace.undo()
    assert document.state.attempts == before.attempts
    workspace.redo()
    assert len(document.state.attempts) == len(before.attempts) + 1


def test_an_error_of_a_command_becomes_a_sentence(workspace: Workspace, document: Document, qtbot: QtBot) -> None:
    workspace.open_document(document)
    with qtbot.waitSignal(workspace.notified) as told:
        assert workspace.execute(StrikeAttempt("no such attempt", "typing error")) is None
    notice = told.args[0]
    assert notice.kind == "error"
    assert "no such attempt" in notice.text
    assert "attempt.unknown" not in notice.text


def test_only_the_last_of_several_jobs_in_a_slot_answers(threaded: Workspace, qtbot: QtBot) -> None:
    gates = [threading.Event() for _ in range(3)]
    answers: list[int] = []

    def wait_for(number: int) -> int:
        gates[number].wait(5)
        return number

    for number in range(3):
        threaded.submit(lambda _token, n=number: wait_for(n), answers.append, slot="picture")
    for gate in gates:
        gate.set()
    qtbot.waitUntil(lambda: bool(answers))
    assert answers == [2]


class _Asker(QObject):
    def __init__(self, heard: list[object]) -> None:
        super().__init__()
        self.heard = heard

    def take(self, *found: object) -> None:
        self.heard.append(found)


@pytest.mark.parametrize("slot", [None, "of the dialog"])
def test_what_comes_for_an_object_that_is_gone_is_dropped(
    threaded: Workspace, qtbot: QtBot, slot: str | None
) -> None:
    heard: list[object] = []
    gone, there = _Asker(heard), _Asker(heard)
    for answer in (gone.take, partial(gone.take, "with a word")):
        threaded.submit(lambda _token: 1, answer, slot=slot)
    delete(gone)
    threaded.submit(lambda _token: 2, partial(there.take, "still there"))
    qtbot.waitUntil(lambda: bool(heard))
    assert heard == [("still there", 2)]


def test_jobs_without_a_slot_all_answer(threaded: Workspace, qtbot: QtBot) -> None:
    answers: list[int] = []
    for number in range(3):
        threaded.submit(lambda _token, n=number: n, answers.append)
    qtbot.waitUntil(lambda: len(answers) == 3)
    assert sorted(answers) == [0, 1, 2]


def test_results_for_a_closed_document_are_dropped(threaded: Workspace, document: Document, qtbot: QtBot) -> None:
    finished: list[object] = []
    threaded.analysis_finished.connect(finished.append)
    threaded.open_document(document)
    threaded.close_document()
    done: list[bool] = []
    threaded.submit(lambda _token: True, done.append)
    qtbot.waitUntil(lambda: bool(done))
    assert finished == []
    assert threaded.analysis is None
    assert threaded.document is None


def test_an_unexpected_error_in_the_background_is_told_and_logged(
    threaded: Workspace, qtbot: QtBot, caplog: pytest.LogCaptureFixture
) -> None:
    def break_down(_token: CancelToken) -> None:
        raise ZeroDivisionError("a bug")

    with qtbot.waitSignal(threaded.notified) as told:
        threaded.submit(break_down, lambda _result: None)
    assert "safe in the file" in told.args[0].text
    assert [record.levelname for record in caplog.records] == ["ERROR"]


def test_the_same_conditions_in_hand_are_told_once(workspace: Workspace) -> None:
    told: list[tuple[InHand, object]] = []
    workspace.in_hand_changed.connect(lambda in_hand, origin: told.append((in_hand, origin)))
    in_hand = InHand(Conditions({"sample age": 12.0}), "form")
    workspace.set_in_hand(in_hand, "me")
    workspace.set_in_hand(InHand(Conditions({"sample age": 12.0}), "form"), "other")
    assert told == [(in_hand, "me")]


def test_a_request_for_the_form_also_shows_the_bench(workspace: Workspace) -> None:
    asked: list[FormRequest] = []
    pages: list[str] = []
    workspace.form_requested.connect(asked.append)
    workspace.page_requested.connect(pages.append)
    request = FormRequest(Conditions({"sample age": 12.0}), note_origin="suggestion")
    workspace.request_form(request)
    assert asked == [request]
    assert pages == ["bench"]


def test_without_a_document_nothing_can_be_done(workspace: Workspace) -> None:
    told: list[Notice] = []
    workspace.notified.connect(told.append)
    assert workspace.execute(RecordAttempt(an_attempt())) is None
    assert workspace.undo() is None
    workspace.refresh()
    assert workspace.analysis is None
    assert told == []
