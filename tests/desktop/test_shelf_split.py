"""Splitting a lot, without its form: masses, depths, starts and ages; what is refused, and in which words."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.bench.short_ids import is_short_id
from stirfall.desktop.shelf.jar_form import new_jar_form
from stirfall.desktop.shelf.split_form import TOTAL, SplitForm, equal_parts, new_split_form, read_split
from stirfall.desktop.shelf.split_starts import (
    AGES,
    AT_ONCE,
    IN_TURN,
    deal,
    first_evening,
    read_ages,
    usual_seed,
)
from stirfall.reporting.sentences import sentence
from stirfall.session.forecast_evenings import said_moment

NOW = datetime(2026, 11, 24, 9, 30, 20, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")
STATE = CampaignState(
    CampaignSettings(material=MaterialClass.ALKALI_METAL),
    standard_factors(),
    (Lot("L1", NOW - timedelta(days=10)), Lot("L2", NOW - timedelta(hours=1))),
    (Jar("J1", "L1", NOW - timedelta(hours=5), "white oil", 15.0, "loose", 12.0, inner_diameter_mm=40.0),),
)


def form(**changes: object) -> SplitForm:
    made = new_split_form(STATE, NOW)
    starts = {
        name: changes.pop(name) for name in ("mode", "begin", "every", "ages", "evening", "seed") if name in changes
    }
    return replace(made, starts=replace(made.starts, **starts), **changes)  # type: ignore[arg-type]


def codes(split: SplitForm, state: CampaignState = STATE) -> dict[str, str]:
    return {name: reason.code for name, reason in read_split(split, state, NOW).problems.items()}


def test_six_jars_all_now_are_one_command_and_kept_like_the_newest_jar() -> None:
    read = read_split(form(mass="12", lot_id="L1"), STATE, NOW)
    assert read.command is not None
    assert len(read.command.jars) == 6
    assert {jar.lot_id for jar in read.command.jars} == {"L1"}
    for jar in read.command.jars:
        assert (jar.oil, jar.lid, jar.oil_depth_mm, jar.inner_diameter_mm) == ("white oil", "loose", 15.0, 40.0)
        assert (jar.started_at, jar.planned, jar.charge_g) == (NOW, False, 12.0)
        assert is_short_id(jar.id)
    assert len({jar.id for jar in read.command.jars}) == 6
    assert (read.planned, read.total_g) == (0, 72.0)


@pytest.mark.parametrize(("total", "count"), [(100.0, 6), (0.07, 7), (250.0, 24), (10.0, 1), (99.99, 13)])
def test_equal_parts_add_up_to_the_total_and_differ_by_a_hundredth_at_most(total: float, count: int) -> None:
    parts = equal_parts(total, count)
    assert sum(parts) == pytest.approx(total, abs=1e-9)
    assert max(parts) - min(parts) <= 0.01 + 1e-9
    assert len(parts) == count


def test_a_total_is_divided_and_a_mass_typed_for_one_jar_is_its_own() -> None:
    read = read_split(form(division=TOTAL, mass="60", own_charge={2: "12,5"}), STATE, NOW)
    assert [each.jar.charge_g for each in read.jars] == [10.0, 10.0, 12.5, 10.0, 10.0, 10.0]
    assert codes(form(division=TOTAL, mass="60", own_charge={2: "-1"})) == {"charge:2": "shelf.negative"}
    emptied = read_split(form(mass="60", own_charge={0: ""}), STATE, NOW)
    assert emptied.jars[0].jar.charge_g is None
    assert emptied.total_g is None
    assert codes(form(division=TOTAL, mass="0.02")) == {"mass": "shelf.split_too_little"}


def test_two_depths_alternate() -> None:
    read = read_split(form(other_depth="8", count="4"), STATE, NOW)
    assert [each.jar.oil_depth_mm for each in read.jars] == [15.0, 8.0, 15.0, 8.0]
    assert codes(form(other_depth="8", kept=replace(form().kept, depth=""))) == {"depth": "shelf.split_first_depth"}
    assert codes(form(other_depth="0")) == {"other_depth": "shelf.zero"}


@pytest.mark.parametrize(
    ("count", "code"),
    [
        ("", "shelf.split_count_missing"),
        ("0", "shelf.not_a_count"),
        ("25", "shelf.split_too_many"),
        ("2.5", "shelf.not_a_count"),
    ],
)
def test_one_to_twenty_four_jars(count: str, code: str) -> None:
    assert codes(form(count=count)) == {"count": code}
    assert read_split(form(count=count), STATE, NOW).command is None
    assert len(read_split(form(count="24"), STATE, NOW).jars) == 24


def test_jars_that_start_in_turn_are_planned_from_the_second_on() -> None:
    read = read_split(form(mode=IN_TURN, every="2 days", count="3"), STATE, NOW)
    assert [each.jar.started_at - NOW for each in read.jars] == [timedelta(days=days) for days in (0, 2, 4)]
    assert [each.jar.planned for each in read.jars] == [False, True, True]
    assert codes(form(mode=IN_TURN)) == {"every": "shelf.split_every_missing"}
    assert codes(form(mode=IN_TURN, every="0 h")) == {"every": "shelf.split_every_impossible"}
    assert codes(form(mode=IN_TURN, every="5 g"))["every"]
    early = form(mode=IN_TURN, every="6 h", begin=NOW - timedelta(hours=2), lot_id="L2")
    assert codes(early) == {"begin": "shelf.before_lot"}


def test_ages_that_are_all_reached_on_one_evening_start_by_their_age_before_it() -> None:
    evening = NOW + timedelta(hours=100)
    read = read_split(form(mode=AGES, ages="2, 8, 24, 96 h", evening=evening, count="8", seed="7"), STATE, NOW)
    assert read.command is not None
    assert Counter(each.age_h for each in read.jars) == {2.0: 2, 8.0: 2, 24.0: 2, 96.0: 2}
    for each in read.jars:
        assert each.age_h is not None
        assert each.jar.started_at == evening - timedelta(hours=each.age_h)
    assert read.planned == 8
    assert "seed 7" in read.jars[0].jar.note


def test_the_hand_is_balanced_follows_from_its_seed_and_is_not_in_order() -> None:
    hand = deal(4, 16, 4711)
    assert Counter(hand) == dict.fromkeys(((age, depth) for age in range(4) for depth in range(2)), 2)
    assert hand == deal(4, 16, 4711)
    assert hand != deal(4, 16, 4712)
    assert any(deal(6, 6, seed) != tuple((at, at % 2) for at in range(6)) for seed in range(3))
    assert usual_seed("L1", 3) == usual_seed("L1", 3)
    assert usual_seed("L1", 3) != usual_seed("L1", 4)


def test_each_place_gets_each_age_alike_over_many_seeds() -> None:
    # The expected count of a fair deal is 1000/4 at each place; six standard deviations of a binomial count.
    spread = 6.0 * (1000 * 0.25 * 0.75) ** 0.5
    hands = [deal(4, 4, seed) for seed in range(1000)]
    for place in range(4):
        counts = Counter(hand[place][0] for hand in hands)
        assert all(abs(counts[age] - 250) < spread for age in range(4))


def test_typing_a_mass_deals_no_other_hand() -> None:
    first = read_split(form(mode=AGES, mass="1"), STATE, NOW)
    second = read_split(form(mode=AGES, mass="12", other_depth="8"), STATE, NOW)
    assert [each.jar.started_at for each in first.jars] == [each.jar.started_at for each in second.jars]
    assert first.seed == second.seed == usual_seed("L2", 1)


def test_a_start_in_the_past_is_refused_with_the_first_evening_that_works() -> None:
    split = form(mode=AGES, ages="8 h, 4 days", evening=NOW + timedelta(hours=10))
    read = read_split(split, STATE, NOW)
    assert read.command is None
    reason = read.problems["ages"]
    assert reason.code == "shelf.split_past"
    said = sentence(reason.code, reason.params)
    assert "4\u2009days" in said
    assert "which is past" in said
    assert said_moment(first_evening(NOW, 96.0), NOW) in said
    assert codes(replace(split, starts=replace(split.starts, evening=first_evening(NOW, 96.0)))) == {}


def test_more_ages_than_jars_and_unreadable_ages_are_refused() -> None:
    assert codes(form(mode=AGES, count="3"))["ages"] == "shelf.split_more_ages"
    assert codes(form(mode=AGES, ages=""))["ages"] == "shelf.split_ages_missing"
    assert codes(form(mode=AGES, ages="2 h, soon"))["ages"] == "shelf.split_ages_unreadable"
    assert codes(form(mode=AGES, ages="3 g"))["ages"] == "shelf.split_ages_unreadable"
    assert codes(form(mode=AGES, ages="0 h"))["ages"] == "shelf.split_age_impossible"
    assert codes(form(mode=AGES, seed="x"))["seed"] == "shelf.split_seed"


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("2, 8, 24, 96 h", (2.0, 8.0, 24.0, 96.0)),
        ("2;8;24", (2.0, 8.0, 24.0)),
        ("2 8 24 h", (2.0, 8.0, 24.0)),
        ("90 min, 8 h, 3 days", (1.5, 8.0, 72.0)),
        ("2,5 h; 1 d", (2.5, 24.0)),
        ("1, 2 days", (24.0, 48.0)),
    ],
)
def test_ages_are_read_as_people_type_them(text: str, hours: tuple[float, ...]) -> None:
    assert read_ages(text) == pytest.approx(hours)


def test_superoxide_formers_start_now_or_not_at_all() -> None:
    state = replace(STATE, settings=CampaignSettings(material=MaterialClass.SUPEROXIDE_FORMER))
    blank = new_split_form(state, NOW)
    assert blank.starts.mode == AT_ONCE
    assert blank.starts.ages == ""
    assert read_split(replace(blank, lot_id="L2"), state, NOW).command is not None
    for mode in (IN_TURN, AGES):
        planned = replace(blank, starts=replace(blank.starts, mode=mode, ages="2 h", every="2 h"))
        assert codes(planned, state)["starts"] == "shelf.split_superoxide"
        assert read_split(planned, state, NOW).planned == 0


def test_the_limits_speak_for_the_evening() -> None:
    evening = NOW + timedelta(days=60)
    read = read_split(form(mode=AGES, ages="1 h, 50 days", evening=evening, count="2"), STATE, NOW)
    found = {each.age_h: [one.code for one in each.findings] for each in read.jars}
    assert found == {1.0: [], 1200.0: ["limits.inspect_age"]}


def test_evenings_keep_the_wall_clock_over_a_change_to_winter_time() -> None:
    # On 25 October 2026 clocks in Berlin go back by an hour (EU directive 2000/84/EC, last Sunday in October).
    before = datetime(2026, 10, 24, 19, 30, tzinfo=BERLIN)
    evening = first_evening(before.astimezone(UTC), 24.0, BERLIN)
    assert (evening.day, evening.hour, evening.utcoffset()) == (25, 20, timedelta(hours=1))
    assert first_evening(before.astimezone(UTC), 0.25, BERLIN).day == 24


@pytest.mark.parametrize(
    ("ahead", "said"),
    [
        (timedelta(hours=2), "today 11:30"),
        (timedelta(hours=-10), "yesterday 23:30"),
        (timedelta(days=1), "tomorrow 09:30"),
        (timedelta(days=3), "Fri 09:30"),
        (timedelta(days=20), "14 Dec 09:30"),
        (timedelta(days=60), "23 Jan 2027 09:30"),
    ],
)
def test_moments_are_said_as_people_say_them(ahead: timedelta, said: str) -> None:
    assert said_moment(NOW + ahead, NOW, UTC) == said


def test_an_unreadable_age_names_what_was_not_read() -> None:
    with pytest.raises(InputError) as caught:
        read_ages("2 h, later")
    assert caught.value.params["text"] == "later"


def test_a_jar_started_alone_is_named_like_the_newest_one() -> None:
    assert new_jar_form(STATE).jar_id == "J2"
    read = read_split(form(mass="12"), STATE, NOW + timedelta(hours=1))
    after = replace(STATE, jars=(*STATE.jars, *(each.jar for each in read.jars)))
    named = new_jar_form(after).jar_id
    assert is_short_id(named)
    assert named not in {jar.id for jar in after.jars}
