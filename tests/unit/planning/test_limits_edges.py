"""Limits of temperature, ages, looks and jars: at the edge, just inside and just outside.

The numbers of the shipped table are written out again: a changed table must be meant.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from limits_at_hand import (
    AGE,
    ALKALI,
    BASE,
    BATH,
    NOW,
    OTHER,
    SUPEROXIDE,
    at,
    campaign,
    said,
)

from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import RESIDUE, Jar, Lot
from stirfall.bench.run_facts import RunFacts
from stirfall.bench.substances import (
    OilValues,
    OwnLimits,
    SurfaceLook,
)
from stirfall.bench.units import convert
from stirfall.planning.limits import (
    jar_findings,
    lift_findings,
    live_findings,
    operating_limits,
    refusals,
    residue_findings,
)
from stirfall.planning.situation import Situation
from stirfall.reporting.sentences import sentence


@pytest.mark.parametrize("unit", ["C", "F", "K"])
@pytest.mark.parametrize(
    ("oil", "top", "code"),
    [
        (OilValues(), 195.0, "limits.too_near_flash"),  # flash point 220 °C − 25 K
        (OilValues(stated_max_c=180.0), 180.0, "limits.above_stated"),
        (OilValues(autoignition_c=260.0), 160.0, "limits.near_autoignition"),  # − 100 K
    ],
)
def test_the_oil_blocks_from_its_edge_on(unit, oil, top, code):
    bath = Factor("bath", unit, *(convert(end, "C", unit) for end in (20.0, 400.0)))
    state = campaign(bath, oil=oil)
    edge = convert(top, "C", unit)
    step = 0.001
    assert code not in said(state, conditions=at(bath=edge))
    assert code not in said(state, conditions=at(bath=edge - step))
    assert said(state, conditions=at(bath=edge + step))[code] == "block"
    assert [each.code for each in refusals(state, Situation(at(bath=edge + step)))] == [code]
    assert refusals(state, Situation(at(bath=edge))) == ()


def test_the_oil_warns_from_50_k_below_its_flash_point():
    state = campaign(BATH)
    assert "limits.near_flash" not in said(state, conditions=at(bath=170.0))
    assert said(state, conditions=at(bath=170.01))["limits.near_flash"] == "warn"
    assert said(state, conditions=at(bath=195.0))["limits.near_flash"] == "warn"
    assert "limits.near_flash" not in said(state, conditions=at(bath=195.01))


def test_a_stated_maximum_above_the_flash_margin_does_not_loosen_it():
    state = campaign(BATH, oil=OilValues(stated_max_c=250.0, autoignition_c=400.0))
    assert operating_limits(state).ranges["bath"] == (103.0, 170.0)
    assert said(state, conditions=at(bath=196.0))["limits.too_near_flash"] == "block"


@pytest.mark.parametrize(
    ("oil", "top"),
    [
        (OilValues(), 170.0),
        (OilValues(stated_max_c=150.0), 150.0),
        (OilValues(autoignition_c=255.0), 155.0),
        (OilValues(stated_max_c=150.0, autoignition_c=245.0), 145.0),
    ],
)
def test_suggested_temperatures_end_at_the_strictest_limit_of_the_oil(oil, top):
    assert operating_limits(campaign(BATH, oil=oil)).ranges["bath"] == (103.0, top)


def test_a_window_that_the_bottle_closes_blocks_and_says_why():
    limits = operating_limits(campaign(BATH, oil=OilValues(stated_max_c=102.9)))
    assert [each.code for each in limits.findings if each.level == "block"] == ["limits.window_empty"]
    assert "102.9" in sentence(limits.findings[0].code, limits.findings[0].params)


def test_melting_point_margins_warn_beyond_5_and_60_k():
    state = campaign(BATH)
    assert "limits.below_melting_margin" not in said(state, conditions=at(bath=103.0))
    assert said(state, conditions=at(bath=102.99))["limits.below_melting_margin"] == "warn"
    assert "limits.far_above_melting" not in said(state, conditions=at(bath=158.0))
    assert said(state, conditions=at(bath=158.01))["limits.far_above_melting"] == "warn"


def test_an_unknown_flash_point_blocks_but_does_not_keep_from_recording_what_was_done():
    state = campaign(BATH, oil_flash_c=None, oil=OilValues(stated_max_c=150.0))
    assert said(state, conditions=at(bath=120.0))["limits.flash_unknown"] == "block"
    assert refusals(state, Situation(at(bath=120.0))) == ()
    # The bottle's own maximum is known, and holds whatever else is not.
    assert [each.code for each in refusals(state, Situation(at(bath=150.1)))] == ["limits.above_stated"]


def test_nothing_is_said_of_what_a_value_not_a_number_could_pass():
    assert said(campaign(BATH), conditions=at(bath=math.nan))["limits.too_near_flash"] == "block"


def test_the_peak_is_held_against_the_set_point_afterwards():
    state = campaign(BATH)
    for peak, warned in ((160.0, False), (159.99, False), (160.01, True)):
        codes = said(state, conditions=at(bath=150.0), facts=RunFacts(peak_c=peak))
        assert ("limits.peak_over_set" in codes) is warned
    fahrenheit = campaign(Factor("bath", "F", 200.0, 500.0))
    assert "limits.peak_over_set" in said(fahrenheit, conditions=at(bath=302.0), facts=RunFacts(peak_c=160.01))
    assert said(state, conditions=at(bath=150.0), facts=RunFacts(peak_c=195.1))["limits.peak_beyond_oil"] == "warn"
    assert "limits.peak_beyond_oil" not in said(state, conditions=at(bath=150.0), facts=RunFacts(peak_c=195.0))


@pytest.mark.parametrize(
    ("readings", "codes"),
    [
        ([], []),
        ([(0.0, 160.0)], []),
        ([(0.0, 160.01)], ["limits.live_over_set"]),
        ([(0.0, 140.0), (1.0, 145.0)], []),
        ([(0.0, 140.0), (1.0, 145.01)], ["limits.live_too_fast"]),
        ([(0.0, 124.0), (1.0, 129.99)], []),  # more than 20 K below the set point it may be heated faster
        ([(0.0, 124.0), (1.0, 130.0)], ["limits.live_too_fast"]),
        ([(0.0, 160.0), (1.0, 152.0)], []),  # cooling
        ([(0.0, 140.0), (0.9, 144.0), (1.0, 144.9)], []),  # a tenth of a minute is too short for a rate
        ([(0.0, 150.0), (1.0, math.nan)], ["limits.live_no_reading"]),
        ([(0.0, math.nan), (1.0, 150.0)], []),
    ],
)
def test_live_readings_against_a_set_point_of_150(readings, codes):
    found = live_findings(150.0, readings)
    assert [each.code for each in found] == codes
    assert all(each.level == "block" and each.source for each in found)
    assert not any("{" in sentence(each.code, each.params) for each in found)


def test_live_readings_beyond_the_oil_are_an_alarm_whatever_the_set_point():
    state = campaign(BATH)
    assert live_findings(190.0, [(0.0, 195.0)], state) == ()
    assert [each.code for each in live_findings(190.0, [(0.0, 195.1)], state)] == ["limits.live_beyond_oil"]


@pytest.mark.parametrize(
    ("material", "melting", "top"),
    [
        (BASE, 138.0, 118.0),
        (ALKALI, 98.0, 40.0),
        (OTHER, 98.0, 40.0),
        (SUPEROXIDE, 50.0, 30.0),
        (ALKALI, None, 40.0),
    ],
)
def test_lifting_out_is_blocked_above_its_edge(material, melting, top):
    state = campaign(BATH, material=material, melting_point_c=melting)
    assert lift_findings(state, top) == ()
    assert lift_findings(state, top - 0.01) == ()
    assert [(each.level, each.code) for each in lift_findings(state, top + 0.01)] == [("block", "limits.lift_hot")]
    assert [each.code for each in refusals(state, Situation(facts=RunFacts(lifted_at_c=top + 0.01)))] == [
        "limits.lift_hot"
    ]
    assert refusals(state, Situation(facts=RunFacts(lifted_at_c=top))) == ()


def test_lifting_a_base_metal_of_unknown_melting_point_is_a_note():
    found = lift_findings(campaign(BATH, melting_point_c=None), 30.0)
    assert [(each.level, each.code) for each in found] == [("note", "limits.lift_unknown")]


# ------------------------------------------------------------------------------------ ages, looks, jars


@pytest.mark.parametrize(
    ("material", "most_h", "level", "code"),
    [
        (SUPEROXIDE, 24.0, "block", "limits.too_long_exposed"),
        (ALKALI, 720.0, "warn", "limits.inspect_age"),
        (OTHER, 720.0, "warn", "limits.inspect_age"),
    ],
)
def test_the_age_limit_of_a_class_holds_for_conditions_and_jars(material, most_h, level, code):
    days = Factor("oil exposure", "d", 0.1, 90.0, role=Role.OIL_EXPOSURE)
    state = campaign(AGE, days, material=material)
    for hours, expected in ((most_h, {}), (most_h - 0.01, {}), (most_h + 0.01, {code: level})):
        known = said(state, conditions=Conditions({"sample age": hours}))
        assert {each: told for each, told in known.items() if each == code} == expected
        known = said(state, conditions=Conditions({"oil exposure": hours / 24.0}))
        assert {each: told for each, told in known.items() if each == code} == expected
        jar = Jar("J1", "L1", NOW - timedelta(hours=hours))
        assert {each.code: each.level for each in jar_findings(state, jar, NOW)} == expected


def test_a_base_metal_has_no_age_limit_but_its_own():
    jar = Jar("J1", "L1", NOW - timedelta(days=900))
    assert jar_findings(campaign(AGE), jar, NOW) == ()
    own = campaign(AGE, limits=OwnLimits(age_h=48.0))
    assert [each.level for each in jar_findings(own, jar, NOW)] == ["warn"]
    assert operating_limits(own).ranges["sample age"] == (0.5, 48.0)


def test_an_own_age_limit_only_tightens():
    tight = campaign(AGE, material=SUPEROXIDE, limits=OwnLimits(age_h=2.0))
    assert said(tight, conditions=at(sample_age=2.01))["limits.too_long_exposed"] == "block"
    loose = campaign(AGE, material=SUPEROXIDE, limits=OwnLimits(age_h=500.0))
    assert said(loose, conditions=at(sample_age=24.01))["limits.too_long_exposed"] == "block"


def test_the_lot_of_a_superoxide_former_has_an_age_too():
    state = campaign(BATH, material=SUPEROXIDE)
    lot = Lot("L1", NOW - timedelta(hours=24.1))
    assert said(state, lot=lot, at=NOW)["limits.too_long_exposed"] == "block"
    assert "limits.too_long_exposed" not in said(state, lot=Lot("L1", NOW - timedelta(hours=24)), at=NOW)


def test_a_hot_time_of_a_superoxide_former_counts_as_exposure():
    hot = Factor("hot time", "h", 0.1, 90.0, role=Role.HOT_TIME)
    assert said(campaign(hot, material=SUPEROXIDE), conditions=at(hot_time=24.1))["limits.too_long_exposed"]
    assert "limits.inspect_age" not in said(campaign(hot, material=ALKALI), conditions=at(hot_time=800.0))


def test_suggested_ages_end_at_the_limit_of_the_class_and_a_range_beyond_it_blocks():
    limits = operating_limits(campaign(AGE, material=ALKALI))
    assert limits.ranges["sample age"] == (0.5, 720.0)
    late = Factor("sample age", "h", 721.0, 900.0)
    for material in (ALKALI, SUPEROXIDE):
        blocking = [each.code for each in operating_limits(campaign(late, material=material)).findings]
        assert "limits.age_range_too_old" in blocking
    assert operating_limits(campaign(replace(late, low=720.0), material=ALKALI)).ranges["sample age"] == (
        720.0,
        720.0,
    )


def test_a_jar_from_the_future_says_nothing():
    assert jar_findings(campaign(AGE, material=SUPEROXIDE), Jar("J1", "L1", NOW + timedelta(hours=1)), NOW) == ()


@pytest.mark.parametrize("material", list(MaterialClass))
@pytest.mark.parametrize("look", list(SurfaceLook))
def test_an_alarming_look_blocks_every_metal_but_a_base_metal(material, look):
    state = campaign(BATH, material=material)
    jar = Jar("J1", "L1", NOW, look=look)
    alarming = material is not BASE and look in ("hidden", "furry", "white", "yellow")
    expected = {"limits.alarming_look": "block"} if alarming else {}
    assert said(state, facts=RunFacts(look=look)) == expected
    assert said(state, jar=jar) == expected
    assert {each.code: each.level for each in jar_findings(state, jar, NOW)} == expected
    if alarming:
        text = sentence("limits.alarming_look", {"look": look})
        assert "Do not open" in text
        assert "get help" in text


def test_a_calm_look_does_not_take_back_the_alarming_one_of_the_jar():
    state = campaign(BATH, material=ALKALI)
    jar = Jar("J1", "L1", NOW, look="yellow")
    assert "limits.alarming_look" in said(state, jar=jar, facts=RunFacts(look="bright"))


def test_a_residue_jar_is_no_jar_for_an_attempt():
    jar = Jar("R1", "L1", NOW, contents=RESIDUE)
    assert said(campaign(BATH), jar=jar) == {"limits.residue_jar": "block"}
    assert jar_findings(campaign(BATH), jar, NOW) == ()


def test_residue_is_spoken_of_in_one_note_after_seven_days():
    def jars(*days: float) -> tuple[Jar, ...]:
        return tuple(Jar(f"R{n}", "L1", NOW - timedelta(days=d), contents=RESIDUE) for n, d in enumerate(days))

    assert residue_findings(campaign(BATH, jars=jars(7.0, 6.99)), NOW) == ()
    found = residue_findings(campaign(BATH, jars=jars(7.01, 9.0, 3.0)), NOW)
    assert [(each.level, each.code) for each in found] == [("note", "limits.residue_open")]
    assert found[0].params["jars"] == "R1, R0"
    assert "{" not in sentence(found[0].code, found[0].params)
    own = campaign(BATH, jars=jars(3.0), limits=OwnLimits(residue_days=2.0))
    assert len(residue_findings(own, NOW)) == 1
    emptied = tuple(replace(jar, emptied_at=NOW) for jar in jars(30.0))
    assert residue_findings(campaign(BATH, jars=emptied), NOW) == ()
    assert residue_findings(campaign(BATH, jars=(Jar("J1", "L1", NOW - timedelta(days=99)),)), NOW) == ()
