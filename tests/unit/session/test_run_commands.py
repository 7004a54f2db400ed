"""Commands of runs, splits, examples, logs and alarms: what they write, what undo takes back, what they refuse."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, Jar
from stirfall.bench.running import EventKind, Moment, PlannedStep, Run, RunEvent, Step, seconds_between
from stirfall.session.clock import FixedClock
from stirfall.session.commands import (
    Acknowledge,
    AddRunEvent,
    AttachLog,
    AttachPhoto,
    BeginRun,
    EmptyJar,
    EndRun,
    GradeAgain,
    RecordAttempt,
    SetAnchor,
    SplitLot,
    StartJar,
)
from stirfall.session.document import Document

STEPS = (PlannedStep(Step.HEAT, target_c=150.0), PlannedStep(Step.STIR, seconds=120.0), PlannedStep(Step.CLOSE))
PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)


def begun(document: Document) -> Run:
    document.execute(BeginRun(Run("", document.now(), Conditions({"temperature": 150.0}), STEPS, jar_id="J1")))
    run = document.state.open_run
    assert run is not None
    return run


def event(run: Run, kind: EventKind, **values: object) -> AddRunEvent:
    return AddRunEvent(RunEvent("", run.id, kind, run.started_at, **values))  # type: ignore[arg-type]


def refused(document: Document, command: object) -> str:
    before = document.state
    with pytest.raises(InputError) as caught:
        document.execute(command)  # type: ignore[arg-type]
    assert document.state is before
    return caught.value.code


def test_a_run_with_its_events_is_in_the_file_at_once(
    document: Document, clock: FixedClock, reopened: Callable[[], Document]
) -> None:
    run = begun(document)
    assert run.lot_id == "L1"
    clock.advance(seconds=30)
    document.execute(event(run, EventKind.STEP, step="heat"))
    clock.advance(seconds=12.5)
    document.execute(event(run, EventKind.MARK, step="heat", word="first powder"))
    document.execute(event(run, EventKind.READING, step="heat", value=152))
    kept = reopened().state.open_run
    assert kept == document.state.open_run
    assert kept is not None
    assert [(each.kind, each.word) for each in kept.events[1:]] == [("mark", "first powder"), ("reading", "")]
    assert seconds_between(kept.events[0].moment, kept.events[1].moment) == 12.5
    assert kept.current == kept.events[0]


def test_undo_takes_back_an_event_by_name_and_redo_brings_it_again(
    document: Document, reopened: Callable[[], Document]
) -> None:
    run = begun(document)
    document.execute(event(run, EventKind.STEP, step="heat"))
    document.execute(event(run, EventKind.STEP, step="stir"))
    assert document.undo_name == "Begin step stir"
    document.undo()
    assert document.state.open_run is not None
    assert document.state.open_run.current.step == "heat"  # type: ignore[union-attr]
    assert reopened().state.runs == document.state.runs
    document.redo()
    assert document.state.open_run.current.step == "stir"  # type: ignore[union-attr]
    assert reopened().state.runs == document.state.runs
    for _ in range(3):
        document.undo()
    assert document.state.runs == reopened().state.runs == ()


def test_recording_names_the_run_and_the_run_the_attempt(
    document: Document, reopened: Callable[[], Document]
) -> None:
    run = begun(document)
    attempt = Attempt("", 0, run.conditions, jar_id="J1", parted=Parted.YES, pooled=Pooled.BEADS, run_id=run.id)
    document.execute(RecordAttempt(attempt))
    (kept,) = document.state.attempts
    assert document.state.runs[0].attempt_id == kept.id
    assert refused(document, RecordAttempt(replace(attempt, id=""))) == "run.recorded_already"
    document.execute(EndRun(run.id))
    assert document.state.open_run is None
    assert document.state.runs[0].ended_at == document.now()
    again = reopened()
    assert again.state == document.state
    assert again.fingerprint == document.fingerprint
    document.undo()
    document.undo()
    assert document.state.runs[0].attempt_id is None
    assert document.state.attempts == ()


def test_what_a_run_refuses(document: Document) -> None:
    run = begun(document)
    assert refused(document, BeginRun(replace(run, id=""))) == "run.another_open"
    assert refused(document, event(run, EventKind.STEP, step="weigh")) == "run.step_unknown"
    assert refused(document, AddRunEvent(RunEvent("", "gone", EventKind.NOTE, run.started_at))) == "run.unknown"
    assert refused(document, RecordAttempt(Attempt("", 0, Conditions(), run_id="gone"))) == "run.unknown"
    document.execute(EndRun(run.id, "spilt"))
    assert document.state.runs[0].end_reason == "spilt"
    assert refused(document, event(run, EventKind.NOTE, text="late")) == "run.over"
    assert refused(document, EndRun(run.id)) == "run.over"
    assert refused(document, BeginRun(replace(run, id="", steps=()))) == "run.no_steps"


def test_true_seconds_do_not_follow_a_clock_that_is_set(document: Document, clock: FixedClock) -> None:
    run = begun(document)
    document.execute(event(run, EventKind.STEP, step="stir"))
    clock.advance(seconds=20)
    clock.set(clock.now() - timedelta(hours=1))
    clock.advance(seconds=22)
    stirred = document.state.open_run.current  # type: ignore[union-attr]
    assert stirred is not None
    assert seconds_between(stirred.moment, document.moment()) == 42.0
    clock.restart()  # another boot: the two counters say nothing of each other, so the clock must do
    assert seconds_between(stirred.moment, document.moment()) == -3600.0 + 42.0


def test_seconds_without_a_counter_are_those_of_the_clock(clock: FixedClock) -> None:
    first = Moment(clock.now())
    clock.advance(seconds=7)
    assert seconds_between(first, Moment(clock.now())) == 7.0


def test_a_lot_is_split_in_one_step_with_jars_for_later(
    document: Document, clock: FixedClock, reopened: Callable[[], Document]
) -> None:
    later = clock.now() + timedelta(days=1)
    jars = (Jar("J2", "L1", clock.now()), Jar("J3", "L1", later, planned=True))
    document.execute(SplitLot("L1", jars))
    assert document.undo_name == "Split lot L1 into 2 jars"
    assert [jar.id for jar in document.state.shelf] == ["J1", "J2"]
    assert [jar.id for jar in document.state.planned_jars] == ["J3"]
    assert reopened().state.jars == document.state.jars
    attempt = Attempt("", 0, Conditions({"temperature": 120.0}), jar_id="J3", parted=Parted.NO)
    assert refused(document, RecordAttempt(attempt)) == "jar.not_started"
    clock.advance(hours=25)
    document.execute(StartJar("J3", clock.now()))
    started = document.state.jar("J3")
    assert started is not None
    assert (started.planned, started.started_at) == (False, clock.now())
    assert refused(document, StartJar("J3", clock.now())) == "jar.already_started"
    document.undo()
    document.execute(EmptyJar("J3", clock.now()))
    assert document.state.planned_jars == ()
    document.undo()
    document.undo()
    assert [jar.id for jar in document.state.jars] == ["J1"]


def test_a_split_is_whole_or_not_at_all(document: Document, clock: FixedClock) -> None:
    twice = (Jar("J2", "L1", clock.now()), Jar("j2", "L1", clock.now()))
    assert refused(document, SplitLot("L1", twice)) == "jar.exists"
    assert refused(document, SplitLot("L1", ())) == "split.no_jars"
    assert refused(document, SplitLot("L9", twice[:1])) == "lot.unknown"


def recorded(document: Document) -> Attempt:
    document.execute(RecordAttempt(Attempt("", 0, Conditions(), jar_id="J1", parted=Parted.NO)))
    return document.state.attempts[-1]


def test_photos_keep_their_original_where_one_is_given(document: Document) -> None:
    attempt = recorded(document)
    document.execute(AttachPhoto(attempt.id, "a.png", "image/png", PNG))
    document.execute(AttachPhoto(attempt.id, "b.png", "image/png", PNG, original=PNG * 3))
    first, second = document.photos(attempt.id)
    assert (first.original_size, second.original_size) == (0, 3 * len(PNG))
    assert document.original(second.id) == PNG * 3
    assert document.original(first.id) == b""
    assert document.photographed() == {attempt.id}
    document.undo()
    document.redo()
    assert document.original(second.id) == PNG * 3
    document.undo()
    document.undo()
    assert document.photographed() == frozenset()


def test_an_example_of_a_class_replaces_the_older_one(document: Document) -> None:
    document.execute(SetAnchor(Outcome.CLEAN, "one.png", "image/png", PNG))
    changes = document.execute(SetAnchor(Outcome.CLEAN, "two.png", "image/png", PNG + b"2"))
    assert changes.anchors
    assert document.anchors()[Outcome.CLEAN].data == PNG + b"2"
    document.undo()
    assert document.anchors()[Outcome.CLEAN].name == "one.png"
    document.redo()
    assert document.anchors()[Outcome.CLEAN].data == PNG + b"2"
    assert refused(document, SetAnchor(Outcome.ABORTED, "x.png", "image/png", PNG)) == "regrade.not_a_class"


def test_a_second_grade_stands_beside_the_first(document: Document, reopened: Callable[[], Document]) -> None:
    attempt = recorded(document)
    document.execute(GradeAgain(attempt.id, Outcome.PARTLY_PARTED))
    (second,) = document.state.regrades
    assert (second.attempt_id, second.outcome) == (attempt.id, "partly parted")
    assert document.state.attempts[-1].outcome is Outcome.NOTHING_PARTED
    assert reopened().state.regrades == document.state.regrades
    document.execute(RecordAttempt(Attempt("", 0, Conditions(), aborted=True)))
    ungraded = document.state.attempts[-1].id
    assert refused(document, GradeAgain(ungraded, Outcome.CLEAN)) == "regrade.not_graded"
    document.undo()
    document.undo()
    assert document.state.regrades == ()


def test_a_temperature_log_comes_back_as_it_was(
    document: Document, clock: FixedClock, reopened: Callable[[], Document]
) -> None:
    attempt = recorded(document)
    points = tuple((clock.now() + timedelta(seconds=7.25 * step), 20.0 + step / 3.0) for step in range(50))
    document.execute(AttachLog(attempt.id, "logger.csv", points))
    (log,) = reopened().logs(attempt.id)
    assert (log.name, log.points) == ("logger.csv", points)
    document.undo()
    assert document.logs(attempt.id) == ()
    document.redo()
    assert document.logs(attempt.id)[0].points == points
    assert refused(document, AttachLog(attempt.id, "x", ())) == "log.empty"
    assert refused(document, AttachLog(attempt.id, "x", points[::-1])) == "log.not_in_order"
    assert refused(document, AttachLog(attempt.id, "x", ((clock.now(), float("nan")),))) == "log.not_a_number"


def test_a_seen_alarm_stays_seen(document: Document, reopened: Callable[[], Document]) -> None:
    document.execute(Acknowledge("window:J1", "jar J1 is ready"))
    assert document.undo_name == "Seen: jar J1 is ready"
    assert [seen.key for seen in reopened().state.acknowledged] == ["window:J1"]
    assert document.execute(Acknowledge("window:J1", "again")).name == ""
    assert refused(document, Acknowledge(" ", "nothing")) == "alarm.no_key"
    document.undo()
    assert document.state.acknowledged == ()
