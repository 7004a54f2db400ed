"""Files that are not, or no longer, a session: each has its own code, and no byte of them changes."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import numpy as np
import pytest

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.factors import Conditions
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.reporting.sentences import error_sentence
from stirfall.session.commands import StrikeAttempt
from stirfall.session.document import Document
from stirfall.storage.check import check_file
from stirfall.storage.schema import APPLICATION_ID, SCHEMA_VERSION


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "trial.stirfall"


@pytest.fixture
def session(path: Path) -> Path:
    """A session of some pages."""
    attempts = [Attempt("", 0, Conditions(), note=f"{number} " * 200) for number in range(60)]
    Document.create(path, CampaignSettings(), lots=[Lot("L1")], attempts=attempts).close()
    return path


def assert_refused_untouched(path: Path, code: str) -> FileTroubleError:
    content = path.read_bytes()
    names = sorted(path.parent.iterdir())
    for read_only in (False, True):
        with pytest.raises(FileTroubleError) as caught:
            Document.open(path, read_only=read_only)
        assert caught.value.code == code
        assert "{" not in error_sentence(caught.value)
    assert path.read_bytes() == content
    assert sorted(path.parent.iterdir()) == names
    return caught.value


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"SQLite format 2\x00" + bytes(200), "tęxt, täble".encode() * 100, bytes(4096)]
)
def test_a_file_that_is_no_database_is_foreign(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    assert_refused_untouched(path, "file.foreign")


def test_a_database_of_another_program_is_foreign(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE attempt (id)")
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID + 1}")
    connection.commit()
    connection.close()
    assert_refused_untouched(path, "file.foreign")


def test_a_session_of_a_newer_program_is_told_apart(session: Path) -> None:
    connection = sqlite3.connect(session)
    connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    connection.commit()
    connection.close()
    error = assert_refused_untouched(session, "file.newer")
    assert (error.params["version"], error.params["known"]) == (SCHEMA_VERSION + 1, SCHEMA_VERSION)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99])
def test_a_truncated_session_is_damaged(session: Path, share: float) -> None:
    content = session.read_bytes()
    session.write_bytes(content[: max(50, int(len(content) * share))])
    assert_refused_untouched(session, "file.damaged")


@pytest.mark.parametrize("lost", [1, 100, 4095, 4096])
def test_a_session_that_lost_just_its_last_bytes_is_damaged(session: Path, lost: int) -> None:
    session.write_bytes(session.read_bytes()[:-lost])
    assert_refused_untouched(session, "file.damaged")
    assert [finding.is_problem for finding in check_file(session)][:1] == [True]


@pytest.mark.parametrize("page", [1, 3, 7])
def test_a_session_with_a_page_of_rubbish_is_damaged(session: Path, page: int) -> None:
    content = bytearray(session.read_bytes())
    content[page * 4096 : (page + 1) * 4096] = b"\xa5" * 4096
    session.write_bytes(content)
    assert_refused_untouched(session, "file.damaged")


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE attempt SET parted = 'maybe' WHERE number = 3",
        "UPDATE attempt SET conditions = '[1]' WHERE number = 3",
        "UPDATE attempt SET trials = 0 WHERE number = 3",
        "UPDATE attempt SET recorded_at = 'yesterday' WHERE number = 3",
        "UPDATE setting SET value = '7' WHERE key = 'gates'",
        "UPDATE setting SET value = '\"cheese\"' WHERE key = 'material'",
        "UPDATE factor SET low = 1e9",
    ],
)
def test_a_record_that_makes_no_sense_is_damage_not_a_crash(session: Path, sql: str) -> None:
    connection = sqlite3.connect(session)
    connection.execute(sql)
    connection.commit()
    connection.close()
    assert_refused_untouched(session, "file.damaged")


def test_a_missing_table_is_damage_not_a_crash(session: Path) -> None:
    connection = sqlite3.connect(session)
    connection.execute("DROP TABLE tick")
    connection.commit()
    connection.close()
    assert_refused_untouched(session, "file.damaged")


def test_a_missing_file_or_folder_and_a_folder_are_told_apart(tmp_path: Path, session: Path) -> None:
    for place, code in (
        (tmp_path / "none.stirfall", "file.missing"),
        (tmp_path / "none" / "a.stirfall", "file.missing"),
        (session / "a.stirfall", "file.missing"),
        (tmp_path, "file.is_folder"),
    ):
        with pytest.raises(FileTroubleError) as caught:
            Document.open(place)
        assert caught.value.code == code
    assert [entry.name for entry in tmp_path.iterdir()] == [session.name]


@pytest.mark.parametrize("make", ["session", "text", "folder", "dangling link"])
def test_creating_never_overwrites(path: Path, make: str) -> None:
    if make == "session":
        Document.create(path, CampaignSettings(title="first")).close()
    elif make == "text":
        path.write_bytes(b"precious")
    elif make == "folder":
        path.mkdir()
    else:
        path.symlink_to(path.with_name("nowhere"))
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(FileTroubleError) as caught:
        Document.create(path, CampaignSettings(title="second"))
    assert caught.value.code == "file.exists"
    assert (path.read_bytes() if path.is_file() else b"") == before
    assert len(list(path.parent.iterdir())) == 1


def test_creating_in_a_missing_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileTroubleError) as caught:
        Document.create(tmp_path / "none" / "a.stirfall", CampaignSettings())
    assert caught.value.code == "file.no_folder"
    assert list(tmp_path.iterdir()) == []


def test_names_with_signs_that_mean_something_in_addresses_work(tmp_path: Path) -> None:
    for name in ("a b?mode=ro&x#y%20.stirfall", "ä'\";--.stirfall"):
        Document.create(tmp_path / name, CampaignSettings(title=name)).close()
        with Document.open(tmp_path / name) as document:
            assert not document.read_only
            assert document.state.settings.title == name
    assert len(list(tmp_path.iterdir())) == 2


def test_a_relative_name_and_a_link_open_the_same_session_once(
    session: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    link = tmp_path / "link.stirfall"
    link.symlink_to(session)
    with Document.open(session.name) as document, Document.open(link) as second:
        assert not document.read_only
        assert second.read_only
        assert second.read_only_reason is not None
        assert second.read_only_reason.code == "file.in_use"


def code_of_opening(path: Path) -> str | None:
    try:
        Document.open(path, read_only=True).close()
    except FileTroubleError as error:
        return error.code
    return None


def test_no_flipped_byte_is_taken_for_a_mistake_of_the_program(session: Path) -> None:
    # Bytes that no longer are UTF-8, names of columns that changed, JSON that broke: SQLite and the records fail in
    # many ways, and each is damage that is told as such, by the opener as by the check.
    whole = session.read_bytes()
    rng = np.random.default_rng(11)
    refused = 0
    for _ in range(40):
        content = bytearray(whole)
        # The first page holds the definitions of the tables, the others the records.
        places = [*rng.integers(100, 4096, 12), *rng.integers(100, len(whole), 30)]
        for place in places:
            content[place] = rng.integers(256)
        session.write_bytes(content)
        code = code_of_opening(session)
        refused += code is not None
        assert code in (None, "file.damaged")
        assert all(finding.code.startswith(("file.", "check.")) for finding in check_file(session))
        assert session.read_bytes() == content
    assert refused > 20


def test_a_draft_and_a_correction_that_make_no_sense_are_damage(session: Path) -> None:
    with Document.open(session) as document:
        document.save_draft({"a": 1})
        document.execute(StrikeAttempt(document.state.attempts[0].id, "x"))
    connection = sqlite3.connect(session)
    connection.execute("UPDATE correction SET at = 'yesterday'")
    connection.commit()
    with Document.open(session) as document, pytest.raises(FileTroubleError) as caught:
        document.corrections()
    assert caught.value.code == "file.damaged"
    connection.execute("PRAGMA ignore_check_constraints = ON")
    connection.execute("UPDATE draft SET form = 'half'")
    connection.commit()
    connection.close()
    assert_refused_untouched(session, "file.damaged")
