"""``stirfall recipe``: another batch size, the bench sheet, issuing, and looking back."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from stirfall.scripting import Campaign

Run = Callable[..., object]


@pytest.fixture(scope="module")
def weighed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A session whose attempts tell their charge."""
    path = tmp_path_factory.mktemp("weighed") / "weighed.stirfall"
    with Campaign.new(path, material="base metal", melting_point_c=138.0, oil_flash_c=225.0) as campaign:
        for place in range(12):
            good = place % 3 > 0
            campaign.record(
                {"temperature": 150.0, "sample age": 10.0 + place, "stirring speed": 90.0, "additive dose": 8.0},
                parted="yes" if good else "no",
                pooled="one pool" if good else None,
                masses={"charge_g": 10.0 + place},
            )
    return path


@pytest.fixture
def session(weighed: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "weighed.stirfall"
    copy.write_bytes(weighed.read_bytes())
    return copy


def test_another_batch_is_told_with_how_each_number_was_got(stirfall_command: Run, session: Path) -> None:
    told = stirfall_command("recipe", session, "--at", "temperature=150", "--batch", "60 g", "--from-batch", "20g")
    assert "Additive: 0" in told.out
    assert "dose per gram times the charge" in told.out
    assert "stirring circle" in told.out
    assert "not proven" in told.err


def test_the_bench_sheet_is_written_in_every_form(stirfall_command: Run, session: Path, tmp_path: Path) -> None:
    paths = [tmp_path / f"sheet.{suffix}" for suffix in ("md", "json", "pdf")]
    outs = [word for path in paths for word in ("--out", path)]
    at = ("--at", "temperature=150")
    stirfall_command("recipe", session, *at, "--sheet", "bench", "--paper", "Letter", *outs)
    assert "## Cautions" in paths[0].read_text("utf-8")
    assert json.loads(paths[1].read_text("utf-8"))["schema"] == "stirfall.bench-sheet/1"
    assert paths[2].read_bytes().startswith(b"%PDF-")


def test_a_recipe_is_issued_listed_shown_again_and_compared(
    stirfall_command: Run, session: Path, tmp_path: Path
) -> None:
    at = ("--at", "temperature=150")
    first = tmp_path / "first.json"
    told = stirfall_command("recipe", session, *at, "--issue", "--note", "to try", "--out", first)
    assert "Issued as recipe no. 1" in told.out
    with Campaign.open(session) as campaign:
        campaign.strike(2, "the oil ran over")
        campaign.record({"temperature": 150.0, "sample age": 20.0}, parted="yes", pooled="one pool")
        again = campaign.issue({"temperature": 152.0}, note="hotter", charge_g=15.0)
        assert again.recipe.number == 2
        assert [row.note for row in campaign.issued()] == ["to try", "hotter"]
        said = campaign.compare_recipes(1, 2).sentences
        assert any(text.startswith("Struck out since: 1 attempt (2)") for text in said)
        assert "temperature" in " ".join(campaign.compare_recipes(1).sentences)
    listed = json.loads(stirfall_command("recipe", session, "--issued", "--json").out)
    assert [each["number"] for each in listed["recipes"]] == [1, 2]
    shown = tmp_path / "again.json"
    stirfall_command("recipe", session, "--show", "1", "--out", shown)
    assert shown.read_bytes() == first.read_bytes()
    compared = json.loads(stirfall_command("recipe", session, "--compare", "1", "2", "--json").out)
    assert compared["evidence"]["struck"] == [2]
    assert compared["evidence"]["added"] == [13]
    words = tmp_path / "words.md"
    stirfall_command("recipe", session, "--compare", "1", "2", "--out", words)
    assert "Struck out since: 1 attempt (2)" in words.read_text("utf-8").replace("\\", "")
    plain = stirfall_command("recipe", session, *at, "--compare", "1", "now").out
    assert "the present recipe" in plain


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "Say what to do"),
        (("--show", "9"), "No recipe with the number 9"),
        (("--compare", "1", "soon"), "no number of an issued recipe"),
        (("--issued", "--show", "1"), "one of --issued"),
        (("--issued", "--out", "list.md"), "printed only"),
        (("--compare", "1", "1", "--out", "both.pdf"), "no PDF"),
        (("--batch", "-3g"), "more than zero"),
        (("--batch", "3 mL"), "mL"),
    ],
)
def test_what_cannot_be_done_is_said(
    stirfall_command: Run, session: Path, words: tuple[str, ...], said: str
) -> None:
    with Campaign.open(session) as campaign:
        campaign.issue({"temperature": 150.0})
    told = stirfall_command("recipe", session, *words)
    assert told.code != 0
    assert said in told.err


def test_a_blocked_recipe_is_not_issued(stirfall_command: Run, session: Path) -> None:
    told = stirfall_command("recipe", session, "--at", "temperature=220", "--issue")
    assert told.code != 0
    assert "not issued" in told.err
    with Campaign.open(session, read_only=True) as campaign:
        assert campaign.issued() == ()
