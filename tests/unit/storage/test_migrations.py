"""Older files are brought up to date step by step, with a backup first; a failed step harms nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted
from stirfall.bench.plans import USUAL_PLAN
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.run_facts import RunFacts, WeighingSheet
from stirfall.bench.substances import Substances
from stirfall.session.clock import FixedClock
from stirfall.session.commands import RecordAttempt
from stirfall.session.document import Document
from stirfall.storage.migration import (
    ADDED_IN_2,
    ADDED_IN_3,
    ADDED_IN_4,
    ADDED_IN_5,
    STEPS,
    Step,
    migrate,
    schema_version,
)
from stirfall.storage.schema import APPLICATION_ID, SCHEMA_VERSION


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "old.stirfall"


@pytest.fixture
def old(path: Path) -> Iterator[sqlite3.Connection]:
    """A made-up file of a version before the first, with one table and one row."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute("CREATE TABLE trial (name TEXT)")
    connection.execute("INSERT INTO trial VALUES ('first')")
    yield connection
    connection.close()


def add_column(connection: sqlite3.Connection) -> None:
    connection.execute("ALTER TABLE trial ADD COLUMN note TEXT")


def fill_column(connection: sqlite3.Connection) -> None:
    connection.execute("UPDATE trial SET note = name || '!'")


def break_down(connection: sqlite3.Connection) -> None:
    connection.execute("UPDATE trial SET note = 'half done'")
    raise RuntimeError("step failed")


def test_steps_run_in_order_and_the_backup_holds_the_old_file(old: sqlite3.Connection, path: Path) -> None:
    backup = migrate(old, path, steps=(Step(1, add_column), Step(2, fill_column)), target=2)
    assert schema_version(old) == 2
    assert old.execute("SELECT * FROM trial").fetchall() == [("first", "first!")]
    assert backup == path.with_name("old.schema-0.stirfall")
    kept = sqlite3.connect(backup)
    assert schema_version(kept) == 0
    assert kept.execute("SELECT * FROM trial").fetchall() == [("first",)]
    assert kept.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    kept.close()


def test_a_failed_step_leaves_the_version_before_it_and_the_backup(old: sqlite3.Connection, path: Path) -> None:
    with pytest.raises(RuntimeError, match="step failed"):
        migrate(old, path, steps=(Step(1, add_column), Step(2, break_down)), target=2)
    assert schema_version(old) == 1
    assert old.execute("SELECT * FROM trial").fetchall() == [("first", None)]
    assert path.with_name("old.schema-0.stirfall").exists()


def test_an_older_backup_is_never_overwritten(old: sqlite3.Connection, path: Path) -> None:
    first = path.with_name("old.schema-0.stirfall")
    first.write_bytes(b"kept")
    assert migrate(old, path, steps=(Step(1, add_column),), target=1) == path.with_name("old.schema-0-2.stirfall")
    assert first.read_bytes() == b"kept"


def test_a_file_that_is_up_to_date_is_left_alone(old: sqlite3.Connection, path: Path) -> None:
    content = path.read_bytes()
    assert migrate(old, path, steps=(Step(1, add_column),), target=0) is None
    assert path.read_bytes() == content
    assert len(list(path.parent.iterdir())) == 1


def test_a_missing_step_is_refused_before_anything_is_written(old: sqlite3.Connection, path: Path) -> None:
    content = path.read_bytes()
    for steps in ((), (Step(2, add_column),)):
        with pytest.raises(FileTroubleError) as caught:
            migrate(old, path, steps=steps, target=2)
        assert caught.value.code == "file.no_migration"
    old.close()
    with pytest.raises(FileTroubleError) as caught:
        Document.open(path)
    assert caught.value.code == "file.no_migration"
    with pytest.raises(FileTroubleError) as caught:
        Document.open(path, read_only=True)
    assert caught.value.code == "file.no_migration"
    assert path.read_bytes() == content
    assert len(list(path.parent.iterdir())) == 1


