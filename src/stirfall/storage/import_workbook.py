"""Workbooks (ISO/IEC 29500): looked through as a zip before anything is unpacked, then read cell by cell.

Nothing in a workbook is computed, no link to another file is followed and no macro is looked at.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import IO, TYPE_CHECKING, Any

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.storage.import_cells import (
    DATE_CELL,
    ERROR_CELL,
    FORMULA_CELL,
    MOST_COLUMNS,
    NUMBER_CELL,
    SheetCell,
)
from stirfall.storage.import_source import RawTable, Sheet
from stirfall.storage.import_text import check_row, trimmed

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook

MOST_ENTRIES = 2_000
MOST_UNPACKED = 600 * 1024 * 1024
MOST_RATIO = 250
"""A part this many times larger than its packed form was made to fill memory; sheets of real work reach 40."""

MOST_SHEETS = 200
_SMALL = 4 * 1024 * 1024  # below this size no ratio is looked at
_CHUNK = 256 * 1024
_MERGED = re.compile(rb"<mergeCell\b")
_DECLARATION = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_MOST_ROWS_SEEN = 500_000
_COLUMN = re.compile(rb'<(?:\w+:)?c r="([A-Za-z]{1,9})')


def look_through(data: bytes, name: str) -> tuple[tuple[Sheet, ...], int, tuple[Reason, ...]]:
    """Return the sheets of a workbook, its last column and what is to be said of it, after a look at its parts.

    Raises InputError: ``import.zip_broken``, ``import.zip_bomb``, ``import.not_a_workbook``,
    ``import.xml_declares``, ``import.workbook_locked``, ``import.workbook_broken``, ``import.no_sheets``.
    """
    parts = _look_at_parts(data, name)
    names = parts.names
    if "[Content_Types].xml" not in names or not any(each.endswith("workbook.xml") for each in names):
        raise InputError("import.not_a_workbook", name=name)
    remarks = []
    if any("externallinks/" in each.casefold() for each in names):
        remarks.append(Reason("import.links_not_followed"))
    if any(each.casefold().endswith("vbaproject.bin") for each in names):
        remarks.append(Reason("import.macros_not_looked_at"))
    if parts.merged:
        remarks.append(Reason("import.merged_cells", {"count": parts.merged}))
    with _opened(data, name, stored=False) as book:
        sheets = tuple(Sheet(each.title, each.sheet_state != "visible") for each in book.worksheets)
    if not sheets:
        raise InputError("import.no_sheets", name=name)
    if len(sheets) > MOST_SHEETS:
        raise InputError("import.too_many_sheets", name=name, most=MOST_SHEETS)
    hidden = ", ".join(each.name for each in sheets if each.is_hidden)
    if hidden:
        remarks.append(Reason("import.sheets_hidden", {"sheets": hidden}))
    return sheets, parts.columns, tuple(remarks)


@dataclass
class _Parts:
    """What a look at the parts of a workbook finds: names, size, merged ranges, the last column with a cell."""

    names: list[str] = field(default_factory=list)
    size: int = 0
    merged: int = 0
    columns: int = 0


def _look_at_parts(data: bytes, name: str) -> _Parts:
    """Return what the parts of a workbook are, with every limit held while unpacking."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_ENTRIES:
                raise InputError("import.zip_bomb", name=name)
            if any(entry.flag_bits & 0x1 for entry in entries):
                raise InputError("import.workbook_locked", name=name)
            found = _Parts([entry.filename for entry in entries])
            for entry in entries:
                _look_at(archive, entry, found, name)
    except InputError:
        raise
    except Exception as error:  # a damaged list of parts can break the reading anywhere, in any way
        raise InputError("import.zip_broken", name=name) from error
    if found.columns > MOST_COLUMNS:
        raise InputError("import.too_many_columns", name=name, most=MOST_COLUMNS)
    found.columns = found.columns or MOST_COLUMNS
    return found


def _look_at(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, found: _Parts, name: str) -> None:
    """Unpack one part piece by piece, keeping nothing of it."""
    is_xml = entry.filename.casefold().endswith((".xml", ".rels"))
    size, tail = 0, b""
    columns: set[bytes] = set()
    with archive.open(entry) as part:
        for piece in _pieces(part):
            size += len(piece)
            found.size += len(piece)
            if found.size > MOST_UNPACKED or (size > _SMALL and size > MOST_RATIO * max(1, entry.compress_size)):
                raise InputError("import.zip_bomb", name=name)
            if not is_xml:
                continue
            around = tail + piece
            if _DECLARATION.search(around.replace(b"\0", b"")):
                raise InputError("import.xml_declares", name=name)
            found.merged += len(_MERGED.findall(around)) - len(_MERGED.findall(tail))
            columns.update(_COLUMN.findall(around))
            tail = around[-24:]
    found.columns = max(found.columns, *map(_column_number, columns)) if columns else found.columns


def _column_number(letters: bytes) -> int:
    """Return the number of a column from its letters: A is 1, AA is 27."""
    number = 0
    for letter in letters.upper():
        number = 26 * number + letter - 64
    return number


def _pieces(part: IO[bytes]) -> Iterator[bytes]:
    while piece := part.read(_CHUNK):
        yield piece


