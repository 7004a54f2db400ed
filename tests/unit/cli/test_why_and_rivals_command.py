"""``stirfall why`` and ``stirfall rivals``, and the same from a script."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.errors import InputError
from stirfall.scripting import Campaign

Run = Callable[..., Any]


def text_of(stirfall_command: Run, *arguments: object) -> str:
    told = stirfall_command(*arguments)
    assert told.code == 0, told.err
    return str(told.out)


def document_of(stirfall_command: Run, *arguments: object) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(text_of(stirfall_command, *arguments, "--json"))
    return found


def test_why_lists_what_surprised_and_how_many_would_by_chance(graded: Path, stirfall_command: Run) -> None:
    assert "By chance alone" in text_of(stirfall_command, "why", graded)
    found = document_of(stirfall_command, "why", graded)
    assert found["schema"] == "stirfall.why/1"
    assert found["judged"] == found["of"] == 10
    assert found["found"] == len(found["surprises"])
    assert found["expected_by_chance"] > 0


def test_why_of_one_attempt_names_gate_nearest_and_differences(graded: Path, stirfall_command: Run) -> None:
    text = text_of(stirfall_command, "why", graded, "10")
    assert "Attempt 10 failed at gate 2" in text
    found = document_of(stirfall_command, "why", graded, "10")["why"]
    assert (found["number"], found["gate"], found["stage"]) == (10, "pooled", "refined")
    assert {gate["gate"] for gate in found["gates"]} == {"parted", "pooled"}
    assert found["gates"][0]["foretold"]["n"] == 9
    assert found["compared"]["number"] == found["other_way"][0]["number"]
    age = next(each for each in found["compared"]["differences"] if each["name"] == "sample age")
    assert age["unit"] == "h"
    assert age["difference"] == pytest.approx(age["here"] - age["there"])
    assert age["log_odds"]["lower"] <= age["log_odds"]["mean"] <= age["log_odds"]["upper"]


def test_a_number_that_is_none_is_one_line(graded: Path, stirfall_command: Run) -> None:
    told = stirfall_command("why", graded, "99")
    assert told.code == 2
    assert told.err.strip() == "There is no attempt 99."


def test_rivals_say_what_each_foretells_and_write_pairs_in_full(graded: Path, stirfall_command: Run) -> None:
    text = text_of(stirfall_command, "rivals", graded)
    assert "All six are hypotheses, the film too" in text
    assert "A coin says which is opened first." in text
    found = document_of(stirfall_command, "rivals", graded)
    assert found["schema"] == "stirfall.rivals/1"
    assert len(found["rivals"]) == 6
    learning = next(each for each in found["rivals"] if each["key"] == "learning")
    assert learning["evidence"][0]["foretold"] == "up"
    assert learning["pair"]["first"]["conditions"].keys() == {"sample age", "temperature"}
    assert learning["pair"]["first"]["probability"]["n"] > 0


def test_scripts_have_the_same_answers(graded: Path) -> None:
    with Campaign.open(graded) as campaign:
        answer = campaign.why(10)
        assert answer.answer.gate == "pooled"
        assert answer.text[0].startswith("Attempt 10 failed at gate 2")
        assert campaign.surprises().judged == 10
        assert len(campaign.rivals(at="2026-11-24T09:30+00:00")) == 6
        with pytest.raises(InputError, match=r"why\.unknown_number"):
            campaign.why(99)
