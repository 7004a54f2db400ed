"""Evenings by the local clock: the moments that a forecast is asked for, right over a change to summer time."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, tzinfo

from stirfall.bench.ages import as_utc

EVENING_HOUR = 20


def local(moment: datetime, tz: tzinfo | None = None) -> datetime:
    """Return a moment by the clock of a zone, None: that of the computer."""
    return as_utc(moment).astimezone(tz)


def local_day(moment: datetime, tz: tzinfo | None = None) -> date:
    """Return the local day of a moment."""
    return local(moment, tz).date()


def at_hour(day: date, hour: int, tz: tzinfo | None = None) -> datetime:
    """Return the moment (UTC) when a local clock shows ``hour`` o'clock of a day.

    An hour that the clock shows twice is the first of the two; one that it leaves out is taken as the clock would
    have gone on.
    """
    wall = datetime.combine(day, time(hour))
    return (wall.replace(tzinfo=tz) if tz is not None else wall.astimezone()).astimezone(UTC)


def evenings(
    now: datetime, *, evening_hour: int = EVENING_HOUR, tz: tzinfo | None = None
) -> tuple[datetime, datetime]:
    """Return the next local evening and the one of the day after it, both in UTC; "now" counts as past.

    Days are counted by the calendar, so that the two are 23 to 25 hours apart where the clock is changed.
    """
    today = local_day(now, tz)
    first = today if at_hour(today, evening_hour, tz) > as_utc(now) else today + timedelta(days=1)
    return at_hour(first, evening_hour, tz), at_hour(first + timedelta(days=1), evening_hour, tz)


def clock_words(moment: datetime, now: datetime, tz: tzinfo | None = None) -> str:
    """Write a moment as a person at the bench would say it, in local time: "19:40", "tomorrow 02:00", "Wed 02:00".

    Beyond six days either way the date is written: "2026-11-24 19:40".
    """
    at = local(moment, tz)
    days = (at.date() - local_day(now, tz)).days
    named = {0: "", 1: "tomorrow ", -1: "yesterday "}.get(days)
    if named is None:
        named = f"{_WEEKDAYS[at.weekday()]} " if abs(days) < 7 else f"{at.date().isoformat()} "
    return f"{named}{at:%H:%M}"


_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
