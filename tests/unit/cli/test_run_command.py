"""``stirfall run``: guided runs as text and as JSON; times by hand, from the moments written into the events."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import PlannedStep, Run, RunEvent, Step
from stirfall.session.document import Document

START = datetime(2026, 11, 24, 18, 0, tzinfo=UTC)
STEPS = (
    PlannedStep(Step.CHECKS),
    PlannedStep(Step.HOLD, 300.0, 150.0),
    PlannedStep(Step.STIR, 120.0, 150.0),
    PlannedStep(Step.CLOSE),
)


def _event(place: int, seconds: float, kind: str, **fields: object) -> RunEvent:
    at = START + timedelta(seconds=seconds)
    return RunEvent(f"e{place}", "r1", kind, at, ticks_s=1000.0 + seconds, boot="b", **fields)  # type: ignore[arg-type]


def _run(**fields: object) -> Run:
    events = (
        _event(1, 0.0, "step", step="checks"),
        _event(2, 60.0, "step", step="hold"),
        _event(3, 90.0, "reading", value=151.0),
        _event(4, 362.0, "step", step="stir"),
        _event(5, 405.0, "mark", word="first powder"),
        _event(6, 480.0, "step", step="close"),
    )
    planned = Conditions({"temperature": 150.0, "stirring time": 120.0, "hot time before stirring": 5.0})
    return Run("r1", START, planned, STEPS, "J1", "L1", events=events, **fields)  # type: ignore[arg-type]


@pytest.fixture
def session(tmp_path: Path) -> Path:
    path = tmp_path / "evening.stirfall"
    attempt = Attempt(
        "a1",
        1,
        Conditions({"temperature": 151.0}),
        START,
        START,
        "L1",
        "J1",
        Parted.YES,
        Pooled.ONE_POOL,
        run_id="r1",
    )
    Document.create(
        path,
        CampaignSettings(),
        standard_factors(),
        lots=[Lot("L1")],
        jars=[Jar("J1", "L1", START - timedelta(days=2))],
        attempts=[attempt],
        runs=[_run(attempt_id="a1", ended_at=START + timedelta(minutes=20))],
    ).close()
    return path


def test_each_run_is_a_line_and_one_run_is_told_in_full(session, stirfall_command):
    told = stirfall_command("run", session)
    assert told.code == 0
    assert told.out.splitlines() == ["2026-11-24T18:00:00.000Z  jar J1, attempt 1, finished"]
    text = stirfall_command("run", session, "--attempt", "1").out.replace("\u2009", " ")
    for line in (
        "  hold: 5:02 min, planned 5:00 min, target 150 °C",
        "  stir: 1:58 min, planned 2:00 min, target 150 °C",
        "  temperature: 151 °C, planned 150 °C (the one reading while it was hot)",
        "  1:30  reading 151 °C",
        "  6:45  mark first powder",
    ):
        assert line in text


def test_the_document_has_true_times_and_what_was_reached(session, stirfall_command):
    document = json.loads(stirfall_command("run", session, "--json").out)
    assert document["schema"] == "stirfall.run/1"
    (run,) = document["runs"]
    assert (run["jar"], run["attempt"], run["end_reason"]) == ("J1", 1, "")
    assert [step["took_s"] for step in run["steps"]] == [60.0, 302.0, 118.0, None]
    assert {each["factor"]: each["measured"] for each in run["reached"]}["stirring time"] == 118.0
    mark = next(each for each in run["events"] if each["kind"] == "mark")
    assert (mark["seconds"], mark["into_step_s"], mark["step"], mark["word"]) == (
        405.0,
        43.0,
        "stir",
        "first powder",
    )


def test_an_open_run_and_an_attempt_without_one_are_told(tmp_path, graded, stirfall_command):
    path = tmp_path / "open.stirfall"
    Document.create(
        path,
        CampaignSettings(),
        standard_factors(),
        lots=[Lot("L1")],
        jars=[Jar("J1", "L1", START)],
        runs=[_run()],
    ).close()
    told = stirfall_command("run", path)
    assert told.code == 1
    assert "not recorded, open, at step close" in told.out
    assert stirfall_command("run", graded).out.strip() == "No guided run is in this session."
    refused = stirfall_command("run", graded, "--attempt", "1")
    assert refused.code == 2
    assert "no guided run" in refused.err
