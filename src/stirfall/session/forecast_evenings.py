"""Moments by the local clock: the evenings that a forecast is asked for, and moments in words."""

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


def said_moment(at: datetime, now: datetime, tz: tzinfo | None = None) -> str:
    """Write a moment in local time as a person would say it: "today 18:00", "Thu 14:00", "6 Dec 09:30"."""
    there, today = local(at, tz), local_day(now, tz)
    days = (there.date() - today).days
    clock = f"{there:%H:%M}"
    if days in (-1, 0, 1):
        return f"{('yesterday', 'today', 'tomorrow')[days + 1]} {clock}"
    if abs(days) < 7:
        return f"{_WEEKDAYS[there.weekday()]} {clock}"
    year = "" if there.year == today.year else f" {there.year}"
    return f"{there.day} {MONTHS[there.month - 1]}{year} {clock}"


def clock_words(moment: datetime, now: datetime, tz: tzinfo | None = None) -> str:
    """Write a moment as ``said_moment`` does, of today the time alone: for the middle of a sentence."""
    return said_moment(moment, now, tz).removeprefix("today ")


_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
