"""Reads the CSV files of a package into records, and keeps every cell that it could not use."""

from __future__ import annotations

import csv
import io
from collections.abc import Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar, cast

from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.storage import package_limits as limits
from stirfall.storage.csv_fields import long_fields
from stirfall.storage.package_cells import CellError
from stirfall.storage.package_names import shortened
from stirfall.storage.package_sources import Source
from stirfall.storage.package_tables import REQUIRED, Column, Table
from stirfall.storage.package_types import has_types

_MOST_LISTED = 6
_MOST_KEPT = 1000
_BUFFER = 1 << 16

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
    """Reads the tables of one package and keeps the first cells that it could not use, and how many there were."""

    source: Source
    bad: list[BadPackageCell] = field(default_factory=list)
    bad_count: int = 0
    ids: dict[str, set[object]] = field(default_factory=dict)
    rows: int = 0
    size: int = 0
    most: int = field(default_factory=lambda: limits.MOST_TABLE)
    _names: frozenset[str] | None = None

    def header(self, file_name: str) -> list[str]:
        """Return the heading row of one file."""
        lines = self._lines(file_name)
        try:
            return next(lines, [])
        finally:
            lines.close()

    def records(self, table: Table[T]) -> list[T]:
        """Return the records of one table; those with bad cells are kept back until ``finish`` raises."""
        return list(self.each(table))

    def records_if_there(self, table: Table[T]) -> list[T]:
        """Return the records of a table that a package need not have."""
        return self.records(table) if self.has(table.file_name) else []

    def has(self, file_name: str) -> bool:
        """Whether the package has a file of this name."""
        if self._names is None:
            self._names = self.source.names()
        return file_name in self._names

    def each(self, table: Table[T]) -> Iterator[T]:
        """Yield the records of one table; they count towards what all tables together may hold."""
        for record in self.stream(table):
            self.rows += 1
            if self.rows > limits.MOST_ROWS:
                raise InputError("package.too_many_rows", table=table.file_name, most=limits.MOST_ROWS)
            yield record

    def stream(self, table: Table[T]) -> Iterator[T]:
        """Yield the records of one table, of which the caller keeps count."""
        lines = self._lines(table.file_name)
        columns, missing = _columns(table, next(lines, []))
        for number, line in enumerate(lines, 2):
            if not line:
                continue
            if len(line) != len(columns):
                raise InputError("package.ragged", table=table.file_name, row=number, wanted=len(columns))
            record = self._record(table, number, line, columns, missing)
            if record is not None:
                yield record

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
                self._keep(BadPackageCell(table.file_name, number, column.name, shortened(cell), str(error)))
        if len(row) < len(table.columns):
            return None
        self._check_keys(table, number, row)
        try:
            record = table.from_row(row)
            fits = not any(row[name] for name in table.json_columns) or has_types(record)
        except StirfallError as error:
            raise InputError("package.bad_row", table=table.file_name, row=number, why=_brief(error)) from error
        except (ValueError, TypeError, LookupError, AttributeError, ArithmeticError, RecursionError):
            fits = False
        if not fits:
            raise InputError("package.bad_json", table=table.file_name, row=number)
        return record

    def _keep(self, cell: BadPackageCell) -> None:
        self.bad_count += 1
        if len(self.bad) < _MOST_KEPT:
            self.bad.append(cell)

    def _check_keys(self, table: Table[T], number: int, row: Mapping[str, object]) -> None:
        known = self.ids.setdefault(table.name, set())
        if table.key:
            key = row[table.key]
            if key in known:
                shown = shortened(str(key))
                raise InputError("package.repeated_id", table=table.file_name, row=number, id=shown)
            known.add(key)
        for column, target in table.links:
            link = row[column]
            # A bad cell in the other table hides its id; that cell is then the thing to report.
            if link is not None and link not in self.ids.get(target, set()) and not self.bad:
                shown = shortened(str(link))
                raise InputError(
                    "package.unknown_link", table=table.file_name, row=number, id=shown, target=f"{target}.csv"
                )

    def _lines(self, file_name: str) -> Generator[list[str]]:
        """Yield the rows of one file; no more of it than one row is in memory."""
        with long_fields(limits.MOST_CELL), self.source.open(file_name, limits.MOST_TABLE) as raw:
            text = io.TextIOWrapper(io.BufferedReader(cast("Any", raw), _BUFFER), encoding="utf-8-sig", newline="")
            reader = csv.reader(self._whole_lines(text, file_name), strict=True)
            try:
                yield from reader
            except UnicodeDecodeError as error:
                raise FileTroubleError("package.unreadable", path=f"{self.source.place}: {file_name}") from error
            except csv.Error as error:
                raise FileTroubleError(
                    "package.broken_csv", table=file_name, row=reader.line_num, why=shortened(str(error))
                ) from error

    def _whole_lines(self, text: io.TextIOWrapper, file_name: str) -> Iterator[str]:
        """Yield line after line; one that is too long, or holds zero bytes as no text does, ends the reading."""
        is_first = True
        while line := text.readline(limits.MOST_CELL):
            if "\0" in line:
                raise FileTroubleError("package.zero_bytes", table=file_name)
            if len(line) >= limits.MOST_CELL:
                raise FileTroubleError("package.long_line", table=file_name, most=limits.MOST_CELL)
            if is_first and line.count(",") >= limits.MOST_COLUMNS:
                raise FileTroubleError("package.too_many_columns", table=file_name, most=limits.MOST_COLUMNS)
            is_first = False
            self.size += len(line)
            if self.size > self.most:
                most = self.most // limits.MEGABYTE
                raise FileTroubleError("package.too_large", path=self.source.place, most=most)
            yield line

    def finish(self) -> None:
        """Raise InputError ``package.bad_cells`` if any cell was bad."""
        if self.bad:
            listing = "; ".join(cell.place for cell in self.bad[:_MOST_LISTED])
            more = "" if self.bad_count <= _MOST_LISTED else f"; and {self.bad_count - _MOST_LISTED} more"
            raise InputError(
                "package.bad_cells", count=self.bad_count, listing=listing + more, cells=tuple(self.bad)
            )


def _brief(error: StirfallError) -> StirfallError:
    """Return the error with what a cell brought into it cut short."""
    params = {name: shortened(value) if isinstance(value, str) else value for name, value in error.params.items()}
    return InputError(error.code, **params)


def _columns(table: Table[T], found: Sequence[str]) -> tuple[Sequence[Column], Mapping[str, object]]:
    """Return the columns that are there, and what packages older than the others meant.

    Raises InputError ``package.wrong_header``.
    """
    wanted = [column.name for column in table.columns]
    columns = table.columns[: len(found)]
    missing = {column.name: column.default for column in table.columns[len(found) :]}
    if list(found) != wanted[: len(found)] or REQUIRED in missing.values():
        odd = [name for name in found if name not in wanted] + [name for name in wanted if name not in found]
        shown = ", ".join(shortened(name) for name in odd[:_MOST_LISTED]) or "their order"
        raise InputError(
            "package.wrong_header", table=table.file_name, odd=shown, wanted=shortened(", ".join(wanted), 1000)
        )
    return columns, missing
