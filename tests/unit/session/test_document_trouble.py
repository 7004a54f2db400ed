"""Disks that are full, gone or not ours: what cannot be written changes nothing and can be tried again."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome, Parted
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import EventKind, PlannedStep, Run, RunEvent, Step
from stirfall.reporting.sentences import all_sentences, error_sentence
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document
from stirfall.storage.check import check_file
from stirfall.storage.connection import connect

ROOT = Path(__file__).parents[3]
RECORD = c.RecordAttempt(Attempt("", 0, Conditions({"temperature": 150.0}), note="n" * 20_000))


class FailingConnection(sqlite3.Connection):
    """A real connection whose disk fails at a chosen statement, with SQLite's own error code."""

    fail_at = ""
    fail_in: int | None = None
    """After how many statements of a write one fails, its COMMIT among them."""
    error_code = sqlite3.SQLITE_FULL

    def execute(self, sql: str, parameters: object = (), /) -> sqlite3.Cursor:  # type: ignore[override]
        self._fail_if_wanted(sql)
        return super().execute(sql, parameters)  # type: ignore[arg-type]

    def executemany(self, sql: str, parameters: object, /) -> sqlite3.Cursor:  # type: ignore[override]
        self._fail_if_wanted(sql)
        return super().executemany(sql, parameters)  # type: ignore[arg-type]

    def _fail_if_wanted(self, sql: str) -> None:
        is_wanted = bool(self.fail_at) and sql.startswith(self.fail_at)
        if self.fail_in is not None and sql != "ROLLBACK":
            is_wanted, self.fail_in = self.fail_in == 0, self.fail_in - 1
        if is_wanted:
            error = sqlite3.OperationalError("injected")
            error.sqlite_errorcode = self.error_code
            raise error


@pytest.fixture
def failing(document: Document, path: Path, clock: FixedClock) -> Callable[[], tuple[Document, FailingConnection]]:
    made: list[FailingConnection] = []

    def connect_failing(place: Path, read_only: bool) -> sqlite3.Connection:
        connection = sqlite3.connect(place, isolation_level=None, factory=FailingConnection)
        connection.execute("PRAGMA foreign_keys = ON")
        made.append(connection)
        return connection

    def open_it() -> tuple[Document, FailingConnection]:
        document.close()
        return Document.open(path, clock=clock, connect_with=connect_failing), made[0]

    return open_it


@pytest.mark.parametrize(
    ("fail_at", "sqlite_code", "code"),
    [
        ("BEGIN", sqlite3.SQLITE_BUSY, "file.busy"),
        ("INSERT INTO command", sqlite3.SQLITE_FULL, "file.disk_full"),
        ("INSERT INTO attempt", sqlite3.SQLITE_FULL, "file.disk_full"),
        ("COMMIT", sqlite3.SQLITE_FULL, "file.disk_full"),
        ("COMMIT", sqlite3.SQLITE_IOERR_FSYNC, "file.io_error"),
        ("COMMIT", sqlite3.SQLITE_READONLY_DBMOVED, "file.not_writable"),
        ("BEGIN", sqlite3.SQLITE_CANTOPEN, "file.cannot_open"),
    ],
)
def test_a_failing_disk_is_told_by_its_code_and_the_same_command_succeeds_later(
    failing: Callable[[], tuple[Document, FailingConnection]], fail_at: str, sqlite_code: int, code: str
) -> None:
    document, connection = failing()
    with document:
        state = document.state
        heard: list[str] = []
        document.subscribe(lambda changes, origin: heard.append(changes.name))
        connection.fail_at, connection.error_code = fail_at, sqlite_code
        with pytest.raises(FileTroubleError) as caught:
            document.execute(RECORD)
        assert caught.value.code == code
        assert "{" not in error_sentence(caught.value)
        assert document.state is state
        assert (document.undo_name, heard) == (None, [])
        connection.fail_at = ""
        assert document.execute(RECORD).name == "Record attempt 1"
        assert len(document.state.attempts) == 1


def test_a_disk_that_is_really_full_for_sqlite_is_told_and_survived(
    failing: Callable[[], tuple[Document, FailingConnection]],
) -> None:
    document, connection = failing()
    with document:
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count = {pages + 1}")
        with pytest.raises(FileTroubleError) as caught:
            document.execute(RECORD)
        assert caught.value.code == "file.disk_full"
        assert document.state.attempts == ()
        connection.execute("PRAGMA max_page_count = 1000000")
        document.execute(RECORD)
        assert [attempt.number for attempt in document.state.attempts] == [1]