def _as_version_1(path: Path) -> bytes:
    """Make a file as the first program wrote it: the columns that came later taken out again."""
    clock = FixedClock(datetime(2026, 1, 5, 9, tzinfo=UTC))
    factors = (Factor("age", "h", 1, 100),)
    lot, jar = Lot("L1"), Jar("J1", "L1", clock.now(), oil="white oil", lid="closed")
    attempt = Attempt("a", 1, Conditions({"age": 3.0}), lot_id="L1", jar_id="J1", parted=Parted.NO)
    Document.create(
        path, CampaignSettings(), factors, lots=(lot,), jars=(jar,), attempts=(attempt,), clock=clock
    ).close()
    connection = sqlite3.connect(path)
    _take_out_3(connection)
    for table, columns in ADDED_IN_2.items():
        for column in columns:
            connection.execute(f"ALTER TABLE {table} DROP COLUMN {column.split()[0]}")
    connection.execute("DELETE FROM setting WHERE key = 'substances'")
    connection.execute("PRAGMA user_version = 1")
    connection.commit()
    connection.close()
    return path.read_bytes()


def _take_out_5(connection: sqlite3.Connection) -> None:
    """Take out what came with version 5."""
    _take_out_columns(connection, ADDED_IN_5)
    for table in ("change_mark", "issued_recipe", "comparison"):
        connection.execute(f"DROP TABLE {table}")
    connection.execute("DELETE FROM setting WHERE key = 'bench_name'")


def _take_out_4(connection: sqlite3.Connection) -> None:
    """Take out what came with versions 4 and 5."""
    _take_out_5(connection)
    _take_out_columns(connection, ADDED_IN_4)
    for table in ("evening_plan", "proof"):
        connection.execute(f"DROP TABLE {table}")
    connection.execute("DELETE FROM setting WHERE key = 'plan'")


def _take_out_3(connection: sqlite3.Connection) -> None:
    """Take out what came with versions 3 and 4."""
    _take_out_4(connection)
    _take_out_columns(connection, ADDED_IN_3)
    for table in ("draft_photo", "temperature_log", "anchor", "acknowledgement", "regrade", "run_event", "run"):
        connection.execute(f"DROP TABLE {table}")
    connection.execute("CREATE INDEX attachment_by_attempt ON attachment (attempt_id)")


def _take_out_columns(connection: sqlite3.Connection, added: Mapping[str, tuple[str, ...]]) -> None:
    """Take columns out of their tables, made anew: a column that refers to another table does not go alone."""
    connection.execute("PRAGMA legacy_alter_table = ON")  # else the others would follow the renamed table
    for table, columns in added.items():
        (sql,) = connection.execute("SELECT sql FROM sqlite_master WHERE name = ?", (table,)).fetchone()
        names = [column.split()[0] for column in columns]
        lines = [line for line in sql.split("\n") if not line.strip().startswith(tuple(f"{n} " for n in names))]
        kept = [row[1] for row in connection.execute(f"PRAGMA table_info({table})") if row[1] not in names]
        listed = ", ".join(kept)
        connection.execute(f"ALTER TABLE {table} RENAME TO old_{table}")
        connection.execute("\n".join(lines))
        connection.execute(f"INSERT INTO {table} ({listed}) SELECT {listed} FROM old_{table}")
        connection.execute(f"DROP TABLE old_{table}")


def test_a_file_of_version_2_keeps_its_records(path: Path) -> None:
    clock = FixedClock(datetime(2026, 1, 5, 9, tzinfo=UTC))
    jar = Jar("J1", "L1", clock.now(), look="bright", piece_count=3)
    Document.create(path, CampaignSettings(), (), lots=(Lot("L1"),), jars=(jar,), clock=clock).close()
    connection = sqlite3.connect(path)
    _take_out_3(connection)
    connection.execute("PRAGMA user_version = 2")
    connection.commit()
    connection.close()
    with Document.open(path) as document:
        assert document.state.jars == (jar,)
        assert document.state.runs == ()
    fresh = path.with_name("fresh.stirfall")
    Document.create(fresh, CampaignSettings(), ()).close()
    assert _tables(path) == _tables(fresh)


