"""``stirfall log`` and ``stirfall agreement`` as a person types them."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.session.clock import FixedClock
from stirfall.session.commands import GradeAgain
from stirfall.session.document import Document

if TYPE_CHECKING:
    from collections.abc import Mapping

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
Call = Callable[..., object]


@pytest.fixture
def session(tmp_path: Path) -> Path:
    attempts = [
        Attempt(
            f"a{number}", number, Conditions(), started_at=NOW, recorded_at=NOW,
            parted=Parted.YES, pooled=Pooled.ONE_POOL,
        )
        for number in range(1, 7)
    ]  # fmt: skip
    path = tmp_path / "invented.stirfall"
    with Document.create(
        path, CampaignSettings(invented=True), attempts=attempts, clock=FixedClock(NOW)
    ) as document:
        for number, outcome in enumerate((Outcome.CLEAN,) * 4 + (Outcome.PARTED_BEADS,) * 2, start=1):
            document.execute(GradeAgain(f"a{number}", outcome))
    return path


def write(tmp_path: Path, header: str) -> Path:
    path = tmp_path / "probe.csv"
    rows = [f"{NOW + timedelta(minutes=m):%d/%m/%Y %H:%M:%S};{150 + m}" for m in range(3)]
    path.write_text("\n".join([header, *rows]), encoding="utf-8")
    return path


def points(session: Path) -> tuple[tuple[datetime, float], ...]:
    with Document.open(session, read_only=True) as document:
        logs = document.logs("a1")
    return logs[0].points if logs else ()


def test_a_log_is_kept_with_the_attempt(stirfall_command: Call, session: Path, tmp_path: Path) -> None:
    log = write(tmp_path, "Time;T (°C)")
    trial = stirfall_command("log", session, log, "--attempt", "1", "--zone", "utc", "--try")
    assert trial.code == 0  # type: ignore[attr-defined]
    assert points(session) == ()
    done = stirfall_command("log", session, log, "--attempt", "1", "--zone", "utc")
    assert done.code == 0  # type: ignore[attr-defined]
    assert "3 readings" in done.out  # type: ignore[attr-defined]
    assert points(session) == tuple((NOW + timedelta(minutes=m), 150.0 + m) for m in range(3))


def test_what_is_open_is_asked_and_answered_by_options(
    stirfall_command: Call, session: Path, tmp_path: Path
) -> None:
    log = write(tmp_path, "Time;Probe")
    asked = stirfall_command("log", session, log, "--attempt", "1")
    assert asked.code == 2  # type: ignore[attr-defined]
    assert "--unit" in asked.err  # type: ignore[attr-defined]
    assert points(session) == ()
    zone = ("--zone", "+01:00")
    done = stirfall_command("log", session, log, "--attempt", "1", "--unit", "K", *zone)
    assert done.code == 0  # type: ignore[attr-defined]
    first = points(session)[0]
    assert first == (NOW - timedelta(hours=1), pytest.approx(150 - 273.15))  # 0 °C is 273.15 K by definition


@pytest.mark.parametrize("extra", [("--attempt", "99"), ("--attempt", "1", "--zone", "Nowhere/Else")])
def test_a_wrong_attempt_or_zone_is_told(
    stirfall_command: Call, session: Path, tmp_path: Path, extra: tuple[str, ...]
) -> None:
    result = stirfall_command("log", session, write(tmp_path, "Time;T (°C)"), *extra)
    assert result.code == 2  # type: ignore[attr-defined]
    assert extra[-1] in result.err  # type: ignore[attr-defined]


def test_the_agreement_is_told_as_text_and_as_a_document(stirfall_command: Call, session: Path) -> None:
    text = stirfall_command("agreement", session)
    assert text.code == 1  # type: ignore[attr-defined]  # 4 of 6 are below 85 %
    assert "Attempt 5" in text.out  # type: ignore[attr-defined]
    document: Mapping[str, object] = json.loads(stirfall_command("agreement", session, "--json").out)  # type: ignore[attr-defined]
    assert document["schema"] == "stirfall.agreement/1"
    assert document["n"] == 6
    assert document["kappa"] == pytest.approx(0.0)  # p = e = 4/6 where the first is always the same class
    assert [each["attempt"] for each in document["differing"]] == [5, 6]  # type: ignore[attr-defined]


def test_a_session_that_is_open_elsewhere_is_said_to_be_and_left_as_it_is(
    stirfall_command: Call, session: Path, tmp_path: Path
) -> None:
    with Document.open(session):
        result = stirfall_command("log", session, write(tmp_path, "Time;T (°C)"), "--attempt", "1", "--zone", "utc")
    assert result.code == 2  # type: ignore[attr-defined]
    assert "Close it there to write here" in result.err  # type: ignore[attr-defined]
    assert points(session) == ()