def test_whatever_is_written_of_shelf_and_runs_is_there_whole_or_not_at_all(
    failing: Callable[[], tuple[Document, FailingConnection]], path: Path, clock: FixedClock
) -> None:
    document, connection = failing()
    now, lot = clock.now(), "L1"
    run = Run("r1", now, steps=(PlannedStep(Step.HEAT),), jar_id="J2")
    attempt = Attempt("a1", 0, Conditions(), jar_id="J2", parted=Parted.NO, run_id="r1")
    commands: tuple[c.Command, ...] = (
        c.SplitLot(lot, (Jar("J2", lot, now, planned=True), Jar("J3", lot, now))),
        c.StartJar("J2", now),
        c.BeginRun(run),
        c.AddRunEvent(RunEvent("", "r1", EventKind.LEFT, now)),
        c.AddRunEvent(RunEvent("", "r1", EventKind.MARK, now, word="smoke")),
        c.RecordAttempt(attempt, empties_jar=True),
        c.EndRun("r1"),
        c.GradeAgain("a1", Outcome.CLEAN),
        c.Acknowledge("key", "alarm"),
        c.AttachPhoto("a1", "p", "image/png", b"1", b"22"),
        c.AttachLog("a1", "log", ((now, 20.0),)),
        c.SetAnchor(Outcome.CLEAN, "p", "image/png", b"1"),
    )
    with document:
        acts = [lambda command=command: document.execute(command) for command in commands]  # type: ignore[misc]
        acts += [document.undo] * (len(commands) - 1) + [document.redo] * (len(commands) - 1)
        for act in acts:
            state, names = document.state, (document.undo_name, document.redo_name)
            failures = 0
            while True:
                connection.fail_in = failures
                try:
                    act()
                except FileTroubleError:
                    assert document.state is state
                    assert (document.undo_name, document.redo_name) == names
                    failures += 1
                else:
                    break
            connection.fail_in = None
            assert failures >= 4  # BEGIN, the log of commands, the record, COMMIT
        state = document.state
    with Document.open(path, clock=clock) as again:
        assert again.state == state
        assert len(again.logs("a1")) == len(again.photos("a1")) == len(again.anchors()) == 1
    assert [finding.code for finding in check_file(path)] == ["check.counts"]


@pytest.mark.parametrize("fail_at", ["BEGIN", "INSERT INTO command", "INSERT INTO run_event", "COMMIT"])
def test_a_disk_that_is_full_during_a_run_loses_no_event_that_was_written(
    failing: Callable[[], tuple[Document, FailingConnection]], path: Path, fail_at: str
) -> None:
    document, connection = failing()
    with document:
        document.execute(c.BeginRun(Run("r1", document.now(), steps=(PlannedStep(Step.HEAT),))))
        mark = c.AddRunEvent(RunEvent("", "r1", EventKind.MARK, document.now(), word="first powder"))
        document.execute(mark)
        state = document.state
        connection.fail_at = fail_at
        with pytest.raises(FileTroubleError) as caught:
            document.execute(mark)
        assert caught.value.code == "file.disk_full"
        assert "Make room" in error_sentence(caught.value)  # what to do
        assert document.state is state
        assert document.undo_name == "Mark first powder"
        with Document.open(path, read_only=True) as other:
            assert other.state == state
        connection.fail_at = ""
        document.execute(mark)
    with Document.open(path) as again:
        assert [each.word for each in again.state.runs[0].events] == ["first powder"] * 2


def test_a_failed_undo_leaves_it_to_be_undone(failing: Callable[[], tuple[Document, FailingConnection]]) -> None:
    document, connection = failing()
    with document:
        document.execute(RECORD)
        connection.fail_at = "COMMIT"
        with pytest.raises(FileTroubleError):
            document.undo()
        assert document.undo_name == "Record attempt 1"
        connection.fail_at = ""
        document.undo()
        assert document.state.attempts == ()


def test_a_bug_in_our_own_sql_is_not_blamed_on_the_disk(
    failing: Callable[[], tuple[Document, FailingConnection]],
) -> None:
    document, connection = failing()
    with document:
        connection.fail_at, connection.error_code = "INSERT", sqlite3.SQLITE_MISUSE
        with pytest.raises(sqlite3.OperationalError):
            document.execute(RECORD)
        assert document.state.attempts == ()


def test_a_file_that_was_deleted_while_open_takes_no_writes_that_would_be_lost(
    document: Document, path: Path, tmp_path: Path
) -> None:
    path.rename(tmp_path / "elsewhere.stirfall")
    with pytest.raises(FileTroubleError) as caught:
        document.execute(RECORD)
    assert caught.value.code == "file.gone"
    (tmp_path / "elsewhere.stirfall").rename(path)
    assert document.execute(RECORD).new_attempt_id


