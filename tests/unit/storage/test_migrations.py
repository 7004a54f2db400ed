"""Older files are brought up to date step by step, with a backup first; a failed step harms nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.records import CampaignSettings
from stirfall.session.document import Document
from stirfall.storage.migration import STEPS, Step, migrate, schema_version
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
    assert caught.value.code == "file.older"
    assert path.read_bytes() == content
    assert len(list(path.parent.iterdir())) == 1


def test_the_steps_of_the_program_lead_to_its_schema_version() -> None:
    assert [step.to_version for step in STEPS] == list(range(2, SCHEMA_VERSION + 1))


def test_a_new_session_has_the_marks_of_the_present_schema(path: Path) -> None:
    Document.create(path, CampaignSettings()).close()
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    assert connection.execute("PRAGMA user_version").fetchone() == (SCHEMA_VERSION,)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    connection.close()
