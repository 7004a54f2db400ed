"""Filters in words and the order of rows; days and weeks against the standard library's calendar (ISO 8601)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.number_style import NumberStyle
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.bench.run_facts import RunFacts
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.session.ledger_filter import (
    FLAGS,
    SPANS,
    TESTS,
    WITHOUT_VALUE,
    Around,
    Condition,
    How,
    Kind,
    Subject,
    checked,
    fits,
    in_words,
    subjects,
)
from stirfall.session.ledger_rows import finished, fitting_places, sorted_places

NOW = datetime(2026, 11, 30, 12, 0, tzinfo=UTC)  # a Monday
FACTORS = (Factor("temperature", "C", 100.0, 200.0), Factor("action", levels=("swirl", "fold")))
ATTEMPT = Attempt(
    "a1",
    1,
    Conditions([("temperature", 155.0), ("action", "fold")]),
    started_at=NOW - timedelta(hours=3),
    jar_id="J1",
    parted=Parted.YES,
    pooled=Pooled.ONE_POOL,
    masses=Masses(charge_g=12.0),
    note="grey skin on top",
    facts=RunFacts(look="bright"),
)
STATE = CampaignState(
    CampaignSettings(), FACTORS, (Lot("L1"), Lot("L2")), (Jar("J1", "L2", NOW),), attempts=(ATTEMPT,)
)
AROUND = Around.of(STATE, NOW, photographed=frozenset({"a1"}))


def fit(what: str, how: How, value: float | str = "", attempt: Attempt = ATTEMPT) -> bool:
    return fits(attempt, [Condition(what, how, value)], AROUND)


@pytest.mark.parametrize(
    ("what", "how", "value", "expected"),
    [
        ("lot", How.IS, "L2", True),  # the lot of its jar
        ("lot", How.IS_NOT, "L2", False),
        ("factor:temperature", How.OVER, 150.0, True),
        ("factor:temperature", How.OVER, 155.0, False),
        ("factor:temperature", How.UNDER, 155.0000001, False),  # shown alike, so it is the same
        ("factor:temperature", How.IS, 155.0, True),
        ("factor:action", How.IS, "fold", True),
        ("outcome", How.IS, "clean separation", True),
        ("struck", How.NO, "", True),
        ("photos", How.YES, "", True),
        ("run", How.YES, "", False),
        ("proof", How.NO, "", True),
        ("note", How.CONTAINS, "GREY", True),
        ("note", How.LACKS, "grey", False),
        ("charge_g", How.UNDER, 20.0, True),
        ("product_g", How.OVER, 0.0, False),  # unknown is over nothing
        ("product_g", How.UNKNOWN, "", True),
        ("look", How.IS, "bright", True),
        ("number", How.IS, 1.0, True),
        ("time", How.WITHIN, "today", True),
    ],
)
def test_one_condition(what: str, how: How, value: float | str, expected: bool) -> None:
    assert fit(what, how, value) is expected


def test_what_is_marked_for_a_proof_is_found() -> None:
    marked = replace(ATTEMPT, proof_id="p1")
    assert fit("proof", How.YES, attempt=marked)
    assert not fit("proof", How.NO, attempt=marked)
    subject = next(each for each in subjects(STATE) if each.key == "proof")
    words = in_words(Condition("proof", How.YES), subject)
    assert sentence(words.code, words.params) == "marked for a proof"


def test_conditions_about_the_same_thing_allow_each_other_and_others_must_hold_together() -> None:
    either = [Condition("lot", How.IS, "L1"), Condition("lot", How.IS, "L2")]
    assert fits(ATTEMPT, either, AROUND)
    assert not fits(ATTEMPT, [*either, Condition("struck", How.YES)], AROUND)
    assert fits(ATTEMPT, [], AROUND)


def test_days_begin_at_local_midnight_and_weeks_on_monday() -> None:
    # The week of 30 November 2026 begins on that day: datetime.isocalendar, ISO 8601.
    assert NOW.isocalendar().weekday == 1
    for zone in (UTC, timezone(timedelta(hours=-11)), ZoneInfo("Europe/Berlin")):
        around = replace(AROUND, zone=zone)
        for hours in range(0, 24 * 9, 5):
            moment = NOW - timedelta(hours=hours)
            attempt = replace(ATTEMPT, started_at=moment)
            now, then = NOW.astimezone(zone), moment.astimezone(zone)
            for span, same in (
                ("today", then.date() == now.date()),
                ("this week", then.isocalendar()[:2] == now.isocalendar()[:2]),
                ("this month", (then.year, then.month) == (now.year, now.month)),
                ("this year", then.year == now.year),
                ("in the last 7 days", hours <= 168),
            ):
                assert fits(attempt, [Condition("time", How.WITHIN, span)], around) is same, (zone, hours, span)


def test_since_and_before_share_the_days_between_them() -> None:
    day = ATTEMPT.started_at.astimezone().date().isoformat()  # type: ignore[union-attr]
    assert fit("time", How.SINCE, day)
    assert not fit("time", How.BEFORE, day)
    assert not fit("time", How.SINCE, "2026-12-01", replace(ATTEMPT, started_at=None, recorded_at=None))


def test_every_subject_with_every_test_has_words_and_works() -> None:
    known = all_sentences()
    for subject in subjects(STATE):
        values: dict[Kind, float | str] = {Kind.NUMBER: 3.0, Kind.TIME: SPANS[0]}
        for how in TESTS[subject.kind]:
            value = "" if how in WITHOUT_VALUE else values.get(subject.kind, "x")
            if how in (How.SINCE, How.BEFORE):
                value = "2026-11-01"
            condition = checked(Condition(subject.key, how, value), subject)
            words = in_words(condition, subject)
            assert words.code in known
            assert "{" not in sentence(words.code, words.params)
            assert fits(ATTEMPT, [condition], AROUND) in (True, False)
    assert {subject.key for subject in subjects(STATE) if subject.kind is Kind.FLAG} == set(FLAGS)


def test_words_carry_the_unit_that_the_reader_likes() -> None:
    subject = next(each for each in subjects(STATE) if each.key == "factor:temperature")
    words = in_words(Condition(subject.key, How.OVER, 150.0), subject)
    assert sentence(words.code, words.params) == "temperature is over 150\u2009°C"
    assert sentence(words.code, words.params, decimal=NumberStyle(".", "F")) == "temperature is over 302\u2009°F"
    other = in_words(Condition("lot", How.IS, "L2"), Subject("lot", "lot", Kind.CHOICE), is_other=True)
    assert sentence(other.code, other.params) == "or lot is L2"


@pytest.mark.parametrize(
    ("what", "kind", "how", "value", "code"),
    [
        ("note", Kind.TEXT, How.OVER, 3.0, "ledger_filter.wrong_test"),
        ("note", Kind.TEXT, How.CONTAINS, " ", "ledger_filter.no_value"),
        ("time", Kind.TIME, How.SINCE, "last Monday", "ledger_filter.no_day"),
        ("time", Kind.TIME, How.WITHIN, "whenever", "ledger_filter.unknown_span"),
    ],
)
def test_a_filter_that_makes_no_sense_is_refused(
    what: str, kind: Kind, how: How, value: float | str, code: str
) -> None:
    with pytest.raises(InputError) as refused:
        checked(Condition(what, how, value), Subject(what, what, kind))
    assert refused.value.code == code
    with pytest.raises(InputError, match="unknown_subject"):
        fit("price", How.OVER, 1.0)


def numbered(values: list[float | None]) -> tuple[Attempt, ...]:
    return tuple(
        Attempt(f"a{at}", at + 1, Conditions() if value is None else Conditions({"temperature": value}))
        for at, value in enumerate(values)
    )


@given(st.lists(st.none() | st.integers(0, 9).map(float), max_size=60), st.booleans())
def test_rows_are_ordered_as_sorted_orders_them_with_the_unknown_last(
    values: list[float | None], descending: bool
) -> None:
    # Against the stable sort of the language; what is unknown stands last either way.
    attempts = numbered(values)
    places = range(len(values) - 1, -1, -1)
    got = finished(
        sorted_places(attempts, places, lambda one: one.conditions.get("temperature"), descending=descending)
    )
    known = sorted(
        (place for place in places if values[place] is not None),
        key=lambda place: values[place] or 0.0,
        reverse=descending,
    )
    assert got == known + [place for place in places if values[place] is None]


def test_many_rows_are_merged_from_small_chunks_without_one_long_step() -> None:
    attempts = numbered([float((7919 * at) % 5003) for at in range(5003)])
    steps = sorted_places(attempts, range(5003), lambda one: one.conditions["temperature"])
    count, result = 0, []
    while True:
        try:
            next(steps)
            count += 1
        except StopIteration as end:
            result = end.value
            break
    assert count > 40
    assert [attempts[place].conditions["temperature"] for place in result] == [float(at) for at in range(5003)]


def test_every_word_must_be_found_in_the_text_of_a_row() -> None:
    attempts = numbered([1.0, 2.0, 3.0])
    texts = ["grey skin", "bright", "skin, grey and dull"]
    got = finished(
        fitting_places(
            attempts, lambda one: one.number != 1, needle="SKIN  grey", text=lambda one: texts[one.number - 1]
        )
    )
    assert got == [2]


@pytest.mark.parametrize(
    ("span", "inside_days", "outside_days"),
    [
        ("today", 0, 1),
        ("this week", 6, 7),
        ("this month", 0, 1),
        ("this year", 31, 32),
    ],
)
def test_a_span_of_the_calendar_ends_as_well(span: str, inside_days: int, outside_days: int) -> None:
    # NOW is Monday, 30 November.
    around = replace(AROUND, zone=UTC)
    midnight = NOW.replace(hour=0)
    last = replace(ATTEMPT, started_at=midnight + timedelta(days=inside_days, hours=23, minutes=59))
    after = replace(ATTEMPT, started_at=midnight + timedelta(days=outside_days))
    conditions = [Condition("time", How.WITHIN, span)]
    assert fits(last, conditions, around)
    assert not fits(after, conditions, around)
