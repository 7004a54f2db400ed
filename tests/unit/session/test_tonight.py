"""The plan of an evening: what is opened when, open or wait, what is started, and how far it was carried out."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.plans import PlanSettings
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import Run
from stirfall.bench.substances import OwnLimits, Substances, SurfaceLook
from stirfall.planning.candidates import take
from stirfall.planning.goals import PICKED_BY_PERSON, Goal
from stirfall.reporting.evening_words import evening_lines, said
from stirfall.reporting.sentences import all_sentences
from stirfall.session.analysis import analyse
from stirfall.session.clock import FixedClock
from stirfall.session.commands import KeepEvening
from stirfall.session.document import Document
from stirfall.session.film import film_of_jar, film_values
from stirfall.session.proving import may_count
from stirfall.session.tonight import JarToStart, evening_plan, plan_tonight, start_commands
from stirfall.session.tonight_calendar import bench_evenings, choose_evening
from stirfall.session.tonight_choice import Choice
from stirfall.session.tonight_jars import Hands
from stirfall.session.tonight_progress import next_line, plan_lines
from stirfall.session.tonight_template import thinner_note

BERLIN = ZoneInfo("Europe/Berlin")
# Saturday, 17:00 in Berlin; clocks go back in the night that follows, at 01:00 UTC (EU directive 2000/84/EC).
NOW = datetime(2026, 10, 24, 15, 0, tzinfo=UTC)
OIL = Factor("oil exposure time", "h", 0.5, 200.0, Scale.LOG, role=Role.OIL_EXPOSURE)
HEAT = Factor("temperature", "C", 135.0, 175.0, step=1.0)
DEPTH = Factor("oil depth", "mm", 5.0, 40.0, step=1.0)
FILM = Factor("film index", "mmol/m²", 0.01, 5000.0, Scale.LOG, role=Role.FILM_INDEX)
EVERY_DAY = PlanSettings(bench_days=(1, 2, 3, 4, 5, 6, 7))
VESSEL = {"inner_diameter_mm": 40.0, "metal_area_cm2": 20.0, "lid": "loose", "charge_g": 12.0}


def campaign(*jars: Jar, count=60, factors=(OIL, HEAT), lots=("A", "B"), hump=24.0, **kept) -> CampaignState:
    """Attempts whose success has a hump at ``hump`` hours; lots alternate, days ago."""
    rng = np.random.default_rng(5)
    rows = []
    for number in range(count):
        hours = math.exp(rng.uniform(math.log(1.0), math.log(190.0)))
        values = {"oil exposure time": hours, "temperature": round(rng.uniform(140, 170))}
        values |= {"oil depth": round(rng.uniform(6, 30)), "film index": 10.0 * math.sqrt(hours)}
        good = rng.random() < 1.0 / (1.0 + math.exp(-2.0 + 2.2 * math.log(hours / hump) ** 2))
        conditions = Conditions({factor.name: values[factor.name] for factor in factors})
        lot = lots[number % len(lots)] if lots else None
        rows.append(Attempt(f"a{number}", number + 1, conditions, lot_id=lot, successes=int(good)))
    known = {"melting_point_c": 130.0, "oil_flash_c": 260.0, "material": MaterialClass.BASE_METAL, "gates": 1}
    known |= {"plan": EVERY_DAY, "humps": (OIL.name,) if OIL in factors else ()}
    made = tuple(Lot(name, NOW - timedelta(days=30)) for name in lots)
    return CampaignState(CampaignSettings(**(known | kept)), factors, lots=made, jars=jars, attempts=tuple(rows))


def jar(name: str, lot: str = "A", *, hours: float = 10.0, **kept) -> Jar:
    return Jar(name, lot, NOW - timedelta(hours=hours), **({"oil_depth_mm": 20.0} | VESSEL | kept))


def plan(state: CampaignState, now: datetime = NOW, **asked):
    return plan_tonight(analyse(state), state, now, **({"tz": BERLIN} | asked))


SIX = tuple(jar(f"J{number}", "AB"[number % 2], hours=3.0 * 1.7**number) for number in range(6))


# -- the evening


def test_work_begins_at_the_local_hour_of_a_bench_day_on_both_sides_of_a_change_of_clocks():
    found = bench_evenings(PlanSettings(bench_days=(6, 7)), NOW, 8, BERLIN)
    assert found == (
        datetime(2026, 10, 24, 16, 0, tzinfo=UTC),
        datetime(2026, 10, 25, 17, 0, tzinfo=UTC),
        datetime(2026, 10, 31, 17, 0, tzinfo=UTC),
        datetime(2026, 11, 1, 17, 0, tzinfo=UTC),
    )


@pytest.mark.parametrize(
    ("now", "hours_free", "begins", "hours"),
    [
        ((24, 15, 0), None, (24, 16, 0), 3.0),  # later today
        ((24, 17, 0), None, (24, 17, 0), 2.0),  # it has begun, two hours are left
        ((24, 18, 0), None, (25, 17, 0), 3.0),  # an hour is left, too short for an attempt: tomorrow
        ((25, 17, 30), None, (25, 17, 30), 2.5),
        ((26, 12, 0), None, (31, 17, 0), 3.0),  # Monday is no bench day
        ((26, 12, 0), 4.0, (26, 17, 0), 4.0),  # but somebody has time
        ((26, 20, 0), 1.0, (26, 20, 0), 1.0),
    ],
)
def test_the_evening_is_the_next_one_on_which_somebody_is_free(now, hours_free, begins, hours):
    settings = PlanSettings(bench_days=(6, 7))
    moment = datetime(2026, 10, now[0], *now[1:], tzinfo=UTC)
    found = choose_evening(settings, moment, hours_free=hours_free, begins_at=None, tz=BERLIN)
    assert (found.begins_at, found.hours) == (datetime(2026, 10, begins[0], *begins[1:], tzinfo=UTC), hours)
    assert bool(found.notes) is (begins[0] != now[0])


def test_hours_that_cannot_be_and_an_evening_that_is_past_are_refused():
    for hours in (-1.0, 25.0, math.nan):
        with pytest.raises(InputError, match=r"tonight\.hours"):
            plan(campaign(*SIX), hours_free=hours)
    with pytest.raises(InputError, match=r"tonight\.begins_past"):
        plan(campaign(*SIX), begins_at=NOW - timedelta(hours=1))


# -- what is opened


def test_ages_are_to_the_minute_what_the_jars_will_have_also_after_a_change_of_clocks():
    started = datetime(2026, 10, 24, 16, 0, tzinfo=UTC)  # Saturday, 18:00 in Berlin
    state = campaign(jar("J1", hours=-1.0), jar("J2", hours=-1.0), plan=PlanSettings(bench_days=(7,)))
    assert all(each.started_at == started for each in state.jars)
    found = plan(state, started)
    assert found.begins_at == datetime(2026, 10, 25, 17, 0, tzinfo=UTC)  # Sunday, 18:00: 25 hours later
    assert [each.conditions[OIL.name] for each in found.openings] == [25.0, 26.5]
    for each in found.openings:
        assert each.starts_at == found.begins_at + timedelta(hours=each.starts_h)


def test_the_same_seed_gives_the_same_plan_and_another_seed_only_another_order():
    state = campaign(*SIX)
    first, again, other = (plan(state, hours_free=7.0, seed=seed) for seed in (1, 1, 4))
    assert first == again
    assert {each.jar_id for each in first.openings} == {each.jar_id for each in other.openings}
    assert [each.jar_id for each in first.openings] != [each.jar_id for each in other.openings]
    assert plan(state, hours_free=7.0).seed == 20261024060  # the local day, and 60 attempts


def test_the_order_is_in_blocks_by_lot_and_the_timetable_holds_the_break():
    found = plan(campaign(*SIX), hours_free=8.0, seed=2)
    lots = [each.lot_id for each in found.openings]
    assert [each.block for each in found.openings] == [1 + (lot != lots[0]) for lot in lots]
    assert len(lots) == 4
    assert [each.starts_h for each in found.openings] == [0.0, 1.5, 3.5, 5.5]
    assert [(p.starts_h, p.ends_h) for p in found.pauses] == [(3.0, 3.5), (5.0, 5.5)]
    assert "tonight.breaks_cost" in [note.code for note in found.notes]
    assert [each.order for each in found.openings] == [1, 2, 3, 4]


@pytest.mark.parametrize(("hours", "openings", "controls"), [(1.5, 1, 0), (3.0, 2, 1), (5.0, 3, 1)])
def test_there_is_one_control_as_soon_as_two_attempts_fit(hours, openings, controls):
    found = plan(campaign(*SIX), hours_free=hours)
    assert len(found.openings) == openings
    assert sum(each.purpose == "control" for each in found.openings) == controls


def test_the_control_repeats_what_was_made_most_often_with_the_jar_that_fits_it_and_says_so():
    state = campaign(*SIX, jar("J7", "B", hours=39.0))
    often = [
        Attempt(f"r{k}", 100 + k, Conditions({OIL.name: 40.0, HEAT.name: 151.0}), lot_id="B", successes=k % 2)
        for k in range(4)
    ]
    found = plan(replace(state, attempts=(*state.attempts, *often)), hours_free=3.0)
    (control,) = [each for each in found.openings if each.purpose == "control"]
    assert (control.jar_id, control.conditions[HEAT.name], control.reason.code) == (
        "J7",
        151.0,
        "tonight.control_repeated",
    )
    assert control.reason.params["n"] == "4"
    assert "Jar J7 fits it best" in said(control.reason)
    far = plan(replace(state, jars=SIX[:2], attempts=(*state.attempts, *often)), hours_free=3.0)
    (control,) = [each for each in far.openings if each.purpose == "control"]
    assert "in place of 40\u2009h: compare with care" in said(control.reason)


def test_without_repeats_the_recipe_stands_in_and_while_nothing_is_known_the_usual_values():
    state = campaign(*SIX, factors=(OIL, HEAT, DEPTH))
    (control,) = [each for each in plan(state, hours_free=3.0).openings if each.purpose == "control"]
    assert control.reason.code == "tonight.control_recipe"
    assert control.conditions[HEAT.name] == analyse(state).best().conditions[HEAT.name]
    nothing = plan(replace(state, attempts=()), hours_free=5.0)
    (control,) = [each for each in nothing.openings if each.purpose == "control"]
    assert (control.reason.code, control.conditions[HEAT.name]) == ("tonight.control_usual", 155.0)
    assert nothing.goal.value == "first design"
    assert all(each.reason.code.startswith("plan.first") for each in nothing.openings if each is not control)


def test_a_running_proof_gets_the_jars_that_keep_to_its_recipe_and_the_control_what_is_left():
    recipe = Conditions({OIL.name: 24.0, HEAT.name: 150.0})
    proof = Proof("P", NOW, recipe, ProofRule.COUNT, 0.9, 0.95, 29, tolerances={OIL.name: 5.0, HEAT.name: 3.0})
    jars = (
        jar("fits1", hours=21.0),
        jar("fits2", "B", hours=22.0),
        jar("late", hours=27.0),
        jar("far", hours=60.0),
    )
    state = replace(campaign(*jars), proofs=(proof,))
    found = plan(state, hours_free=5.0)  # attempts begin 1 to 4.5 hours from now
    purposes = {each.jar_id: each.purpose for each in found.openings}
    assert {name for name, purpose in purposes.items() if purpose == "proof"} == {"fits1", "fits2"}
    assert sorted(purposes.values()) == ["control", "proof", "proof"]
    for each in found.openings:
        if each.purpose == "proof":
            assert each.conditions[HEAT.name] == 150.0
            assert may_count(state, proof, each.conditions) is None
            assert "Attempts left at most: 29." in said(each.reason)
    kept = evening_plan(found, said)
    assert [line.purpose for line in kept.attempts] == [each.purpose for each in found.openings]
    alone = plan(replace(state, jars=jars[2:]), hours_free=5.0)
    assert "tonight.proof_no_jar" in [note.code for note in alone.notes]
    given_up = replace(state, proofs=(replace(proof, ended_at=NOW, end_reason="no crude"),))
    assert {each.purpose for each in plan(given_up, hours_free=5.0).openings} == {"next", "control"}


def test_no_planned_jar_is_one_that_must_not_be_opened():
    furry = replace(SIX[0], look=SurfaceLook.FURRY, looked_at=NOW)
    old, residue = jar("old", hours=31 * 24.0), jar("R1", contents="residue")
    young, long_oil = jar("young", hours=-0.9), jar("long", hours=220.0)
    planned, gone = jar("plan", hours=-20.0, planned=True), jar("gone", emptied_at=NOW)
    jars = (furry, old, residue, young, long_oil, planned, gone, *SIX[1:3])
    run = Run("run", NOW, jar_id=SIX[1].id, lot_id="B")
    state = replace(campaign(*jars, material=MaterialClass.ALKALI_METAL), runs=(run,))
    found = plan(state, hours_free=24.0)
    assert [each.jar_id for each in found.openings] == [SIX[2].id]
    verdicts = {each.jar_id: (each.verdict, each.reason.code) for each in found.decisions}
    assert verdicts[furry.id] == ("closed", "limits.alarming_look")
    assert verdicts["old"] == ("closed", "tonight.use_by_past")
    assert verdicts["long"] == ("closed", "tonight.beyond_range")
    assert verdicts[SIX[1].id] == ("closed", "tonight.in_use")
    assert "residue" not in verdicts
    assert {"R1", "plan", "gone"}.isdisjoint(verdicts)


def test_a_jar_whose_use_by_falls_into_the_evening_is_not_planned():
    own = Substances(limits=OwnLimits(age_h=20.0))
    state = campaign(jar("J1", hours=17.0), jar("J2", hours=2.0), substances=own)
    found = plan(state, hours_free=3.0)  # from 18 h on: J1 would pass its use-by at 20 h
    assert [each.jar_id for each in found.openings] == ["J2"]
    assert {each.jar_id: each.verdict for each in found.decisions}["J1"] != "closed"


@pytest.mark.parametrize(
    ("jars", "hours", "code"),
    [
        (SIX, 0.0, "tonight.nobody_free"),
        (SIX, 1.0, "tonight.too_short"),
        ((), 3.0, "tonight.empty_shelf"),
        ((jar("J1", hours=300.0),), 3.0, "tonight.none_to_open"),
    ],
)
def test_where_nothing_is_opened_the_reason_is_told(jars, hours, code):
    found = plan(campaign(*jars), hours_free=hours)
    assert found.openings == ()
    assert found.pauses == ()
    assert code in [note.code for note in found.notes]


def test_one_jar_is_one_attempt_and_no_control():
    found = plan(campaign(jar("J1")), hours_free=6.0)
    assert [(each.jar_id, each.purpose) for each in found.openings] == [("J1", "next")]


@pytest.mark.parametrize("goal", PICKED_BY_PERSON)
def test_every_goal_gives_steps_within_the_limits_and_a_sentence(goal):
    state = campaign(*SIX, factors=(OIL, HEAT, DEPTH))
    analysis = analyse(state)
    found = plan_tonight(analysis, state, NOW, hours_free=5.0, goal=goal, tz=BERLIN)
    assert len(found.openings) == 3
    for each in found.openings:
        assert analysis.limits.allows(each.conditions)
        assert each.conditions[HEAT.name] % 1.0 == 0.0
        assert each.conditions["oil depth"] == 20.0
        assert "{" not in said(each.reason)
        assert each.probability is not None
        hand = each.conditions
        told = analysis.for_lot(each.lot_id).estimate(hand)
        assert each.probability == told
    assert len({tuple(sorted(each.conditions.items())) for each in found.openings}) == 3


def test_the_film_index_is_that_of_the_jar_with_its_hot_step():
    hot = Factor("hot time", "min", 1.0, 60.0, Scale.LOG, role=Role.HOT_TIME, default=5.0)
    state = campaign(*SIX, factors=(OIL, HEAT, FILM))
    state = replace(
        state,
        factors=(*state.factors, hot),
        attempts=tuple(
            replace(each, conditions=each.conditions.with_value("hot time", 2.0 + number % 7))
            for number, each in enumerate(state.attempts)
        ),
    )
    found = plan(state, hours_free=3.0)
    for each in found.openings:
        held = state.jar(each.jar_id)
        assert (
            each.conditions["film index"] == film_values(state, held, each.starts_at, each.conditions)["film index"]
        )


def test_a_reason_says_that_a_jar_would_be_too_late_on_the_next_bench_evening():
    own = Substances(limits=OwnLimits(age_h=30.0))
    state = campaign(jar("J1", hours=9.0), jar("J2", hours=8.0), substances=own)
    found = plan(state, hours_free=1.5)
    (only,) = found.openings
    assert only.jar_id == "J1"  # of two that tell as much, the one that is over first
    assert only.reason.code == "tonight.use_by_comes"
    assert said(only.reason).endswith("The use-by of this jar comes tomorrow 13:00.")


def test_blocked_limits_block_the_plan_and_say_why():
    found = plan(campaign(*SIX, oil_flash_c=None, factors=(OIL, replace(HEAT, role=Role.TEMPERATURE))))
    assert found.blocked is not None
    assert found.blocked.code == "limits.flash_unknown"
    assert (found.openings, found.decisions, found.starts) == ((), (), ())


# -- open now or wait


def test_waiting_is_advised_where_draws_agree_and_opening_where_time_runs_against_the_jar():
    state = campaign(jar("fresh", hours=1.5), jar("ripe", hours=24.0), jar("late", hours=110.0), count=240)
    found = {each.jar_id: each for each in plan(state).decisions}
    fresh, late = found["fresh"], found["late"]
    assert (fresh.verdict, late.verdict, found["ripe"].verdict) == ("wait", "open", "open")
    assert fresh.later.mean > fresh.now.mean + 0.1
    assert fresh.chance_wait_better > 0.9 > 0.25 > late.chance_wait_better
    assert fresh.wait_h == pytest.approx((fresh.later_at - NOW).total_seconds() / 3600.0)
    assert fresh.later_at in bench_evenings(EVERY_DAY, NOW, 15, BERLIN)
    assert fresh.now.lower < fresh.now.mean < fresh.now.upper
    # The answer for the jar at that moment, asked directly.
    there = analyse(state).estimate(Conditions({OIL.name: 1.5 + fresh.wait_h, HEAT.name: 155.0}))
    assert fresh.later.mean == pytest.approx(there.mean, abs=1e-9)


def test_where_nothing_is_known_neither_waiting_nor_opening_is_called_better_for_sure():
    (only,) = plan(campaign(jar("J1"), count=0)).decisions
    assert only.verdict in ("either", "open")
    assert only.chance_wait_better is None or 0.1 < only.chance_wait_better < 0.75


def test_a_jar_that_is_too_young_waits_and_one_without_another_evening_is_opened_on_this_one():
    own = Substances(limits=OwnLimits(age_h=28.0))
    state = campaign(jar("young", hours=0.2), jar("last", hours=26.0), substances=own)
    found = {each.jar_id: each for each in plan(state).decisions}
    assert found["young"].later.mean > 0.0
    assert (found["young"].verdict, found["young"].reason.code) == ("wait", "tonight.below_range")
    assert (found["last"].verdict, found["last"].reason.code) == ("open", "tonight.open_last")


# -- what is started


def test_ages_that_come_due_together_are_as_promised_to_the_minute_and_start_before():
    found = plan(campaign(*SIX[:1], count=240, factors=(OIL, HEAT, DEPTH)), hours_free=1.5)
    assert found.starts
    assert found.due_at in bench_evenings(EVERY_DAY, NOW, 14, BERLIN)
    taken = {jar.id for jar in SIX}
    for each in found.starts:
        assert each.start_at >= NOW.replace(second=0)
        assert each.start_at <= each.due_at == found.due_at
        assert each.start_at + timedelta(hours=each.age_h) == each.due_at
        assert each.jar.planned is (each.start_at > NOW)
        assert each.jar.id not in taken
        assert 5.0 <= each.oil_depth_mm <= 40.0
        assert each.lid == "loose"
        assert each.charge_g == 12.0
        assert 7 <= each.start_at.astimezone(BERLIN).hour <= 22
        taken.add(each.jar.id)
    ages = sorted(each.age_h for each in found.starts)
    assert all(later >= sooner * 2 / 1.1 for sooner, later in pairwise(ages))
    assert len(found.starts) <= 2  # what fits into 3 hours


def test_starts_over_a_change_of_clocks_keep_their_promise():
    friday = NOW - timedelta(days=1)  # 17:00 in Berlin
    state = campaign(count=0, plan=PlanSettings(bench_days=(7,), evening_h=6.0), lots=("A",))
    found = plan(state, friday)
    assert found.due_at == found.begins_at == datetime(2026, 10, 25, 17, 0, tzinfo=UTC)
    walls = [each.start_at.astimezone(BERLIN) for each in found.starts]
    assert [(wall.day, wall.hour) for wall in walls] == [(23, 17), (25, 8), (25, 16)]
    # By the clock on the wall Friday 17:00 is 49 hours before Sunday 18:00; the metal has an hour more.
    assert [each.age_h for each in found.starts] == [50.0, 10.0, 2.0]
    assert [each.is_now for each in found.starts] == [True, False, False]
    assert all(each.start_at + timedelta(hours=each.age_h) == found.due_at for each in found.starts)


def test_starts_are_commands_that_a_session_takes_and_asking_again_proposes_no_more(tmp_path: Path):
    state = campaign(*SIX[:1], factors=(OIL, HEAT, DEPTH))
    with Document.create(
        tmp_path / "a.stirfall",
        state.settings,
        state.factors,
        lots=state.lots,
        jars=state.jars,
        attempts=state.attempts,
        clock=FixedClock(NOW),
    ) as document:
        found = plan(document.state, hours_free=1.5)
        for command in start_commands(found.starts):
            document.execute(command)
        for each in found.starts:
            kept = document.state.jar(each.jar.id)
            assert kept == each.jar
        again = plan(document.state, hours_free=1.5)
        assert {each.due_at for each in again.starts}.isdisjoint({found.due_at})


def test_a_running_proof_gets_jars_that_come_due_at_its_recipe():
    recipe = Conditions({OIL.name: 24.0, HEAT.name: 150.0})
    proof = Proof("P", NOW, recipe, ProofRule.COUNT, 0.9, 0.95, 29, tolerances={OIL.name: 3.0, HEAT.name: 3.0})
    state = replace(campaign(count=20), proofs=(proof,))
    found = plan(state, hours_free=0.0)
    # Tomorrow attempts begin at 18:00 and 19:30 in Berlin; the clock goes back in between, so that a jar that is
    # started today at 18:00 is 25 and 26.5 hours old then, 24 hours nearest of all at the bench.
    assert found.due_at == datetime(2026, 10, 25, 17, 0, tzinfo=UTC)
    assert [each.reason.code for each in found.starts] == ["tonight.start_proof"] * 2
    assert [(each.start_at, each.age_h) for each in found.starts] == [(NOW + timedelta(hours=1), 25.0)] * 2
    for each in found.starts:
        for wait in (0.0, 1.5):
            assert may_count(state, proof, recipe.with_value(OIL.name, each.age_h + wait)) is None
    started = replace(state, jars=tuple(replace(each.jar, planned=False) for each in found.starts))
    again = plan(started, hours_free=0.0)
    assert again.due_at == datetime(2026, 10, 26, 17, 0, tzinfo=UTC)  # one evening later
    short = replace(state, proofs=(replace(proof, attempts=1),))
    assert len(plan(short, hours_free=0.0).starts) == 1


def test_oil_may_be_thinner_where_the_metal_allows_it_and_never_below_what_covers_it():
    long = JarToStart(jar("N1", hours=0.0), NOW + timedelta(days=8), 192.0, Reason("tonight.start_learn"))

    def sooner(material: MaterialClass, depth_mm: float = 20.0) -> Reason | None:
        start = replace(long, jar=replace(long.jar, oil_depth_mm=depth_mm))
        return thinner_note(campaign(material=material), start, NOW)

    for material in MaterialClass:
        allowed = material in (MaterialClass.BASE_METAL, MaterialClass.ALKALI_METAL)
        assert (sooner(material) is not None) is allowed
    assert sooner(MaterialClass.BASE_METAL, 9.0) is None
    told = sooner(MaterialClass.BASE_METAL)
    thin = replace(long.jar, oil_depth_mm=10.0)
    at = NOW + timedelta(hours=told.params["sooner"].value)
    reached = film_of_jar(campaign(), thin, at).index
    assert reached == pytest.approx(film_of_jar(campaign(), long.jar, long.due_at).index, rel=0.05)
    assert told.params["sooner"].value < 0.8 * 192.0


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"factors": (HEAT,)}, "tonight.starts_tell_nothing"),
        ({"lots": ()}, "tonight.no_lot"),
    ],
)
def test_where_nothing_is_started_the_reason_is_told(changes, code):
    found = plan(campaign(count=0, **changes))
    assert found.starts == ()
    assert found.due_at is None
    assert code in [note.code for note in found.notes]


# -- a superoxide former


def test_for_a_superoxide_former_nothing_is_started_and_nothing_waits():
    jars = (jar("J1", hours=2.0), jar("J2", hours=0.6))
    state = campaign(*jars, material=MaterialClass.SUPEROXIDE_FORMER)
    state = replace(state, lots=tuple(replace(lot, made_at=NOW - timedelta(hours=3)) for lot in state.lots))
    found = plan(state, hours_free=6.0)
    assert found.starts == ()
    assert "tonight.no_starts" in [note.code for note in found.notes]
    shortest = min(each.conditions[OIL.name] for each in state.attempts)
    assert all(each.conditions[OIL.name] <= shortest for each in found.openings)
    for each in found.decisions:
        assert each.verdict in ("open", "closed")
        assert (each.later, each.later_at, each.wait_h, each.chance_wait_better) == (None, None, None, None)
    assert not any(
        "tonight.wait" in str(line) or "Wait for" in line for line in evening_lines(state, found, BERLIN)
    )


# -- kept and carried out


def test_a_kept_plan_knows_which_line_is_next(tmp_path: Path):
    state = campaign(*SIX)
    clock = FixedClock(NOW)
    with Document.create(
        tmp_path / "a.stirfall",
        state.settings,
        state.factors,
        lots=state.lots,
        jars=state.jars,
        attempts=state.attempts,
        clock=clock,
    ) as document:
        found = plan(document.state, hours_free=5.0)
        document.execute(KeepEvening(evening_plan(found, said)))
        kept = document.state.evening
        assert kept is not None
        assert [each.jar_id for each in kept.attempts] == [each.jar_id for each in found.openings]
        assert (kept.seed, kept.begins_at, kept.hours) == (found.seed, found.begins_at, 5.0)
        assert all(each.why.endswith(".") for each in kept.attempts)
    first, second, third = kept.attempts

    def recorded(*jars, at=NOW + timedelta(hours=1), **kept_too):
        rows = [
            Attempt(f"n{place}", 500 + place, first.conditions, recorded_at=at, jar_id=name, lot_id="A", **kept_too)
            for place, name in enumerate(jars)
        ]
        return replace(state, attempts=(*state.attempts, *rows))

    assert next_line(state, kept).place == 0
    assert next_line(recorded(first.jar_id), kept).place == 1
    assert next_line(recorded(second.jar_id), kept).place == 0
    assert next_line(recorded(first.jar_id, second.jar_id), kept).place == 2
    assert next_line(recorded(first.jar_id, second.jar_id, third.jar_id), kept) is None
    assert next_line(recorded(first.jar_id, aborted=True), kept).place == 1
    assert next_line(recorded(first.jar_id, struck_reason="twice"), kept).place == 0
    assert next_line(recorded(first.jar_id, at=NOW - timedelta(days=2)), kept).place == 0
    emptied = replace(state, jars=tuple(replace(each, emptied_at=NOW) for each in state.jars))
    assert all(line.is_gone for line in plan_lines(emptied, kept))
    assert next_line(state, replace(kept, dropped_at=NOW)) is None


# -- words and speed


def test_every_reason_of_the_plan_has_its_sentence_and_the_text_names_every_jar():
    state = campaign(*SIX, factors=(OIL, HEAT, DEPTH))
    found = plan(state, hours_free=5.0)
    told = evening_lines(state, found, BERLIN)
    assert told[0].startswith("Plan for today 18:00, 5\u2009h free, 3 attempts, order drawn with seed 20261024060")
    reasons = [each.reason for each in (*found.openings, *found.pauses, *found.decisions, *found.starts)]
    for reason in (*reasons, *found.notes):
        assert reason.code in all_sentences()
        assert "{" not in said(reason)
    for each in SIX:
        assert any(each.id in line for line in told)
    assert any("21:00 to 21:30: break" in line for line in told)


def test_a_plan_can_be_cancelled():
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        plan(campaign(*SIX), token=token)


def test_forty_jars_take_less_than_a_second():
    jars = [jar(f"J{number}", "AB"[number % 2], hours=2.0 + 1.3 * number) for number in range(40)]
    state = campaign(*jars, factors=(OIL, HEAT, DEPTH))
    analysis = analyse(state)
    begun = time.thread_time()
    found = plan_tonight(analysis, state, NOW, hours_free=6.0, tz=BERLIN)
    assert time.thread_time() - begun < 1.0
    assert len(found.openings) == 3
    assert len(found.decisions) == 40


def test_jars_of_several_lots_are_asked_for_with_draws_that_belong_together():
    rng = np.random.default_rng(3)
    state = campaign(count=0, factors=(OIL, HEAT))
    rows = []
    for number in range(48):
        lot = "AB"[number % 2]
        hours = math.exp(rng.uniform(math.log(1.0), math.log(190.0)))
        good = rng.random() < (0.85 if lot == "A" else 0.25)
        values = Conditions({OIL.name: hours, HEAT.name: round(rng.uniform(140, 170))})
        rows.append(Attempt(f"a{number}", number + 1, values, lot_id=lot, successes=int(good)))
    jars = (jar("A1", "A", hours=10.0), jar("B1", "B", hours=10.0), jar("A2", "A", hours=60.0))
    state = replace(state, jars=jars, attempts=tuple(rows))
    analysis = analyse(state, refined=True)
    hands = Hands(analysis, state, Goal.LEARN)
    choice = Choice(hands, Goal.LEARN, now=NOW, seed=0, token=CancelToken())
    parts = [(hand, choice.candidates(hand)) for hand in (hands.of(each, NOW) for each in jars)]
    together = choice.classes(parts)
    alone = [choice.classes([part]) for part in parts]
    for place, joined in enumerate(together):
        assert joined == pytest.approx(np.concatenate([each[place] for each in alone], axis=1), abs=1e-6)
    # Jars of one age differ in the effect of their lots alone: the same shift of the log odds at all conditions.
    clean_a, clean_b = alone[0][0].astype(float), alone[1][0].astype(float)
    shift = np.log(clean_a / (1 - clean_a)) - np.log(clean_b / (1 - clean_b))
    near = (np.abs(np.log(clean_a / (1 - clean_a))) < 10) & (np.abs(np.log(clean_b / (1 - clean_b))) < 10)
    spread = np.where(near, shift - shift[:, :1], 0.0)
    assert np.abs(spread).max() < 0.02
    assert clean_a.mean() > clean_b.mean() + 0.3
    found = plan_tonight(analysis, state, NOW, hours_free=5.0, tz=BERLIN)
    for each in found.openings:
        assert each.probability == analysis.for_lot(each.lot_id).estimate(each.conditions)


def test_the_attempts_of_an_evening_together_tell_more_than_jars_and_conditions_at_random():
    jars = (*SIX, jar("J6", hours=120.0), jar("J7", "B", hours=1.0))
    state = campaign(*jars, count=30, factors=(OIL, HEAT, DEPTH))
    hands = Hands(analyse(state), state, Goal.LEARN)
    choice = Choice(hands, Goal.LEARN, now=NOW, seed=0, token=CancelToken())
    in_hand = [hands.of(each, NOW) for each in jars]
    picked = choice.pick(2, in_hand, [math.inf] * len(in_hand), [])
    assert picked[0].hand.jar.id != picked[1].hand.jar.id

    def told(pair) -> float:
        """The information in both outcomes, in nats, by counting out all four of them (Lindley 1956)."""
        chances = [choice.draws(hand).clean(columns)[:, 0].astype(float) for hand, columns in pair]
        whole = 0.0
        for first in (chances[0], 1.0 - chances[0]):
            for second in (chances[1], 1.0 - chances[1]):
                whole -= (first * second).mean() * math.log((first * second).mean())
        return whole + sum((p * np.log(p) + (1.0 - p) * np.log(1.0 - p)).mean() for p in chances)

    rng = np.random.default_rng(2)
    at_random = []
    for _ in range(100):
        pair = [
            (in_hand[place], choice.candidates(in_hand[place])) for place in rng.choice(len(jars), 2, replace=False)
        ]
        at_random.append(told([(hand, take(cols, int(rng.integers(len(cols[OIL.name]))))) for hand, cols in pair]))
    greedy = told([(each.hand, each.columns) for each in picked])
    assert greedy > max(at_random)
    assert greedy > 1.5 * np.mean(at_random)
