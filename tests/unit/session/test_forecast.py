"""Forecasts of jars: exact where they can be, and right about seeded truths."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.substances import OwnLimits, Substances
from stirfall.session.analysis import analyse
from stirfall.session.film_factor import with_film_of_jar
from stirfall.session.forecast import JarForecast, forecast_jars, open_first
from stirfall.session.forecast_course import MOST_H, shelf_conditions

NOW = datetime(2026, 10, 24, 9, 0, tzinfo=UTC)
AGE = Factor("sample age", "h", 1.0, 200.0, Scale.LOG)
OIL = Factor("oil exposure time", "days", 0.02, 8.0, Scale.LOG)
HEAT = Factor("temperature", "C", 120.0, 180.0)
DEPTH = Factor("oil depth", "mm", 2.0, 40.0)
FILM = Factor("film index", "mmol/m²", 0.01, 5000.0, Scale.LOG, role=Role.FILM_INDEX)
BERLIN = ZoneInfo("Europe/Berlin")


def rising(log_age):
    return 2.5 * (log_age - math.log(20.0))


def hump(log_age):
    return 2.0 - 2.2 * (log_age - math.log(24.0)) ** 2


def campaign(truth=rising, count=160, factors=(AGE, HEAT, DEPTH), *, jars=(), lots=2, **kept):
    """Attempts whose success follows ``truth`` of the log age; lots alternate."""
    rng = np.random.default_rng(11)
    rows = []
    for number in range(count):
        hours = math.exp(rng.uniform(0.0, math.log(200.0)))
        values = {"sample age": hours, "oil exposure time": hours / 24.0, "temperature": rng.uniform(140, 170)}
        values |= {"oil depth": rng.uniform(5, 30), "film index": 10.0 * math.sqrt(hours)}
        good = rng.random() < 1.0 / (1.0 + math.exp(-truth(math.log(hours))))
        conditions = Conditions({factor.name: values[factor.name] for factor in factors})
        rows.append(Attempt(f"a{number}", number + 1, conditions, lot_id=f"L{number % lots}", successes=int(good)))
    known = {"melting_point_c": 130.0, "oil_flash_c": 260.0, "material": MaterialClass.BASE_METAL, "gates": 1}
    made = tuple(Lot(f"L{number}", NOW - timedelta(hours=12 + number)) for number in range(lots))
    return CampaignState(
        CampaignSettings(**(known | kept)), factors, lots=made, jars=tuple(jars), attempts=tuple(rows)
    )


def jar(name="J1", lot="L0", *, hours=10.0, **kept):
    return Jar(name, lot, NOW - timedelta(hours=hours), **({"oil_depth_mm": 12.0} | kept))


@pytest.fixture(scope="module")
def refined():
    jars = (jar("J1"), jar("J2", "L1", hours=3.0, oil_depth_mm=None), jar("J3", "L9", hours=1.0))
    state = campaign(factors=(AGE, OIL, HEAT, DEPTH), count=60, jars=jars)
    state = replace(state, lots=(*state.lots, Lot("L9", NOW - timedelta(hours=2))))
    return state, analyse(state, refined=True)


def moments(forecast):
    """Every moment that a forecast answers for, with its answer."""
    asked = [
        (NOW, forecast.now),
        (forecast.tonight_at, forecast.tonight),
        (forecast.tomorrow_at, forecast.tomorrow),
    ]
    asked.append((forecast.best_at, forecast.best))
    return [(at, each) for at, each in asked if each is not None]


def test_each_chance_is_the_estimate_at_the_conditions_that_the_jar_will_have(refined):
    """Exact: an independent walk through ``estimate``, one moment at a time, for the jar's own lot."""
    state, analysis = refined
    found = forecast_jars(analysis, state, NOW, tz=UTC)
    assert list(found) == ["J1", "J2", "J3"]
    for each in state.jars:
        forecast = found[each.id]
        own = analysis.for_lot(each.lot_id)
        assert len(moments(forecast)) >= 3
        for at, said in moments(forecast):
            expected = own.estimate(own.complete(shelf_conditions(state, each, at)))
            assert (said.mean, said.lower, said.upper) == pytest.approx(
                (expected.mean, expected.lower, expected.upper), abs=1e-6
            )
            assert (said.level, said.n) == (expected.level, expected.n)
        for hours, mean in zip(forecast.times_h[::9], forecast.means[::9], strict=True):
            at = NOW + timedelta(hours=float(hours))
            assert mean == pytest.approx(
                own.estimate(own.complete(shelf_conditions(state, each, at))).mean, abs=1e-6
            )


