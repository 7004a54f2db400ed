"""``stirfall pool`` and ``stirfall benches``: files in, a new session out; what benches say, as text and JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "session"))

from pool_benches import SETTINGS, a_bench

from stirfall.bench.errors import InputError
from stirfall.scripting import Campaign, pool
from stirfall.session.commands import AttachPhoto
from stirfall.session.document import Document
from stirfall.storage.package import write_package

Run = Callable[..., Any]
PNG = bytes.fromhex("89504e470d0a1a0a")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A session of North, a package of South, and a session of West, which has other outcome rules."""
    outcomes = (True, False, True, True, False, True)
    with Document.create_from(tmp_path / "north.stirfall", a_bench("North", outcomes).state) as north:
        first = north.state.attempts[0].id
        north.execute(AttachPhoto(first, "a.png", "image/png", PNG + b"picture"))
    write_package(a_bench("South", outcomes, day=0.3).state, (), tmp_path / "south")
    west = a_bench("West", outcomes, settings=replace(SETTINGS, partly="success"), day=0.6)
    Document.create_from(tmp_path / "west.stirfall", west.state).close()
    return tmp_path


def test_a_session_and_a_package_become_one_session(folder: Path, stirfall_command: Run) -> None:
    out = folder / "all.stirfall"
    done = stirfall_command("pool", out, folder / "north.stirfall", f"{folder / 'south'}=Hut")
    assert done.code == 0
    assert "Together: 12 attempts of 2 benches" in done.out
    assert "1 photo" in done.out
    with Document.open(out, read_only=True) as document:
        benches = {each.origin.bench for each in document.state.attempts if each.origin is not None}
        assert benches == {"North", "Hut"}
        assert not document.photographed()


def test_photos_come_along_when_asked_for(folder: Path, stirfall_command: Run) -> None:
    out = folder / "all.stirfall"
    arguments = ("pool", out, folder / "north.stirfall", folder / "south", "--with", "photos", "--title", "Both")
    assert stirfall_command(*arguments).code == 0
    with Document.open(out, read_only=True) as document:
        assert document.state.settings.title == "Both"
        (photographed,) = document.photographed()
        assert document.photos(photographed)[0].data == PNG + b"picture"


def test_what_cannot_be_one_says_why_and_writes_nothing(folder: Path, stirfall_command: Run) -> None:
    done = stirfall_command("pool", folder / "all.stirfall", folder / "north.stirfall", folder / "west.stirfall")
    assert done.code == 1
    assert "rule for partly parted attempts differs" in done.err
    assert not (folder / "all.stirfall").exists()


def test_a_dry_run_tells_all_as_a_document_and_writes_nothing(folder: Path, stirfall_command: Run) -> None:
    out = folder / "all.stirfall"
    arguments = ("pool", out, folder / "north.stirfall", folder / "south", "--dry-run", "--json")
    told = json.loads(stirfall_command(*arguments).out)
    assert (told["schema"], told["pooled"], told["path"], told["attempts"]) == ("stirfall.pool/1", True, None, 12)
    assert [each["bench"] for each in told["sources"]] == ["North", "South"]
    assert not out.exists()
    refused = stirfall_command("pool", out, folder / "north.stirfall", folder / "west.stirfall", "--json")
    assert refused.code == 1
    assert json.loads(refused.out)["refusals"][0]["code"] == "pool.definition_differs"


def test_files_that_cannot_be_used_are_one_line(folder: Path, stirfall_command: Run) -> None:
    done = stirfall_command("pool", folder / "all.stirfall", folder / "north.stirfall", folder / "nowhere.stirfall")
    assert done.code == 2
    assert "nowhere.stirfall" in done.err
    (folder / "taken.stirfall").touch()
    taken = stirfall_command("pool", folder / "taken.stirfall", folder / "north.stirfall", folder / "south")
    assert (taken.code, taken.err.count("\n")) == (2, 1)


def test_benches_are_told_as_text_and_as_a_document(folder: Path, stirfall_command: Run) -> None:
    out = folder / "all.stirfall"
    stirfall_command("pool", out, folder / "north.stirfall", folder / "south")
    text = stirfall_command("benches", out).out
    assert "North: 6 attempts, 1 lot" in text
    assert "clean 4 of 6" in text
    told = json.loads(stirfall_command("benches", out, "--at", "sample age=24 h", "--json").out)
    assert told["schema"] == "stirfall.benches/1"
    assert told["recipe"]["sample age"] == 24.0
    assert [each["name"] for each in told["benches"]] == ["North", "South"]


def test_scripts_pool_and_ask(folder: Path) -> None:
    report = pool(folder / "all.stirfall", {"North": folder / "north.stirfall", "South": folder / "south"})
    assert report.path == folder / "all.stirfall"
    assert any("Together: 12 attempts" in line for line in report.text)
    with Campaign.open(report.path) as campaign:
        assert len(campaign.benches().found.benches) == 2
    assert pool(None, {"North": folder / "north.stirfall", "South": folder / "south"}).path is None
    with pytest.raises(InputError, match="cannot be pooled"):
        pool(None, {"North": folder / "north.stirfall", "West": folder / "west.stirfall"})
