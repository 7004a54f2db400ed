"""Copies are complete or absent."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.records import CampaignSettings, Lot
from stirfall.session.document import Document
from stirfall.session.packages import export_package
from stirfall.storage.copies import copy_database, put_in_place, replacing, write_atomic


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "trial.stirfall"


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(tmp_path: Path) -> None:
    target = tmp_path / "recipe.md"
    target.write_bytes(b"old")

    def write_half() -> None:
        with replacing(target) as part:
            part.write_bytes(b"ne")
            raise ValueError("half way")

    with pytest.raises(ValueError, match="half way"):
        write_half()
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_copy_onto_the_session_or_onto_an_open_session_or_into_nowhere_is_refused(
    path: Path, tmp_path: Path
) -> None:
    link = tmp_path / "link.stirfall"
    link.symlink_to(path)
    with (
        Document.create(path, CampaignSettings(), lots=[Lot("L1")]) as document,
        Document.create(tmp_path / "other.stirfall", CampaignSettings()) as other,
    ):
        for target, code in (
            (path, "file.copy_onto_itself"),
            (link, "file.copy_onto_itself"),
            (other.path, "file.in_use"),
            (tmp_path / "none" / "a.stirfall", "file.no_folder"),
        ):
            with pytest.raises(FileTroubleError) as caught:
                document.save_copy(target)
            assert caught.value.code == code
        assert other.state.lots == ()


def test_a_read_only_session_can_be_copied(path: Path, tmp_path: Path) -> None:
    Document.create(path, CampaignSettings(), lots=[Lot("L1")]).close()
    with Document.open(path, read_only=True) as document:
        document.save_copy(tmp_path / "copy.stirfall")
        with Document.open(tmp_path / "copy.stirfall") as copy:
            assert copy.state == document.state
            assert not copy.read_only


def test_a_failed_copy_leaves_the_old_target_and_no_rubbish(tmp_path: Path) -> None:
    target = tmp_path / "copy"
    target.write_bytes(b"old")
    connection = sqlite3.connect(":memory:", isolation_level=None)
    connection.execute("BEGIN")  # VACUUM is impossible inside a transaction
    with pytest.raises(sqlite3.OperationalError):
        copy_database(connection, target)
    connection.close()
    assert target.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["copy"]


def test_a_small_file_is_replaced_whole(tmp_path: Path) -> None:
    target = tmp_path / "settings.json"
    write_atomic(target, b"one")
    write_atomic(target, b"two")
    assert target.read_bytes() == b"two"
    assert [entry.name for entry in tmp_path.iterdir()] == ["settings.json"]


def test_a_finished_file_never_takes_a_name_that_is_taken(tmp_path: Path) -> None:
    part, target = tmp_path / "part", tmp_path / "target"
    part.write_bytes(b"new")
    target.write_bytes(b"old")
    with pytest.raises(FileExistsError):
        put_in_place(part, target)
    assert target.read_bytes() == b"old"
    target.unlink()
    put_in_place(part, target)
    assert target.read_bytes() == b"new"
    assert not part.exists()


def test_nothing_but_a_copy_of_a_session_takes_the_place_of_a_session(tmp_path: Path) -> None:
    """A session may be called anything, also the name that a report or package is given. No source."""
    path = tmp_path / "campaign.zip"
    Document.create(path, CampaignSettings(title="kept"), lots=[Lot("L1")]).close()
    kept = path.read_bytes()
    with pytest.raises(FileExistsError, match="A session is there"):
        write_atomic(path, b"a report")
    with Document.open(path, read_only=True) as document:
        with pytest.raises(FileTroubleError, match=r"package\.cannot_write"):
            export_package(document, path)
        document.save_copy(tmp_path / "copy.stirfall")
        document.save_copy(tmp_path / "copy.stirfall")  # an older copy may go
    assert path.read_bytes() == kept
    assert sorted(each.name for each in tmp_path.iterdir()) == ["campaign.zip", "copy.stirfall"]
