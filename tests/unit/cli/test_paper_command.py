"""``stirfall paper``: blank records and the card of acts without a display."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.records import CampaignSettings
from stirfall.session.document import Document


@pytest.fixture
def session(tmp_path: Path) -> Path:
    path = tmp_path / "paper.stirfall"
    Document.create(path, CampaignSettings(title="Paper")).close()
    return path


@pytest.mark.parametrize(("options", "pages"), [((), 2), (("--copies", "3"), 4), (("--card",), 1)])
def test_records_and_the_card_are_written(
    stirfall_command: Callable[..., Any], session: Path, options: tuple[str, ...], pages: int
) -> None:
    out = session.parent / "new folder" / "sheet.pdf"
    done = stirfall_command("paper", session, *options, "--paper", "letter", "--out", out)
    assert (done.code, done.err) == (0, "")
    data = out.read_bytes()
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", data)) == pages
    assert re.search(rb"/MediaBox\s*\[\s*0\s+0\s+61[12][^ ]* 79[12]", data)  # 8.5 by 11 inches of 72 points


def test_a_paper_that_nobody_has_is_refused(stirfall_command: Callable[..., Any], session: Path) -> None:
    out = session.parent / "sheet.pdf"
    done = stirfall_command("paper", session, "--paper", "napkin", "--out", out)
    assert done.code == 2
    assert "napkin" in done.err
    assert not out.exists()
