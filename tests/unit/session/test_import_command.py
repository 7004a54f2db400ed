"""A table in a session: one step with one name, undone and done again as a whole; limits only mark it."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.clock import FixedClock
from stirfall.session.commands import ImportAttempts, RecordAttempt
from stirfall.session.document import Document
from stirfall.session.importing import beyond_limits, new_session, take_in
from stirfall.storage.import_guess import guess
from stirfall.storage.import_origin import place_of
from stirfall.storage.import_read import read_with
from stirfall.storage.import_source import source_of
from stirfall.storage.imported import Imported

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
TABLE = (
    "no,date,lot,T (°C),age (h),additive,result\n"
    "3,2026-03-14,L7,150,24,none,clean\n"
    "5,2026-03-15,L7,151,48,new one,beads\n"
    "9,2026-03-16,L8,152,72,none,none\n"
)


def read(document: Document | None, text: str = TABLE) -> Imported:
    state = None if document is None else document.state
    table = source_of(text.encode(), "spring.csv").table()
    return read_with(guess(table, state), table, state, zone=UTC)


@pytest.fixture
def document(tmp_path: Path) -> Document:
    return Document.create(tmp_path / "a.stirfall", CampaignSettings(), clock=FixedClock(NOW))


def test_a_table_comes_in_as_one_step(document: Document) -> None:
    with document:
        changes = take_in(document, read(document))
        state = document.state
        assert changes.name == document.undo_name == "Import 3 attempts from spring.csv"
        assert changes.factors
        assert changes.shelf
        assert len(changes.attempts) == 3
        assert [each.number for each in state.attempts] == [3, 5, 9]  # a session without attempts takes the numbers
        assert {each.recorded_at for each in state.attempts} == {NOW}
        assert [lot.id for lot in state.lots] == ["L7", "L8"]
        before = document.fingerprint
        document.undo()
        assert (document.state.attempts, document.state.lots) == ((), ())
        assert document.state.factors == standard_factors()
        document.redo()
        assert document.fingerprint == before


def test_what_came_in_is_in_the_file(document: Document) -> None:
    with document:
        take_in(document, read(document))
        kept, path = document.state, document.path
    with Document.open(path) as again:
        assert again.state == kept
        assert place_of(again.state.attempts[0].note) == (
            "spring.csv",
            2,
            hashlib.sha256(TABLE.encode()).hexdigest()[:16],
        )


def test_later_tables_are_numbered_on_and_bring_nothing_twice(document: Document) -> None:
    with document:
        take_in(document, read(document))
        again = read(document)
        assert again.attempts == ()
        assert len(again.twins) == 3
        with pytest.raises(InputError) as caught:
            take_in(document, again)
        assert caught.value.code == "import.nothing"
        take_in(document, read(document, TABLE.replace("150", "155").replace("9,2026", "3,2026")))
        assert [each.number for each in document.state.attempts] == [3, 5, 9, 10]


def test_many_attempts_come_in_and_go_again(document: Document) -> None:
    rows = "".join(f"L{row % 7},{140 + row % 30},{row % 90 + 1},clean\n" for row in range(400))
    with document:
        take_in(document, read(document, "lot,T (°C),age (h),result\n" + rows))
        first = document.state.attempts
        assert len(first) == 400
        document.execute(RecordAttempt(Attempt("", 0, Conditions({"temperature": 150.0}), successes=1)))
        document.undo()
        document.undo()
        assert document.state.attempts == ()
        document.redo()
        assert document.state.attempts == first
        assert document.attempt(first[200].id) == first[200]
        path = document.path
    with Document.open(path) as again:
        assert again.state.attempts == first


@pytest.mark.parametrize(
    ("attempt", "code"),
    [
        (Attempt("", 0, Conditions({"moon": 1.0})), "condition.unknown_factor"),
        (Attempt("", 0, Conditions({"additive": "new"})), "condition.level_unknown"),
        (Attempt("", 0, Conditions(), lot_id="L99"), "lot.unknown"),
        (Attempt("", 0, Conditions(), jar_id="J99"), "jar.unknown"),
        (Attempt("", 0, Conditions(), struck_reason="no"), "attempt.struck_from_start"),
    ],
)
def test_nothing_is_written_where_one_attempt_cannot_be(document: Document, attempt: Attempt, code: str) -> None:
    good = Attempt("", 0, Conditions({"temperature": 150.0}), successes=1)
    with document:
        before = document.fingerprint
        with pytest.raises(InputError) as caught:
            document.execute(ImportAttempts((good, attempt), "x.csv"))
        assert caught.value.code == code
        assert document.fingerprint == before


def test_jars_give_their_lot_and_numbers_do_not_repeat(document: Document) -> None:
    jar = Jar("J1", "L1", NOW)
    with document:
        state = replace(document.state, lots=(Lot("L1"),), jars=(jar,))
        path = document.path.with_name("b.stirfall")
    with Document.create_from(path, state, clock=FixedClock(NOW)) as other:
        other.execute(ImportAttempts((Attempt("", 0, Conditions(), jar_id="J1", successes=1),), "x.csv"))
        assert other.state.attempts[0].lot_id == "L1"
        twice = (Attempt("", 4, Conditions()), Attempt("", 4, Conditions()))
        other.execute(ImportAttempts(twice, "x.csv"))
        assert [each.number for each in other.state.attempts] == [1, 2, 3]


def test_limits_mark_history_and_never_block_it(document: Document) -> None:
    with document:
        state = replace(document.state, settings=replace(document.state.settings, oil_flash_c=140.0))
        table = source_of(TABLE.encode(), "spring.csv").table()
        found = read_with(guess(table, state), table, state, zone=UTC)
        assert len(found.attempts) == 3
        assert set(beyond_limits(state, found)) == {2, 3, 4}
        assert beyond_limits(document.state, read(document)) == {}


def test_a_table_becomes_a_session_of_its_own(tmp_path: Path) -> None:
    found = read(None)
    with new_session(tmp_path / "spring.stirfall", found, clock=FixedClock(NOW)) as document:
        assert document.state.settings.title == "spring"
        assert document.state.settings.gates == 2
        assert [each.name for each in document.state.factors] == ["temperature", "sample age", "additive"]
        assert [each.number for each in document.state.attempts] == [3, 5, 9]
        assert place_of(document.state.attempts[0].note) is not None
    with pytest.raises(FileTroubleError):
        new_session(tmp_path / "spring.stirfall", found)
    counted = read(None, "T (°C),result\n150,yes\n151,no\n")
    with new_session(tmp_path / "counted.stirfall", counted) as document:
        assert document.state.settings.gates == 1


def test_what_is_not_settled_is_not_written(document: Document) -> None:
    with document:
        found = read(document, "T (°C),result\n150,clean\n151,hm\n")
        with pytest.raises(InputError) as caught:
            take_in(document, found)
        assert caught.value.code == "import.not_settled"
