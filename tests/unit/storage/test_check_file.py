"""The full check of a session file finds what is wrong, counts what is there, and writes nothing."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome, Parted
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import EventKind, PlannedStep, Run, RunEvent, Step
from stirfall.reporting.sentences import sentence
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock, SystemClock
from stirfall.session.document import Document
from stirfall.storage.check import CheckFinding, check_file


@pytest.fixture
def session(tmp_path: Path) -> Path:
    path = tmp_path / "trial.stirfall"
    now = FixedClock(SystemClock().now())
    attempts = [Attempt("", 0, Conditions(), note=f"{number} " * 200) for number in range(60)]
    with Document.create(
        path, CampaignSettings(), lots=[Lot("L1")], jars=[Jar("J1", "L1", now.now())], attempts=attempts, clock=now
    ) as document:
        attempt_id = document.state.attempts[0].id
        document.execute(c.StrikeAttempt(attempt_id, "x"))
        document.execute(c.AttachPhoto(attempt_id, "p", "image/png", b"1"))
        document.execute(c.RecordAttempt(Attempt("", 0, Conditions(), lot_id="L1")))
        document.undo()
        document.execute(c.BeginRun(Run("r1", now.now(), steps=(PlannedStep(Step.HEAT),), jar_id="J1")))
        document.execute(c.AddRunEvent(RunEvent("", "r1", EventKind.MARK, now.now(), word="smoke")))
        document.execute(c.SetAnchor(Outcome.CLEAN, "p", "image/png", b"1"))
        graded = document.state.attempts[1].id
        document.execute(c.AttachLog(graded, "log.csv", ((now.now(), 20.0),)))
        document.execute(c.CorrectAttempt(graded, {"parted": Parted.NO}, "seen again"))
        document.execute(c.GradeAgain(graded, Outcome.PARTLY_PARTED))
    return path


def codes(path: Path) -> list[str]:
    content = path.read_bytes() if path.is_file() else b""
    names = sorted(path.parent.iterdir())
    findings = check_file(path)
    assert (path.read_bytes() if path.is_file() else b"") == content
    assert sorted(path.parent.iterdir()) == names
    for finding in findings:
        assert "{" not in sentence(finding.code, finding.params)
    return [finding.code for finding in findings]


def test_a_whole_session_has_only_its_counts(session: Path) -> None:
    assert codes(session) == ["check.counts"]
    counts = {"lots": 1, "jars": 1, "attempts": 61, "corrections": 3, "attachments": 1, "struck": 1, "withdrawn": 1}
    counts |= {
        "runs": 1,
        "run_events": 1,
        "regrades": 1,
        "temperature_logs": 1,
        "anchors": 1,
        "proofs": 0,
        "evening_plans": 0,
        "comparisons": 0,
        "issued_recipes": 0,
        "change_marks": 0,
    }
    assert check_file(session) == (CheckFinding("check.counts", counts, is_problem=False),)


def sql(statement: str) -> Callable[[Path], None]:
    def change(path: Path) -> None:
        connection = sqlite3.connect(path)
        connection.execute(statement)
        connection.commit()
        connection.close()

    return change


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-4096])


@pytest.mark.parametrize(
    ("harm", "code"),
    [
        (sql("DELETE FROM lot"), "check.reference"),
        (sql("DROP TABLE correction"), "check.table"),
        (sql("UPDATE attempt SET pooled = 'soup'"), "check.record"),
        (sql("UPDATE regrade SET outcome = 'soup'"), "check.record"),
        (sql("UPDATE anchor SET outcome = 'soup'"), "check.record"),
        (sql("UPDATE temperature_log SET points = '[]'"), "check.record"),
        (sql("UPDATE run_event SET kind = 'soup'"), "check.record"),
        (sql("UPDATE run SET withdrawn = 1"), "check.taken_back"),
        (sql("UPDATE run SET attempt_id = (SELECT id FROM attempt LIMIT 1)"), "check.run_differs"),
        (sql("PRAGMA application_id = 7"), "file.foreign"),
        (sql("PRAGMA user_version = 99"), "file.newer"),
        (cut, "file.damaged"),
        (Path.unlink, "file.missing"),
        (lambda path: path.write_bytes(b"x"), "file.foreign"),
    ],
)
def test_each_harm_is_found(session: Path, harm: Callable[[Path], None], code: str) -> None:
    harm(session)
    findings = [found for found in codes(session) if found != "check.counts"]
    assert code in findings or (code == "file.damaged" and "check.page" in findings)
    assert any(finding.is_problem for finding in check_file(session))


def test_damage_inside_an_index_is_found_though_every_row_can_be_read(session: Path) -> None:
    connection = sqlite3.connect(session)
    (page,) = connection.execute(
        "SELECT rootpage FROM sqlite_master WHERE name = 'correction_by_record'"
    ).fetchone()
    connection.close()
    content = bytearray(session.read_bytes())
    # The last bytes of the leaf hold the key that was put in first; other bytes there match no row.
    end = page * 4096
    content[end - 3 : end] = bytes(byte ^ 0x55 for byte in content[end - 3 : end])
    session.write_bytes(content)
    assert "check.page" in codes(session)


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_an_unfinished_write_is_a_note_and_the_readers_see_the_state_before_it(session: Path) -> None:
    before = Document.open(session, read_only=True)
    state = before.state
    before.close()
    # A tiny page cache makes SQLite write into the file before the commit, so that the kill leaves a hot journal.
    script = (
        "import os, signal, sqlite3, sys\n"
        "c = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "c.execute('PRAGMA cache_size = 5')\n"
        "c.execute('BEGIN IMMEDIATE')\n"
        "for note in 'ab':\n"
        "    c.execute('UPDATE attempt SET note = ?', (note * 400,))\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    ran = subprocess.run([sys.executable, "-c", script, str(session)], check=False, timeout=60)
    assert ran.returncode == -signal.SIGKILL
    journal = session.with_name(f"{session.name}-journal")
    assert journal.stat().st_size > 0
    assert codes(session) == ["check.unfinished_write", "check.counts"]
    torn = session.read_bytes()
    with Document.open(session, read_only=True) as document:
        assert document.state == state
    assert session.read_bytes() == torn
    with Document.open(session) as document:
        assert document.state == state
    assert not journal.exists()
    assert codes(session) == ["check.counts"]
