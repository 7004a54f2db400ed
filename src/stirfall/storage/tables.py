"""Any published table of trials, turned into the factors, lots and attempts of a session."""

from __future__ import annotations

import operator
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale, Value
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, Lot
from stirfall.bench.typed import read_grade
from stirfall.bench.units import parse_number, parse_quantity
from stirfall.storage.table_text import TextTable, read_text_table

_MISSING = frozenset({"", "na", "n/a", "nan", "-", "?"})
_MOST_LEVELS = 24
_MOST_LISTED = 6

# The longer signs come first: ">=5" is no ">" with the number "=5".
_COMPARISONS = {">=": operator.ge, "<=": operator.le, ">": operator.gt, "<": operator.lt}

_T = TypeVar("_T")


@dataclass(frozen=True)
class FactorColumn:
    """One column that is a factor: its heading, the unit of its numbers, its scale, or a choice by decree."""

    column: str
    unit: str = ""
    scale: Scale = Scale.LINEAR
    choice: bool = False

    @classmethod
    def parse(cls, text: str) -> FactorColumn:
        """Read ``COLUMN[=UNIT][:log|:choice]``."""
        rest, _, ending = text.rpartition(":")
        kind = ending.strip().casefold() if rest else ""
        if kind not in ("log", "choice"):
            rest, kind = text, ""
        column, equals, unit = rest.rpartition("=")
        if not equals:
            column, unit = rest, ""
        return cls(column.strip(), unit.strip(), Scale.LOG if kind == "log" else Scale.LINEAR, kind == "choice")


@dataclass(frozen=True)
class TableMapping:
    """Which columns mean what.

    The result is one of: ``outcome`` with ``success`` (values that count as clean, or a comparison such as
    ``>0``); ``outcome`` with ``trials`` (the outcome column counts the clean ones); ``parted`` with ``pooled``.
    """

    factors: tuple[FactorColumn, ...]
    outcome: str | None = None
    success: tuple[str, ...] = ()
    trials: str | None = None
    parted: str | None = None
    pooled: str | None = None
    group: str | None = None

    @property
    def two_gates(self) -> bool:
        """Whether the table grades both gates."""
        return self.parted is not None

    def check(self) -> None:
        """Raise InputError ``table.mapping_*`` unless the result is told in exactly one way."""
        if not self.factors:
            raise InputError("table.mapping_no_factor")
        graded = self.parted is not None and self.pooled is not None
        half_graded = (self.parted is None) != (self.pooled is None)
        ways = [graded, bool(self.outcome and self.success), bool(self.outcome and self.trials)]
        if half_graded or sum(ways) != 1 or (graded and self.outcome):
            raise InputError("table.mapping_result")


@dataclass(frozen=True)
class BadCell:
    """A cell that cannot be used: where it stands, what it says, and why as a code with parameters."""

    row: int
    column: str
    text: str
    reason: InputError

    @property
    def place(self) -> str:
        """Row, column and content on one line."""
        return f"row {self.row}, column {self.column}: “{self.text}”"


@dataclass(frozen=True)
class TableContent:
    """What a table holds in the words of the bench; ``constant`` names the number columns that never vary."""

    factors: tuple[Factor, ...]
    lots: tuple[Lot, ...]
    attempts: tuple[Attempt, ...]
    two_gates: bool
    constant: tuple[str, ...] = ()


def read_attempt_table(path: Path, mapping: TableMapping) -> TableContent:
    """Return the factors, lots and attempts that a table holds; ranges are those of the data.

    Raises InputError ``table.bad_cells`` with every unusable cell (``cells``), and the other ``table.*`` codes for
    columns that are not there or say nothing.
    """
    mapping.check()
    reader = _Reader(read_text_table(path))
    columns = [reader.factor(column) for column in mapping.factors]
    names = [factor.name.casefold() for factor, _, _ in columns]
    if len(set(names)) != len(names):
        raise InputError("table.factor_twice")
    results = reader.results(mapping)
    groups = _lots(reader.table.column(mapping.group)) if mapping.group else ("",) * len(reader.table.rows)
    if reader.bad:
        raise _bad_cells(reader.table.name, reader.bad)
    attempts = tuple(
        Attempt(
            id=f"row-{row}",
            number=number,
            conditions=Conditions(
                [(factor.name, value) for factor, values, _ in columns if (value := values[number - 1]) is not None]
            ),
            lot_id=groups[number - 1] or None,
            parted=results[number - 1].parted,
            pooled=results[number - 1].pooled,
            successes=results[number - 1].successes,
            trials=results[number - 1].trials,
        )
        for number, row in enumerate(reader.table.row_numbers, 1)
    )
    return TableContent(
        factors=tuple(factor for factor, _, _ in columns),
        lots=tuple(Lot(name) for name in dict.fromkeys(groups) if name),
        attempts=attempts,
        two_gates=mapping.two_gates,
        constant=tuple(factor.name for factor, _, constant in columns if constant),
    )


