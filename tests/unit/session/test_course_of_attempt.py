"""The course of an attempt: minutes by the counter, steps as bands, the peak while it ran."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.bench.running import EventKind, PlannedStep, Run, RunEvent, Step, TemperatureLog
from stirfall.session.course import Course, read_course, temperature_at, thinned

START = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
ATTEMPT = Attempt("a", 7, Conditions({"temperature": 150.0}), started_at=START, run_id="r")


def log(*points: tuple[float, float]) -> TemperatureLog:
    moments = tuple((START + timedelta(minutes=at), value) for at, value in points)
    return TemperatureLog("l", "a", "probe.csv", START, moments)


def event(minute: float, kind: EventKind, *, clock_off_min: float = 0.0, **more: object) -> RunEvent:
    at = START + timedelta(minutes=minute + clock_off_min)
    return RunEvent(f"{minute}", "r", kind, at, ticks_s=60.0 * minute, boot="one", **more)  # type: ignore[arg-type]


RUN = Run(
    "r",
    START,
    steps=(PlannedStep(Step.HEAT, target_c=150.0), PlannedStep(Step.HOLD, 600.0, 150.0)),
    events=(
        event(0, EventKind.STEP, step="heat"),
        event(10, EventKind.STEP, step="hold"),
        event(12, EventKind.MARK, word="first powder"),
        event(15, EventKind.READING, value=151.0),
        event(20, EventKind.STEP, step="cool"),
        event(30, EventKind.STEP, step="lift"),
    ),
    ended_at=START + timedelta(minutes=35),
)


def course(run: Run | None, found: TemperatureLog | None, attempt: Attempt = ATTEMPT) -> Course:
    state = CampaignState(
        CampaignSettings(melting_point_c=139.0),
        tuple(standard_factors()),
        attempts=(attempt,),
        runs=(run,) if run is not None else (),
    )
    return read_course(state, attempt, found)


def test_steps_become_bands_and_marks_take_the_temperature_of_the_log() -> None:
    found = course(RUN, log((0, 20), (10, 150), (14, 154), (30, 60)))
    assert [(band.word, band.start_min, band.end_min, band.target_c) for band in found.bands] == [
        ("heat", 0, 10, 150.0),
        ("hold", 10, 20, 150.0),
        ("cool", 20, 30, None),
        ("lift", 30, 35, None),
    ]
    (mark,) = found.marks
    assert (mark.word, mark.at_min) == ("first powder", 12)
    assert mark.temperature_c == pytest.approx(152.0)  # half way between 150 and 154, by hand
    assert found.readings == ((15.0, 151.0),)
    assert found.melting_c == 139.0
    assert found.recorded_c == 150.0
    assert found.span_min == (0.0, 35.0)


def test_a_clock_that_was_set_does_not_move_what_happened() -> None:
    jumped = (
        RUN.events[0],
        *(event(10, EventKind.STEP, step="hold", clock_off_min=60) for _ in "x"),
        RUN.events[4],
    )
    found = course(replace(RUN, events=jumped), None)
    assert [band.start_min for band in found.bands] == [0, 10, 20]


def test_a_clock_set_before_the_computer_was_started_anew_moves_nothing_either() -> None:
    other = replace(event(20, EventKind.STEP, step="cool", clock_off_min=60), ticks_s=5.0, boot="two")
    jumped = (RUN.events[0], event(10, EventKind.STEP, step="hold", clock_off_min=60), other)
    assert [band.start_min for band in course(replace(RUN, events=jumped), None).bands] == [0, 10, 20]


def test_the_peak_is_that_while_the_attempt_ran() -> None:
    assert course(RUN, log((-30, 300), (5, 150), (20, 155), (80, 400))).peak == (20.0, 155.0)
    assert course(RUN, log((-30, 300), (-20, 310))).peak == (-20.0, 310.0)
    alone = replace(ATTEMPT, run_id=None, recorded_at=START + timedelta(minutes=40))
    assert course(None, log((5, 150), (50, 200)), alone).peak == (5.0, 150.0)


def test_without_run_and_log_there_is_nothing_and_without_a_start_the_log_counts() -> None:
    assert course(None, None).is_empty
    undated = course(None, log((5, 20), (6, 21)), replace(ATTEMPT, started_at=None, run_id=None))
    assert not undated.is_dated
    assert list(undated.minutes) == [0.0, 1.0]


def test_a_gap_has_no_temperature_and_breaks_the_line() -> None:
    minutes = np.array([0.0, 1.0, 2.0, 20.0, 21.0])
    celsius = np.array([10.0, 11.0, 12.0, 13.0, 14.0])
    assert temperature_at(minutes, celsius, 10.0) is None
    assert temperature_at(minutes, celsius, 1.5) == pytest.approx(11.5)
    assert temperature_at(minutes, celsius, 30.0) is None
    _, line = thinned(minutes, celsius, 100)
    assert np.isnan(line).tolist() == [False, False, False, True, False, False]


def test_a_long_log_is_thinned_without_losing_its_extremes() -> None:
    minutes = np.arange(100_000) / 60.0
    celsius = 150.0 + np.sin(np.arange(100_000) / 500.0)
    celsius[54_321], celsius[77_777] = 190.0, 90.0
    at, line = thinned(minutes, celsius, 4000)
    assert len(at) <= 4100
    assert np.nanmax(line) == 190.0
    assert np.nanmin(line) == 90.0
    assert (at[0], at[-1]) == (minutes[0], minutes[-1])
    assert not np.isnan(line).any()
