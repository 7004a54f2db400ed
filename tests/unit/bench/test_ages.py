from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.ages import age_h, as_utc, read_stamp, stamp
from stirfall.bench.errors import InputError

zones = st.integers(min_value=-14 * 60, max_value=14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
moments = st.datetimes(
    min_value=datetime(1990, 1, 1),  # noqa: DTZ001
    max_value=datetime(2090, 1, 1),  # noqa: DTZ001
    timezones=zones,
)


@given(moments)
def test_a_stamp_reads_back_to_the_millisecond(moment: datetime) -> None:
    assert abs(read_stamp(stamp(moment)) - moment) < timedelta(milliseconds=1)


@given(moments, zones)
def test_the_zone_in_which_a_moment_is_told_does_not_change_an_age(moment: datetime, zone: timezone) -> None:
    later = moment + timedelta(hours=7.5)
    assert age_h(moment.astimezone(zone), later) == pytest.approx(7.5)


def test_a_stamp_is_iso_8601_in_utc() -> None:
    moment = datetime(2026, 11, 24, 23, 30, tzinfo=timezone(timedelta(hours=1)))
    assert stamp(moment) == "2026-11-24T22:30:00.000Z"


def test_the_end_before_the_start_is_refused() -> None:
    start = datetime(2026, 1, 2, tzinfo=UTC)
    with pytest.raises(InputError) as caught:
        age_h(start, start - timedelta(seconds=1))
    assert caught.value.code == "time.runs_backwards"


def test_a_moment_without_a_zone_is_refused() -> None:
    naive = datetime(2026, 1, 2)  # noqa: DTZ001
    with pytest.raises(InputError) as caught:
        as_utc(naive)
    assert caught.value.code == "time.without_zone"
    with pytest.raises(InputError):
        read_stamp("2026-01-02T10:00:00")


@pytest.mark.parametrize("text", ["", "yesterday", "2026-13-01T00:00Z"])
def test_an_unreadable_time_is_refused(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_stamp(text)
    assert caught.value.code == "time.unreadable"