def test_a_file_of_version_3_keeps_its_records(path: Path) -> None:
    clock = FixedClock(datetime(2026, 1, 5, 9, tzinfo=UTC))
    attempt = Attempt("a", 1, Conditions({"age": 3.0}), lot_id="L1", parted=Parted.NO)
    Document.create(
        path, CampaignSettings(), (Factor("age", "h", 1, 100),), lots=(Lot("L1"),), attempts=(attempt,), clock=clock
    ).close()
    connection = sqlite3.connect(path)
    _take_out_4(connection)
    connection.execute("PRAGMA user_version = 3")
    connection.commit()
    connection.close()
    with Document.open(path) as document:
        assert document.state.attempts == (attempt,)
        assert (document.state.proofs, document.state.evenings) == ((), ())
        assert document.state.settings.plan == USUAL_PLAN
    fresh = path.with_name("fresh.stirfall")
    Document.create(fresh, CampaignSettings(), ()).close()
    assert _tables(path) == _tables(fresh)


def test_a_file_of_version_4_keeps_its_records(path: Path) -> None:
    clock = FixedClock(datetime(2026, 1, 5, 9, tzinfo=UTC))
    attempt = Attempt("a", 1, Conditions({"age": 3.0}), lot_id="L1", parted=Parted.NO)
    Document.create(
        path, CampaignSettings(), (Factor("age", "h", 1, 100),), lots=(Lot("L1"),), attempts=(attempt,), clock=clock
    ).close()
    connection = sqlite3.connect(path)
    _take_out_5(connection)
    connection.execute("PRAGMA user_version = 4")
    connection.commit()
    connection.close()
    with Document.open(path) as document:
        assert document.state.attempts == (attempt,)
        assert (document.state.comparisons, document.state.recipes, document.state.marks) == ((), (), ())
        assert document.state.settings.bench_name == ""
    fresh = path.with_name("fresh.stirfall")
    Document.create(fresh, CampaignSettings(), ()).close()
    assert _tables(path) == _tables(fresh)


def test_a_file_of_version_1_opens_whole_and_its_backup_is_kept(path: Path) -> None:
    before = _as_version_1(path)
    with Document.open(path) as document:
        state = document.state
        fingerprint = document.fingerprint
        assert state.jar("J1") == Jar(
            "J1", "L1", datetime(2026, 1, 5, 9, tzinfo=UTC), oil="white oil", lid="closed"
        )
        assert state.lot("L1") == Lot("L1")
        assert state.attempts[0].facts == RunFacts()
        assert state.attempts[0].sheet == WeighingSheet()
        assert state.settings.substances == Substances()
        document.execute(RecordAttempt(Attempt("", 0, Conditions({"age": 5.0}), parted=Parted.NO)))
    kept = sqlite3.connect(path.with_name("old.schema-1.stirfall"))
    assert schema_version(kept) == 1
    kept.close()
    # What the first program called this content, settled when its version was the present one.
    assert fingerprint == "f45364781cee58ad6d6b6aa00ff6340e1630ea9898638c6489221eaecf9b1976"
    assert before != path.read_bytes()


def test_a_file_of_version_1_is_read_without_being_changed(path: Path) -> None:
    before = _as_version_1(path)
    with Document.open(path, read_only=True) as document:
        assert [attempt.number for attempt in document.state.attempts] == [1]
    assert path.read_bytes() == before
    assert [each.name for each in path.parent.iterdir()] == [path.name]


def test_a_migrated_file_has_the_tables_of_a_new_one(path: Path, tmp_path: Path) -> None:
    _as_version_1(path)
    Document.open(path).close()
    fresh = tmp_path / "fresh.stirfall"
    Document.create(fresh, CampaignSettings()).close()
    assert _tables(path) == _tables(fresh)


def _tables(path: Path) -> dict[str, set[tuple[object, ...]]]:
    connection = sqlite3.connect(path)
    names = [name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    # Name, type, not null, default, key: the place of a column does not matter.
    tables = {name: {row[1:] for row in connection.execute(f"PRAGMA table_info({name})")} for name in names}
    connection.close()
    return tables


def test_the_steps_of_the_program_lead_to_its_schema_version() -> None:
    assert [step.to_version for step in STEPS] == list(range(2, SCHEMA_VERSION + 1))


def test_a_new_session_has_the_marks_of_the_present_schema(path: Path) -> None:
    Document.create(path, CampaignSettings()).close()
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    assert connection.execute("PRAGMA user_version").fetchone() == (SCHEMA_VERSION,)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    connection.close()
