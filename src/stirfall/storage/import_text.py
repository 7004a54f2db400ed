"""Delimited text of any program as rows of cells: encoding and delimiter found, limits held while reading."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.storage.import_cells import MOST_CELLS, MOST_COLUMNS, MOST_LETTERS, MOST_ROWS
from stirfall.storage.import_source import RawTable, ReadingChoices

DELIMITERS = ("\t", ";", ",", "|")
"""In the order of preference where two of them explain the lines as well."""

ENCODINGS = ("utf-8", "utf-16", "cp1252")
_SAMPLE_LINES = 60
_SAMPLE_LETTERS = 200_000
_CONSISTENT = 0.6
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n|$)")
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")
_LONGEST_LINE = 4_000_000


def text_records(data: bytes, name: str, choices: ReadingChoices) -> RawTable:
    """Return the rows of a text table that are not blank.

    Raises InputError: ``import.not_text``, ``import.empty``, ``import.quotes``, and for limits
    ``import.too_many_rows``, ``import.too_many_columns``, ``import.too_many_cells``, ``import.cell_too_long``.
    """
    text, encoding, remarks = decoded(data, name, choices.encoding)
    if not text.strip():
        raise InputError("import.empty", name=name)
    delimiter = choices.delimiter or _delimiter(text)
    return RawTable(_records(text, delimiter, name), encoding, delimiter, remarks)


def decoded(data: bytes, name: str, wanted: str = "") -> tuple[str, str, tuple[Reason, ...]]:
    """Return the text of a file, its encoding, and what is to be said about it; raises ``import.not_text``."""
    encoding = wanted or _encoding(data)
    if encoding not in ENCODINGS:
        raise InputError("import.encoding_unknown", encoding=encoding, known=", ".join(ENCODINGS))
    try:
        text = data.decode(_codec(encoding, data))
    except UnicodeDecodeError as error:
        raise InputError("import.not_text", name=name) from error
    text = text.removeprefix("\ufeff")
    if _CONTROL.search(text, 0, _SAMPLE_LETTERS) or "\0" in text:
        raise InputError("import.not_text", name=name)
    told = (
        (Reason("import.read_as_windows", {"name": name}),) if encoding == "cp1252" and not data.isascii() else ()
    )
    return text, encoding, told


def _encoding(data: bytes) -> str:
    head = data[:400]
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or (len(head) > 3 and head.count(0) > len(head) // 4):
        return "utf-16"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        # Older spreadsheets write the code page of western Windows; every number reads the same in it.
        return "cp1252"
    return "utf-8"


def _codec(encoding: str, data: bytes) -> str:
    if encoding != "utf-16" or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return encoding
    head = data[:400]
    return "utf-16-be" if head[::2].count(0) > head[1::2].count(0) else "utf-16-le"


def _lines(text: str, delimiter: str, name: str) -> Iterator[str]:
    """Yield the lines with their ends; a line that no table can have ends the reading before it is taken apart."""
    start, end = 0, len(text)
    while start < end:
        match = _LINE.match(text, start)
        assert match is not None
        stop = match.end()
        if stop - start > MOST_LETTERS and text.count(delimiter, start, stop) > MOST_COLUMNS + MOST_LETTERS:
            raise InputError("import.too_many_columns", name=name, most=MOST_COLUMNS)
        if stop - start > _LONGEST_LINE:
            raise InputError("import.line_too_long", name=name)
        yield text[start:stop]
        start = stop


@dataclass
class _Fed:
    """Lines on their way to a reader; ``letters`` counts those since the reader gave a row."""

    lines: Iterator[str]
    letters: int = 0

    def __iter__(self) -> _Fed:
        return self

    def __next__(self) -> str:
        line = next(self.lines)
        self.letters += len(line)
        return line


def _records(text: str, delimiter: str, name: str) -> list[tuple[int, tuple[str, ...]]]:
    found: list[tuple[int, tuple[str, ...]]] = []
    cells = 0
    fed = _Fed(_lines(text, delimiter, name))
    reader = csv.reader(fed, delimiter=delimiter, strict=True)
    number = 0
    try:
        for number, record in enumerate(reader, 1):
            fed.letters = 0
            row = trimmed(record)
            if not row:
                continue
            cells += len(row)
            check_row(row, number, len(found) + 1, cells, name)
            found.append((number, row))
    except csv.Error as error:
        # A quote that is never closed takes in all that follows: that is a cell without end, too.
        is_open = "end of data" in str(error) and fed.letters > MOST_LETTERS
        if is_open or "field limit" in str(error):
            raise InputError("import.cell_too_long", name=name, row=number + 1, most=MOST_LETTERS) from error
        raise InputError("import.quotes", name=name, row=number + 1) from error
    if not found:
        raise InputError("import.empty", name=name)
    return found


def trimmed(record: list[str]) -> tuple[str, ...]:
    """Return the cells without blanks around them and without blank cells at the end."""
    row = [cell.strip() for cell in record]
    while row and not row[-1]:
        row.pop()
    return tuple(row)


def check_row(row: tuple[str, ...], number: int, rows: int, cells: int, name: str) -> None:
    """Raise InputError where a row goes beyond one of the limits of a table."""
    if len(row) > MOST_COLUMNS:
        raise InputError("import.too_many_columns", name=name, most=MOST_COLUMNS)
    if rows > MOST_ROWS:
        raise InputError("import.too_many_rows", name=name, most=MOST_ROWS)
    if cells > MOST_CELLS:
        raise InputError("import.too_many_cells", name=name, most=MOST_CELLS)
    if any(len(cell) > MOST_LETTERS for cell in row):
        raise InputError("import.cell_too_long", name=name, row=number, most=MOST_LETTERS)


def _delimiter(text: str) -> str:
    """Return what separates the cells: what cuts most lines into the same number of cells, two or more."""
    lines = [line for line in text[:_SAMPLE_LETTERS].splitlines()[: 2 * _SAMPLE_LINES] if line.strip()]
    lines = lines[:_SAMPLE_LINES]
    found: list[tuple[str, int, float]] = []
    for mark in DELIMITERS:
        widths = Counter(_width(line, mark) for line in lines)
        width, count = max(widths.items(), key=lambda pair: (pair[0] > 1, pair[1], pair[0]))
        found.append((mark, width, count / len(lines)))
    consistent = [(mark, width) for mark, width, share in found if width > 1 and share >= _CONSISTENT]
    if not consistent:
        return max(found, key=lambda each: each[1] * each[2])[0] if any(each[1] > 1 for each in found) else ","
    widest = max(width for _, width in consistent)
    return next(mark for mark, width in consistent if 2 * width >= widest)


def _width(line: str, mark: str) -> int:
    try:
        return len(next(csv.reader([line], delimiter=mark)))
    except (csv.Error, StopIteration):
        return 1
