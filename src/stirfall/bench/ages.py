"""Ages from two time stamps; the caller brings both, so nothing here reads a clock."""

from __future__ import annotations

from datetime import UTC, datetime

from stirfall.bench.errors import InputError


def as_utc(moment: datetime) -> datetime:
    """Return the moment in UTC; raises InputError ``time.without_zone`` for a naive time stamp.

    A moment that no calendar holds in UTC raises ``time.unreadable``.
    """
    if moment.tzinfo is None:
        raise InputError("time.without_zone", moment=moment.isoformat())
    try:
        return moment.astimezone(UTC)
    except OverflowError as error:
        raise InputError("time.unreadable", text=moment.isoformat()) from error


def hours_between(start: datetime, end: datetime) -> float:
    """Return the hours from ``start`` to ``end``, below zero where the end lies before; compared in UTC."""
    return (as_utc(end) - as_utc(start)).total_seconds() / 3600.0


def age_h(start: datetime, end: datetime) -> float:
    """Return the hours from ``start`` to ``end``; daylight saving cannot matter, both are compared in UTC.

    Raises InputError ``time.runs_backwards`` when the end lies before the start, which means that a clock was
    wrong: the person then overrides the age and says why.
    """
    hours = hours_between(start, end)
    if hours < 0:
        raise InputError("time.runs_backwards", start=as_utc(start).isoformat(), end=as_utc(end).isoformat())
    return hours


def stamp(moment: datetime) -> str:
    """Write a moment as ISO 8601 in UTC, to the millisecond."""
    return as_utc(moment).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def read_stamp(text: str) -> datetime:
    """Read an ISO 8601 moment with its zone; raises InputError ``time.unreadable`` or ``time.without_zone``."""
    try:
        return as_utc(datetime.fromisoformat(text.strip()))
    except ValueError as error:
        raise InputError("time.unreadable", text=text) from error