def test_a_file_that_another_took_the_place_of_is_left_alone(
    document: Document, path: Path, tmp_path: Path
) -> None:
    Document.create(tmp_path / "other.stirfall", CampaignSettings()).close()
    (tmp_path / "other.stirfall").replace(path)
    content = path.read_bytes()
    with pytest.raises(FileTroubleError) as caught:
        document.execute(RECORD)
    assert caught.value.code == "file.replaced"
    assert path.read_bytes() == content
    document.save_copy(tmp_path / "rescued.stirfall")
    with Document.open(tmp_path / "rescued.stirfall") as rescued:
        assert rescued.state == document.state


def test_a_change_by_another_program_is_noticed_before_it_is_written_over(document: Document, path: Path) -> None:
    other = sqlite3.connect(path)
    other.execute("UPDATE lot SET note = 'changed by hand'")
    other.commit()
    other.close()
    with pytest.raises(FileTroubleError) as caught:
        document.execute(RECORD)
    assert caught.value.code == "file.changed_elsewhere"


def test_a_second_process_opens_read_only_and_is_told_who_writes(document: Document, path: Path) -> None:
    script = (
        "import sys\n"
        "from stirfall.session.document import Document\n"
        "with Document.open(sys.argv[1]) as d:\n"
        "    r = d.read_only_reason\n"
        "    p = r.params\n"
        "    print(d.read_only, r.code, p['pid'], bool(p['host']), p['since'][:2], d.state.lots[0].id)\n"
    )
    content = path.read_bytes()
    names = sorted(path.parent.iterdir())
    ran = subprocess.run(
        [sys.executable, "-c", script, str(path)],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert ran.stdout.split() == ["True", "file.in_use", str(os.getpid()), "True", "20", "L1"]
    assert path.read_bytes() == content
    assert sorted(path.parent.iterdir()) == names
    assert document.execute(RECORD).new_attempt_id


def test_a_read_only_document_refuses_every_change_and_writes_no_byte(
    document: Document, path: Path, clock: FixedClock
) -> None:
    attempt_id = document.execute(RECORD).new_attempt_id
    document.save_draft({"note": "half"})
    content = path.read_bytes()
    with Document.open(path, clock=clock) as second:
        assert second.read_only
        assert second.read_only_reason is not None
        assert "{" not in error_sentence(second.read_only_reason)
        assert second.draft == {"note": "half"}
        assert second.corrections() == ()
        assert second.photos(str(attempt_id)) == ()
        for act in (
            lambda: second.execute(RECORD),
            second.undo,
            second.redo,
            lambda: second.save_draft({}),
            second.clear_draft,
        ):
            with pytest.raises(InputError) as caught:
                act()
            assert caught.value.code == "session.read_only"
    assert path.read_bytes() == content
    assert "session.read_only" in all_sentences()


def test_the_right_to_write_is_free_again_after_closing(document: Document, path: Path) -> None:
    document.close()
    document.close()
    with Document.open(path) as again:
        assert not again.read_only
        again.execute(c.AddLot(Lot("L2")))
    assert list(path.parent.iterdir()) == [path]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="needs a folder that takes files from nobody")
def test_a_folder_that_takes_no_new_file_is_named() -> None:
    with pytest.raises(FileTroubleError) as caught:
        Document.create("/sys/trial.stirfall", CampaignSettings())
    assert caught.value.code == "file.folder_closed"
    assert "/sys." in error_sentence(caught.value)


@pytest.mark.skipif(sys.platform == "win32", reason="rights of folders work differently there")
def test_a_session_in_a_folder_that_may_not_be_written_opens_read_only() -> None:
    script = (
        "import os, sys\n"
        "from stirfall.session.document import Document\n"
        "if os.geteuid() == 0:\n"
        "    os.setuid(65534)\n"  # the superuser may write anywhere, so the test becomes nobody
        "with Document.open(sys.argv[1]) as d:\n"
        "    print(d.read_only, d.read_only_reason.code, len(d.state.lots))\n"
    )
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "trial.stirfall"
        Document.create(path, CampaignSettings(), lots=[Lot("L1")]).close()
        folder.chmod(0o555)
        try:
            ran = subprocess.run(
                [sys.executable, "-c", script, str(path)],
                env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
                capture_output=True,
                text=True,
                check=False,
                timeout=60,
            )
        finally:
            folder.chmod(0o755)
        assert ran.stdout.split() == ["True", "file.not_writable", "1"], ran.stderr
        assert [entry.name for entry in folder.iterdir()] == [path.name]


def test_the_usual_connection_has_the_pragmas_of_a_file_that_people_copy(document: Document, path: Path) -> None:
    connection = connect(path, False)
    values = {
        name: connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
    }
    connection.close()
    assert values == {"journal_mode": "delete", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 2000}
