"""The times of a logger's table: which ways there are to read them, and the moments that one way gives."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from itertools import pairwise

from stirfall.storage.log_table import Column, LogTable, number_in

YEAR_FIRST, DAY_FIRST, MONTH_FIRST = "year-first", "day-first", "month-first"
DATE_ORDERS = (DAY_FIRST, MONTH_FIRST, YEAR_FIRST)
_PLACES: Mapping[str, tuple[int, int, int]] = {YEAR_FIRST: (0, 1, 2), DAY_FIRST: (2, 1, 0), MONTH_FIRST: (2, 0, 1)}

STAMPS, EPOCH, EPOCH_MS, CLOCK, DAYS = "date and time", "epoch", "epoch ms", "clock", "day numbers"
ELAPSED_CLOCK, ELAPSED_MS = "elapsed", "elapsed min:s"
SECONDS, MINUTES, HOURS, MILLISECONDS = "s", "min", "h", "ms"
IN_SECONDS: Mapping[str, float] = {MILLISECONDS: 1e-3, SECONDS: 1.0, MINUTES: 60.0, HOURS: 3600.0}
FROM_START = frozenset((ELAPSED_CLOCK, ELAPSED_MS, *IN_SECONDS))
"""The ways of reading that count from the start of the attempt."""

_EPOCHS = {EPOCH: (9.4e8, 4.2e9, 1.0), EPOCH_MS: (9.4e11, 4.2e12, 1e-3)}  # the years 2000 to 2100
_DAYS_FROM, _DAYS_TO = 36_526.0, 73_050.0  # the same years as spreadsheets count them
_FIRST_DAY = date(1899, 12, 30).toordinal()
_DATE_LETTERS = 10
_HALF_DAY, _DAY = 43_200.0, 86_400.0
_LAST_MINUTE = 59
_MONTHS = {
    word: number
    for number, words in enumerate(
        ("jan", "feb", "mar mär mrz", "apr", "may mai", "jun", "jul", "aug", "sep", "oct okt", "nov", "dec dez"), 1
    )
    for word in words.split()
}
_DATE = re.compile(r"(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})")
_NAMED_DATE = re.compile(r"(\d{1,2})[-/. ]?([^\W\d_]{3,9})\.?[-/., ]+(\d{2,4})")
_CLOCK = re.compile(r"(\d{1,3}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*(?:([AaPp])\.?[Mm]\.?)?")
_NAMED_FIRST = re.compile(r"([^\W\d_]{3,9})\.?[-/. ](\d{1,2})[-/., ]+(\d{4})")
# How nearly all loggers write a moment, read in one step, for a log may have a hundred thousand of them.
_STAMP = re.compile(
    r"(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4})[T ](\d{1,2}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?"
    r"\s?(?:([AaPp])\.?[Mm]\.?)?\s?(Z|UTC|[+\-]\d{2}(?::?\d{2})?)?",
    re.ASCII,
)
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})[T ]?(\d{2})(\d{2})(\d{2})")
_ZONE = re.compile(r"\s*(Z|UTC|[+\-]\d{2}(?::?\d{2})?)$")
_HEADER_UNITS = (
    (MILLISECONDS, re.compile(r"\b(ms|msec|milliseconds?)\b", re.IGNORECASE)),
    (SECONDS, re.compile(r"\b(s|sec|secs|seconds?|sekunden?)\b", re.IGNORECASE)),
    (MINUTES, re.compile(r"\b(min|mins|minutes?|minuten)\b", re.IGNORECASE)),
    (HOURS, re.compile(r"\b(h|hr|hrs|hours?|stunden)\b", re.IGNORECASE)),
)
_TIME_WORD = re.compile(r"\btime|\belapsed|\bt\b|\bzeit|\bduration|\brun", re.IGNORECASE)
_ELAPSED_WORD = re.compile(r"elapsed|duration|run ?time|since|laufzeit", re.IGNORECASE)
_COUNT_WORD = re.compile(r"^(#|no\.?|nr\.?|n|index|sample|record|count|row|line|scan)", re.IGNORECASE)
_NO_OFFSET = timedelta(0)


@dataclass(frozen=True)
class Clockwork:
    """One way to read the times: ``kind`` as above, from the columns at ``places``."""

    kind: str
    places: tuple[int, ...]


class SystemZone(tzinfo):
    """The zone of this computer with all its changes of the clock, as the operating system knows them."""

    def utcoffset(self, moment: datetime | None) -> timedelta:
        """Return the offset at a local moment."""
        local = datetime.now().astimezone() if moment is None else moment.replace(tzinfo=None).astimezone()
        return local.utcoffset() or _NO_OFFSET

    def dst(self, moment: datetime | None) -> timedelta:
        """Return nothing: the offset says it all."""
        del moment
        return _NO_OFFSET

    def tzname(self, moment: datetime | None) -> str:
        """Return the system's name of the zone."""
        local = datetime.now().astimezone() if moment is None else moment.replace(tzinfo=None).astimezone()
        return local.tzname() or ""

    def fromutc(self, moment: datetime) -> datetime:
        """Return the local moment of one in UTC."""
        return moment.replace(tzinfo=UTC).astimezone().replace(tzinfo=self)