def _lots(cells: Sequence[str]) -> tuple[str, ...]:
    """Return the name of each row's lot, blank where it is unknown; letter case does not make another lot."""
    first: dict[str, str] = {}
    return tuple("" if _is_missing(cell) else first.setdefault(cell.casefold(), cell) for cell in cells)


def _bad_cells(table: str, cells: Sequence[BadCell]) -> InputError:
    ordered = tuple(sorted(cells, key=lambda cell: cell.row))
    listing = "; ".join(cell.place for cell in ordered[:_MOST_LISTED])
    more = "" if len(ordered) <= _MOST_LISTED else f"; and {len(ordered) - _MOST_LISTED} more"
    return InputError("table.bad_cells", table=table, count=len(ordered), listing=listing + more, cells=ordered)


@dataclass(frozen=True)
class _Result:
    """The outcome columns of one row."""

    parted: Parted | None = None
    pooled: Pooled | None = None
    successes: int | None = None
    trials: int = 1


@dataclass
class _Reader:
    """Reads the cells of one table and keeps every cell that it could not use."""

    table: TextTable
    bad: list[BadCell] = field(default_factory=list)

    def factor(self, column: FactorColumn) -> tuple[Factor, tuple[Value | None, ...], bool]:
        """Return the factor of a column, its values (None where missing), and whether it never varies."""
        name = self.table.find(column.column)
        cells = self.table.column(name)
        filled = [cell for cell in cells if not _is_missing(cell)]
        if not filled:
            raise InputError("table.column_blank", column=name)
        if column.choice or not (column.unit or column.scale is Scale.LOG or self._mostly_numbers(filled)):
            return self._choice(name, cells)
        values = self._each(name, cells, lambda cell: self._quantity(name, cell, column))
        known = [value for value in values if value is not None]
        low, high = (min(known), max(known)) if known else (1.0, 1.0)
        constant = low == high
        if constant:
            # A range of no width has no scale; a tenth either way leaves the recorded value in the middle.
            reach = 0.1 * abs(low) or 1.0
            low, high = low - reach, high + reach
        return Factor(name, column.unit, low, high, column.scale), tuple(values), constant

    def _choice(self, name: str, cells: Sequence[str]) -> tuple[Factor, tuple[Value | None, ...], bool]:
        values = tuple(None if _is_missing(cell) else cell for cell in cells)
        levels = tuple(dict.fromkeys(value for value in values if value is not None))
        if len(levels) > _MOST_LEVELS:
            raise InputError("table.too_many_levels", column=name, count=len(levels), most=_MOST_LEVELS)
        return Factor(name, levels=levels), values, len(levels) == 1

    def results(self, mapping: TableMapping) -> tuple[_Result, ...]:
        """Return the outcome of every row."""
        if mapping.parted is not None and mapping.pooled is not None:
            return self._grades(mapping.parted, mapping.pooled)
        outcome = mapping.outcome or ""
        return self._counts(outcome, mapping.trials) if mapping.trials else self._hits(outcome, mapping.success)

    def _grades(self, parted_column: str, pooled_column: str) -> tuple[_Result, ...]:
        parted = self._each(parted_column, self.table.column(parted_column), _parted)
        pooled = self._each(pooled_column, self.table.column(pooled_column), _pooled)
        results = []
        for row, grade_1, grade_2 in zip(self.table.row_numbers, parted, pooled, strict=True):
            unseen = grade_1 is None or (grade_1 is Parted.NO and grade_2 is Pooled.NOT_OBSERVED)
            observed = grade_2 not in (None, Pooled.NOT_OBSERVED)
            if grade_1 in (None, Parted.NO) and observed:
                code = "table.pool_before_parting"
                self.bad.append(BadCell(row, pooled_column, str(grade_2), InputError(code)))
            results.append(_Result(parted=grade_1, pooled=None if unseen else grade_2))
        return tuple(results)

    def _counts(self, outcome: str, trials_column: str) -> tuple[_Result, ...]:
        hits = self._each(outcome, self.table.column(outcome), _count)
        trials = self._each(trials_column, self.table.column(trials_column), _count)
        results = []
        for row, k, n in zip(self.table.row_numbers, hits, trials, strict=True):
            if n is None and k is None:
                # Neither count is known: the row is kept as an attempt without a result.
                results.append(_Result())
            elif n is None or n < 1:
                self.bad.append(BadCell(row, trials_column, _shown(n), InputError("table.no_trials")))
            elif k is not None and k > n:
                self.bad.append(BadCell(row, outcome, str(k), InputError("table.more_than_trials", trials=n)))
            else:
                results.append(_Result(successes=k, trials=n))
        return tuple(results)

    def _hits(self, outcome: str, success: Sequence[str]) -> tuple[_Result, ...]:
        cells = self.table.column(outcome)
        tests = [_success_test(text) for text in success]
        results = self._each(outcome, cells, lambda cell: any(test(self._plain(cell)) for test in tests))
        if not self.bad and not any(results) and not any(map(_comparison, success)):
            seen = ", ".join(dict.fromkeys(cells))
            raise InputError("table.never_a_success", column=outcome, success=", ".join(success), seen=seen[:200])
        return tuple(_Result(successes=None if hit is None else int(hit)) for hit in results)

    def _each(self, column: str, cells: Sequence[str], read: Callable[[str], _T]) -> list[_T | None]:
        values: list[_T | None] = []
        for row, cell in zip(self.table.row_numbers, cells, strict=True):
            value: _T | None = None
            if not _is_missing(cell):
                try:
                    value = read(cell)
                except InputError as error:
                    self.bad.append(BadCell(row, column, cell, error))
            values.append(value)
        return values

    def _plain(self, cell: str) -> str:
        if self.table.decimal_comma and "." not in cell:
            return cell.replace(",", ".")
        return cell

    def _quantity(self, name: str, cell: str, column: FactorColumn) -> float:
        value = parse_quantity(self._plain(cell), column.unit)
        if column.scale is Scale.LOG and value <= 0:
            raise InputError("value.log_needs_positive", name=name, value=value)
        return value

    def _mostly_numbers(self, cells: Sequence[str]) -> bool:
        return 2 * sum(_looks_like_a_number(self._plain(cell)) for cell in cells) > len(cells)


