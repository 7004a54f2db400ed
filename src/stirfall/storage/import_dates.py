"""Dates and times of day in the cells of a table; the order of day and month is asked where it is not told."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, tzinfo

from stirfall.bench.errors import InputError
from stirfall.storage.import_cells import is_missing
from stirfall.storage.import_plan import ASK
from stirfall.storage.log_table import CLOCK, DATE, NUMBER, STAMP
from stirfall.storage.log_times import DATE_ORDERS, YEAR_FIRST, Stamps, date_text, read_date, seconds_of_clock

_NOON = 43_200.0
_LONGEST = 60
_EARLIEST_YEAR, _LATEST_YEAR = 1900, 2200
_ZONE = re.compile(r"(?:Z|UTC|[+\-]\d{2}:?\d{2})$")
_TAIL = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)\w*[,. ]+", re.IGNORECASE)


def kind_of_moment(cell: str) -> str:
    """Return what a cell looks like: "stamp", "date", "clock" or ""."""
    text = _bare(cell)
    if len(text) > _LONGEST:
        return ""
    if STAMP.fullmatch(text):
        return "stamp"
    if CLOCK.fullmatch(text):
        return "clock"
    if DATE.fullmatch(text) and (not NUMBER.fullmatch(text) or re.fullmatch(r"\d{1,4}\.\d{1,2}\.\d{2,4}", text)):
        return "date"
    return ""


def _bare(cell: str) -> str:
    return _TAIL.sub("", cell.strip())


def has_zone(cell: str) -> bool:
    """Whether a moment names its zone."""
    return _ZONE.search(cell.strip()) is not None and kind_of_moment(cell) == "stamp"


def date_order_of(cells: Iterable[str]) -> str:
    """Return the one order in which the dates can be meant, ``ASK`` where there are several; "" where none fits."""
    texts = {date_text(_bare(cell)) for cell in cells if not is_missing(cell) and kind_of_moment(cell) != "clock"}
    found: dict[tuple[object, ...], str] = {}
    best = 0
    for order in DATE_ORDERS:
        days = tuple(_day_or_none(text, order) for text in sorted(texts))
        count = sum(day is not None for day in days)
        if count > best:
            best, found = count, {}
        if count == best and count:
            found.setdefault(days, order)
    if not found:
        return ""
    return next(iter(found.values())) if len(found) == 1 else ASK


def _day_or_none(text: str, order: str) -> object:
    try:
        return read_date(text, order)
    except (ValueError, OverflowError):
        return None


class MomentReader:
    """Reads cells as moments in UTC; ``zone`` is that of whoever wrote them where a cell names none."""

    def __init__(self, order: str, zone: tzinfo) -> None:
        self._order = order if order in DATE_ORDERS else YEAR_FIRST
        self._stamps = Stamps(self._order, zone)

    def stamp(self, cell: str) -> datetime:
        """Return a date with its time of day, or noon of a date alone; raises InputError ``import.no_date``."""
        if kind_of_moment(cell) == "date":
            return self.day(cell, "")
        return self._moment(cell, lambda: self._stamps.stamp(_bare(cell)))

    def day(self, cell: str, clock: str) -> datetime:
        """Return a date at a time of day, at noon without one.

        Raises InputError ``import.no_date`` or ``import.no_clock``.
        """
        if clock and not is_missing(clock):
            clock = clock.rpartition(" ")[2] if kind_of_moment(clock) == "stamp" else clock
            try:
                seconds = seconds_of_clock(clock.strip())
            except ValueError:
                raise InputError("import.no_clock", text=clock) from None
            if seconds >= 2 * _NOON:
                raise InputError("import.no_clock", text=clock)
        else:
            seconds = _NOON
        text = date_text(_bare(cell)) if kind_of_moment(cell) == "stamp" else _bare(cell)
        return self._moment(cell, lambda: self._stamps.moment(read_date(text, self._order), seconds))

    def _moment(self, cell: str, read: Callable[[], float]) -> datetime:
        self._stamps.forget_order()
        try:
            moment = datetime.fromtimestamp(read(), UTC)
        except (ValueError, OverflowError, OSError):
            raise InputError("import.no_date", text=cell) from None
        if not _EARLIEST_YEAR <= moment.year <= _LATEST_YEAR:
            raise InputError("import.no_date", text=cell)
        return moment
