"""Corrections keep what was; undo and redo are named, deep, and leave their trace."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, Jar, Lot, Masses
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document

CLEAN = Attempt("", 0, Conditions({"temperature": 150.0}), parted=Parted.YES)


def record(document: Document, attempt: Attempt = CLEAN) -> str:
    new_id = document.execute(c.RecordAttempt(attempt)).new_attempt_id
    assert new_id is not None
    return new_id


def test_a_correction_keeps_field_old_value_new_value_time_and_reason(
    document: Document, clock: FixedClock, reopened: Callable[[], Document]
) -> None:
    attempt_id = record(document)
    at = clock.now()
    clock.advance(hours=1)
    changes = document.execute(
        c.CorrectAttempt(
            attempt_id,
            {
                "conditions": Conditions({"temperature": 140.0, "action": "fold"}),
                "pooled": Pooled.BEADS,
                "masses": Masses(product_g=3.0),
            },
            "read the wrong probe",
        )
    )
    assert (changes.name, changes.attempts) == ("Correct attempt 1", (attempt_id,))
    (kept,) = document.state.attempts
    assert kept.outcome is Outcome.PARTED_BEADS
    assert (kept.id, kept.number, kept.recorded_at) == (attempt_id, 1, at)
    rows = reopened().corrections(attempt_id)
    assert [(row.field, row.old, row.new) for row in rows] == [
        ("conditions.temperature", "150.0", "140.0"),
        ("conditions.action", "null", '"fold"'),
        ("pooled", "null", '"beads"'),
        ("masses.product_g", "null", "3.0"),
    ]
    assert {(row.kind, row.at, row.reason, row.command) for row in rows} == {
        ("attempt", clock.now(), "read the wrong probe", "Correct attempt 1")
    }


@pytest.mark.parametrize(
    ("changes", "reason", "code"),
    [
        ({"note": "x"}, " ", "correction.no_reason"),
        ({"number": 7}, "r", "correction.field_unknown"),
        ({"id": "x"}, "r", "correction.field_unknown"),
        ({"struck_reason": "x"}, "r", "correction.field_unknown"),
        ({"recorded_at": None}, "r", "correction.field_unknown"),
        ({"parted": "perhaps"}, "r", "correction.wrong_kind"),
        ({"trials": "3"}, "r", "correction.wrong_kind"),
        ({"aborted": 1}, "r", "correction.wrong_kind"),
        ({"note": None}, "r", "correction.wrong_kind"),
        ({"masses": {}}, "r", "correction.wrong_kind"),
        ({"conditions": 3}, "r", "correction.wrong_kind"),
        ({"overrides": ("x",)}, "r", "correction.wrong_kind"),
        ({"started_at": "now"}, "r", "correction.wrong_kind"),
        ({"successes": 1}, "r", "attempt.gates_and_count"),
        ({"lot_id": "L9"}, "r", "lot.unknown"),
        ({"conditions": {"nothing": 1.0}}, "r", "condition.unknown_factor"),
    ],
)
def test_an_impossible_correction_is_refused(
    document: Document, changes: dict[str, object], reason: str, code: str
) -> None:
    attempt_id = record(document)
    state = document.state
    with pytest.raises(InputError) as caught:
        document.execute(c.CorrectAttempt(attempt_id, changes, reason))
    assert caught.value.code == code
    assert document.state is state
    assert document.corrections() == ()


def test_a_correction_may_name_words_in_place_of_grades(document: Document) -> None:
    attempt_id = record(document)
    document.execute(c.CorrectAttempt(attempt_id, {"parted": "partly", "pooled": None}, "looked again"))
    assert document.state.attempts[0].parted is Parted.PARTLY


def test_moving_an_attempt_to_another_jar_moves_it_to_that_jars_lot(document: Document, clock: FixedClock) -> None:
    document.execute(c.AddLot(Lot("L2")))
    document.execute(c.AddJar(Jar("J2", "L2", clock.now())))
    attempt_id = record(document, replace(CLEAN, jar_id="J1"))
    document.execute(c.CorrectAttempt(attempt_id, {"jar_id": "J2"}, "labels were swapped"))
    assert document.state.attempts[0].lot_id == "L2"


def test_striking_out_and_restoring_keep_the_record_and_both_traces(document: Document) -> None:
    attempt_id = record(document)
    for reason in ("", "  "):
        with pytest.raises(InputError) as caught:
            document.execute(c.StrikeAttempt(attempt_id, reason))
        assert caught.value.code == "strike.no_reason"
    with pytest.raises(InputError) as caught:
        document.execute(c.RestoreAttempt(attempt_id))
    assert caught.value.code == "strike.not_struck"
    assert document.execute(c.StrikeAttempt(attempt_id, "lid was open")).name == "Strike out attempt 1"
    assert document.state.attempts[0].struck_reason == "lid was open"
    with pytest.raises(InputError) as caught:
        document.execute(c.StrikeAttempt(attempt_id, "again"))
    assert caught.value.code == "strike.already"
    assert document.execute(c.RestoreAttempt(attempt_id)).name == "Restore attempt 1"
    assert not document.state.attempts[0].is_struck
    rows = document.corrections(attempt_id)
    assert [(row.field, row.old, row.new, row.reason) for row in rows] == [
        ("struck_reason", "null", '"lid was open"', "lid was open"),
        ("struck_reason", '"lid was open"', "null", "restored"),
    ]


def test_changed_settings_and_factors_keep_what_they_were(document: Document) -> None:
    document.execute(c.ChangeSettings(replace(document.state.settings, oil_flash_c=230.0)))
    age, temperature, action = document.state.factors
    document.execute(c.ChangeFactors((temperature, replace(age, high=200.0))))
    (setting,) = document.corrections("settings")
    assert (setting.kind, setting.field, setting.old, setting.new) == ("settings", "oil_flash_c", "null", "230.0")
    (changed,) = document.corrections("age")
    assert (changed.kind, changed.field, changed.old, changed.new) == ("factor", "high", "100.0", "200.0")
    (removed,) = document.corrections("action")
    assert (removed.field, removed.new) == ("removed", "null")
    assert json.loads(removed.old)["levels"] == list(action.levels)
    (order,) = document.corrections("factors")
    assert json.loads(order.old) == ["age", "temperature", "action"]
    assert json.loads(order.new) == ["temperature", "age"]


def test_emptying_a_jar_is_kept_as_a_change_of_the_jar(document: Document, clock: FixedClock) -> None:
    document.execute(c.EmptyJar("J1", clock.now()))
    (row,) = document.corrections("J1")
    assert (row.kind, row.field, row.old, row.command) == ("jar", "emptied_at", "null", "Empty jar J1")


def test_undo_and_redo_are_named_and_go_all_the_way_back(document: Document, clock: FixedClock) -> None:
    start = document.state
    document.execute(c.AddLot(Lot("L2")))
    document.execute(c.AddJar(Jar("J4", "L2", clock.now())))
    attempt_id = record(document)
    document.execute(c.CorrectAttempt(attempt_id, {"note": "x"}, "y"))
    document.execute(c.StrikeAttempt(attempt_id, "z"))
    end = document.state
    names = ["Add lot L2", "Start jar J4", "Record attempt 1", "Correct attempt 1", "Strike out attempt 1"]
    for name in reversed(names):
        assert document.undo_name == name
        assert document.undo().name == name
    assert document.undo_name is None
    assert document.state == start
    for name in names:
        assert document.redo_name == name
        assert document.redo().name == name
    assert document.redo_name is None
    assert document.state == end


def test_undo_or_redo_of_nothing_is_refused(document: Document) -> None:
    for act, code in ((document.undo, "history.no_undo"), (document.redo, "history.no_redo")):
        with pytest.raises(InputError) as caught:
            act()
        assert caught.value.code == code


def test_a_new_command_forgets_what_was_undone(document: Document) -> None:
    record(document)
    document.undo()
    document.execute(c.AddLot(Lot("L2")))
    assert document.redo_name is None


def test_undo_withdraws_a_recording_and_redo_brings_it_back_as_it_was(document: Document, path: Path) -> None:
    attempt_id = record(document)
    first = document.state.attempts
    assert document.undo().attempts == (attempt_id,)
    assert document.state.attempts == ()
    connection = sqlite3.connect(path)
    assert connection.execute("SELECT id, withdrawn FROM attempt").fetchall() == [(attempt_id, 1)]
    connection.close()
    assert document.redo().new_attempt_id == attempt_id
    assert document.state.attempts == first
    trace = [(row.field, row.old, row.new, row.reason) for row in document.corrections(attempt_id)]
    assert trace == [("withdrawn", "false", "true", "undo"), ("withdrawn", "true", "false", "redo")]


def test_numbers_count_up_and_are_never_used_twice_even_after_reopening(
    document: Document, path: Path, clock: FixedClock
) -> None:
    record(document)
    document.undo()
    record(document)
    document.undo()
    document.close()
    with Document.open(path, clock=clock) as again:
        record(again)
        assert [attempt.number for attempt in again.state.attempts] == [3]


def test_a_lot_that_was_undone_can_be_added_anew_and_its_first_form_is_not_lost(document: Document) -> None:
    document.execute(c.AddLot(Lot("L2", note="first")))
    document.undo()
    document.execute(c.AddLot(Lot("L3")))
    document.execute(c.AddLot(Lot("L2", note="second")))
    assert [lot.id for lot in document.state.lots] == ["L1", "L3", "L2"]
    fields = [(row.field, row.old, row.new) for row in document.corrections("L2")]
    assert fields == [
        ("withdrawn", "false", "true"),
        ("withdrawn", "true", "false"),
        ("note", '"first"', '"second"'),
    ]


def test_every_command_undo_and_redo_is_in_the_log(document: Document, path: Path) -> None:
    record(document)
    document.undo()
    document.redo()
    connection = sqlite3.connect(path)
    log = connection.execute("SELECT action, name, kind FROM command ORDER BY seq").fetchall()
    connection.close()
    assert log == [(action, "Record attempt 1", "RecordAttempt") for action in ("do", "undo", "redo")]


def test_what_was_redone_is_there_after_reopening_and_what_was_undone_is_not(
    document: Document, clock: FixedClock, reopened: Callable[[], Document]
) -> None:
    document.execute(c.AddLot(Lot("L2")))
    document.execute(c.AddJar(Jar("J2", "L2", clock.now())))
    document.execute(c.TickChecklist("2026-03-02", ("a",)))
    attempt_id = record(document)
    document.execute(c.AttachPhoto(attempt_id, "p", "image/png", b"1"))
    full = document.state
    for _ in range(5):
        document.undo()
    bare = reopened()
    assert bare.state == document.state
    assert [lot.id for lot in bare.state.lots] == ["L1"]
    with pytest.raises(InputError) as caught:
        document.attempt(attempt_id)
    assert caught.value.code == "attempt.unknown"
    for _ in range(5):
        document.redo()
    again = reopened()
    assert document.state == again.state == full
    assert len(again.photos(attempt_id)) == 1


def test_the_number_of_a_withdrawn_attempt_is_not_given_again_without_reopening_either(document: Document) -> None:
    for _ in range(3):
        record(document)
    for _ in range(3):
        document.undo()
    record(document)
    record(document)
    assert [attempt.number for attempt in document.state.attempts] == [4, 5]