def ways_to_read(table: LogTable) -> tuple[Clockwork, ...]:
    """Return the ways in which the times of a table can be read; several where it does not tell which is meant."""
    columns = table.columns
    by_kind = {
        kind: [each for each in columns if each.kind == kind] for kind in ("stamp", "date", "clock", "number")
    }
    if by_kind["stamp"]:
        return (Clockwork(STAMPS, (by_kind["stamp"][0].place,)),)
    if by_kind["date"] and by_kind["clock"]:
        return (Clockwork(STAMPS, (by_kind["date"][0].place, by_kind["clock"][0].place)),)
    for kind, (low, high, _) in _EPOCHS.items():
        for column in by_kind["number"]:
            if all(low < value < high for value in _first_numbers(column)):
                return (Clockwork(kind, (column.place,)),)
    for column in by_kind["number"]:
        for kind, pattern in _HEADER_UNITS:
            if pattern.search(column.header.replace("_", " ")) and _rises(column):
                return (Clockwork(kind, (column.place,)),)
    if by_kind["clock"]:
        return _ways_of_clock(by_kind["clock"][0])
    return _ways_of_numbers(by_kind["number"])


def _ways_of_clock(column: Column) -> tuple[Clockwork, ...]:
    place, first = (column.place,), column.cells[0]
    parts = [match for cell in column.cells if (match := _CLOCK.fullmatch(cell))]
    if parts and parts[0][4]:
        return (Clockwork(CLOCK, place),)
    highest = max(int(part[1]) for part in parts)
    is_short = all(part[3] is None for part in parts)
    if is_short and highest >= 24:
        return (Clockwork(ELAPSED_MS, place),)
    elapsed = tuple(
        Clockwork(kind, place) for kind in ((ELAPSED_MS, ELAPSED_CLOCK) if is_short else (ELAPSED_CLOCK,))
    )
    if not is_short and (highest >= 24 or seconds_of_clock(first) < 60 or _ELAPSED_WORD.search(column.header)):
        return elapsed
    if not is_short and seconds_of_clock(first) >= 3600:
        return (Clockwork(CLOCK, place),)  # nothing that counts from a start begins after an hour
    return (*elapsed, Clockwork(CLOCK, place))


def _ways_of_numbers(columns: Sequence[Column]) -> tuple[Clockwork, ...]:
    rising = [column for column in columns if _rises(column)]
    named = [column for column in rising if _TIME_WORD.search(column.header)]
    others = [column for column in rising if not _COUNT_WORD.match(column.header)]
    chosen = named or [each for each in others if each.place == 0] or [each for each in rising if each.place == 0]
    if not chosen:
        return ()
    may_be_days = all(_DAYS_FROM < value < _DAYS_TO for value in _first_numbers(chosen[0]))
    kinds = (DAYS, SECONDS, MINUTES, HOURS) if may_be_days else (SECONDS, MINUTES, HOURS)
    return tuple(Clockwork(kind, (chosen[0].place,)) for kind in kinds)


def _first_numbers(column: Column) -> list[float]:
    return [value for cell in column.cells[:50] if (value := number_in(cell)) is not None] or [0.0]


def _rises(column: Column) -> bool:
    numbers = [value for cell in column.cells if (value := number_in(cell)) is not None]
    backwards = sum(later < sooner for sooner, later in pairwise(numbers))
    return len(numbers) > 0 and backwards <= len(numbers) // 20


# -- dates -----------------------------------------------------------------------------------------


def date_orders(table: LogTable, way: Clockwork) -> tuple[str, ...]:
    """Return the orders in which the dates can be meant; one where they tell it, none where none fits."""
    if way.kind != STAMPS:
        return (YEAR_FIRST,)
    found: dict[tuple[date, ...], str] = {}
    # Within a log the first ten characters tell the dates apart whose numbers may be in any order.
    heads = {cell[:_DATE_LETTERS]: cell for cell in table.columns[way.places[0]].cells}
    texts = sorted({date_text(cell) for cell in heads.values()})
    for order in DATE_ORDERS:
        try:
            found.setdefault(tuple(read_date(text, order) for text in texts), order)
        except ValueError:
            continue
    return tuple(found.values())