def test_the_film_index_of_the_jars_own_oil_runs_along():
    """Against ``with_film_of_jar``, which the odds use for a jar in hand."""
    own = jar(hours=8.0, inner_diameter_mm=60.0, metal_area_cm2=20.0, lid="closed")
    state = campaign(factors=(AGE, HEAT, DEPTH, FILM), count=40, jars=(own,))
    analysis = analyse(state)
    forecast = forecast_jars(analysis, state, NOW, tz=UTC)["J1"]
    answer = analysis.for_lot("L0")
    for at, said in moments(forecast)[:3]:
        conditions = with_film_of_jar(analysis.state, "J1", shelf_conditions(state, own, at))
        assert "film index" in conditions
        assert said.mean == pytest.approx(answer.estimate(answer.complete(conditions)).mean, abs=1e-6)


def test_a_rising_truth_is_best_at_the_end_and_its_window_stays_open():
    state = campaign(rising, jars=(jar(),))
    forecast = forecast_jars(analyse(state), state, NOW)["J1"]
    assert forecast.has_window
    assert forecast.reason is None
    assert forecast.opens_at > NOW
    assert forecast.closes_at is None
    assert forecast.best.mean > forecast.now.mean
    assert forecast.best_at > forecast.opens_at
    assert forecast.times_h[-1] == pytest.approx(200.0 - 12.0)  # the end of the range of the age
    assert not forecast.is_open(NOW)
    assert forecast.is_open(forecast.opens_at + timedelta(hours=1))


def test_a_hump_is_found_near_its_top_and_its_window_has_two_ends():
    state = campaign(hump, count=400, jars=(jar(),), humps=("sample age",), form="")
    forecast = forecast_jars(analyse(state), state, NOW)["J1"]
    made = NOW - timedelta(hours=12)
    top_h = (forecast.best_at - made) / timedelta(hours=1)
    assert 24.0 / 1.4 < top_h < 24.0 * 1.4
    assert forecast.opens_at < forecast.best_at < forecast.closes_at
    # By the truth the chance is nine tenths of its best where the log odds are 1.20, at 13 h and 44 h.
    assert 9.0 < (forecast.opens_at - made) / timedelta(hours=1) < 18.0
    assert 32.0 < (forecast.closes_at - made) / timedelta(hours=1) < 60.0


def test_the_window_stays_where_it_is_while_time_goes_by_and_after_it_closed():
    state = campaign(hump, count=400, jars=(jar(),), humps=("sample age",))
    analysis = analyse(state)
    first, later, past = (
        forecast_jars(analysis, state, NOW + timedelta(hours=hours))["J1"] for hours in (0.0, 5.0, 100.0)
    )
    for other in (later, past):
        assert abs(other.opens_at - first.opens_at) < timedelta(minutes=10)
        assert abs(other.closes_at - first.closes_at) < timedelta(minutes=10)
    assert past.best_at == NOW + timedelta(hours=100)
    assert not past.is_open(past.at)


def test_nothing_is_said_of_later_for_a_superoxide_former():
    state = campaign(hump, count=40, jars=(jar(hours=2.0),), material=MaterialClass.SUPEROXIDE_FORMER)
    state = replace(state, lots=(Lot("L0", NOW - timedelta(hours=3)), *state.lots[1:]))
    analysis = analyse(state)
    forecast = forecast_jars(analysis, state, NOW)["J1"]
    assert forecast.now == analysis.estimate(analysis.complete(shelf_conditions(state, state.jars[0], NOW)))
    assert forecast.reason.code == "forecast.superoxide"
    assert (forecast.tonight, forecast.tomorrow, forecast.best, forecast.best_at) == (None, None, None, None)
    assert (forecast.opens_at, forecast.closes_at, len(forecast.times_h)) == (None, None, 0)
    assert forecast.use_by == NOW + timedelta(hours=21)
    late = forecast_jars(analysis, state, NOW + timedelta(hours=22))["J1"]
    assert late.now is None  # the limits block it then
    assert late.reason.code == "limits.too_long_exposed"


def test_nothing_is_said_beyond_the_use_by():
    limits = Substances(limits=OwnLimits(age_h=30.0))
    state = campaign(rising, jars=(jar(),), material=MaterialClass.ALKALI_METAL, substances=limits)
    analysis = analyse(state)
    forecast = forecast_jars(analysis, state, NOW, tz=UTC)["J1"]
    assert forecast.use_by == NOW + timedelta(hours=20)
    assert forecast.tonight is not None
    assert forecast.tomorrow is None
    assert forecast.times_h[-1] <= 20.0
    late = forecast_jars(analysis, state, NOW + timedelta(hours=20, minutes=1))["J1"]
    assert late.reason.code == "forecast.use_by_past"
    assert late.now is not None
    assert late.best is None


def test_nothing_is_said_beyond_the_range_of_an_age_nor_beyond_two_weeks():
    wide = replace(AGE, high=5000.0)
    state = campaign(rising, count=30, factors=(wide, HEAT), jars=(jar(),))
    assert forecast_jars(analyse(state), state, NOW)["J1"].times_h[-1] == pytest.approx(MOST_H)
    narrow = replace(state, factors=(replace(AGE, high=11.0), HEAT))
    beyond = forecast_jars(analyse(narrow), narrow, NOW)["J1"]
    assert beyond.reason.code == "forecast.beyond_range"
    assert beyond.now is not None


