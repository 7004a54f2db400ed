"""``stirfall labels``: a PDF without a display."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.session.document import Document


@pytest.fixture
def session(tmp_path: Path) -> Path:
    started = datetime(2026, 11, 20, tzinfo=UTC)
    jars = tuple(Jar(name, "L1", started) for name in ("J1", "J2", "a, b"))
    path = tmp_path / "labels.stirfall"
    Document.create(path, CampaignSettings(title="Labels"), lots=(Lot("L1"),), jars=jars).close()
    return path


def pages(path: Path) -> int:
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", path.read_bytes()))


def test_labels_of_the_shelf_go_on_a_sheet(stirfall_command: Callable[..., Any], session: Path) -> None:
    out = session.parent / "new folder" / "labels.pdf"
    done = stirfall_command("labels", session, "--out", out)
    assert (done.code, done.err) == (0, "")
    assert "3 labels on 1 page" in done.out
    assert out.read_bytes().startswith(b"%PDF-1.")
    assert pages(out) == 1


def test_one_by_one_and_from_a_position_on(stirfall_command: Callable[..., Any], session: Path) -> None:
    out = session.parent / "labels.pdf"
    assert stirfall_command("labels", session, "--jars", "J1,j2", "--single", "--out", out).code == 0
    assert pages(out) == 2
    assert re.search(rb"/MediaBox\s*\[\s*0\s+0\s+19[89]", out.read_bytes())  # 70 mm are 198.4 points
    done = stirfall_command("labels", session, "--jars", "a, b", "--start-at", 24, "--out", out, "--cut-lines")
    assert "1 label on 1 page" in done.out
    done = stirfall_command("labels", session, "--jars", "J1", "--copies", "2", "--out", out)
    assert "2 labels on 1 page" in done.out
    done = stirfall_command("labels", session, "--size", "99x67,5", "--gap", "2x0", "--start-at", 8, "--out", out)
    assert done.code == 0
    assert pages(out) == 2


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--jars", "X9"), "X9"),
        (("--jars", "residue"), "residue"),
        (("--attempts", "3"), "no attempt 3"),
        (("--attempts", "three"), "no attempt three"),
        (("--grid", "3.5x8"), "3.5x8"),
        (("--grid", "many"), "many"),
        (("--grid", "3x8", "--size", "70x37"), "not both"),
        (("--size", "20x10"), "too small"),
        (("--start-at", "25"), "1 to 24"),
        (("--paper", "napkin"), "napkin"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line_and_nothing_is_written(
    stirfall_command: Callable[..., Any], session: Path, options: tuple[str, ...], said: str
) -> None:
    out = session.parent / "labels.pdf"
    done = stirfall_command("labels", session, *options, "--out", out)
    assert done.code == 2
    assert said in done.err
    assert done.err.count("\n") == 1
    assert not out.exists()
