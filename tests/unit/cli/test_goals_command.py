"""``stirfall next --goal`` and ``stirfall soonest``: figures, lots, JSON, and what is refused."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.factors import Factor
from stirfall.scripting import Campaign

Run = Callable[..., Any]


@pytest.mark.parametrize(("goal", "unit"), [("learn", None), ("reliable", None), ("soonest", "h")])
def test_a_goal_tells_what_it_promises(stirfall_command: Run, graded: Path, goal: str, unit: str | None) -> None:
    answer = json.loads(stirfall_command("next", graded, "--goal", goal, "--count", "1", "--json").out)
    (made,) = answer["suggestions"]
    assert answer["figure_unknown"] is None
    assert made["goal"] == goal
    assert (made["figure"] or {}).get("unit") == unit
    assert made["held"]["lower"] <= made["held"]["mean"] <= made["held"]["upper"]
    assert made["explanation"]["settles"]["text"].endswith(".")


def test_grams_that_are_not_known_are_said_to_be(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("next", graded, "--goal", "most", "--count", "1")
    assert told.code == 0
    assert told.out.startswith("No clean attempt has both charge and product weighed")
    answer = json.loads(stirfall_command("next", graded, "--goal", "most", "--count", "1", "--json").out)
    assert answer["figure_unknown"]["code"] == "plan.recovery_unknown"
    assert answer["suggestions"][0]["figure"] is None


def test_attempts_from_lots_name_them_and_an_unknown_lot_is_refused(stirfall_command: Run, graded: Path) -> None:
    answer = json.loads(
        stirfall_command("next", graded, "--lot", "L1", "--lot", "L2", "--count", "2", "--json").out
    )
    assert {each["lot"] for each in answer["suggestions"]} == {"L1", "L2"}
    assert "From lot L" in stirfall_command("next", graded, "--lot", "L1", "--count", "1").out
    refused = stirfall_command("next", graded, "--lot", "L7")
    assert refused.code == 2
    assert "There is no lot L7" in refused.err


def test_soonest_prints_the_time_by_age(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("soonest", graded, "--at", "temperature=155")
    assert told.code == 0
    lines = told.out.splitlines()
    assert lines[0].startswith("At the conditions given: temperature 155")
    assert "3 jars" in lines[1]
    assert len([line for line in lines if line.startswith("  ")]) == 9
    assert re.match(r"The least is at sample age .*: .* to .*\.", lines[-1])


def test_soonest_as_json_has_every_point_and_the_best(stirfall_command: Run, graded: Path) -> None:
    answer = json.loads(stirfall_command("soonest", graded, "--jars", "5", "--lot", "L2", "--json").out)
    assert answer["schema"] == "stirfall.soonest/1"
    assert (answer["factor"], answer["unit"], answer["jars_at_once"], answer["lot"]) == ("sample age", "h", 5, "L2")
    assert "sample age" not in answer["conditions"]
    least = min(answer["points"], key=lambda point: point["hours"]["value"])
    assert answer["best"]["age"] == least["age"]
    assert answer["best"]["hours"] == least["hours"]
    assert all(0 <= point["chance"]["lower"] <= point["chance"]["upper"] <= 1 for point in answer["points"])
    guide = (Path(__file__).parents[3] / "resources" / "guide" / "command_line.md").read_text(encoding="utf-8")
    keys = {*answer, *answer["points"][0], *answer["best"]}
    assert [key for key in sorted(keys) if f"`{key}`" not in guide and not re.search(rf"\b{key}\b", guide)] == []


def test_a_metal_that_must_not_age_gets_no_time_and_the_reason(stirfall_command: Run, tmp_path: Path) -> None:
    path = tmp_path / "never.stirfall"
    factors = [Factor("sample age", unit="h", low=1, high=240, scale="log")]
    with Campaign.new(path, factors=factors, material="superoxide-forming alkali metal", melting_point_c=64):
        pass
    told = stirfall_command("soonest", path)
    assert told.code == 2
    assert told.out == ""
    assert "never left to age" in told.err


def test_without_an_age_there_is_no_time_to_tell(stirfall_command: Run, graded: Path, tmp_path: Path) -> None:
    assert stirfall_command("soonest", graded, "--along", "temperature").code == 2
    path = tmp_path / "plain.stirfall"
    with Campaign.new(path, factors=[Factor("speed", unit="1/min", low=20, high=180)], material="base metal"):
        pass
    told = stirfall_command("soonest", path)
    assert told.code == 2
    assert "no age" in told.err


def test_scripts_ask_for_goals_lots_and_times(graded: Path) -> None:
    with Campaign.open(graded, read_only=True) as campaign:
        made = campaign.suggest(2, "soonest", lots=["L1", "L2"])
        assert {each.lot for each in made} == {"L1", "L2"}
        assert all(each.figure is not None and each.figure.unit == "h" for each in made)
        assert all(each.explanation and each.held is not None for each in made)
        best = campaign.best("soonest")
        assert best.figure is not None
        curve = campaign.time_curve("sample age", {"temperature": 155}, jars=2)
        assert curve.plan.jars_at_once == 2
        assert campaign.held({"sample age": 24, "temperature": 155}).n == 10