def test_without_attempts_no_time_stands_out():
    state = campaign(count=0, jars=(jar(),))
    forecast = forecast_jars(analyse(state), state, NOW)["J1"]
    assert forecast.reason.code == "forecast.flat"
    assert not forecast.has_window
    assert forecast.best is None
    assert len(forecast.means) == len(forecast.times_h) > 20


def test_a_level_truth_has_no_window_in_most_campaigns():
    """A null: with nothing to find, a window is announced at most as often as two ends at one in ten allow."""
    state = campaign(lambda _age: 0.0, count=120, jars=(jar(),))
    rng = np.random.default_rng(5)
    announced = 0
    for _ in range(12):
        flips = tuple(replace(a, successes=int(rng.random() < 0.5)) for a in state.attempts)
        drawn = replace(state, attempts=flips)
        announced += forecast_jars(analyse(drawn), drawn, NOW)["J1"].has_window
    assert announced <= 6  # binomial(12, 0.2): more than 6 has a chance of 0.4 %


def test_what_cannot_be_foretold_says_why():
    undated = campaign(count=20, jars=(jar(),))
    undated = replace(undated, lots=(Lot("L0"), Lot("L1")))
    assert forecast_jars(analyse(undated), undated, NOW)["J1"].reason.code == "forecast.no_lot_date"
    ageless = campaign(count=20, factors=(HEAT, DEPTH), jars=(jar(),))
    still = forecast_jars(analyse(ageless), ageless, NOW)["J1"]
    assert still.reason.code == "forecast.nothing_runs"
    assert still.now is not None
    future = campaign(count=20, jars=(jar(hours=-5.0),))
    assert forecast_jars(analyse(future), future, NOW)["J1"].reason.code == "time.runs_backwards"
    furry = campaign(count=20, jars=(jar(look="furry"),), material=MaterialClass.ALKALI_METAL)
    closed = forecast_jars(analyse(furry), furry, NOW)["J1"]
    assert (closed.now, closed.reason.code) == (None, "limits.alarming_look")


def test_a_jar_that_was_started_this_very_minute_is_taken_as_one_minute_old():
    fresh = jar(hours=0.0)
    state = campaign(factors=(OIL, HEAT), count=20, jars=(fresh, jar("J2", hours=9.0)))
    analysis = analyse(state)
    found = forecast_jars(analysis, state, NOW)
    minute = shelf_conditions(state, fresh, NOW + timedelta(minutes=1))
    assert found["J1"].now.mean == pytest.approx(analysis.estimate(analysis.complete(minute)).mean, abs=1e-9)
    assert found["J2"].now is not None


def test_a_cancelled_forecast_stops():
    state = campaign(count=0, jars=(jar(),))
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        forecast_jars(analyse(state), state, NOW, token)


def test_evenings_are_those_of_the_local_clock_over_the_end_of_summer_time():
    """Europe/Berlin goes from UTC+2 to UTC+1 on 25 October 2026 (EU Directive 2000/84/EC: last Sunday)."""
    state = campaign(count=0, jars=(jar(),))
    forecast = forecast_jars(analyse(state), state, NOW, tz=BERLIN)["J1"]
    assert forecast.tonight_at == datetime(2026, 10, 24, 18, 0, tzinfo=UTC)
    assert forecast.tomorrow_at == datetime(2026, 10, 25, 19, 0, tzinfo=UTC)
    assert forecast.tomorrow_at - forecast.tonight_at == timedelta(hours=25)


@dataclass(frozen=True)
class Row:
    jar: Jar
    is_blocked: bool = False


def test_open_first_puts_closing_windows_then_use_by_then_chances_and_blocked_last():
    def forecast(name, *, closes=None, use_by=None, opens=None, chance=None):
        ends = [None if hours is None else NOW + timedelta(hours=hours) for hours in (closes, use_by)]
        base = JarForecast(name, closes_at=ends[0], use_by=ends[1], has_window=opens is not None, at=NOW)
        return base if chance is None else replace(base, now=replace(BASE, mean=chance))

    made = [
        forecast("late", closes=9, opens=1),
        forecast("soon", closes=2, opens=1),
        forecast("cut", closes=9, opens=1, use_by=1),
        forecast("closed", closes=-2, opens=-9, use_by=7),
        forecast("dated", use_by=5),
        forecast("good", chance=0.7),
        forecast("poor", chance=0.2),
        forecast("shut", closes=1, opens=0),
    ]
    rows = [Row(jar(each.jar_id), each.jar_id == "shut") for each in made]
    rows.append(Row(jar("unknown")))
    found = {each.jar_id: each for each in made}
    expected = ("cut", "soon", "late", "dated", "closed", "good", "poor", "unknown", "shut")
    assert open_first(found, rows) == expected
    assert open_first(found, rows[::-1]) == expected


BASE = analyse(campaign(count=0)).estimate(Conditions({"sample age": 5.0, "temperature": 150.0, "oil depth": 9.0}))
