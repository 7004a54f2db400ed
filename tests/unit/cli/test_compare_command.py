"""``stirfall compare``, and compare in scripts: text, JSON, what is noted, and messages for what cannot be."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from stirfall import Campaign, Factor
from stirfall.bench.comparisons import Group
from stirfall.bench.errors import InputError

Run = Callable[..., object]
PAIR = ("--first", "additive=none", "--second", "additive=rosin")


@pytest.fixture(scope="module")
def _recorded_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("compare") / "compare.stirfall"
    factors = [
        Factor("sample age", unit="h", low=1, high=240, scale="log"),
        Factor("additive", levels=("none", "rosin")),
    ]
    with Campaign.new(path, factors=factors, material="base metal", lot_effect="none") as campaign:
        for number in range(14):
            rosin = number % 2 == 1
            campaign.record(
                {"sample age": 4.0 + number, "additive": "rosin" if rosin else "none"},
                clean=number % 7 != 0 if rosin else number % 4 == 0,
                lot="L1" if number % 3 else "L2",
            )
    return path


@pytest.fixture
def session(_recorded_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(_recorded_once, tmp_path / "compare.stirfall"))


def noted(session: Path) -> int:
    with Campaign.open(session, read_only=True) as campaign:
        return len(campaign.document.state.comparisons)


def test_the_answer_begins_with_one_sentence_and_the_question_is_noted(
    session: Path, stirfall_command: Run
) -> None:
    result = stirfall_command("compare", session, *PAIR)
    assert result.code == 0
    lines = result.out.replace("\u2009", " ").splitlines()
    assert lines[0].startswith("Additive none (4 of 7) against additive rosin (6 of 7): ")
    assert any(line.startswith("Each lot compared with itself") for line in lines)
    assert any(line.startswith("These 14 attempts cannot tell a difference smaller than") for line in lines)
    assert "This is the first comparison of the session." in lines
    assert noted(session) == 1
    again = stirfall_command("compare", session, "--first", "additive=rosin", "--second", "additive=none")
    assert again.code == 0
    assert noted(session) == 1
    third = stirfall_command("compare", session, "--first", "lot=L1", "--second", "lot=L2")
    assert "2 comparisons were asked for in this session." in third.out


def test_looking_only_notes_nothing_and_says_so(session: Path, stirfall_command: Run) -> None:
    result = stirfall_command("compare", session, *PAIR, "--look-only")
    assert result.code == 0
    assert "Looked at only" in result.out
    assert noted(session) == 0


def test_a_session_that_is_open_elsewhere_is_read_and_that_is_said(session: Path, stirfall_command: Run) -> None:
    with Campaign.open(session):
        result = stirfall_command("compare", session, *PAIR)
    assert result.code == 0
    assert "The file is read-only" in result.out
    assert noted(session) == 0


def test_json_holds_every_part(session: Path, stirfall_command: Run) -> None:
    asked = ("--first", "sample age=..9", "--second", "sample age=10..", "--matters", "30", "--json")
    document = json.loads(stirfall_command("compare", session, *asked).out)
    assert document["schema"] == "stirfall.compare/1"
    assert document["noted"] is True
    assert document["measure"] == "clean"
    assert document["first"]["group"]["high"] == 9.0
    assert document["first"]["n"] + document["second"]["n"] == 14
    hybrid = document["difference"]["hybrid"]
    assert hybrid["lower"] <= hybrid["value"] <= hybrid["upper"]
    assert set(document["tests"]) == {"boschloo", "barnard", "fisher"}
    assert document["within_lots"]["difference"]["n"] > 0
    assert document["all_else_alike"]["how"] == "factor"
    assert document["cannot_tell"]["needed_for_what_matters"]["difference"] == 0.3
    assert document["comparisons"]["made"] == 1
    assert document["text"][0] == document["headline"]


def test_subjects_are_listed(session: Path, stirfall_command: Run) -> None:
    result = stirfall_command("compare", session, "--subjects")
    assert result.code == 0
    assert "additive=  none (7), rosin (7)" in result.out
    assert "attempts=  any of 14 by number" in result.out
    document = json.loads(stirfall_command("compare", session, "--subjects", "--json").out)
    assert {each["what"] for each in document["subjects"]} >= {"lot", "factor:additive", "factor:sample age"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "Give --first and --second"),
        (("--first", "lot=L9", "--second", "lot=L1"), "No attempt has lot “L9”"),
        (("--first", "weather=x", "--second", "lot=L1"), "nothing that attempts can be grouped by"),
        (("--first", "lot=L1", "--second", "lot=L1"), "The two groups are the same"),
        ((*PAIR, "--matters", "200"), "no difference that could matter"),
    ],
)
def test_what_cannot_be_compared_gets_one_line(
    arguments: tuple[str, ...], words: str, session: Path, stirfall_command: Run
) -> None:
    result = stirfall_command("compare", session, *arguments)
    assert result.code == 2
    assert words in result.err
    assert noted(session) == 0


def test_scripts_compare_texts_and_groups(session: Path) -> None:
    with Campaign.open(session) as campaign:
        before = campaign.analysis
        found = campaign.compare("additive=none", Group("factor:additive", level="rosin"))
        assert found.verdict in ("apart", "probably")
        assert found.text[0] == found.headline
        assert found.found.many is not None
        assert found.found.many.made == 1
        assert campaign.analysis is before
        assert len(campaign.document.state.comparisons) == 1
        second = campaign.compare("lot=L1", "lot=L2", keep=False)
        assert second.found.many is not None
        assert second.found.many.made == 2
        assert len(campaign.document.state.comparisons) == 1
        with pytest.raises(InputError, match=r"compare\.measure_unknown"):
            campaign.compare("lot=L1", "lot=L2", "weight")
        with pytest.raises(InputError, match=r"compare\.same_group"):
            campaign.compare("lot=L1", "lot=L1")
