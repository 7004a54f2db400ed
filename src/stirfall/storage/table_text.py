"""Delimited text as other programs write it: read into headed columns, nothing interpreted yet."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.storage.import_cells import MOST_BYTES, MOST_COLUMNS, MOST_ROWS

_DELIMITERS = ("\t", ";", ",")
_WITH_COMMA = re.compile(r"^[+\-\u2212]?\d*,\d+$")
_WITH_POINT = re.compile(r"^[+\-\u2212]?\d*\.\d+$")


@dataclass(frozen=True)
class TextTable:
    """A headed table of text cells; ``row_numbers`` count as a spreadsheet does, the heading being row 1."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    row_numbers: tuple[int, ...]
    decimal_comma: bool

    def find(self, column: str) -> str:
        """Return the heading that ``column`` means (letter case and spaces do not matter).

        Raises InputError ``table.column_unknown`` or ``table.column_repeats``.
        """
        wanted = _bare(column)
        found = [heading for heading in self.header if _bare(heading) == wanted]
        if not found:
            raise InputError("table.column_unknown", column=column, known=", ".join(self.header))
        if len(found) > 1:
            raise InputError("table.column_repeats", column=column)
        return found[0]

    def column(self, column: str) -> tuple[str, ...]:
        """Return the cells under a heading, in the order of the rows."""
        place = self.header.index(self.find(column))
        return tuple(row[place] for row in self.rows)


def read_text_table(path: Path) -> TextTable:
    """Read a comma, semicolon or tab separated table with a heading row, with or without a byte order mark.

    Blank rows are skipped. A comma is taken for the decimal sign only in a table that is not separated by commas
    and that holds no decimal point. Raises FileTroubleError (``table.not_there``, ``table.not_text``) and
    InputError (``table.empty``, ``table.ragged``, ``table.quotes``).
    """
    text = _text(path)
    delimiter = _delimiter(text)
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise InputError("table.quotes", table=path.name) from error
    numbered = [
        (number, tuple(cell.strip() for cell in record))
        for number, record in enumerate(records, 1)
        if any(cell.strip() for cell in record)
    ]
    if len(numbered) < 2:
        raise InputError("table.empty", table=path.name)
    header = numbered[0][1]
    if len(header) > MOST_COLUMNS:
        raise InputError("import.too_many_columns", name=path.name, most=MOST_COLUMNS)
    if len(numbered) > MOST_ROWS:
        raise InputError("import.too_many_rows", name=path.name, most=MOST_ROWS)
    for number, record in numbered[1:]:
        if len(record) != len(header):
            raise InputError("table.ragged", table=path.name, row=number, cells=len(record), headings=len(header))
    rows = tuple(record for _, record in numbered[1:])
    return TextTable(
        name=path.name,
        header=header,
        rows=rows,
        row_numbers=tuple(number for number, _ in numbered[1:]),
        decimal_comma=delimiter != "," and _has_decimal_comma(rows),
    )


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError("import.file_too_large", name=path.name, most=MOST_BYTES // (1024 * 1024))
        data = path.read_bytes()
    except OSError as error:
        raise FileTroubleError("table.not_there", path=str(path), why=error.strerror or "") from error
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    if b"\0" in data[:4096] or data.startswith(b"PK\x03\x04"):
        raise FileTroubleError("table.not_text", path=str(path))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Older spreadsheets write the code page of western Windows; every number reads the same in it.
        return data.decode("cp1252", errors="replace")


def _delimiter(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(reversed(_DELIMITERS), key=lambda mark: len(next(csv.reader([first], delimiter=mark), [])))


def _has_decimal_comma(rows: tuple[tuple[str, ...], ...]) -> bool:
    cells = [cell for row in rows for cell in row]
    return any(_WITH_COMMA.match(cell) for cell in cells) and not any(_WITH_POINT.match(cell) for cell in cells)


def _bare(heading: str) -> str:
    return " ".join(heading.split()).casefold()
