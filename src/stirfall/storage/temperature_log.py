"""Temperature logs of any logger as pairs of moment and °C; what a file does not tell is asked, never guessed.

``scan_log`` reads the text once; ``read_points`` says what is still unclear as ``Question`` values, each with its
options, and gives the points when nothing is. ``read_temperature_log`` does both.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from itertools import pairwise
from math import isfinite
from pathlib import Path
from typing import TypeVar

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.units import convert
from stirfall.storage.log_table import MAX_BYTES, NUMBER, Column, LogTable, number_in, scan_table
from stirfall.storage.log_times import FROM_START, Clockwork, date_orders, seconds_of, ways_to_read
from stirfall.storage.log_workbook import WORKBOOK_START, workbook_as_text

T = TypeVar("T")
TIME, DATES, CHANNEL, UNIT = "time", "dates", "channel", "unit"
QUESTIONS = (TIME, DATES, CHANNEL, UNIT)
UNITS = ("C", "F", "K")

_HIGHEST_C = 3000.0  # loggers write numbers like 9.9e37 for an open input; no source
_LOWEST_C = -273.15
_EARLIEST_S, _LATEST_S = -2.2e9, 2.5e11  # the years 1900 to 9892: no calendar goes much further
_AWAY = timedelta(days=1)  # a log that ends or begins so far from the attempt is told; our proposal, no source
_SURE_UNIT = re.compile(
    r"[°º]\s?([CFK])\b|\bdeg\.?[ _]?([CFK])\b|\b([ck])elsius\b|\b(f)ahrenheit\b|\b(k)elvin\b", re.I
)
_BRACKETED_UNIT = re.compile(r"[\[(/,_]\s*([CFK])\s*[\])]?\s*$")
_LAST_UNIT = re.compile(r"(?:temp\w*\.?|\bT\d*|\bPV|\bSP)\s+([CF])$", re.IGNORECASE)
_THERMOCOUPLE = re.compile(r"type[ -]?k|k[ -]?type|\btc\b|thermocouple", re.IGNORECASE)
_OTHER_QUANTITY = re.compile(
    r"%|\brh\b|humid|feucht|\b[mµuk]?v\b|volt|\bm?a\b|amp|batter|press|[hk]pa\b|\bbar\b|\bppm\b|\brpm\b|\bw\b|watt|"
    r"power|output|duty|alarm|status|\blux\b|dew|flow",
    re.IGNORECASE,
)
_COUNTER = re.compile(r"^(#|no\.?|nr\.?|n|index|sample|record|count|row|line|scan)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Option:
    """One answer to a question: its key, and the code of the words for it."""

    key: str
    words: Reason


@dataclass(frozen=True)
class Question:
    """What a file does not tell: one of ``QUESTIONS``, why it is asked, and the answers."""

    key: str
    why: Reason
    options: tuple[Option, ...]


@dataclass(frozen=True)
class LogReading:
    """What a file says so far.

    ``points`` (moment in UTC, °C, rising in time) are there when ``questions`` is empty. ``notes`` tell what was
    left out or put in order. ``chosen`` is what was told or answered, by question; ``gaps`` counts missing values.
    """

    points: tuple[tuple[datetime, float], ...] = ()
    questions: tuple[Question, ...] = ()
    notes: tuple[Reason, ...] = ()
    chosen: Mapping[str, str] | None = None
    gaps: int = 0


@dataclass(frozen=True)
class ScannedLog:
    """A file as a table, with the ways to read its times and the columns that may be temperatures."""

    name: str
    table: LogTable
    ways: tuple[Clockwork, ...]
    channels: tuple[Column, ...]


def read_temperature_log(
    source: Path | bytes,
    *,
    zone: tzinfo,
    start: datetime | None,
    answers: Mapping[str, str] | None = None,
    name: str = "",
) -> LogReading:
    """Return what a logger's file says; the parameters are those of ``scan_log`` and ``read_points``."""
    return read_points(scan_log(source, name=name), zone=zone, start=start, answers=answers)


def scan_log(source: Path | bytes, *, name: str = "") -> ScannedLog:
    """Return a file as a table.

    A workbook is read like the text of its fullest sheet. Raises FileTroubleError ``logger.unreadable``, and
    InputError: ``logger.no_times``, ``logger.no_temperatures``, what ``scan_table`` and ``workbook_as_text`` raise.
    """
    data, name = (source, name) if isinstance(source, bytes) else (_bytes_of(source), name or source.name)
    if data.startswith(WORKBOOK_START):
        data = workbook_as_text(data, name)
    table = scan_table(data, name)
    ways = ways_to_read(table)
    if not ways:
        raise InputError("logger.no_times", name=name)
    channels = _channels(table, ways)
    if not channels:
        raise InputError("logger.no_temperatures", name=name)
    return ScannedLog(name, table, ways, channels)


