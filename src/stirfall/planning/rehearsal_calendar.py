"""When rehearsed attempts happen: bench evenings, jars on the shelf, and jars that are started and wait.

All times are hours after the rehearsal begins. Nothing here reads a clock or a calendar: the evenings come as
numbers, so that every computer that plays a campaign has the same ones.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

# An age within a tenth of the one wanted is the same age, as for the jar of a suggestion (our proposal).
SAME_AGE = 1.1
_WEEK_H = 168.0
# Hours are compared to within a second: sums of rounded hours are no later than the same hour.
_SECOND_H = 1.0 / 3600.0

Ages = tuple[float | None, ...]
"""The ages that an attempt wants, in hours, one per factor that is an age; None where it wants none."""


@dataclass(frozen=True)
class ShelfJar:
    """One jar: ``starts_h`` are the hours, one per age factor, at which that age began; None where unknown."""

    starts_h: Ages
    lot: str | None = None


@dataclass(frozen=True)
class BenchCalendar:
    """``evenings_h`` are the beginnings of the bench evenings, in order.

    Each has room for ``per_evening`` attempts of ``attempt_h``; what would begin before hour zero is over. After
    the last of them the evenings of its week repeat.
    """

    evenings_h: tuple[float, ...]
    per_evening: int
    attempt_h: float

    @cached_property
    def _slots(self) -> list[float]:
        starts = [at + place * self.attempt_h for at in self.evenings_h for place in range(self.per_evening)]
        return [start for start in starts if start > -_SECOND_H]

    def first_from(self, hour: float) -> float:
        """Return the beginning of the first free bench time at or after ``hour``."""
        slots, asked = self._slots, hour - _SECOND_H
        if asked <= slots[-1]:
            return slots[bisect_left(slots, asked)]
        week = math.ceil((asked - slots[-1]) / _WEEK_H)
        later = [at + week * _WEEK_H for at in slots if at > slots[-1] - _WEEK_H + _SECOND_H]
        return later[min(bisect_left(later, asked), len(later) - 1)]


@dataclass(frozen=True)
class Booking:
    """One attempt: when it begins and ends, and its jar: the place on the shelf, None for one started for it.

    ``started_h`` is when that new jar is started. ``lot`` is the lot of the jar.
    """

    at_h: float
    ends_h: float
    lot: str | None
    shelf_place: int | None = None
    started_h: float | None = None


@dataclass
class BenchBook:
    """Books attempts one after the other: each knows the outcomes of those before it, so none begins earlier.

    A jar of the shelf is opened where its age fits at a bench evening no later than a new one could be opened.
    Otherwise a jar is started so that it is due at the first bench time at which it can be; ``jars_at_once`` are
    started together, and the others stand on the shelf from then on. ``longest_h`` are the ages that no jar may
    pass.
    """

    calendar: BenchCalendar
    shelf: Sequence[ShelfJar] = ()
    jars_at_once: int = 1
    lot: str | None = None
    longest_h: Ages = ()
    now_h: float = 0.0
    _jars: dict[int, ShelfJar] = field(init=False)

    def __post_init__(self) -> None:
        """Number the jars of the shelf."""
        self._jars = dict(enumerate(self.shelf))
        self._numbered = len(self._jars)

    def book(self, ages: Ages) -> Booking:
        """Return when and with which jar the next attempt happens, and take note of it."""
        wait = max((age for age in ages if age is not None), default=0.0)
        fresh = self.calendar.first_from(self.now_h + wait)
        at, place = min(
            ((at, place) for place, jar in self._jars.items() if (at := self._opens(jar, ages)) is not None),
            default=(math.inf, -1),
        )
        if at <= fresh + _SECOND_H:
            jar = self._jars.pop(place)
            return self._booked(Booking(at, at + self.calendar.attempt_h, jar.lot, shelf_place=place))
        self._put_aside(fresh, wait, ages)
        return self._booked(Booking(fresh, fresh + self.calendar.attempt_h, self.lot, started_h=fresh - wait))

    def _opens(self, jar: ShelfJar, ages: Ages) -> float | None:
        """Return the first bench time at which every age of the jar fits, None where there is none."""
        earliest, latest = self.now_h, math.inf
        longest = self.longest_h or (None,) * len(ages)
        for age, start, most in zip(ages, jar.starts_h, longest, strict=True):
            if age is None:
                continue
            if start is None:
                return None
            earliest = max(earliest, start + age / SAME_AGE)
            latest = min(latest, start + (age * SAME_AGE if most is None else min(age * SAME_AGE, most)))
        at = self.calendar.first_from(earliest)
        return at if at <= latest + _SECOND_H else None

    def _put_aside(self, at: float, wait: float, ages: Ages) -> None:
        started = ShelfJar(tuple(at - (wait if age is None else age) for age in ages), self.lot)
        for _ in range(self.jars_at_once - 1):
            self._jars[self._numbered] = started
            self._numbered += 1

    def _booked(self, booking: Booking) -> Booking:
        self.now_h = booking.ends_h
        return booking


def schedule(
    ages: Sequence[Ages],
    shelf: Sequence[ShelfJar],
    calendar: BenchCalendar,
    *,
    jars_at_once: int = 1,
    lot: str | None = None,
    longest_h: Ages = (),
) -> tuple[Booking, ...]:
    """Return when attempts that want these ages happen, one after the other; a pure function of its arguments."""
    book = BenchBook(calendar, shelf, jars_at_once, lot, longest_h)
    return tuple(book.book(each) for each in ages)
