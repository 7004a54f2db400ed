"""A rehearsal of the open campaign: bench evenings by the clock, its jars, its lots, its metal, and a guess."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.planning.rehearsal import ORDERS, Guess, Hump, play
from stirfall.planning.rehearsal_fit import quick_fit
from stirfall.reporting.rehearsal_words import rehearsal_json, rehearsal_lines
from stirfall.reporting.sentences import sentence
from stirfall.session.analysis import analyse
from stirfall.session.rehearsing import bench_calendar, rehearsal_task, rehearse_session

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 11, 30, 11, tzinfo=UTC)  # Monday noon in Berlin
SAMPLE_AGE = Factor("sample age", "h", 1.0, 240.0, Scale.LOG, role=Role.SAMPLE_AGE)
OIL = Factor("oil exposure time", "d", 0.1, 10.0, Scale.LOG, role=Role.OIL_EXPOSURE)
SPEED = Factor("stirring speed", "1/min", 20.0, 180.0, step=5.0)
LOT = Lot("L1", NOW - timedelta(hours=50))


def attempts(lots: tuple[str | None, ...] = (None,)) -> tuple[Attempt, ...]:
    seen = [(5.0, Parted.NO, None), (30.0, Parted.YES, Pooled.ONE_POOL), (150.0, Parted.YES, Pooled.BEADS)]
    return tuple(
        Attempt(
            f"a{number}",
            number,
            Conditions({"sample age": age, "oil exposure time": age / 24.0, "stirring speed": 60.0 + 20 * turn}),
            lot_id=lots[number % len(lots)],
            parted=parted,
            pooled=pooled,
        )
        for number, (turn, (age, parted, pooled)) in enumerate(
            ((turn, each) for turn in range(2) for each in seen), 1
        )
    )


def campaign(made: tuple[Attempt, ...] = (), *, factors=(SAMPLE_AGE, OIL, SPEED), jars=(), lots=(LOT,), **known):
    settings = CampaignSettings(**({"invented": True, "melting_point_c": 138.0, "oil_flash_c": 220.0} | known))
    return CampaignState(settings, factors, lots=lots, jars=jars, attempts=made)


def task_of(state: CampaignState, *, refined: bool = False, **asked):
    return rehearsal_task(analyse(state, refined=refined), now=NOW, tz=BERLIN, **({"campaigns": 2} | asked))


def codes(task) -> list[str]:
    assert all("{" not in sentence(each.code, each.params) for each in task.assumed)
    return [each.code.removeprefix("rehearsal.") for each in task.assumed]


# ---------------------------------------- the calendar


def test_evenings_keep_to_the_local_clock_when_it_is_changed() -> None:
    # In Germany the clock goes from 02:00 to 03:00 on Sunday, 28 March 2027 (EU directive 2000/84/EC), so that
    # Saturday 18:00 and Tuesday 18:00 are 71 hours apart, and in other weeks 72.
    friday = datetime(2027, 3, 26, 12, tzinfo=BERLIN)
    calendar = bench_calendar(PlanSettings(), friday, BERLIN)
    assert calendar.evenings_h[:3] == (30.0, 30.0 + 71.0, 30.0 + 71.0 + 48.0)
    assert bench_calendar(PlanSettings(), NOW, BERLIN).evenings_h[:4] == (30.0, 78.0, 126.0, 198.0)


def test_an_evening_that_runs_counts_and_holds_what_fits_into_its_hours() -> None:
    late = datetime(2026, 12, 1, 18, 30, tzinfo=UTC)  # Tuesday 19:30 in Berlin, an hour and a half into it
    calendar = bench_calendar(PlanSettings(evening_h=3.0, attempt_h=1.0), late, BERLIN)
    assert calendar.per_evening == 3
    assert calendar.first_from(0.0) == 0.5
    assert bench_calendar(PlanSettings(evening_h=1.0, attempt_h=1.5), late, BERLIN).per_evening == 1
    assert bench_calendar(PlanSettings(evening_h=0.3, attempt_h=0.1), late, BERLIN).per_evening == 3


# ---------------------------------------- jars and metal


def test_jars_on_the_shelf_count_with_every_age_and_residue_and_emptied_ones_do_not() -> None:
    jars = (
        Jar("J1", "L1", NOW - timedelta(hours=20)),
        Jar("J2", "L9", NOW - timedelta(hours=10)),
        Jar("J3", "L1", NOW - timedelta(hours=40), emptied_at=NOW - timedelta(hours=1)),
        Jar("J4", "L1", NOW - timedelta(hours=40), contents="residue"),
    )
    task = task_of(campaign(attempts(), jars=jars))
    assert [each.starts_h for each in task.rules.shelf] == [(-50.0, -20.0), (None, -10.0)]
    assert [each.lot for each in task.rules.shelf] == ["L1", "L9"]
    assert task.rules.wanted_ages(Conditions({"sample age": 30.0, "oil exposure time": 1.0})) == (30.0, 24.0)
    assert task.rules.jars_at_once == 3
    assert "jars" in codes(task)


def test_for_a_superoxide_former_no_jar_waits_and_no_exposure_is_lengthened() -> None:
    made = attempts()
    state = campaign(
        made, material=MaterialClass.SUPEROXIDE_FORMER, jars=(Jar("J1", "L1", NOW - timedelta(hours=2)),)
    )
    task = task_of(state, target=0.999, most=3)
    assert task.rules.shelf == ()
    assert task.rules.jars_at_once == 1
    assert "never_waits" in codes(task)
    assert "jars" not in codes(task)
    played = play(task.rules, task.truths[0], "space filling", 0)
    assert played is not None
    # Three attempts, two an evening: Tuesday and Thursday, none later for ageing.
    assert task.rules.wanted_ages(Conditions({"sample age": 5.0})) == ()
    assert played.weeks == pytest.approx((0.0, 31.5 / 168, 33.0 / 168, 79.5 / 168), abs=1e-4)


def test_nothing_is_rehearsed_where_the_limits_allow_nothing() -> None:
    bath = Factor("temperature", "C", 80.0, 180.0, role=Role.TEMPERATURE)
    with pytest.raises(InputError, match=r"limits\.flash_unknown"):
        task_of(campaign(factors=(bath,), oil_flash_c=None))


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ({"campaigns": 0}, "rehearsal.campaigns"),
        ({"campaigns": 10**6}, "rehearsal.campaigns"),
        ({"target": 1.0}, "rehearsal.target"),
        ({"most": 0}, "rehearsal.most"),
        ({"guess": Guess(0.9, (Hump("colour"),))}, "rehearsal.guess_factor"),
    ],
)
def test_odd_requests_are_refused_before_anything_is_played(asked, code: str) -> None:
    with pytest.raises(InputError) as refused:
        task_of(campaign(), **asked)
    assert refused.value.code == code
    assert "{" not in sentence(code, refused.value.params)


# ---------------------------------------- the truths


def test_truths_come_from_the_attempts_the_first_assumption_or_a_guess() -> None:
    assert task_of(campaign(attempts())).source == "posterior"
    assert codes(task_of(campaign(attempts())))[0] == "from_posterior"
    before = task_of(campaign())
    assert (before.source, codes(before)[0]) == ("prior", "from_prior")
    guessed = task_of(campaign(attempts()), guess=Guess(0.9, (Hump("sample age", 40.0, 3.0),)))
    assert (guessed.source, codes(guessed)[0]) == ("guess", "from_guess")
    assert before.rules.target == 0.9
    assert len({each.fingerprint for each in (before, guessed, task_of(campaign(), target=0.8))}) == 3
    assert before.fingerprint == task_of(campaign(), campaigns=7).fingerprint


def test_a_refined_analysis_gives_its_form_and_its_lots() -> None:
    lots = (LOT, Lot("L2", NOW - timedelta(hours=500)))
    analysis = analyse(campaign(attempts(("L1", "L2")), lots=lots), refined=True)
    task = rehearsal_task(analysis, now=NOW, campaigns=3, tz=BERLIN)
    heaviest = max((each for each in analysis.forms if each.form.gates == 2), key=lambda each: each.weight)
    assert task.rules.form == heaviest.form
    assert task.rules.lot is None
    assert "new_lot" in codes(task)
    named = rehearsal_task(analysis.for_lot("L1"), now=NOW, campaigns=3, tz=BERLIN)
    assert named.rules.lot == "L1"
    assert "one_lot" in codes(named)
    assert named.fingerprint != task.fingerprint


def test_the_answer_is_told_in_words_and_as_a_document_and_a_record_goes_on_from_its_own_beginning(
    tmp_path: Path,
) -> None:
    analysis = analyse(campaign(attempts()))
    asked = {
        "orders": ["random", "space filling"], "campaigns": 2, "most": 2, "target": 0.6, "jobs": 1, "tz": BERLIN,
        "record": tmp_path / "record.jsonl",
    }  # fmt: skip
    first = rehearse_session(analysis, now=NOW + timedelta(microseconds=7), **asked)
    later = rehearse_session(analysis, now=NOW + timedelta(days=3), **asked)
    assert later.begun_at == first.begun_at == NOW
    assert later.order("random").weeks.values.tolist() == first.order("random").weeks.values.tolist()
    lines = rehearsal_lines(first, decimal=",")
    assert not any("{" in line or "None" in line or "nan" in line for line in lines)
    assert "Random" in lines
    assert "Space filling" in lines
    document = rehearsal_json(first)
    assert document["source"] == "posterior"
    assert [each["order"] for each in document["orders"]] == ["random", "space filling"]  # type: ignore[attr-defined]
    assert document["orders"][0]["against"]["campaigns"] == 2  # type: ignore[index]


def test_campaigns_that_only_count_clean_ones_are_rehearsed_too() -> None:
    counted = tuple(
        replace(each, parted=None, pooled=None, successes=int(each.pooled is Pooled.ONE_POOL))
        for each in attempts()
    )
    task = task_of(campaign(counted), target=0.999, most=1)
    assert task.rules.gates == 1
    played = play(task.rules, task.truths[0], "planned for reliability", 0)
    assert played is not None
    assert len(played.path) == 2


def test_no_rehearsed_attempt_of_a_superoxide_former_is_older_than_the_shortest_that_was_recorded(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen: list[CampaignState] = []

    def watched(rules, state: CampaignState):
        seen.append(state)
        return quick_fit(rules, state)

    monkeypatch.setattr("stirfall.planning.rehearsal_play.quick_fit", watched)
    task = task_of(campaign(attempts(), material=MaterialClass.SUPEROXIDE_FORMER), target=0.999, most=2)
    for order in ORDERS:
        assert play(task.rules, task.truths[0], order, 0) is not None
        rehearsed = seen[-1].attempts[len(task.rules.state.attempts) :]
        assert len(rehearsed) == 2
        assert all(each.conditions.number("sample age") <= 5.0 for each in rehearsed)
