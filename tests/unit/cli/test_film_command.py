"""``stirfall film``: ranks jars, compares two, and says what the index is not."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.factors import standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import RESIDUE, CampaignSettings, Jar, Lot
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
AT = "2026-03-03T09:00+00:00"
Run = Callable[..., Any]


def session(path: Path, **settings: Any) -> Path:
    sizes = {"inner_diameter_mm": 40.0, "metal_area_cm2": 20.0, "room_rh_percent": 50.0}
    jars = [
        Jar("J1", "L1", START, oil_depth_mm=20, lid="loose", **sizes),
        Jar("J2", "L1", START, oil_depth_mm=20, lid="loose", **{**sizes, "metal_area_cm2": 5.0}),
        Jar("J3", "L1", START, lid="closed", material="plastic"),
        Jar("R1", "L1", START, contents=RESIDUE, oil_depth_mm=20, **sizes),
        Jar("J4", "L1", START, oil_depth_mm=20, emptied_at=START + timedelta(hours=1), **sizes),
    ]
    clock = FixedClock(START + timedelta(days=10))
    with Document.create(
        path,
        CampaignSettings(title="Jars", **settings),
        standard_factors(),
        lots=[Lot("L1", START)],
        jars=jars,
        clock=clock,
    ):
        return path


@pytest.fixture
def jars(tmp_path: Path) -> Path:
    return session(tmp_path / "jars.stirfall")


def test_the_jars_on_the_shelf_are_ranked_and_the_text_says_once_what_the_index_is_not(
    jars: Path, stirfall_command: Run
) -> None:
    result = stirfall_command("film", jars, "--at", AT)
    assert result.code == 0
    lines = result.out.splitlines()
    ranked = [line.split(":")[0].strip() for line in lines if line.startswith("  J") and "under oil" in line]
    assert ranked == ["J2", "J1"]
    assert "inner diameter of jar J3" in result.out
    assert "R1" not in result.out
    assert result.out.count("no thickness") == 1
    assert "taken as usual" in result.out


def test_one_jar_shows_its_parts_and_an_emptied_one_stops(jars: Path, stirfall_command: Run) -> None:
    result = stirfall_command("film", jars, "--jar", "j4", "--at", AT)
    assert result.code == 0
    assert "60" in result.out
    assert "water that the oil brought" in result.out


def test_two_jars_are_compared(jars: Path, stirfall_command: Run) -> None:
    result = stirfall_command("film", jars, "--jar", "J1", "--jar", "J2", "--at", AT)
    assert result.code == 0
    assert "Jar J2 has received about 4 times as much" in result.out
    differing = [line for line in result.out.splitlines() if "against" in line]
    assert len(differing) == 1
    assert differing[0].strip().startswith("area of the metal")


def test_the_json_document_adds_up(jars: Path, stirfall_command: Run) -> None:
    result = stirfall_command("film", jars, "--jar", "J1", "--jar", "J3", "--at", AT, "--json")
    assert result.code == 1
    document = json.loads(result.out)
    assert document["schema"] == "stirfall.film/1"
    assert document["at"] == "2026-03-03T09:00:00.000Z"
    first, third = document["jars"]
    film = first["film"]
    assert film["index"] == pytest.approx(sum(film["parts"].values()))
    assert film["index"] == pytest.approx(2 * film["oxygen"] + film["water"])
    assert third["film"] is None
    assert [gap["code"] for gap in third["gaps"]] == ["film.needs_depth", "film.needs_diameter", "film.needs_area"]
    assert document["comparison"]["ratio"] is None
    assert [note["code"] for note in document["notes"]] == ["film.ranking_aid"]


def test_a_time_before_the_jar_is_told(jars: Path, stirfall_command: Run) -> None:
    result = stirfall_command("film", jars, "--jar", "J1", "--at", "2026-01-01T00:00")
    assert result.code == 1
    assert "not started by that time" in result.out


@pytest.mark.parametrize(("option", "value"), [("--at", "yesterday"), ("--jar", "J77")])
def test_what_cannot_be_read_is_refused(jars: Path, stirfall_command: Run, option: str, value: str) -> None:
    result = stirfall_command("film", jars, option, value)
    assert result.code == 2
    assert value in result.err


def test_for_a_superoxide_former_the_hazard_is_told_and_no_wait(tmp_path: Path, stirfall_command: Run) -> None:
    path = session(tmp_path / "hazard.stirfall", material=MaterialClass.SUPEROXIDE_FORMER)
    result = stirfall_command("film", path, "--jar", "J1", "--jar", "J2", "--at", AT)
    assert "hazard only" in result.out
    assert "wait" not in result.out.casefold()
