"""Reads the CSV files of a package into records, and keeps every cell that it could not use."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.storage.package_cells import CellError
from stirfall.storage.package_tables import REQUIRED, Column, Table

_LONGEST_CELL = 16_000_000
_MOST_LISTED = 6

T = TypeVar("T")


@dataclass(frozen=True)
class BadPackageCell:
    """A cell that cannot be used: file, row as a spreadsheet counts, column, content, and what was wanted."""

    table: str
    row: int
    column: str
    text: str
    wanted: str

    @property
    def place(self) -> str:
        """All of it on one line."""
        return f"{self.table} row {self.row}, column {self.column}: “{self.text}” is not {self.wanted}"


@dataclass
class PackageReader:
    """Reads the tables of one folder and keeps every cell that it could not use."""

    folder: Path
    bad: list[BadPackageCell] = field(default_factory=list)
    ids: dict[str, set[object]] = field(default_factory=dict)

    def header(self, file_name: str) -> list[str]:
        """Return the heading row of one file."""
        return (self._lines(file_name) or [[]])[0]

    def records(self, table: Table[T]) -> list[T]:
        """Return the records of one table; those with bad cells are kept back until ``finish`` raises."""
        lines = self._lines(table.file_name)
        wanted = [column.name for column in table.columns]
        found = lines[0] if lines else []
        columns = table.columns[: len(found)]
        missing = {column.name: column.default for column in table.columns[len(found) :]}
        if found != wanted[: len(found)] or REQUIRED in missing.values():
            odd = [name for name in found if name not in wanted] + [name for name in wanted if name not in found]
            shown = ", ".join(odd[:_MOST_LISTED]) or "their order"
            raise InputError("package.wrong_header", table=table.file_name, odd=shown, wanted=", ".join(wanted))
        records = []
        for number, line in enumerate(lines[1:], 2):
            if not line:
                continue
            if len(line) != len(columns):
                raise InputError("package.ragged", table=table.file_name, row=number, wanted=len(columns))
            record = self._record(table, number, line, columns, missing)
            if record is not None:
                records.append(record)
        return records

    def records_if_there(self, table: Table[T]) -> list[T]:
        """Return the records of a table that a package need not have."""
        return self.records(table) if (self.folder / table.file_name).is_file() else []

    def _record(
        self,
        table: Table[T],
        number: int,
        line: Sequence[str],
        columns: Sequence[Column],
        missing: Mapping[str, object],
    ) -> T | None:
        row: dict[str, object] = dict(missing)
        for column, cell in zip(columns, line, strict=True):
            try:
                row[column.name] = column.kind.read(cell)
            except CellError as error:
                self.bad.append(BadPackageCell(table.file_name, number, column.name, cell, str(error)))
        if len(row) < len(table.columns):
            return None
        self._check_keys(table, number, row)
        try:
            return table.from_row(row)
        except (StirfallError, ValueError, TypeError) as error:
            why = error if isinstance(error, StirfallError) else "its lists or numbers do not fit"
            raise InputError("package.bad_row", table=table.file_name, row=number, why=why) from error

    def _check_keys(self, table: Table[T], number: int, row: Mapping[str, object]) -> None:
        known = self.ids.setdefault(table.name, set())
        if table.key:
            if row[table.key] in known:
                raise InputError("package.repeated_id", table=table.file_name, row=number, id=row[table.key])
            known.add(row[table.key])
        for column, target in table.links:
            link = row[column]
            # A bad cell in the other table hides its id; that cell is then the thing to report.
            if link is not None and link not in self.ids.get(target, set()) and not self.bad:
                raise InputError(
                    "package.unknown_link", table=table.file_name, row=number, id=link, target=f"{target}.csv"
                )

    def _lines(self, file_name: str) -> list[list[str]]:
        path = self.folder / file_name
        if not path.is_file():
            raise FileTroubleError("package.missing_file", path=str(path))
        csv.field_size_limit(_LONGEST_CELL)
        try:
            with path.open(encoding="utf-8-sig", newline="") as file:
                return list(csv.reader(file, strict=True))
        except (OSError, UnicodeDecodeError, csv.Error) as error:
            raise FileTroubleError("package.unreadable", path=str(path)) from error

    def finish(self) -> None:
        """Raise InputError ``package.bad_cells`` if any cell was bad."""
        if self.bad:
            listing = "; ".join(cell.place for cell in self.bad[:_MOST_LISTED])
            more = "" if len(self.bad) <= _MOST_LISTED else f"; and {len(self.bad) - _MOST_LISTED} more"
            raise InputError(
                "package.bad_cells", count=len(self.bad), listing=listing + more, cells=tuple(self.bad)
            )
