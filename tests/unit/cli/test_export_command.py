"""``stirfall export`` and ``stirfall new --package``: there and back on the command line and in scripts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stirfall.bench.errors import StirfallError
from stirfall.script_package import import_package
from stirfall.scripting import Campaign
from stirfall.session.commands import AttachPhoto
from stirfall.session.document import Document


@pytest.fixture
def session(graded: Path) -> Path:
    """Return a session whose third attempt has a photo and its original."""
    with Document.open(graded) as document:
        attempt = document.state.attempts[2]
        document.execute(AttachPhoto(attempt.id, "=pool.jpg", "image/jpeg", b"\xff\xd8small", b"\xff\xd8large"))
    return graded


def said(told) -> str:
    """Return what was printed, without what terminals break."""
    return " ".join((told.out + told.err).split())


def test_there_and_back(session, tmp_path, stirfall_command):
    told = stirfall_command("export", session, "--out", tmp_path / "p.zip", "--originals")
    assert told.code == 0, told.out
    assert "11 attempts, 2 lots, 1 photo." in said(told)
    back = stirfall_command("new", tmp_path / "back.stirfall", "--package", tmp_path / "p.zip")
    assert back.code == 0, back.out
    assert "11 attempts, 2 factors, 2 lots, 1 photo." in said(back)
    with Document.open(session) as first, Document.open(tmp_path / "back.stirfall") as second:
        assert first.state == second.state
        assert first.bulky() == second.bulky()
        assert first.fingerprint == second.fingerprint


def test_json_says_rows_and_what_was_left_out_and_a_folder_is_a_package_too(session, tmp_path, stirfall_command):
    told = stirfall_command("export", session, "--out", tmp_path / "p", "--photos", "1,4-9", "--json")
    assert told.code == 0, told.out
    document = json.loads(told.out)
    assert document["schema"] == "stirfall.export/1"
    assert document["rows"]["attempts"] == 11
    assert document["left_out"] == {"photos": 1, "originals": 0, "undone": 0, "drafts": 0}
    assert document["bytes"] == sum(path.stat().st_size for path in (tmp_path / "p").rglob("*") if path.is_file())
    back = stirfall_command("new", tmp_path / "b.stirfall", "--package", tmp_path / "p" / "datapackage.json")
    assert back.code == 0, back.out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--photos", "many"), "does not say which photos"),
        (("--photos", "99"), "There is no attempt 99"),
        (("--out", "{folder}/taken"), "holds other files"),
        (("--out", "{folder}/zip.zip"), "is a folder"),
    ],
)
def test_an_export_that_cannot_be_says_what_to_do(session, tmp_path, stirfall_command, arguments, words):
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "letter.txt").write_text("keep me", encoding="utf-8")
    (tmp_path / "zip.zip").mkdir()
    place = [text.format(folder=tmp_path) for text in arguments]
    told = stirfall_command("export", session, "--out", tmp_path / "p.zip", *place)
    assert told.code == 2
    assert words in said(told)
    assert (tmp_path / "taken" / "letter.txt").read_text(encoding="utf-8") == "keep me"


def test_a_package_goes_with_no_other_option_and_over_no_file(session, tmp_path, stirfall_command):
    stirfall_command("export", session, "--out", tmp_path / "p.zip")
    for option in (("--title", "x"), ("--from", "t.csv"), ("--film-index",)):
        told = stirfall_command("new", tmp_path / "b.stirfall", "--package", tmp_path / "p.zip", *option)
        assert told.code == 2
        assert option[0] in said(told)
    assert not (tmp_path / "b.stirfall").exists()
    told = stirfall_command("new", session, "--package", tmp_path / "p.zip")
    assert told.code == 2
    told = stirfall_command("new", tmp_path / "b.stirfall", "--package", session)
    assert told.code == 2
    assert "is no whole zip file" in said(told)


def test_scripts_write_and_read_packages(session, tmp_path):
    with Campaign.open(session) as campaign:
        report = campaign.export(tmp_path / "p.zip", photos=[3])
        assert report.found.rows["photos"] == 1
        assert report.text[0].startswith(f"Wrote {tmp_path / 'p.zip'}: 11 attempts")
        assert campaign.export(tmp_path / "q.zip", photos=()).found.left_out.photos == 1
        with import_package(report.path, tmp_path / "back.stirfall") as back:
            assert back.attempts == campaign.attempts
        with pytest.raises(StirfallError, match="no_zip"):
            import_package(session, tmp_path / "other.stirfall")
