"""The text of a temperature logger as a table: encoding, delimiter, header and columns, not interpreted yet."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from stirfall.bench.errors import InputError

MAX_BYTES = 64 * 1024 * 1024
MOST_LINES, MOST_COLUMNS = 1_000_000, 1_000
_LONGEST_LINE = 100_000
DELIMITERS = ("\t", ";", "|", ",", " ")
"""In the order of preference where two of them explain the lines as well; a blank comes last."""

_SAMPLE = 120
_CONFORMING = 0.8
_UNIT_CELL = 8

NUMBER = re.compile(
    r"([+\-\u2212]?(?:\d+(?:[.,]\d+)*[.,]?|[.,]\d+)(?:[eE][+\-]?\d+)?)\s*((?:[°º]\s*|deg\.?\s*)?[CFK])?", re.ASCII
)
_CLOCK = r"\d{1,3}:\d{2}(?::\d{2}(?:[.,]\d+)?)?(?:\s*[AaPp]\.?[Mm]\.?)?"
_DATE = (
    r"(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}[-/. ]?[^\W\d_]{3,9}\.?[-/., ]+\d{2,4}|"
    r"[^\W\d_]{3,9}\.?[-/. ]\d{1,2}[-/., ]+\d{4})"
)
_ZONE = r"(?:\s*(?:Z|UTC|[+\-]\d{2}(?::?\d{2})?))?"
CLOCK = re.compile(_CLOCK)
DATE = re.compile(_DATE)
STAMP = re.compile(rf"(?:{_DATE}[T,; ]\s*{_CLOCK}|(?:19|20)\d{{6}}[T ]?\d{{6}}){_ZONE}")
_WHOLE = re.compile(r"-?\d+")
ERROR_CELL = re.compile(
    r"[+-]?(?:ol|o\.l\.?|over|ovr|under|udr|ovf|err(?:or)?\.?|fault|nan|inf|n/?a|#n/a|null|none|open|invalid|off)|"
    r"[-*?.]+",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Column:
    """One column: its header, "" where there is none, what most of its cells are, and the cells, as they stand."""

    place: int
    header: str
    kind: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class LogTable:
    """The lines with a time, in columns; ``preamble`` stands above, ``left_out`` counts lines without a time."""

    columns: tuple[Column, ...]
    preamble: tuple[str, ...]
    delimiter: str
    left_out: int

    @property
    def rows(self) -> int:
        """How many lines there are."""
        return len(self.columns[0].cells)


def scan_table(data: bytes, name: str = "") -> LogTable:
    """Return the table in the bytes of a file.

    Raises InputError: ``logger.empty``, ``logger.too_large``, ``logger.not_text``, ``logger.quotes``,
    ``logger.too_many_lines``, ``logger.too_many_columns``, ``logger.line_too_long``, ``logger.no_columns``,
    ``logger.no_times``.
    """
    if len(data) > MAX_BYTES:
        raise InputError("logger.too_large", name=name, limit_mb=MAX_BYTES // (1024 * 1024))
    text = decoded(data)
    if "\0" in text or data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF", b"\x1f\x8b")):
        raise InputError("logger.not_text", name=name)
    lines = [line for line in text.splitlines() if line.strip(" \t;,|\ufeff")]
    if not lines:
        raise InputError("logger.empty", name=name)
    _check_lines(lines, name)
    try:
        delimiter, width = _delimiter(lines, name)
        rows = split_rows(lines, delimiter)
    except csv.Error as error:
        raise InputError("logger.quotes", name=name) from error
    if width > MOST_COLUMNS:
        raise InputError("logger.too_many_columns", name=name, most=MOST_COLUMNS)
    kinds = _kinds(rows, width)
    if not {"stamp", "clock", "number"} & set(kinds):
        raise InputError("logger.no_times", name=name)
    return _table(lines, rows, delimiter, kinds, name)


def _check_lines(lines: Sequence[str], name: str) -> None:
    if len(lines) > MOST_LINES:
        raise InputError("logger.too_many_lines", name=name, most=MOST_LINES)
    if max(map(len, lines)) > _LONGEST_LINE:
        raise InputError("logger.line_too_long", name=name)


def decoded(data: bytes) -> str:
    """Return the text of bytes in UTF-8 or UTF-16, with or without a mark, else as Windows writes it."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    head = data[:400]
    if head.count(0) > len(head) // 4:
        encoding = "utf-16-be" if head[::2].count(0) > head[1::2].count(0) else "utf-16-le"
        return data.decode(encoding, errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def split_rows(lines: Sequence[str], delimiter: str) -> list[list[str]]:
    """Return the cells of lines, without the blanks around them; quoted cells (RFC 4180) keep their delimiters."""
    if delimiter == " ":
        return [line.split() for line in lines]
    if any('"' in line for line in lines):
        return [[cell.strip() for cell in row] for row in csv.reader(lines, delimiter=delimiter)]
    return [[cell.strip() for cell in line.split(delimiter)] for line in lines]


def kind_of(cell: str) -> str:
    """Return what a cell looks like: stamp, date, clock, number, error, empty or text."""
    if not cell:
        return "empty"
    if STAMP.fullmatch(cell):
        return "stamp"
    if CLOCK.fullmatch(cell):
        return "clock"
    if DATE.fullmatch(cell) and not NUMBER.fullmatch(cell):
        return "date"
    if NUMBER.fullmatch(cell):
        return "date" if re.fullmatch(r"\d{1,4}\.\d{1,2}\.\d{2,4}", cell) else "number"
    return "error" if ERROR_CELL.fullmatch(cell) else "text"


def _sample(lines: Sequence[str]) -> Sequence[str]:
    """Return lines that are most likely data: from the middle of the file on, without its last line."""
    later = lines[len(lines) // 2 :]
    return later[: min(_SAMPLE, max(1, len(later) - 1))]


def _delimiter(lines: Sequence[str], name: str) -> tuple[str, int]:
    sample = _sample(lines)
    scored = []
    for order, delimiter in enumerate(DELIMITERS):
        rows = split_rows(sample, delimiter)
        width, count = Counter(map(len, rows)).most_common(1)[0]
        if width < 2:  # a time and a temperature
            continue
        cells = [kind_of(cell) for row in rows if len(row) == width for cell in row]
        told = [kind for kind in cells if kind != "empty"]
        good = sum(kind != "text" for kind in told) / max(1, len(told))
        scored.append((round(good * count / len(rows), 2), -order, delimiter, width))
    if not scored or max(scored)[0] == 0:
        raise InputError("logger.no_columns", name=name)
    _, _, delimiter, width = max(scored)
    return delimiter, width


def _kinds(rows: Sequence[Sequence[str]], width: int) -> list[str]:
    sample = [row for row in rows[len(rows) // 2 :][:_SAMPLE] if len(row) == width]
    kinds = []
    for place in range(width):
        told = Counter(kind for row in sample if (kind := kind_of(row[place])) not in ("empty", "error"))
        words = told.pop("text", 0)  # a header among few lines
        kind, count = told.most_common(1)[0] if told else ("empty", 0)
        is_clear = count >= _CONFORMING * sum(told.values()) and count >= words
        kinds.append(kind if is_clear else "text")
    return kinds


def _table(
    lines: Sequence[str], rows: Sequence[Sequence[str]], delimiter: str, kinds: Sequence[str], name: str
) -> LogTable:
    places = _time_places(kinds)
    patterns = [
        (place, {"stamp": STAMP, "date": DATE, "clock": CLOCK}.get(kinds[place], NUMBER)) for place in places
    ]
    needed, width = max(places) + 1, len(kinds)

    def is_data(row: Sequence[str]) -> bool:
        return len(row) >= needed and all(pattern.fullmatch(row[place]) for place, pattern in patterns)

    start = next((index for index, row in enumerate(rows) if is_data(row)), None)
    if start is None:
        raise InputError("logger.no_times", name=name)
    data = [row for row in rows[start:] if is_data(row)]
    if delimiter == "," and start:
        data, kinds = _decimal_commas(data, kinds, len(rows[start - 1]))
        width = len(kinds)
    headers = _headers(lines, rows, start, width, delimiter)
    padding = [""] * width
    whole = [[*row, *padding][:width] if len(row) != width else row for row in data]
    columns = tuple(
        Column(place, headers[place], kinds[place], cells) for place, cells in enumerate(zip(*whole, strict=True))
    )
    return LogTable(columns, tuple(lines[:start]), delimiter, len(rows) - start - len(data))


def _decimal_commas(
    data: Sequence[Sequence[str]], kinds: Sequence[str], header_width: int
) -> tuple[list[Sequence[str]], Sequence[str]]:
    """Return rows and kinds with numbers put together that a decimal comma between commas had taken apart.

    That is told by the header: it has fewer columns than the data, and as many as there are such numbers.
    """
    pairs, place = [], 0
    sample = data[:_SAMPLE]
    while place + 1 < len(kinds):
        both = [cell for row in sample for cell in row[place : place + 2]]
        if {kinds[place], kinds[place + 1]} == {"number"} and all(map(_WHOLE.fullmatch, both)):
            pairs.append(place)
            place += 1
        place += 1
    if not pairs or len(kinds) - header_width != len(pairs):
        return list(data), kinds
    joined: list[Sequence[str]] = []
    for row in data:
        cells = list(row)
        for at in reversed(pairs):
            cells[at : at + 2] = [",".join(cells[at : at + 2])]
        joined.append(cells)
    return joined, [kind for at, kind in enumerate(kinds) if at - 1 not in pairs]


def _time_places(kinds: Sequence[str]) -> list[int]:
    """Return the columns without which a line is no data: a stamp, a date and a clock, a clock, or a number."""
    for wanted in (("stamp",), ("date", "clock"), ("clock",)):
        if all(kind in kinds for kind in wanted):
            return [kinds.index(kind) for kind in wanted]
    return [kinds.index("number")]


def _headers(
    lines: Sequence[str], rows: Sequence[Sequence[str]], start: int, width: int, delimiter: str
) -> list[str]:
    """Return the headers: the line above the data, with the one above it where that line holds units only."""
    if start == 0:
        return [""] * width
    above = _header_cells(lines[start - 1], rows[start - 1], width, delimiter)
    if above is None:
        return [""] * width
    if start > 1 and all(len(cell) <= _UNIT_CELL for cell in above):
        first = _header_cells(lines[start - 2], rows[start - 2], width, delimiter)
        if first is not None:
            return [" ".join(filter(None, pair)) for pair in zip(first, above, strict=True)]
    return above


def _header_cells(line: str, row: Sequence[str], width: int, delimiter: str) -> list[str] | None:
    cells = list(row)
    if delimiter == " " and len(cells) != width:
        cells = [cell.strip() for cell in re.split(r"\t| {2,}", line.strip())]
    if len(cells) == width - 1 and len(cells) > 1:
        cells.append("")
    return cells[:width] if width <= len(cells) <= width + 1 else None


def number_in(cell: str) -> float | None:
    """Return the number of a cell, decimal point or comma, whatever unit follows; None where there is none."""
    try:
        return float(cell)
    except ValueError:
        pass
    match = NUMBER.fullmatch(cell)
    if match is None:
        return None
    digits = match.group(1).replace("\u2212", "-").rstrip(".,")
    if "," in digits:
        whole, _, part = digits.rpartition(",")
        # 1,234.5 has a comma between thousands; else the comma is the decimal sign, whatever stands before it.
        digits = digits.replace(",", "") if "." in part else f"{whole.replace('.', '').replace(',', '')}.{part}"
    try:
        return float(digits)
    except ValueError:
        return None
