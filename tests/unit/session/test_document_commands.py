"""What commands do, and what they refuse; a refused command changes neither state nor file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.reporting.sentences import all_sentences, error_sentence
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document
from stirfall.session.validation import MAX_PHOTO_BYTES

FULL = {"age": 24, "temperature": 150, "action": "swirl"}


def attempt(conditions: dict[str, object] | None = None, **fields: object) -> Attempt:
    return Attempt("", 0, Conditions(FULL if conditions is None else conditions), **fields)


def record(document: Document, **fields: object) -> str:
    changes = document.execute(c.RecordAttempt(attempt(**fields)))
    assert changes.new_attempt_id is not None
    return changes.new_attempt_id


def test_a_recorded_attempt_gets_id_number_time_and_the_lot_of_its_jar(
    document: Document, clock: FixedClock, reopened: Callable[[], Document]
) -> None:
    changes = document.execute(
        c.RecordAttempt(attempt(jar_id="J1", parted=Parted.YES, pooled=Pooled.ONE_POOL, masses=Masses(charge_g=10)))
    )
    (kept,) = document.state.attempts
    assert (changes.name, changes.attempts) == ("Record attempt 1", (kept.id,))
    assert changes.new_attempt_id == kept.id
    assert (kept.number, kept.lot_id, kept.recorded_at) == (1, "L1", clock.now())
    assert kept.outcome is Outcome.CLEAN
    assert reopened().state == document.state


def test_every_field_of_every_record_survives_reopening(
    document: Document, clock: FixedClock, reopened: Callable[[], Document]
) -> None:
    now = clock.now()
    document.execute(c.AddLot(Lot("Löt 2", now, 12.5, "a “note”\nof two lines")))
    document.execute(c.AddJar(Jar("J2", "Löt 2", now, "oil", 15, "loose", 30, "n", None)))
    document.execute(
        c.ChangeSettings(
            CampaignSettings(
                "T", MaterialClass.ALKALI_METAL, "M", 97.8, "oil", 230, True, 1, 0.9, 2, 3, ("age",),
                (("age", "temperature"),),
            )
        )
    )  # fmt: skip
    document.execute(c.ChangeFactors((*document.state.factors, Factor("x", "g", 0, 1, default=0.5, hidden=True))))
    document.execute(c.TickChecklist("2026-03-02", ("a", "b")))
    record(
        document,
        started_at=now + timedelta(microseconds=1234),
        jar_id="J2",
        aborted=True,
        abort_reason="smoke",
        masses=Masses(1, 2, 3, 0.1, 0),
        note="µ",
        overrides=(AgeOverride("age", 3, "label lost"), AgeOverride("age", None, "x")),
        invented=True,
    )
    record(document, conditions={"age": 0.1 + 0.2}, successes=2, trials=5)
    again = reopened()
    assert again.state == document.state
    assert again.fingerprint == document.fingerprint


@pytest.mark.parametrize(
    ("command", "code"),
    [
        (c.RecordAttempt(attempt({"agee": 1})), "condition.unknown_factor"),
        (c.RecordAttempt(attempt({"age": "old"})), "condition.not_a_number"),
        (c.RecordAttempt(attempt({"age": float("nan")})), "condition.not_a_number"),
        (c.RecordAttempt(attempt({"age": 0})), "value.log_needs_positive"),
        (c.RecordAttempt(attempt({"action": 1})), "condition.not_a_level"),
        (c.RecordAttempt(attempt({"action": "press"})), "condition.level_unknown"),
        (c.RecordAttempt(attempt(lot_id="L9")), "lot.unknown"),
        (c.RecordAttempt(attempt(jar_id="J9")), "jar.unknown"),
        (c.RecordAttempt(attempt(), empties_jar=True), "attempt.no_jar_to_empty"),
        (c.RecordAttempt(attempt(struck_reason="no")), "attempt.struck_from_start"),
        (c.RecordAttempt(attempt(started_at=datetime(2026, 1, 1))), "time.without_zone"),  # noqa: DTZ001
        (c.AddLot(Lot("l1 ")), "lot.exists"),
        (c.AddLot(Lot(" ")), "lot.unnamed"),
        (c.AddLot(Lot("L2", solids_percent=-1)), "amount.impossible"),
        (c.CorrectAttempt("none", {"note": "x"}, "y"), "attempt.unknown"),
        (c.StrikeAttempt("none", "y"), "attempt.unknown"),
        (c.TickChecklist("", ()), "checklist.no_day"),
        (c.ChangeSettings(CampaignSettings(humps=("x",))), "factor.unknown"),
        (c.ChangeSettings(CampaignSettings(melting_point_c=-300.0)), "settings.temperature"),
        (c.ChangeFactors((Factor("a", "h", 1, 2), Factor("A", "h", 1, 2))), "factor.repeated"),
    ],
)
def test_a_refused_command_says_why_and_leaves_no_trace(
    document: Document, path: Path, command: c.Command, code: str
) -> None:
    state, content = document.state, path.read_bytes()
    with pytest.raises(InputError) as caught:
        document.execute(command)
    assert caught.value.code == code
    assert code in all_sentences()
    assert "{" not in error_sentence(caught.value)
    assert document.state is state
    assert document.undo_name is None
    assert path.read_bytes() == content


def test_jars_with_a_taken_name_an_unknown_lot_or_times_reversed_are_refused(
    document: Document, clock: FixedClock
) -> None:
    now = clock.now()
    for jar, code in (
        (Jar("j1", "L1", now), "jar.exists"),
        (Jar("J2", "L9", now), "lot.unknown"),
        (Jar("J2", "L1", now, emptied_at=now - timedelta(hours=1)), "time.runs_backwards"),
        (Jar("J2", "L1", now, charge_g=float("inf")), "amount.impossible"),
    ):
        with pytest.raises(InputError) as caught:
            document.execute(c.AddJar(jar))
        assert caught.value.code == code


def test_an_attempt_cannot_have_the_lot_of_another_jar(document: Document) -> None:
    document.execute(c.AddLot(Lot("L2")))
    with pytest.raises(InputError) as caught:
        record(document, jar_id="J1", lot_id="L2")
    assert caught.value.code == "attempt.lot_differs"


def test_recording_may_empty_the_jar_in_the_same_step(document: Document, clock: FixedClock) -> None:
    clock.advance(hours=30)
    changes = document.execute(c.RecordAttempt(attempt(jar_id="J1"), empties_jar=True))
    assert changes.shelf
    assert document.state.shelf == ()
    assert document.state.jars[0].emptied_at == clock.now()
    with pytest.raises(InputError) as caught:
        document.execute(c.EmptyJar("J1", clock.now()))
    assert caught.value.code == "jar.already_emptied"
    document.undo()
    assert document.state.attempts == ()
    assert [jar.id for jar in document.state.shelf] == ["J1"]


def test_a_jar_cannot_be_emptied_before_it_was_started(document: Document, clock: FixedClock) -> None:
    with pytest.raises(InputError) as caught:
        document.execute(c.EmptyJar("J1", clock.now() - timedelta(hours=1)))
    assert caught.value.code == "time.runs_backwards"


def test_a_given_id_or_number_must_be_free_even_of_withdrawn_attempts(document: Document) -> None:
    taken = record(document)
    document.undo()
    for given in (replace(attempt(), id=taken), replace(attempt(), number=1)):
        with pytest.raises(InputError) as caught:
            document.execute(c.RecordAttempt(given))
        assert caught.value.code == "attempt.number_taken"


def test_values_outside_the_range_are_kept_because_they_were_really_reached(document: Document) -> None:
    record(document, conditions={"temperature": 250.0})
    assert document.state.attempts[0].conditions["temperature"] == 250.0


def test_a_factor_in_use_can_be_hidden_and_given_a_new_range_but_not_dropped_or_given_another_unit(
    document: Document,
) -> None:
    record(document)
    age, temperature, action = document.state.factors
    for factors, code in (
        ((temperature, action), "factor.in_use"),
        ((Factor("age", "d", 1, 100), temperature, action), "factor.unit_in_use"),
        ((Factor("age", "h", levels=("a", "b")), temperature, action), "factor.kind_in_use"),
        ((age, temperature, Factor("action", levels=("fold", "press"))), "factor.level_in_use"),
    ):
        with pytest.raises(InputError) as caught:
            document.execute(c.ChangeFactors(factors))
        assert caught.value.code == code
    attempts = document.state.attempts
    new = (
        replace(action, levels=("press", "swirl")),  # fold was never used
        replace(age, low=0.5, high=500.0, hidden=True),
        temperature,
        Factor("depth", "mm", 1, 50),
    )
    changes = document.execute(c.ChangeFactors(new))
    assert changes.factors
    assert document.state.factors == new
    assert document.state.attempts is attempts


def test_a_used_linear_factor_cannot_become_log_when_a_recorded_value_is_zero(document: Document) -> None:
    record(document, conditions={"temperature": 0.0})
    age, temperature, action = document.state.factors
    with pytest.raises(InputError) as caught:
        document.execute(c.ChangeFactors((age, replace(temperature, scale="log"), action)))
    assert caught.value.code == "value.log_needs_positive"


def test_a_factor_named_in_the_model_cannot_be_dropped(document: Document) -> None:
    document.execute(c.ChangeSettings(replace(document.state.settings, humps=("age",))))
    with pytest.raises(InputError) as caught:
        document.execute(c.ChangeFactors(document.state.factors[1:]))
    assert caught.value.code == "factor.in_model"


def test_a_command_that_changes_nothing_writes_nothing(document: Document, path: Path) -> None:
    attempt_id = record(document, note="same")
    content = path.read_bytes()
    assert document.execute(c.CorrectAttempt(attempt_id, {"note": "same"}, "why")).name == ""
    assert document.execute(c.ChangeSettings(document.state.settings)).name == ""
    assert document.execute(c.ChangeFactors(document.state.factors)).name == ""
    assert path.read_bytes() == content
    assert document.undo_name == "Record attempt 1"


def test_listeners_hear_every_change_with_its_origin_until_they_leave(document: Document) -> None:
    heard: list[tuple[str, object]] = []
    leave = document.subscribe(lambda changes, origin: heard.append((changes.name, origin)))
    document.execute(c.AddLot(Lot("L2")), origin="shelf")
    document.undo(origin="menu")
    document.redo()
    leave()
    leave()
    document.execute(c.AddLot(Lot("L3")))
    assert heard == [("Add lot L2", "shelf"), ("Add lot L2", "menu"), ("Add lot L2", None)]


def test_a_listener_that_fails_neither_hides_the_success_nor_deafens_the_others(
    document: Document, caplog: pytest.LogCaptureFixture
) -> None:
    heard: list[str] = []

    def broken(changes: c.Changes, origin: object) -> None:
        raise RuntimeError(changes.name)

    document.subscribe(broken)
    document.subscribe(lambda changes, origin: heard.append(changes.name))
    assert document.execute(c.AddLot(Lot("L2"))).shelf
    assert heard == ["Add lot L2"]
    assert "A listener failed" in caplog.text


def test_photos_are_kept_in_the_file_and_have_a_size_limit(
    document: Document, reopened: Callable[[], Document]
) -> None:
    attempt_id = record(document)
    changes = document.execute(c.AttachPhoto(attempt_id, "pool.png", "image/png", b"\x89PNG123"))
    assert changes.attempts == (attempt_id,)
    (photo,) = reopened().photos(attempt_id)
    assert (photo.name, photo.media_type, photo.data) == ("pool.png", "image/png", b"\x89PNG123")
    document.undo()
    assert document.photos(attempt_id) == ()
    document.redo()
    assert document.photos(attempt_id) == (photo,)
    for media_type, data, code in (
        ("image/png", b"", "photo.empty"),
        ("image/png", bytes(MAX_PHOTO_BYTES + 1), "photo.too_large"),
        ("text/html", b"x", "photo.not_a_picture"),
    ):
        with pytest.raises(InputError) as caught:
            document.execute(c.AttachPhoto(attempt_id, "x", media_type, data))
        assert caught.value.code == code


def test_the_checklist_tick_keeps_day_time_material_and_lines(document: Document, clock: FixedClock) -> None:
    assert document.execute(c.TickChecklist("2026-03-02", ("goggles", "dry tools"))).checklist
    (tick,) = document.state.ticks
    assert (tick.day, tick.ticked_at, tick.material) == ("2026-03-02", clock.now(), "other")
    assert tick.keys == ("goggles", "dry tools")
    document.undo()
    assert document.state.ticks == ()