@contextmanager
def _opened(data: bytes, name: str, *, stored: bool) -> Iterator[Workbook]:
    """Open a workbook to be read; whatever breaks in it is one InputError ``import.workbook_broken``."""
    import openpyxl
    from openpyxl.xml import DEFUSEDXML

    if not DEFUSEDXML:  # openpyxl would then read XML that does harm
        raise InputError("import.workbook_unsafe", name=name)
    book: Workbook | None = None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and rules that no value depends on
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=stored, keep_links=False)
            yield book
    except InputError:
        raise
    except Exception as error:  # a hostile part can break the reading anywhere, in any way
        raise InputError("import.workbook_broken", name=name) from error
    finally:
        if book is not None:
            book.close()


def sheet_records(data: bytes, name: str, sheet: str, columns: int, *, stored: bool) -> RawTable:
    """Return the rows of a sheet that are not blank; a formula is a cell of its own kind, with its stored value.

    ``columns`` is the last column of the workbook, as ``look_through`` found it. With ``stored`` the stored values
    stand in the place of formulas. Raises InputError ``import.*``.
    """
    found: list[tuple[int, tuple[str, ...]]] = []
    formulas = 0
    with _opened(data, name, stored=False) as book:
        cells = 0
        for number, row in _rows(book, sheet, name, columns):
            kept = trimmed_cells(row)
            if not kept:
                continue
            cells += len(kept)
            check_row(kept, number, len(found) + 1, cells, name)
            formulas += sum(isinstance(cell, SheetCell) and cell.kind == FORMULA_CELL for cell in kept)
            found.append((number, kept))
    if not found:
        raise InputError("import.sheet_empty", name=name, sheet=sheet)
    if not formulas:
        return RawTable(found)
    code = "import.formulas_stored" if stored else "import.formulas_refused"
    return RawTable(
        _with_stored(found, data, name, sheet, columns, stored=stored), remarks=(Reason(code, {"count": formulas}),)
    )


def _with_stored(
    found: list[tuple[int, tuple[str, ...]]], data: bytes, name: str, sheet: str, columns: int, *, stored: bool
) -> list[tuple[int, tuple[str, ...]]]:
    """Return the rows with the stored values of formulas beside them, or in their place."""
    with _opened(data, name, stored=True) as book:
        wanted = {number for number, row in found if any(_is_formula(cell) for cell in row)}
        values = {number: cells for number, cells in _rows(book, sheet, name, columns) if number in wanted}
    records = []
    for number, row in found:
        kept = values.get(number, [])
        cells = [
            _stored(cell, kept[place] if place < len(kept) else "", stored=stored) if _is_formula(cell) else cell
            for place, cell in enumerate(row)
        ]
        records.append((number, trimmed_cells(cells)))
    return [(number, row) for number, row in records if row]


def _is_formula(cell: str) -> bool:
    return isinstance(cell, SheetCell) and cell.kind == FORMULA_CELL


def _stored(cell: str, value: str, *, stored: bool) -> str:
    if stored:
        return value
    assert isinstance(cell, SheetCell)
    return SheetCell(str(value), FORMULA_CELL, cell.formula)


def _rows(book: Workbook, sheet: str, name: str, columns: int) -> Iterator[tuple[int, list[str]]]:
    found: Any = next((each for each in book.worksheets if each.title == sheet), None)
    if found is None:
        raise InputError("import.sheet_unknown", sheet=sheet, known="")
    found.reset_dimensions()  # what a sheet says of its own size need not be true
    blank: object = None
    for number, row in enumerate(found.iter_rows(max_col=columns), 1):
        if number > _MOST_ROWS_SEEN:
            raise InputError("import.too_many_blank_rows", name=name)
        if row is blank:
            continue
        cells = [_text(cell.value, str(getattr(cell, "data_type", ""))) for cell in row]
        if any(cells):
            yield number, cells
        elif not any(_is_formula(cell) for cell in cells):
            blank = row  # rows that are not there are one and the same blank row
        else:
            yield number, cells


def trimmed_cells(row: list[str]) -> tuple[str, ...]:
    """Return the cells without blank ones at the end; cells of their own kind stay what they are."""
    if any(type(cell) is not str for cell in row):
        kept = [cell if type(cell) is not str else cell.strip() for cell in row]
        while kept and not kept[-1] and not _is_formula(kept[-1]):
            kept.pop()
        return tuple(kept)
    return trimmed(row)


def _text(value: object, kind: str) -> str:
    """Return a cell as text, and as more where the workbook tells more."""
    if value is None:
        return ""
    if kind == "f":
        formula = getattr(value, "text", None) or value
        return SheetCell("", FORMULA_CELL, str(formula))
    if kind == "e":
        return SheetCell(str(value), ERROR_CELL)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return SheetCell(f"{value:.15g}", NUMBER_CELL)
    if isinstance(value, datetime):
        return SheetCell(_moment_text(value), DATE_CELL)
    if isinstance(value, (date, time)):
        return SheetCell(value.isoformat(), DATE_CELL)
    if isinstance(value, timedelta):
        return SheetCell(_clock_text(value), DATE_CELL)
    return str(value)


def _moment_text(value: datetime) -> str:
    if (value.hour, value.minute, value.second, value.microsecond) == (0, 0, 0, 0):
        return value.date().isoformat()
    return value.isoformat(sep=" ", timespec="seconds")


def _clock_text(value: timedelta) -> str:
    seconds = round(value.total_seconds())
    return f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
