"""Alarms: a pure function of the file, the forecasts and the time; quieted for good, and never lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import RESIDUE, CampaignSettings, Jar
from stirfall.bench.running import Acknowledgement, EventKind, Moment, PlannedStep, Run, RunEvent, Step
from stirfall.bench.substances import OwnLimits, Substances
from stirfall.session.alarm_keys import moved_by_much, timed_key
from stirfall.session.alarm_pause import pause_between
from stirfall.session.alarm_run import alarms_of_run
from stirfall.session.alarms import Alarm, alarms, still_shown
from stirfall.session.forecast import JarForecast
from stirfall.session.run_view import run_view

NOW = datetime(2026, 11, 24, 18, 0, tzinfo=UTC)
H = timedelta(hours=1)
JAR = Jar("J1", "L1", NOW - 20 * H)


def campaign(*jars, material=MaterialClass.BASE_METAL, limits=None, **kept):
    settings = CampaignSettings(material=material, substances=Substances(limits=limits or OwnLimits()))
    return CampaignState(settings, (), jars=jars or (JAR,), **kept)


def window(opens, closes, jar="J1"):
    ends = [None if hours is None else NOW + hours * H for hours in (opens, closes)]
    return {jar: JarForecast(jar, opens_at=ends[0], closes_at=ends[1], has_window=True, at=NOW)}


def codes(state, forecasts=None, now=NOW, **kept):
    return [each.code for each in alarms(state, forecasts or {}, now, tz=UTC, **kept)]


def seen(state, *found):
    made = tuple(Acknowledgement(f"k{n}", each.key, NOW) for n, each in enumerate(found))
    return replace(state, acknowledged=(*state.acknowledged, *made))


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        (-1.0, []),
        (0.0, ["alarm.window_open_until"]),
        (5.9, ["alarm.window_open_until"]),
        (6.0, ["alarm.window_closing"]),  # two hours before the end, a quarter of eight hours
        (7.9, ["alarm.window_closing"]),
        (8.0, ["alarm.window_closed"]),
        (55.9, ["alarm.window_closed"]),
        (56.1, []),  # two days later nobody wants to know
    ],
)
def test_a_window_is_told_of_as_time_goes_by(hours, expected):
    assert codes(campaign(), window(0, 8), NOW + hours * H) == expected


def test_no_window_is_told_of_for_a_superoxide_former_even_where_an_older_forecast_has_one():
    forecasts, superoxide = window(-1.0, 8.0), campaign(material=MaterialClass.SUPEROXIDE_FORMER)
    before = alarms(campaign(), forecasts, NOW, tz=UTC)
    assert [each.code for each in before] == ["alarm.window_open_until"]
    after = alarms(superoxide, forecasts, NOW, tz=UTC)
    told = [each.code for each in still_shown(before, after, superoxide, NOW)]
    assert not [code for code in told if "window" in code]


def test_the_jar_of_the_open_run_has_no_window_to_tell_of():
    state = campaign(runs=(Run("r1", NOW, steps=(PlannedStep(Step.CHECKS),), jar_id="J1"),))
    assert codes(state, window(0, 8)) == []
    before = alarms(campaign(), window(0, 8), NOW, tz=UTC)
    assert still_shown(before, (), state, NOW) == ()


def test_a_window_without_an_end_stays_open_and_one_without_a_beginning_is_told_when_it_closes():
    assert codes(campaign(), window(0, None), NOW + 300 * H) == ["alarm.window_open"]
    assert codes(campaign(), window(None, 8)) == []
    assert codes(campaign(), window(None, 1)) == ["alarm.window_closing"]


def test_what_was_seen_is_quiet_for_good_and_closing_still_rings():
    state, forecasts = campaign(), window(0, 8)
    (opened,) = alarms(state, forecasts, NOW, tz=UTC)
    quiet = seen(state, opened)
    assert codes(quiet, forecasts) == codes(quiet, forecasts, NOW + 5 * H) == []
    (closing,) = alarms(quiet, forecasts, NOW + 7 * H, tz=UTC)
    assert (closing.rank, closing.due_at, closing.target) == ("due", NOW + 6 * H, "J1")
    assert codes(seen(quiet, closing), forecasts, NOW + 7.5 * H) == []
    assert codes(quiet, forecasts, NOW + 9 * H) == []  # it was seen while it was open


def test_a_window_that_new_attempts_move_a_little_does_not_ring_again_and_one_moved_by_much_does():
    state = campaign()
    quiet = seen(state, *alarms(state, window(0, 30), NOW, tz=UTC))
    assert codes(quiet, window(3, 30), NOW + 3 * H) == []
    assert codes(quiet, window(-3, 30)) == []
    assert codes(quiet, window(5, 30), NOW + 5 * H) == []  # within a quarter of the jar's 25 hours
    assert codes(quiet, window(9, 40), NOW + 9 * H) == ["alarm.window_open_until"]


def test_moved_by_much_is_more_than_three_hours_and_more_than_a_quarter_of_the_age():
    start = NOW - 100 * H
    assert not moved_by_much(NOW, NOW + 3 * H, NOW - H)
    assert moved_by_much(NOW, NOW + 3.1 * H, NOW - H)
    assert not moved_by_much(NOW, NOW + 30 * H, start)
    assert moved_by_much(NOW, NOW - 34 * H, start)
    assert timed_key("start", NOW, "J 1-b") == "start 20261124T1800Z J 1-b"


def test_a_window_that_a_refit_takes_away_stays_until_it_is_seen():
    state = campaign()
    before = alarms(state, window(0, 8), NOW, tz=UTC)
    (kept,) = still_shown(before, (), state, NOW)
    assert kept == replace(before[0], is_changed=True)
    assert still_shown((kept,), (), state, NOW + 90 * H) == (kept,)
    assert still_shown((kept,), (), seen(state, kept), NOW) == ()
    assert still_shown((kept,), (), campaign(replace(JAR, emptied_at=NOW)), NOW) == ()
    furry = campaign(replace(JAR, look="furry"), material=MaterialClass.ALKALI_METAL)
    assert still_shown((kept,), (), furry, NOW) == ()
    moved = alarms(state, window(-1, 8), NOW, tz=UTC)
    assert still_shown(before, moved, state, NOW) == moved
    closing = alarms(state, window(-20, 1), NOW, tz=UTC)
    assert still_shown(before, closing, state, NOW) == closing


def test_a_planned_jar_is_due_at_its_hour():
    planned = replace(JAR, planned=True, started_at=NOW)
    assert codes(campaign(planned), now=NOW - timedelta(seconds=1)) == []
    (due,) = alarms(campaign(planned), {}, NOW + H, tz=UTC)
    assert (due.code, due.rank, due.due_at) == ("alarm.start_jar", "due", NOW)
    assert codes(campaign(replace(planned, planned=False))) == []


@pytest.mark.parametrize(
    ("material", "hours", "expected"),
    [
        (MaterialClass.BASE_METAL, 10_000, []),
        (MaterialClass.ALKALI_METAL, 695, []),
        (MaterialClass.ALKALI_METAL, 696, [("alarm.use_by_near", "due")]),  # a day before 720 h
        (MaterialClass.ALKALI_METAL, 720, [("alarm.inspect", "due")]),
        (MaterialClass.SUPEROXIDE_FORMER, 19.9, []),
        (MaterialClass.SUPEROXIDE_FORMER, 20, [("alarm.limit_near", "due")]),  # a sixth of 24 h before
        (MaterialClass.SUPEROXIDE_FORMER, 24, [("alarm.do_not_open", "danger")]),
    ],
)
def test_use_by_is_danger_only_where_the_class_says_so(material, hours, expected):
    state = campaign(replace(JAR, started_at=NOW - hours * H), material=material)
    assert [(each.code, each.rank) for each in alarms(state, {}, NOW, tz=UTC)] == expected


def test_an_inspection_after_the_limit_is_the_one_that_was_asked_for():
    old = replace(JAR, started_at=NOW - 721 * H, look="grey", looked_at=NOW - 2 * H)
    assert codes(campaign(old, material=MaterialClass.ALKALI_METAL)) == ["alarm.inspect"]
    looked = replace(old, looked_at=NOW)
    assert codes(campaign(looked, material=MaterialClass.ALKALI_METAL)) == []


def test_residue_is_told_of_once_a_local_day():
    zone = ZoneInfo("Europe/Berlin")
    old = replace(JAR, id="R1", contents=RESIDUE, started_at=NOW - 30 * 24 * H)
    state = campaign(old)
    (today,) = alarms(state, {}, NOW, tz=zone)
    assert today.due_at == datetime(2026, 11, 23, 23, 0, tzinfo=UTC)  # local midnight
    quiet = seen(state, today)
    assert alarms(quiet, {}, NOW + 4.9 * H, tz=zone) == ()
    (tomorrow,) = alarms(quiet, {}, NOW + 5.1 * H, tz=zone)
    assert (tomorrow.key, tomorrow.target) == ("residue 2026-11-25", "R1")


def test_the_most_urgent_comes_first_then_what_is_due_the_longest():
    own = Alarm("run x", "danger", NOW, "run.danger.smoke")
    jars = (JAR, replace(JAR, id="J2", planned=True, started_at=NOW - 2 * H), replace(JAR, id="J3"))
    found = alarms(campaign(*jars), {**window(-3, 1), **window(-5, 9, "J3")}, NOW, [own], tz=UTC)
    assert [each.rank for each in found] == ["danger", "due", "due", "info"]
    assert [each.target for each in found][1:] == ["J2", "J1", "J3"]
    assert codes(seen(campaign(), own), run_alarms=[own]) == []


def test_a_run_calls_for_a_danger_and_for_a_step_whose_time_is_over():
    run = Run("r1", NOW, steps=(PlannedStep(Step.CHECKS), PlannedStep(Step.HOLD, 60.0)))
    steps = (RunEvent("e1", "r1", EventKind.STEP, NOW, step="hold", ticks_s=0.0, boot="b"),)
    state = campaign(runs=(replace(run, events=steps),))

    def at(seconds, run=state.runs[0]):
        moment = Moment(NOW + timedelta(seconds=seconds), float(seconds), "b")
        return alarms_of_run(run_view(state, run, moment), moment.at)

    assert at(59) == ()
    (over,) = at(90)
    assert (over.code, over.rank, over.due_at) == ("alarm.step_over", "due", NOW + timedelta(seconds=60))
    assert at(90)[0].key == at(300)[0].key
    smoke = RunEvent("e2", "r1", EventKind.MARK, NOW, word="smoke", ticks_s=5.0, boot="b")
    (danger,) = at(10, replace(run, events=(*steps, smoke)))
    assert (danger.code, danger.rank, danger.page) == ("run.danger.smoke", "danger", "run")
    # Gone back over the step of the mark: it is the same danger, so that one "Seen" quiets it.
    back = RunEvent("e3", "r1", EventKind.STEP, NOW, step="checks", ticks_s=6.0, boot="b")
    there = (RunEvent("e0", "r1", EventKind.STEP, NOW, step="checks", ticks_s=0.0, boot="b"), *steps, smoke)
    over_again = replace(run, events=(*there, replace(back, word="back")))
    assert {at(seconds, over_again)[0].key for seconds in (10, 11)} == {danger.key}


# -- sleep and clocks ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("clock_s", "counter_s", "kind", "seconds"),
    [
        (1.0, 1.0, None, 0),
        (5.5, 5.5, None, 0),
        (3600.0, 3600.0, "slept", 3600.0),
        (1.0, 3600.0, "slept", 3600.0),  # the clock was set as well
        (3601.0, 1.0, "forward", 3600.0),
        (-3599.0, 1.0, "back", 3600.0),
    ],
)
def test_a_gap_between_two_ticks_is_told_by_counter_and_clock(clock_s, counter_s, kind, seconds):
    before = Moment(NOW, 100.0, "b")
    pause = pause_between(before, Moment(NOW + timedelta(seconds=clock_s), 100.0 + counter_s, "b"), 1.0)
    assert (pause.kind if pause else None) == kind
    assert pause is None or pause.seconds == pytest.approx(seconds)


def test_after_a_restart_of_the_computer_the_clock_counts():
    pause = pause_between(Moment(NOW, 9000.0, "b"), Moment(NOW + H, 3.0, "c"), 1.0)
    assert (pause.kind, pause.began_at, pause.ended_at) == ("slept", NOW, NOW + H)
