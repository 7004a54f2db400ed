"""A file with tables in it: its sheets, and each of them as headed columns; nothing is interpreted yet."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.estimates import Reason
from stirfall.storage.import_cells import MOST_BYTES

WORKBOOK, TEXT = "workbook", "text"
_MOST_TRIED = 8  # sheets that are looked at for the first with rows
_NOTHING_THERE = ("import.no_rows", "import.sheet_empty")
_WORKBOOK_START = b"PK\x03\x04"
_OTHER_KINDS = {
    b"\xd0\xcf\x11\xe0": "an old or locked workbook",
    b"%PDF": "a PDF",
    b"\x1f\x8b": "a compressed file",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"SQLite format 3": "a database",
}


@dataclass(frozen=True)
class Sheet:
    """One sheet of a workbook; the one table of a text file has no name."""

    name: str
    is_hidden: bool = False


@dataclass(frozen=True)
class ReadingChoices:
    """How a table is read where the person says otherwise than the program found: "" and None leave it to the file.

    ``heading`` is the number of the row with the headings; ``stored`` takes the values that a workbook keeps beside
    its formulas.
    """

    encoding: str = ""
    delimiter: str = ""
    heading: int | None = None
    stored: bool = False


@dataclass(frozen=True)
class SourceTable:
    """A headed table; ``row_numbers`` count as a spreadsheet does, from 1.

    ``header`` names every column once. ``units`` are the cells of a row of units under the headings, or blank.
    ``titles`` are the lines above the headings, ``heading`` is the number of their row. ``remarks`` say what was
    found and done. ``longer`` are rows with more cells than headings: row, first such cell.
    """

    name: str
    sheet: str
    header: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = field(repr=False)
    row_numbers: tuple[int, ...] = field(repr=False)
    titles: tuple[str, ...] = ()
    heading: int = 1
    longer: tuple[tuple[int, str], ...] = ()
    encoding: str = ""
    delimiter: str = ""
    sha256: str = ""
    remarks: tuple[Reason, ...] = ()

    def column(self, place: int) -> tuple[str, ...]:
        """Return the cells of a column."""
        return tuple(row[place] for row in self.rows)


@dataclass(frozen=True)
class Source:
    """A file that may hold tables.

    ``sheets`` has one entry for a text file; ``columns`` is the last column with a cell in a workbook.
    """

    name: str
    data: bytes = field(repr=False)
    kind: str
    sheets: tuple[Sheet, ...]
    sha256: str
    remarks: tuple[Reason, ...] = ()
    columns: int = 0

    def table(self, sheet: str = "", choices: ReadingChoices = ReadingChoices()) -> SourceTable:
        """Return one sheet as a table; "" means the first that is not hidden and has rows.

        Raises InputError ``import.*`` for an unknown sheet and for a table beyond the limits or without rows.
        """
        from stirfall.storage.import_heading import headed_table
        from stirfall.storage.import_text import text_records

        if self.kind == TEXT:
            return headed_table(self, "", text_records(self.data, self.name, choices), choices)
        from stirfall.storage.import_workbook import sheet_records

        if not sheet:
            return self._first_table(choices)
        chosen = self._sheet(sheet)
        records = sheet_records(self.data, self.name, chosen.name, self.columns, stored=choices.stored)
        hidden = (Reason("import.sheet_hidden", {"sheet": chosen.name}),) if chosen.is_hidden else ()
        return headed_table(self, chosen.name, records, choices, hidden)

    def _first_table(self, choices: ReadingChoices) -> SourceTable:
        """Return the first sheet with rows; a cover sheet is passed over. Raises what the first sheet raises."""
        first: InputError | None = None
        seen = [each for each in self.sheets if not each.is_hidden] or self.sheets[:1]
        for each in seen[:_MOST_TRIED]:
            try:
                return self.table(each.name, choices)
            except InputError as error:
                if error.code not in _NOTHING_THERE:
                    raise
                first = first or error
        assert first is not None, "a workbook has a sheet"
        raise first

    def _sheet(self, name: str) -> Sheet:
        wanted = name.strip().casefold()
        for each in self.sheets:
            if each.name.strip().casefold() == wanted:
                return each
        known = ", ".join(each.name for each in self.sheets)
        raise InputError("import.sheet_unknown", sheet=name, known=known)


def sources(path: Path | str) -> Source:
    """Return the tables that a file may hold: the sheets of a workbook, or one table of text.

    Raises FileTroubleError ``import.unreadable`` and InputError ``import.*`` for a file that is too large, of
    another kind, or built to do harm.
    """
    path = Path(path)
    try:
        if path.is_dir():
            raise InputError("import.is_folder", name=path.name)
        if path.stat().st_size > MOST_BYTES:
            raise InputError("import.file_too_large", name=path.name, most=MOST_BYTES // (1024 * 1024))
        data = path.read_bytes()
    except OSError as error:
        raise FileTroubleError("import.unreadable", name=path.name, why=error.strerror or str(error)) from error
    return source_of(data, path.name)


def source_of(data: bytes, name: str) -> Source:
    """Return what ``sources`` returns, of the content of a file."""
    if len(data) > MOST_BYTES:
        raise InputError("import.file_too_large", name=name, most=MOST_BYTES // (1024 * 1024))
    for start, kind in _OTHER_KINDS.items():
        if data.startswith(start):
            raise InputError("import.other_kind", name=name, kind=kind)
    sha256 = hashlib.sha256(data).hexdigest()
    if data.startswith(_WORKBOOK_START):
        from stirfall.storage.import_workbook import look_through

        sheets, columns, remarks = look_through(data, name)
        return Source(name, data, WORKBOOK, sheets, sha256, remarks, columns)
    return Source(name, data, TEXT, (Sheet(""),), sha256)


Records = Sequence[tuple[int, tuple[str, ...]]]


@dataclass(frozen=True)
class RawTable:
    """The rows of a table with their numbers, blank ones left out, and how they were read."""

    records: Records
    encoding: str = ""
    delimiter: str = ""
    remarks: tuple[Reason, ...] = ()
