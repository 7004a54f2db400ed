"""No forecast, alarm, order or label of the shelf leads to a longer exposure than a class of metal bears.

The rules are written out a second time here, from the state alone, after the table of limits in the guide, so that
the program is not its own judge.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import RESIDUE, Attempt, CampaignSettings, Jar, Lot
from stirfall.reporting.labels import make_label
from stirfall.session.alarms import alarms
from stirfall.session.analysis import analyse
from stirfall.session.forecast import forecast_jars, open_first

NOW = datetime(2026, 11, 24, 18, tzinfo=UTC)
SUPEROXIDE, BASE = MaterialClass.SUPEROXIDE_FORMER, MaterialClass.BASE_METAL
FACTORS = (
    Factor("sample age", "h", 0.5, 200.0, Scale.LOG, role=Role.SAMPLE_AGE),
    Factor("oil exposure time", "h", 0.5, 200.0, Scale.LOG, role=Role.OIL_EXPOSURE),
)
AGES = (1.0, 3.0, 9.0, 15.0, 19.0, 25.0, 40.0, 60.0, 90.0, 120.0)


def at_age(number: int, age: float) -> Attempt:
    """Older is better: what the program must not be tempted by."""
    grades = {"parted": Parted.YES, "pooled": Pooled.ONE_POOL} if age > 20.0 else {"parted": Parted.NO}
    conditions = Conditions({"sample age": age, "oil exposure time": age * 0.8})
    return Attempt(f"a{number}", number, conditions, lot_id="L1", **grades)  # type: ignore[arg-type]


HOURS = st.sampled_from((0.0, 0.001, 1.0, 10.0, 23.9, 24.1, 100.0, 719.0, 721.0, 5000.0))
JARS = st.builds(
    lambda hours, look, contents, planned: Jar(
        "J",
        "L1",
        NOW - timedelta(hours=hours),
        look=look,
        contents=contents,
        planned=planned and contents == "crude",
    ),
    HOURS,
    st.sampled_from(("", "bright", "furry", "yellow")),
    st.sampled_from(("crude", "crude", RESIDUE)),
    st.sampled_from((False, False, True)),
)


@st.composite
def shelves(draw: st.DrawFn) -> CampaignState:
    made = draw(st.none() | HOURS.map(lambda hours: NOW - timedelta(hours=hours)))
    jars = tuple(
        replace(jar, id=f"J{place}") for place, jar in enumerate(draw(st.lists(JARS, min_size=1, max_size=4)))
    )
    attempts = tuple(at_age(place, age) for place, age in enumerate(AGES[: draw(st.sampled_from((0, 10)))], 1))
    chosen = CampaignSettings(material=draw(st.sampled_from([*MaterialClass, SUPEROXIDE])), oil_flash_c=230.0)
    return CampaignState(chosen, FACTORS, (Lot("L1", made),), jars, attempts)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(shelves())
def test_what_the_shelf_says_never_lengthens_an_exposure_that_must_not_be(state: CampaignState) -> None:
    material = state.settings.material
    forecasts = forecast_jars(analyse(state), state, NOW, tz=UTC)
    told = alarms(state, forecasts, NOW, tz=UTC)
    assert set(forecasts) == {jar.id for jar in state.jars if not jar.planned and not jar.is_residue}
    event(material.value)
    for jar in state.jars:
        made = state.lots[0].made_at
        starts = [jar.started_at, *([made] if made is not None and material is SUPEROXIDE else [])]
        most_h = {SUPEROXIDE: 24.0, BASE: None}.get(material, 720.0)
        end = None if most_h is None or jar.is_residue else min(starts) + timedelta(hours=most_h)
        assert [line.startswith("use by 20") for line in make_label(state, jar).times[1:]] == (
            [] if jar.is_residue else [end is not None]
        )
        forecast = forecasts.get(jar.id)
        if forecast is None:
            continue
        codes = {each.code for each in told if each.target == jar.id}
        assert forecast.use_by == end
        if end is not None and forecast.best_at is not None:
            assert forecast.best_at <= end + timedelta(seconds=1)
        if material is not BASE and jar.look in ("furry", "yellow"):
            assert not any("window" in code for code in codes)
        if material is SUPEROXIDE:
            later = (forecast.tonight, forecast.tomorrow, forecast.best, forecast.opens_at, forecast.closes_at)
            assert later == (None,) * 5
            assert not forecast.has_window
            assert not len(forecast.times_h)
            assert not any("window" in code for code in codes)
            assert ("alarm.do_not_open" in codes) == (end is not None and end <= NOW)
            if end is not None and end <= NOW:
                assert forecast.now is None


def test_a_superoxide_former_is_opened_by_its_use_by_and_not_by_its_chance() -> None:
    jars = tuple(Jar(f"J{hours}", "L1", NOW - timedelta(hours=hours)) for hours in (1, 20, 10))
    attempts = tuple(at_age(place, age) for place, age in enumerate(AGES, 1))
    chosen = CampaignSettings(material=SUPEROXIDE, oil_flash_c=230.0)
    state = CampaignState(chosen, FACTORS, (Lot("L1", NOW - timedelta(hours=20)),), jars, attempts)

    class Row:
        is_blocked = False

        def __init__(self, jar: Jar) -> None:
            self.jar = jar

    apart = replace(state, lots=(Lot("L1"),))
    order = open_first(forecast_jars(analyse(apart), apart, NOW, tz=UTC), [Row(jar) for jar in jars])
    assert order == ("J20", "J10", "J1")