def _is_missing(cell: str) -> bool:
    return cell.casefold() in _MISSING


def _shown(value: int | None) -> str:
    return "" if value is None else str(value)


def _looks_like_a_number(text: str) -> bool:
    """Whether the cell is a number, also one that can be read in two ways: that is asked about, not made a word."""
    try:
        parse_number(text)
    except InputError as error:
        return error.code == "number.ambiguous"
    return True


def _number_or_none(text: str) -> float | None:
    try:
        return parse_number(text)
    except InputError:
        return None


def _count(cell: str) -> int:
    value = parse_number(cell)
    if value < 0 or value != int(value):
        raise InputError("table.not_a_count")
    return int(value)


def _parted(cell: str) -> Parted:
    return read_grade(cell, Parted)


def _pooled(cell: str) -> Pooled:
    return read_grade(cell, Pooled)


def _comparison(text: str) -> tuple[str, float] | None:
    """Return the sign and the number of a comparison, None where the text is a plain value."""
    bare = text.strip()
    sign = next((sign for sign in _COMPARISONS if bare.startswith(sign)), None)
    return None if sign is None else (sign, parse_number(bare[len(sign) :]))


def _success_test(text: str) -> Callable[[str], bool]:
    """Return the test that ``--success`` asks for: a value, or a comparison such as ``>0`` or ``<=2.5``."""
    found = _comparison(text)
    if found is not None:
        sign, limit = found
        return lambda cell: bool(_COMPARISONS[sign](parse_number(cell), limit))
    wanted, as_number = text.strip().casefold(), _number_or_none(text)

    def equals(cell: str) -> bool:
        if cell.casefold() == wanted:
            return True
        return as_number is not None and _number_or_none(cell) == as_number

    return equals