def date_text(cell: str) -> str:
    """Return the part of a cell that is its date."""
    if _COMPACT.match(cell):
        return f"{cell[:4]}-{cell[4:6]}-{cell[6:8]}"
    match = _DATE.match(cell) or _NAMED_DATE.match(cell) or _NAMED_FIRST.match(cell)
    return match[0] if match else cell


def read_date(text: str, order: str) -> date:
    """Return a date; raises ValueError where the order does not fit it."""
    named, first = _NAMED_DATE.fullmatch(text), _NAMED_FIRST.fullmatch(text)
    if named or first:
        day, word, year = named.groups() if named else (first[2], first[1], first[3]) if first else ("", "", "")
        month = _MONTHS.get(word[:3].casefold())
        if month is None:
            raise ValueError(text)
        return date(_year(year), month, int(day))
    match = _DATE.fullmatch(text)
    if match is None:
        raise ValueError(text)
    parts = match.groups()
    if (len(parts[0]) > 2) != (order == YEAR_FIRST) and max(len(parts[0]), len(parts[2])) > 2:
        raise ValueError(text)
    year, month_text, day = (parts[place] for place in _PLACES[order])
    return date(_year(year), int(month_text), int(day))


def _year(text: str) -> int:
    year = int(text)
    return year + 2000 if len(text) <= 2 else year


# -- moments ---------------------------------------------------------------------------------------


def seconds_of(
    table: LogTable, way: Clockwork, *, order: str, zone: tzinfo, start: datetime | None
) -> list[float | None]:
    """Return the seconds since 1970 (UTC) of each line, None for a cell that cannot be read.

    ``zone`` is that of the logger's clock where a stamp names none; ``start`` is that of the attempt, from which
    elapsed times count and to which times of day are the nearest; it is needed for those two.
    """
    cells = table.columns[way.places[0]].cells
    if way.kind == STAMPS:
        clocks = table.columns[way.places[1]].cells if len(way.places) > 1 else None
        return Stamps(order, zone).read(cells, clocks)
    if way.kind in _EPOCHS:
        factor = _EPOCHS[way.kind][2]
        return [None if (value := number_in(cell)) is None else value * factor for cell in cells]
    if way.kind == DAYS:
        return _day_seconds(cells, zone)
    if start is None:
        return [None] * len(cells)
    if way.kind == CLOCK:
        return _clock_seconds(cells, zone, start)
    begun = start.timestamp()
    return [None if (value := seconds) is None else begun + value for seconds in _elapsed(cells, way.kind)]


def _day_seconds(cells: Sequence[str], zone: tzinfo) -> list[float | None]:
    """Return moments of day numbers, whole and part of a day of the local clock, to the millisecond."""
    stamps = Stamps(YEAR_FIRST, zone)
    found: list[float | None] = []
    for cell in cells:
        value = number_in(cell)
        if value is None or not _DAYS_FROM < value < _DAYS_TO:
            found.append(None)
            continue
        day = int(value)
        found.append(stamps.moment(date.fromordinal(_FIRST_DAY + day), round((value - day) * _DAY, 3)))
    return found


def _elapsed(cells: Iterable[str], kind: str) -> Iterable[float | None]:
    if kind in IN_SECONDS:
        factor = IN_SECONDS[kind]
        return (None if (value := number_in(cell)) is None else value * factor for cell in cells)
    return map(_short_seconds if kind == ELAPSED_MS else _clock_or_none, cells)


def _short_seconds(cell: str) -> float | None:
    match = _CLOCK.fullmatch(cell)
    return None if match is None else 60.0 * int(match[1]) + int(match[2])


def _clock_or_none(cell: str) -> float | None:
    return seconds_of_clock(cell) if _CLOCK.fullmatch(cell) else None


def seconds_of_clock(clock: str) -> float:
    """Return the seconds since midnight of a time of day; raises ValueError."""
    match = _CLOCK.fullmatch(clock)
    if match is None:
        raise ValueError(clock)
    hour, half = int(match[1]), (match[4] or "").lower()
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return 3600.0 * hour + 60.0 * int(match[2]) + float((match[3] or "0").replace(",", "."))