def _bytes_of(path: Path) -> bytes:
    try:
        if path.stat().st_size > MAX_BYTES:
            raise InputError("logger.too_large", name=path.name, limit_mb=MAX_BYTES // (1024 * 1024))
        return path.read_bytes()
    except OSError as error:
        raise FileTroubleError("logger.unreadable", name=path.name, detail=error.strerror or str(error)) from error


def _channels(table: LogTable, ways: Sequence[Clockwork]) -> tuple[Column, ...]:
    times = {place for way in ways for place in way.places}
    numbers = [each for each in table.columns if each.kind in ("number", "empty") and each.place not in times]
    found = [each for each in numbers if not _COUNTER.match(each.header) and any(map(_has_number, each.cells))]
    sure = [each for each in found if unit_of(each)]
    if sure:
        return tuple(sure)
    plain = [each for each in found if not _OTHER_QUANTITY.search(each.header)]
    return tuple(plain or found)


def _has_number(cell: str) -> bool:
    return number_in(cell) is not None


def unit_of(column: Column) -> str:
    """Return the unit that a column's header or cells name, "C", "F" or "K"; "" where they name none.

    A type K thermocouple is no kelvin.
    """
    told = _unit_in(column.header)
    if told or _OTHER_QUANTITY.search(column.header):
        return told
    units = {match[2][-1] for cell in column.cells[:100] if (match := NUMBER.fullmatch(cell)) and match[2]}
    return units.pop() if len(units) == 1 else ""


def _unit_in(text: str) -> str:
    sure = _SURE_UNIT.search(text)
    if sure:
        return next(part for part in sure.groups() if part).upper()
    is_thermocouple = _THERMOCOUPLE.search(text) is not None
    for pattern in (_BRACKETED_UNIT, _LAST_UNIT):
        match = pattern.search(text)
        if match and not (is_thermocouple and match[1].upper() == "K"):
            return match[1].upper()
    return ""


def read_points(
    log: ScannedLog, *, zone: tzinfo, start: datetime | None, answers: Mapping[str, str] | None = None
) -> LogReading:
    """Return the points of a scanned file, or what has to be asked first.

    ``answers`` maps questions to option keys. ``zone`` is that of the logger's clock where stamps name none,
    ``start`` that of the attempt. Raises InputError: ``logger.no_start`` where times count from an unknown start,
    ``logger.dates_mixed`` where no order of day and month fits, ``logger.answer`` for an answer that is no option,
    ``logger.no_temperatures`` where nothing is left.
    """
    asked = _Asked(answers or {})
    way = asked.settle(TIME, "logger.ask_time", [(each.kind, each, {}) for each in log.ways])
    order = _settle_dates(log, way, asked) if way is not None else None
    channel = asked.settle(CHANNEL, "logger.ask_channel", _channel_options(log.channels))
    unit = _settle_unit(log, channel, asked) if channel is not None else None
    if way is not None and way.kind in FROM_START | {"clock"} and start is None:
        raise InputError("logger.no_start", name=log.name)
    if way is None or order is None or channel is None or unit is None:
        return LogReading(questions=tuple(asked.questions), chosen=asked.chosen)
    seconds = seconds_of(log.table, way, order=order, zone=zone, start=start)
    pairs, counted = _pairs(seconds, channel, unit)
    if not pairs:
        raise InputError("logger.no_temperatures", name=log.name)
    counted["logger.note_left_out"] += log.table.left_out
    points, notes = _in_order(pairs)
    notes += [Reason(code, {"count": count}) for code, count in counted.items() if count]
    gaps = counted["logger.note_gaps"] + counted["logger.note_impossible"]
    return LogReading(points, (), (*notes, *_away(points, start)), asked.chosen, gaps)


class _Asked:
    """Collects what is known and what has to be asked."""

    def __init__(self, answers: Mapping[str, str]) -> None:
        self._answers = answers
        self.questions: list[Question] = []
        self.chosen: dict[str, str] = {}

    def settle(self, question: str, why: str, options: Sequence[tuple[str, T, Mapping[str, object]]]) -> T | None:
        """Return the only option or the answered one; None where it must be asked, and then it is a question."""
        answer = self._answers.get(question)
        keys = [key for key, _, _ in options]
        if answer is not None and answer not in keys:
            raise InputError("logger.answer", answer=answer, known=", ".join(keys))
        if answer is None and len(options) > 1:
            words = tuple(Option(key, _words_of(question, key, params)) for key, _, params in options)
            self.questions.append(Question(question, Reason(why), words))
            return None
        key = answer if answer is not None else keys[0]
        self.chosen[question] = key
        return next(value for each, value, _ in options if each == key)


def _words_of(question: str, key: str, params: Mapping[str, object]) -> Reason:
    if question == CHANNEL:
        return Reason("logger.option_channel", params)
    code = f"logger.option_{re.sub('[^a-z]+', '_', key.lower())}"
    return Reason(code, params)


def _settle_dates(log: ScannedLog, way: Clockwork, asked: _Asked) -> str | None:
    orders = date_orders(log.table, way)
    if not orders:
        raise InputError("logger.dates_mixed", name=log.name)
    first = log.table.columns[way.places[0]].cells[0]
    options = []
    for order in orders:
        found = seconds_of(log.table, way, order=order, zone=UTC, start=None) if len(orders) > 1 else []
        at = next((value for value in found if value is not None), 0.0)
        day = f"{datetime.fromtimestamp(at, UTC):%Y-%m-%d}"
        options.append((order, order, {"written": first, "day": day}))
    return asked.settle(DATES, "logger.ask_dates", options)


def _channel_options(channels: Sequence[Column]) -> list[tuple[str, Column, Mapping[str, object]]]:
    options: list[tuple[str, Column, Mapping[str, object]]] = []
    for column in channels:
        numbers = [value for cell in column.cells if (value := number_in(cell)) is not None and isfinite(value)]
        name = column.header or f"column {column.place + 1}"
        params = {"name": name, "low": min(numbers, default=0.0), "high": max(numbers, default=0.0)}
        options.append((str(column.place + 1), column, params))
    return options


def _settle_unit(log: ScannedLog, channel: Column, asked: _Asked) -> str | None:
    unit = unit_of(channel)
    if not unit:
        above = {found for line in log.table.preamble if (found := _unit_in(line)) and _SURE_UNIT.search(line)}
        unit = above.pop() if len(above) == 1 else ""
    units = (unit,) if unit else UNITS
    return asked.settle(UNIT, "logger.ask_unit", [(each, each, {}) for each in units])


def _pairs(
    seconds: Sequence[float | None], channel: Column, unit: str
) -> tuple[list[tuple[float, float]], dict[str, int]]:
    """Return the readings as seconds and °C, and how many lines give none, by the code of the note."""
    pairs: list[tuple[float, float]] = []
    counted = dict.fromkeys(("logger.note_left_out", "logger.note_gaps", "logger.note_impossible"), 0)
    for at, cell in zip(seconds, channel.cells, strict=True):
        value = number_in(cell)
        if at is None or not _EARLIEST_S <= at <= _LATEST_S:
            counted["logger.note_left_out"] += 1
        elif value is None or not isfinite(value):
            counted["logger.note_gaps"] += 1
        elif _LOWEST_C <= (celsius := value if unit == "C" else convert(value, unit, "C")) <= _HIGHEST_C:
            pairs.append((at, celsius))
        else:
            counted["logger.note_impossible"] += 1
    return pairs, counted


def _in_order(pairs: list[tuple[float, float]]) -> tuple[tuple[tuple[datetime, float], ...], list[Reason]]:
    """Return points rising in time; several at one moment become their mean."""
    notes = []
    times = [at for at, _ in pairs]
    backwards = sum(later < sooner for sooner, later in pairwise(times))
    if backwards:
        notes.append(Reason("logger.note_unsorted", {"count": backwards}))
        pairs = sorted(pairs, key=lambda pair: pair[0])
    sums: dict[float, tuple[float, int]] = {}
    for at, value in pairs:
        total, count = sums.get(at, (0.0, 0))
        sums[at] = (total + value, count + 1)
    if len(sums) < len(pairs):
        notes.append(Reason("logger.note_repeated", {"count": len(pairs) - len(sums)}))
    points = tuple(
        (datetime.fromtimestamp(at, UTC), value if count == 1 else value / count)
        for at, (value, count) in sums.items()
    )
    return points, notes


def _away(points: Sequence[tuple[datetime, float]], start: datetime | None) -> list[Reason]:
    if start is None:
        return []
    first, last = points[0][0], points[-1][0]
    if last < start - _AWAY or first > start + _AWAY:
        return [
            Reason("logger.note_away", {"first": f"{first:%Y-%m-%d %H:%M}", "start": f"{start:%Y-%m-%d %H:%M}"})
        ]
    return []
