"""``stirfall tonight``: the plan as text and as a document, and kept in the session."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.ages import hours_between, read_stamp
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.scripting import Campaign
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
AT = "2026-03-04T15:00+00:00"
BEGINS = "2026-03-04T18:00+00:00"
Run = Callable[..., Any]


def session(path: Path, material: MaterialClass = MaterialClass.BASE_METAL, flash: float | None = 250.0) -> Path:
    age = Factor("oil exposure time", "h", 1.0, 200.0, Scale.LOG, role=Role.OIL_EXPOSURE)
    heat = Factor("temperature", "C", 120.0, 180.0, step=1.0)
    attempts = [
        Attempt(
            f"a{number}",
            number + 1,
            Conditions({age.name: 2.0 ** (1 + number % 7), heat.name: 140.0 + 2 * number}),
            lot_id="L1",
            successes=int(1 < number % 7 < 5),
        )
        for number in range(14)
    ]
    Document.create(
        path,
        CampaignSettings(
            title="Evening",
            material=material,
            melting_point_c=110.0,
            oil_flash_c=flash,
            gates=1,
            plan=PlanSettings(bench_days=(1, 2, 3, 4, 5, 6, 7)),
        ),
        (age, heat),
        lots=[Lot("L1", START - timedelta(hours=2))],
        jars=[
            Jar(f"J{number}", "L1", START + timedelta(hours=8 * number), oil_depth_mm=15.0) for number in range(4)
        ],
        attempts=attempts,
        clock=FixedClock(START),
    ).close()
    return path


@pytest.fixture
def evening(tmp_path: Path) -> Path:
    return session(tmp_path / "evening.stirfall")


def test_the_plan_is_told_in_words(evening: Path, stirfall_command: Run) -> None:
    result = stirfall_command("tonight", evening, "--at", AT, "--begins", BEGINS, "--hours", 3, "--seed", 5)
    assert result.code == 0
    lines = result.out.splitlines()
    assert "2 attempts, order drawn with seed 5" in lines[0]
    assert sum(line.startswith(("1. ", "2. ")) for line in lines) == 2
    assert sum("control" in line and "jar J" in line for line in lines) == 1
    place = lines.index("Open now or wait")
    assert [line.split()[0] for line in lines[place + 1 : place + 9 : 2]] == ["J0", "J1", "J2", "J3"]
    assert "Jars to start" in lines
    assert not result.err


def test_the_document_holds_what_the_words_say(evening: Path, stirfall_command: Run) -> None:
    asked = ("tonight", evening, "--at", AT, "--begins", BEGINS, "--hours", 5, "--goal", "reliable", "--json")
    told = json.loads(stirfall_command(*asked).out)
    assert told == json.loads(stirfall_command(*asked).out)
    assert (told["schema"], told["goal"], told["hours"]) == ("stirfall.tonight/1", "reliable", 5.0)
    assert (told["blocked"], told["kept"]) == (None, False)
    assert [each["order"] for each in told["openings"]] == [1, 2, 3]
    assert [each["starts_h"] for each in told["openings"]] == [0.0, 1.5, 3.5]
    assert [(each["starts_h"], each["before"]) for each in told["breaks"]] == [(3.0, 3)]
    started = {f"J{number}": START + timedelta(hours=8 * number) for number in range(4)}
    for each in told["openings"]:
        aged = hours_between(started[each["jar"]], read_stamp(each["starts_at"]))
        assert each["conditions"]["oil exposure time"] == pytest.approx(aged)
        assert 0 < each["probability"]["lower"] < each["probability"]["upper"] < 1
        assert each["why"]
    assert [each["jar"] for each in told["decisions"]] == ["J0", "J1", "J2", "J3"]
    for each in told["starts"]:
        assert hours_between(read_stamp(each["start_at"]), read_stamp(told["due_at"])) == pytest.approx(
            each["age_h"]
        )


def test_the_guide_names_every_key_of_the_document(evening: Path, stirfall_command: Run) -> None:
    told = json.loads(
        stirfall_command("tonight", evening, "--at", AT, "--begins", BEGINS, "--hours", 5, "--json").out
    )
    parts = [
        told,
        *(each for name in ("openings", "breaks", "decisions", "starts", "notes") for each in told[name]),
    ]
    keys = {key for part in parts for key in part}
    guide = (Path(__file__).parents[3] / "resources" / "guide" / "command_line.md").read_text(encoding="utf-8")
    section = guide[guide.index("## stirfall tonight") : guide.index("## stirfall shelf")]
    assert {"chance_wait_better", "due_at", "starts_h"} <= keys
    # These four stand in every document and are told of once, at the top of the page.
    ours = keys - {"schema", "program", "session", "text"}
    assert sorted(key for key in ours if not re.search(rf"\b{re.escape(key)}\b", section)) == []


def test_a_kept_plan_stands_in_the_session(evening: Path, stirfall_command: Run) -> None:
    asked = ("tonight", evening, "--at", AT, "--begins", BEGINS, "--hours", 3)
    assert stirfall_command(*asked, "--json").code == 0
    with Document.open(evening, read_only=True) as document:
        assert document.state.evening is None
    assert "The plan is kept" in stirfall_command(*asked, "--keep").out
    with Document.open(evening, read_only=True) as document:
        kept = document.state.evening
    assert kept is not None
    day = read_stamp(BEGINS).astimezone()
    assert (len(kept.attempts), kept.seed, kept.begins_at) == (2, int(f"{day:%Y%m%d}014"), read_stamp(BEGINS))


def test_nothing_to_keep_and_hours_that_cannot_be_are_errors(evening: Path, stirfall_command: Run) -> None:
    empty = stirfall_command("tonight", evening, "--at", AT, "--hours", 0, "--keep")
    assert empty.code == 2
    assert "no attempt in it" in empty.err
    wrong = stirfall_command("tonight", evening, "--at", AT, "--hours", 30)
    assert wrong.code == 2
    assert "The free hours must lie between 0 and 24" in wrong.err


def test_where_the_limits_allow_nothing_the_reason_is_told(tmp_path: Path, stirfall_command: Run) -> None:
    path = session(tmp_path / "unknown.stirfall", MaterialClass.ALKALI_METAL, flash=None)
    result = stirfall_command("tonight", path, "--at", AT)
    assert result.code == 1
    assert "flash point" in result.out
    assert json.loads(stirfall_command("tonight", path, "--at", AT, "--json").out)["blocked"]["why"]


def test_scripts_plan_keep_and_start_as_the_command_does(evening: Path) -> None:
    with Campaign.open(evening) as campaign:
        found = campaign.tonight(hours=3.0, at=AT, begins=BEGINS, keep=True)
        assert [each.order for each in found.openings] == [1, 2]
        assert campaign.document.state.evening is not None
        made = campaign.start_jars(found)
        assert made == tuple(each.jar.id for each in found.starts)
        assert all(campaign.document.state.jar(name) is not None for name in made)