def _clock_seconds(cells: Sequence[str], zone: tzinfo, start: datetime) -> list[float | None]:
    """Return moments of times of day: the first is the nearest to the start, a fall by half a day is a midnight."""
    local = start.astimezone(zone)
    stamps = Stamps(YEAR_FIRST, zone)
    day: date | None = None
    before: float | None = None
    found: list[float | None] = []
    for cell in cells:
        clock = _clock_or_none(cell)
        if clock is None:
            found.append(None)
            continue
        if day is None:
            away = clock - (3600.0 * local.hour + 60.0 * local.minute + local.second)
            day = local.date() + timedelta(days=(away < -_HALF_DAY) - (away > _HALF_DAY))
        elif before is not None and before - clock > _HALF_DAY:
            day += timedelta(days=1)
        before = clock
        found.append(stamps.moment(day, clock))
    return found


class Stamps:
    """Reads stamps into seconds since 1970; keeps what it worked out for a date and for an hour of the zone."""

    def __init__(self, order: str, zone: tzinfo) -> None:
        self._order, self._zone = order, zone
        self._dates: dict[str, tuple[date, float]] = {}
        self._offsets: dict[tuple[float, int], tuple[float, float]] = {}
        self._last = float("-inf")

    def read(self, cells: Sequence[str], clocks: Sequence[str] | None) -> list[float | None]:
        """Return the moments of cells, or of dates and their times of day; None where one cannot be read."""
        one: Callable[[str, str], float | None] = self._one if clocks is None else self._pair
        found: list[float | None] = []
        for cell, clock in zip(cells, clocks or cells, strict=True):
            try:
                found.append(one(cell, clock))
            except ValueError:
                found.append(None)
        return found

    def _pair(self, cell: str, clock: str) -> float:
        return self.moment(self._date(cell)[0], seconds_of_clock(clock))

    def _one(self, cell: str, _: str) -> float:
        return self.stamp(cell)

    def stamp(self, cell: str) -> float:
        """Return the seconds since 1970 of a date with its time of day; raises ValueError."""
        whole = _STAMP.fullmatch(cell)
        if whole is not None:
            text, hour, minute, second, half, named = whole.groups()
            hours = int(hour) if not half else int(hour) % 12 + (12 if half in "pP" else 0)
            seconds = 3600.0 * hours + 60.0 * int(minute) + float((second or "0").replace(",", "."))
            if seconds > _DAY or int(minute) > _LAST_MINUTE:
                raise ValueError(cell)
            day, midnight = self._date(text)
            return self.moment(day, seconds) if named is None else midnight + seconds - _offset_named(named)
        return self._rare_stamp(cell)

    def _rare_stamp(self, cell: str) -> float:
        compact = _COMPACT.match(cell)
        text = date_text(cell)
        rest = cell[compact.end() :] if compact else cell[len(text) :]
        zone = _ZONE.search(rest)
        clock = ":".join(compact.groups()[3:]) if compact else rest[: zone.start() if zone else None].strip(" T,;")
        day, midnight = self._date(text)
        seconds = seconds_of_clock(clock)
        if zone is None:
            return self.moment(day, seconds)
        return midnight + seconds - _offset_named(zone[1])

    def _date(self, text: str) -> tuple[date, float]:
        known = self._dates.get(text)
        if known is None:
            day = read_date(text, self._order)
            known = self._dates[text] = (day, _midnight(day))
        return known

    def forget_order(self) -> None:
        """Read the next moment as if it were the first: rows of a table need not stand in the order of time."""
        self._last = float("-inf")

    def moment(self, day: date, seconds: float) -> float:
        """Return the moment of a local time; where a clock was set back, the later of two that keeps the order."""
        naive = _midnight(day) + seconds
        key = (_midnight(day), int(seconds // 900))
        offsets = self._offsets.get(key)
        if offsets is None:
            local = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(seconds=seconds)
            first, second = (
                (local.replace(tzinfo=self._zone, fold=fold).utcoffset() or _NO_OFFSET).total_seconds()
                for fold in (0, 1)
            )
            offsets = self._offsets[key] = (first, second)
        at = naive - offsets[0]
        if at < self._last and offsets[0] > offsets[1]:
            at = naive - offsets[1]
        self._last = at
        return at


def _midnight(day: date) -> float:
    return (day.toordinal() - 719_163) * _DAY  # the ordinal of 1970-01-01


def _offset_named(text: str) -> float:
    if text in ("Z", "UTC"):
        return 0.0
    digits = text[1:].replace(":", "")
    seconds = 3600.0 * int(digits[:2]) + 60.0 * int(digits[2:] or 0)
    return -seconds if text[0] == "-" else seconds
