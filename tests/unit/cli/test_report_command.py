"""``stirfall report``: files in the forms that were asked for, and one line for what cannot be done."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.errors import InputError
from stirfall.cli.report import SCHEMA
from stirfall.scripting import Campaign
from stirfall.session.document import Document
from stirfall.session.packages import import_package

Run = Callable[..., Any]


def test_page_and_bundle_are_written_and_told_as_json(stirfall_command: Run, graded: Path, tmp_path: Path) -> None:
    page, bundle = tmp_path / "out" / "report.html", tmp_path / "out" / "trial-bundle.zip"
    done = stirfall_command("report", graded, "--out", page, "--out", bundle, "--paper", "Letter", "--json")
    assert (done.code, done.err) == (0, "")
    told = json.loads(done.out)
    assert told["schema"] == SCHEMA
    with Document.open(graded, read_only=True) as document:
        assert told["fingerprint"] == document.fingerprint
        state = document.state
    assert told["recommends"] is True
    assert "All attempts" in told["parts"]
    assert told["photos"] == 0
    by_path = {Path(each["path"]).name: each["files"] for each in told["written"]}
    assert by_path["report.html"] == {"report.html": hashlib.sha256(page.read_bytes()).hexdigest()}
    assert set(by_path[bundle.name]) == {*zipfile.ZipFile(bundle).namelist()} - {"checksums.sha256"}
    with import_package(bundle, tmp_path / "again.stirfall") as again:
        assert again.state == state
    text = page.read_text(encoding="utf-8")
    assert "the bath ran dry" in text
    assert "Invented data" not in text


def test_what_cannot_be_done_is_one_line_and_leaves_nothing(
    stirfall_command: Run, graded: Path, tmp_path: Path
) -> None:
    before = set(tmp_path.iterdir())
    for options, word in (
        (("--out", tmp_path / "report.doc"), ".doc"),
        (("--out", tmp_path / "report.pdf", "--paper", "a3"), "a3"),
        (("--out", tmp_path / "report.pdf", "--photos", "few"), "few"),
        (("--out", tmp_path / "report.pdf", "--photos", "3"), "Attempt 3 has no photo"),
    ):
        done = stirfall_command("report", graded, *options)
        assert done.code == 2
        assert word in done.err
        assert len(done.err.strip().splitlines()) == 1
    assert set(tmp_path.iterdir()) == before


def test_a_script_reads_and_saves_the_report(graded: Path, tmp_path: Path) -> None:
    with Campaign.open(graded) as campaign:
        campaign.correct(1, "noted late", note="seen by Anna")
        sheet = campaign.report(at="2026-11-24T18:00:00Z")
        assert sheet.html().startswith("<!DOCTYPE html>")
        assert sheet.markdown().startswith("# Lab report: Graded")
        assert sheet.save(tmp_path / "report.html") == tmp_path / "report.html"
        assert (tmp_path / "report.html").read_text(encoding="utf-8") == sheet.html()
        assert sheet.report.created_at.hour == 18
        with pytest.raises(InputError, match="names no photos"):
            campaign.report(photos="some")
