"""Limits of vessel, batch, room, day and of what was tried; standing limits; what is allowed is never a block."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from limits_at_hand import (
    AGE,
    ALKALI,
    BASE,
    BATCH,
    BATH,
    NOW,
    OTHER,
    SUPEROXIDE,
    at,
    campaign,
    said,
)

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, Jar, Masses
from stirfall.bench.run_facts import RunFacts
from stirfall.bench.substances import (
    AdditiveValues,
    OilValues,
    OwnLimits,
    VesselValues,
)
from stirfall.planning.limits import (
    break_findings,
    operating_limits,
    refusals,
    standing_limits,
)
from stirfall.planning.situation import Situation
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.storage.limit_table import additive_kinds, limit_table


def additive(kind: str = "tertiary alcohol", **more) -> tuple[AdditiveValues, ...]:
    return (AdditiveValues("A", kind, **more),)


def test_freeboard_warns_above_three_quarters_of_the_vessel():
    state = campaign(BATH, vessel=VesselValues(volume_ml=200.0))
    for oil, warned in ((150.0, False), (149.9, False), (150.1, True)):
        assert ("limits.freeboard" in said(state, facts=RunFacts(oil_ml=oil))) is warned
    assert said(campaign(BATH), facts=RunFacts(oil_ml=999.0)) == {}


def test_batch_warns_above_twice_the_largest_clean_charge():
    clean = {"parted": Parted.YES, "pooled": Pooled.ONE_POOL}
    attempts = (
        Attempt("a1", 1, Conditions(), masses=Masses(charge_g=10.0), **clean),
        Attempt("a2", 2, Conditions(), masses=Masses(charge_g=40.0), parted=Parted.NO),
        Attempt("a3", 3, Conditions(), masses=Masses(charge_g=90.0), struck_reason="wrong", **clean),
    )
    state = campaign(BATH, attempts=attempts)
    for charge, warned in ((20.0, False), (19.9, False), (20.1, True)):
        assert ("limits.batch" in said(state, masses=Masses(charge_g=charge))) is warned
    assert said(campaign(BATH), masses=Masses(charge_g=500.0)) == {}


@pytest.mark.parametrize(("material", "holds"), [(BASE, False), (OTHER, True), (ALKALI, True), (SUPEROXIDE, True)])
def test_humidity_warns_above_60_percent(material, holds):
    humid = Factor("room humidity", "%", 20.0, 90.0)
    state = campaign(humid, material=material)
    for value, above in ((60.0, False), (59.9, False), (60.1, True)):
        expected = {"limits.humid": "warn"} if above and holds else {}
        assert said(state, facts=RunFacts(room_rh_percent=value)) == expected
        assert said(state, conditions=at(room_humidity=value)) == expected
        assert said(state, jar=Jar("J1", "L1", NOW, room_rh_percent=value)) == expected
    assert operating_limits(state).ranges["room humidity"] == (20.0, 60.0 if holds else 90.0)


def test_what_was_noted_of_the_room_comes_before_conditions_and_jar():
    state = campaign(Factor("room humidity", "%", 20.0, 90.0), material=ALKALI)
    jar = Jar("J1", "L1", NOW, room_rh_percent=90.0)
    facts = RunFacts(room_rh_percent=30.0)
    assert said(state, facts=facts, conditions=at(room_humidity=80.0), jar=jar) == {}
    assert said(state, conditions=at(room_humidity=30.0), jar=jar) == {}


def test_an_own_humidity_limit_is_stricter_and_holds_for_a_base_metal_too():
    state = campaign(BATH, limits=OwnLimits(humidity_percent=40.0))
    assert said(state, facts=RunFacts(room_rh_percent=40.0)) == {}
    assert said(state, facts=RunFacts(room_rh_percent=40.1)) == {"limits.humid": "warn"}


def run(number: int, start: datetime, minutes: float | None = None, **more) -> Attempt:
    ended = None if minutes is None else start + timedelta(minutes=minutes)
    return Attempt(f"a{number}", number, Conditions(), started_at=start, recorded_at=ended, **more)


def day(count: int, **more) -> CampaignState:
    """Runs two hours apart, the last one two hours before noon."""
    runs = tuple(run(n, NOW - timedelta(hours=1.0 * (n + 1)), 10.0, **more) for n in range(count))
    return campaign(BATH, attempts=runs[::-1])


def test_the_fourth_hot_run_of_a_day_asks_for_a_break():
    codes = [[each.code for each in break_findings(day(count), NOW)] for count in (2, 3, 4)]
    assert ["limits.many_runs" in each for each in codes] == [False, True, True]
    assert break_findings(day(3, struck_reason="typing error"), NOW) == ()
    assert all(each.level == "note" for each in break_findings(day(4), NOW))
    assert "limits.many_runs" in said(day(3), at=NOW)
    assert said(day(3)) == {}


def test_runs_of_another_local_day_do_not_count():
    local = NOW.astimezone().replace(hour=0, minute=30)
    runs = tuple(run(n, local - timedelta(hours=3 + n), 5.0) for n in range(3))
    assert break_findings(campaign(BATH, attempts=runs), local) == ()


@pytest.mark.parametrize(
    ("first_min", "gap_min", "noted"),
    [(120.0, 20.0, False), (119.0, 20.0, False), (121.0, 20.0, True), (180.0, 30.0, False), (180.0, 29.0, True)],
)
def test_two_hours_without_a_gap_of_half_an_hour_ask_for_a_break(first_min, gap_min, noted):
    start = NOW - timedelta(minutes=first_min)
    first = run(1, start, first_min - 60.0 - gap_min)
    second = run(2, NOW - timedelta(minutes=60.0), 55.0)
    codes = [each.code for each in break_findings(campaign(BATH, attempts=(first, second)), NOW)]
    assert ("limits.no_break" in codes) is noted


# ------------------------------------------------------------------------------------ extrapolation


def tried_speeds(count: int, low: float = 40.0, high: float = 80.0) -> CampaignState:
    speed = Factor("speed", "1/min", 20.0, 180.0)
    values = [low, high, *[0.5 * (low + high)] * (count - 2)]
    attempts = tuple(
        Attempt(f"a{n}", n, Conditions({"speed": value}), parted=Parted.NO) for n, value in enumerate(values, 1)
    )
    return campaign(speed, attempts=attempts)


@pytest.mark.parametrize(
    ("value", "code", "level"),
    [
        (80.0, None, None),
        (80.1, "limits.outside_tried", "note"),
        (100.0, "limits.outside_tried", "note"),  # half of the span of 40 beyond
        (100.1, "limits.far_untried", "warn"),
        (20.0, "limits.outside_tried", "note"),
        (19.9, "limits.far_untried", "warn"),
    ],
)
def test_leaving_the_tried_range_by_more_than_half_its_span_needs_a_reason(value, code, level):
    known = said(tried_speeds(6), conditions=at(speed=value))
    known.pop("limits.outside_range", None)
    assert known == ({} if code is None else {code: level})


def test_five_graded_attempts_ask_no_reason_and_neither_does_a_suggestion():
    assert said(tried_speeds(5), conditions=at(speed=150.0)) == {"limits.outside_tried": "note"}
    assert said(tried_speeds(6), conditions=at(speed=150.0), planned=True) == {"limits.outside_tried": "note"}


def test_the_tried_span_is_taken_on_the_factors_own_scale():
    age = Factor("sample age", "h", 1.0, 1000.0, Scale.LOG)
    values = (4.0, 16.0, 8.0, 8.0, 8.0, 8.0)
    attempts = tuple(
        Attempt(f"a{n}", n, Conditions({"sample age": v}), parted=Parted.NO) for n, v in enumerate(values, 1)
    )
    state = campaign(age, attempts=attempts)
    assert said(state, conditions=at(sample_age=32.0)) == {"limits.outside_tried": "note"}  # half of a factor of 4
    assert said(state, conditions=at(sample_age=32.1)) == {"limits.far_untried": "warn"}


def test_a_factor_that_never_varied_may_move_by_a_twentieth_of_its_range():
    assert said(tried_speeds(6, 60.0, 60.0), conditions=at(speed=68.0)) == {"limits.outside_tried": "note"}
    assert said(tried_speeds(6, 60.0, 60.0), conditions=at(speed=68.1)) == {"limits.far_untried": "warn"}


# ------------------------------------------------------------------------------------ together, and tables


def test_findings_come_most_severe_first():
    state = campaign(BATH, AGE, material=OTHER, melting_point_c=None)
    found = operating_limits(state).judge(
        Situation(at(bath=199.0, sample_age=800.0), facts=RunFacts(room_rh_percent=80.0))
    )
    assert [each.level for each in found] == sorted(
        (each.level for each in found), key=("block", "warn", "note").index
    )
    assert {each.level for each in found} == {"block", "warn", "note"}


@pytest.mark.parametrize("material", list(MaterialClass))
@pytest.mark.parametrize("known", [True, False])
def test_standing_limits_are_sentences_with_sources(material, known):
    things = {"oil": OilValues(stated_max_c=150.0, autoignition_c=300.0), "vessel": VesselValues(100.0)}
    things["additives"] = (*additive("rosin", dose_cap_mg_g=10.0), AdditiveValues("B", "hydrocarbon", 9.0))
    state = (
        campaign(BATH, material=material, **things)
        if known
        else campaign(material=material, melting_point_c=None, oil_flash_c=None)
    )
    lines = standing_limits(state)
    for line in lines:
        assert line.source
        assert line.rule in limit_table()
        assert line.code in all_sentences()
        assert "{" not in sentence(line.code, line.params)
    rules = {line.rule for line in lines}
    assert ("flash_unknown" in rules) is not known
    assert ("alarming_look" in rules) is (material is not BASE)
    assert ("superoxide_age" in rules) is (material is SUPEROXIDE)
    assert {"checklist", "lift_out", "dose_cap", "freeboard", "residue"} <= rules


def test_every_rule_of_the_table_has_levels_a_source_and_is_used():
    for rule in limit_table().values():
        assert set(rule.levels) <= {"note", "warn", "block"}
        assert rule.source
        assert rule.title
    for kind in additive_kinds().values():
        assert kind.source
        assert not (kind.halogenated or kind.water_based) or kind.allowed <= {BASE}


@st.composite
def campaigns(draw) -> CampaignState:
    low = draw(st.floats(0.1, 40))
    factors = [
        Factor(
            "bath", draw(st.sampled_from(("C", "F", "K"))), 20.0, 700.0, step=draw(st.sampled_from((None, 1.0)))
        ),
        Factor("sample age", draw(st.sampled_from(("h", "d"))), low, low + 900.0, Scale.LOG),
        Factor(
            "dose", draw(st.sampled_from(("mg/g", "%", "g"))), 0.0, 60.0, step=draw(st.sampled_from((None, 0.5)))
        ),
        Factor("room humidity", "%", 10.0, 90.0),
    ]
    if draw(st.booleans()):
        factors.append(BATCH)
    if draw(st.booleans()):
        factors.append(Factor("additive", levels=("none", "A", "B", "chloroform"), hidden=draw(st.booleans())))
    kinds = st.sampled_from(["", *additive_kinds()])
    caps, masses = st.none() | st.floats(0.5, 60), st.none() | st.floats(30, 400)
    known = tuple(
        AdditiveValues(name, draw(kinds), draw(caps), draw(masses), draw(st.none() | st.sampled_from((0.0, 1.0))))
        for name in ("A", "B")[: draw(st.integers(0, 2))]
    )
    oil = OilValues(
        stated_max_c=draw(st.none() | st.floats(60, 300)), autoignition_c=draw(st.none() | st.floats(160, 450))
    )
    own = OwnLimits(draw(st.none() | st.floats(0.5, 900)), None, draw(st.none() | st.floats(0.5, 30)))
    return campaign(
        *factors,
        material=draw(st.sampled_from(list(MaterialClass))),
        melting_point_c=draw(st.none() | st.floats(20, 150)),
        oil_flash_c=draw(st.floats(120, 320)),
        oil=oil,
        additives=known,
        limits=own,
    )


@settings(max_examples=300, deadline=None)
@given(state=campaigns(), data=st.data())
def test_whatever_the_limits_allow_is_never_judged_a_block(state, data):
    limits = operating_limits(state)
    if limits.blocked:
        event("blocked")
        return
    conditions = {}
    for factor in state.visible_factors:
        if data.draw(st.integers(0, 6)) == 0:
            continue  # a value that is not known
        if factor.is_choice:
            conditions[factor.name] = data.draw(st.sampled_from(factor.levels))
        else:
            low, high = limits.ranges[factor.name]
            tops = [rule.most for rule in limits.couplings if rule.dose == factor.name]
            conditions[factor.name] = data.draw(st.floats(low, high) | st.sampled_from((low, high, *tops)))
    if not limits.allows(conditions):
        event("not allowed")
        return
    event("allowed")
    blocks = [each for each in limits.judge(Situation(Conditions(conditions))) if each.level == "block"]
    assert blocks == []
    assert refusals(state, Situation(Conditions(conditions))) == ()
