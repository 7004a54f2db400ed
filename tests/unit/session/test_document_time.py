"""Ages over the nights on which clocks change, and clocks that run backwards."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from stirfall.bench.ages import age_h
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, computed_ages
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock, SystemClock
from stirfall.session.document import Document

# The transitions are those of the time zone database (RFC 6557): Berlin moved on 2026-03-29 at 01:00 UTC
# and moves back on 2026-10-25 at 01:00 UTC; New York on 2026-03-08 at 07:00 UTC.
BERLIN, NEW_YORK = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")


@pytest.mark.parametrize(
    ("start", "end", "hours"),
    [
        (datetime(2026, 3, 28, 12, tzinfo=BERLIN), datetime(2026, 3, 29, 12, tzinfo=BERLIN), 23.0),
        (datetime(2026, 10, 24, 12, tzinfo=BERLIN), datetime(2026, 10, 25, 12, tzinfo=BERLIN), 25.0),
        (datetime(2026, 3, 7, 12, tzinfo=NEW_YORK), datetime(2026, 3, 8, 12, tzinfo=NEW_YORK), 23.0),
        (datetime(2026, 10, 25, 2, 30, tzinfo=BERLIN), datetime(2026, 10, 25, 2, 30, tzinfo=BERLIN, fold=1), 1.0),
        (datetime(2026, 6, 1, 12, tzinfo=BERLIN), datetime(2026, 6, 1, 6, tzinfo=NEW_YORK), 0.0),
    ],
)
def test_an_age_is_the_time_that_really_passed(start: datetime, end: datetime, hours: float) -> None:
    assert age_h(start, end) == hours


def test_ages_survive_the_change_of_clocks_the_file_and_another_time_zone(tmp_path: Path) -> None:
    clock = FixedClock(datetime(2026, 10, 25, 12, tzinfo=BERLIN))
    made = datetime(2026, 10, 24, 12, tzinfo=BERLIN)
    with Document.create(
        tmp_path / "a.stirfall",
        CampaignSettings(),
        lots=[Lot("L1", made)],
        jars=[Jar("J1", "L1", made + timedelta(hours=2))],
        clock=clock,
    ) as document:
        ages = computed_ages(
            document.state.factors,
            lot=document.state.lot("L1"),
            jar=document.state.jar("J1"),
            started_at=clock.now().astimezone(NEW_YORK),
        )
        # Wall-clock arithmetic inside one zone gives 14:00 local for the jar, which is 12:00 UTC.
        assert ages == {"sample age": 25.0, "oil exposure time": 23.0}
        document.execute(c.RecordAttempt(Attempt("", 0, Conditions(ages), started_at=clock.now(), jar_id="J1")))
    with Document.open(tmp_path / "a.stirfall") as again:
        assert again.state.attempts[0].started_at == clock.now()
        assert again.state.attempts[0].started_at.utcoffset() == timedelta(0)


def test_a_clock_set_back_keeps_the_order_of_recording_and_is_remembered(
    document: Document, path: Path, clock: FixedClock
) -> None:
    def record() -> str:
        return str(document.execute(c.RecordAttempt(Attempt("", 0, Conditions()))).new_attempt_id)

    first = record()
    noon = clock.now()
    clock.advance(hours=-48)
    second = record()
    clock.advance(hours=1)
    third = record()
    ids = [first, second, third]
    assert [attempt.id for attempt in document.state.attempts] == ids
    assert [attempt.number for attempt in document.state.attempts] == [1, 2, 3]
    assert document.state.attempts[1].recorded_at == noon - timedelta(hours=48)
    (note,) = document.corrections(second)
    assert (note.kind, note.field) == ("clock", "recorded_at")
    assert (note.old, note.new) == ('"2026-03-02T09:00:00.000Z"', '"2026-02-28T09:00:00.000Z"')
    assert document.corrections(third) == ()
    document.close()
    with Document.open(path, clock=clock) as again:
        assert [attempt.id for attempt in again.state.attempts] == ids
        clock.advance(hours=-1)
        changes = again.execute(c.RecordAttempt(Attempt("", 0, Conditions())))
        assert [row.kind for row in again.corrections(str(changes.new_attempt_id))] == ["clock"]


def test_an_attempt_before_its_jar_says_that_a_clock_was_wrong(clock: FixedClock) -> None:
    jar = Jar("J1", "L1", clock.now())
    with pytest.raises(InputError) as caught:
        computed_ages(standard_factors(), lot=None, jar=jar, started_at=clock.now() - timedelta(minutes=1))
    assert caught.value.code == "time.runs_backwards"


def test_the_clock_of_the_computer_tells_utc() -> None:
    before = datetime.now(UTC)
    assert before <= SystemClock().now() <= datetime.now(UTC)
    assert SystemClock().now().tzinfo is UTC


def test_a_fixed_clock_goes_where_it_is_set(clock: FixedClock) -> None:
    clock.set(datetime(2026, 7, 1, 12, tzinfo=BERLIN))
    assert clock.now() == datetime(2026, 7, 1, 10, tzinfo=UTC)
    clock.advance(seconds=90)
    assert clock.now() == datetime(2026, 7, 1, 10, 1, 30, tzinfo=UTC)
