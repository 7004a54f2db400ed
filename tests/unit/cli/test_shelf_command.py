"""``stirfall shelf``: the board and the alarms as text and as a document."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.ages import read_stamp
from stirfall.bench.factors import Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.session.clock import FixedClock
from stirfall.session.commands import Acknowledge
from stirfall.session.document import Document

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
AT = "2026-03-02T15:00+00:00"
Run = Callable[..., Any]


def session(path: Path, material: MaterialClass) -> Path:
    clock = FixedClock(START)
    Document.create(
        path,
        CampaignSettings(title="Jars", material=material),
        (Factor("sample age", "h", 1.0, 200.0, "log"),),
        lots=[Lot("L1", START - timedelta(hours=2))],
        jars=[
            Jar("J1", "L1", START),
            Jar("J2", "L1", START - timedelta(hours=1)),
            Jar("P1", "L1", START + timedelta(hours=5), planned=True),
        ],
        clock=clock,
    ).close()
    return path


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    return session(tmp_path / "jars.stirfall", MaterialClass.BASE_METAL)


def test_the_board_is_printed_with_its_alarms_and_the_exit_code_says_that_something_is_due(
    shelf: Path, stirfall_command: Run
) -> None:
    result = stirfall_command("shelf", shelf, "--at", AT)
    assert result.code == 1
    lines = result.out.splitlines()
    assert [line.split(",")[0].strip() for line in lines if line.startswith("  J")] == ["J2", "J1"]
    assert "No time stands out" in result.out
    assert any("Due: Start jar P1 of lot L1" in line and "due 60" in line for line in lines)
    assert stirfall_command("shelf", shelf, "--at", "2026-03-02T10:00+00:00").code == 0


def test_what_was_quieted_is_quiet_here_too(shelf: Path, stirfall_command: Run) -> None:
    with Document.open(shelf, clock=FixedClock(START + timedelta(hours=6))) as document:
        document.execute(Acknowledge("start 20260302T1400Z P1", "jar P1"))
    assert stirfall_command("shelf", shelf, "--at", AT).code == 0


def test_the_document_holds_forecasts_planned_jars_and_alarms(shelf: Path, stirfall_command: Run) -> None:
    told = json.loads(stirfall_command("shelf", shelf, "--at", AT, "--json").out)
    assert told["schema"] == "stirfall.shelf/1"
    assert told["at"] == "2026-03-02T15:00:00.000Z"
    assert [jar["jar"] for jar in told["jars"]] == ["J2", "J1"]
    first = told["jars"][0]
    assert first["now"]["n"] == 0
    assert first["window"] is None
    assert first["reason"]["code"] == "forecast.flat"
    assert read_stamp(first["tonight_at"]) > read_stamp(told["at"])
    assert len(first["curve"]["hours"]) == len(first["curve"]["mean"]) > 20
    assert told["planned"] == [{"jar": "P1", "lot": "L1", "start_at": "2026-03-02T14:00:00.000Z"}]
    (alarm,) = told["alarms"]
    assert (alarm["rank"], alarm["page"], alarm["target"]) == ("due", "shelf", "P1")


def test_nothing_later_is_printed_for_a_superoxide_former(tmp_path: Path, stirfall_command: Run) -> None:
    path = session(tmp_path / "k.stirfall", MaterialClass.SUPEROXIDE_FORMER)
    told = json.loads(stirfall_command("shelf", path, "--at", AT, "--json").out)
    for jar in told["jars"]:
        assert (jar["tonight"], jar["tomorrow"], jar["best"], jar["window"]) == (None, None, None, None)
        assert jar["reason"]["code"] == "forecast.superoxide"
    text = stirfall_command("shelf", path, "--at", AT).out
    assert "best" not in text
    assert "window" not in text
    late = stirfall_command("shelf", path, "--at", "2026-03-04T15:00+00:00")
    assert late.code == 1
    assert "do not open" in late.out


def test_an_empty_shelf_and_an_unreadable_moment_are_said(tmp_path: Path, stirfall_command: Run) -> None:
    path = tmp_path / "none.stirfall"
    Document.create(path, CampaignSettings(), clock=FixedClock(START)).close()
    assert "No jar is on the shelf." in stirfall_command("shelf", path).out
    assert stirfall_command("shelf", path, "--at", "tomorrow").code == 2


def test_a_moment_at_the_end_of_all_calendars_is_refused(shelf: Path, stirfall_command: Run) -> None:
    result = stirfall_command("shelf", shelf, "--at", "9999-12-31T23:59")
    assert result.code == 2
    assert "is no time" in result.err
