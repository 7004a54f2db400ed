"""Cells of the open text form: how each value of the bench is written into a CSV cell and read back.

A cell that is empty means unknown. Text that a spreadsheet could take for a formula, text that begins with an
apostrophe, and text that is empty where empty would mean unknown is written with one apostrophe in front, which
reading takes away again: nothing that a person typed can run in a spreadsheet, and nothing is lost.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import cast

from stirfall.bench.ages import as_utc, read_stamp, stamp
from stirfall.bench.errors import InputError

Cell = object
_RISKY = ("=", "+", "-", "@", "\t", "\r", "'")
_NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][+-]?\d+)?")
_INTEGER = re.compile(r"-?\d+")


class CellError(ValueError):
    """A cell that does not hold what its column asks for; the text says what was wanted."""


@dataclass(frozen=True)
class CellKind:
    """One kind of column: its Table Schema type, and how to write and read a cell."""

    name: str
    type: str
    write: Callable[[Cell], str]
    read: Callable[[str], Cell]


def write_text(value: str) -> str:
    """Write text that may be empty but not unknown."""
    return f"'{value}" if value.startswith(_RISKY) else value


def read_text(cell: str) -> str:
    """Invert ``write_text``."""
    return cell.removeprefix("'")


def _write_maybe_text(value: Cell) -> str:
    if value is None:
        return ""
    return write_text(str(value)) or "'"


def _read_maybe_text(cell: str) -> str | None:
    return read_text(cell) if cell else None


def write_number(value: float) -> str:
    """Write a number so that reading gives the same one; raises InputError ``package.not_finite``."""
    if not math.isfinite(value):
        raise InputError("package.not_finite", value=str(value))
    return repr(float(value)).removesuffix(".0")


def read_number(cell: str) -> float:
    """Read a number; raises CellError."""
    if not _NUMBER.fullmatch(cell) or not math.isfinite(float(cell)):
        raise CellError("a number")
    return float(cell)


def _read_integer(cell: str) -> int:
    if not _INTEGER.fullmatch(cell):
        raise CellError("a whole number")
    return int(cell)


def _write_time(value: Cell) -> str:
    moment = as_utc(cast(datetime, value))
    if moment.microsecond % 1000:
        return moment.isoformat(timespec="microseconds").replace("+00:00", "Z")
    return stamp(moment)


def _read_time(cell: str) -> datetime:
    try:
        return read_stamp(cell)
    except InputError as error:
        raise CellError("a time such as 2026-11-24T18:30:00Z") from error


def _write_flag(value: Cell) -> str:
    return "true" if value else "false"


def _read_flag(cell: str) -> bool:
    if cell not in ("true", "false"):
        raise CellError("true or false")
    return cell == "true"


def _write_list(value: Cell) -> str:
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False) if value else ""
    except ValueError as error:
        raise InputError("package.not_finite", value=str(value)) from error


def _read_list(cell: str) -> list[object]:
    if not cell:
        return []
    try:
        value = json.loads(cell)
    except ValueError as error:
        raise CellError("a list in JSON") from error
    if not isinstance(value, list):
        raise CellError("a list in JSON")
    return value


def _write_object(value: Cell) -> str:
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False) if value else ""
    except ValueError as error:
        raise InputError("package.not_finite", value=str(value)) from error


def _read_object(cell: str) -> dict[str, object]:
    if not cell:
        return {}
    try:
        value = json.loads(cell)
    except ValueError as error:
        raise CellError("an object in JSON") from error
    if not isinstance(value, dict):
        raise CellError("an object in JSON")
    return value


def one_of(words: type[StrEnum]) -> CellKind:
    """Return the kind of a column that holds one of these words."""

    def read(cell: str) -> Cell:
        try:
            return words(cell)
        except ValueError as error:
            raise CellError("one of: " + ", ".join(word.value for word in words)) from error

    return CellKind(words.__name__, "string", str, read)


def or_unknown(kind: CellKind) -> CellKind:
    """Return the kind of a column that holds the same, or nothing when unknown."""

    def write(value: Cell) -> str:
        return "" if value is None else kind.write(value)

    def read(cell: str) -> Cell:
        return kind.read(cell) if cell else None

    return CellKind(f"{kind.name} or unknown", kind.type, write, read)


TEXT = CellKind("text", "string", lambda value: write_text(str(value)), read_text)
MAYBE_TEXT = CellKind("text or unknown", "string", _write_maybe_text, _read_maybe_text)
NUMBER = CellKind("number", "number", lambda value: write_number(cast(float, value)), read_number)
INTEGER = CellKind("whole number", "integer", lambda value: str(int(cast(int, value))), _read_integer)
TIME = CellKind("time", "datetime", _write_time, _read_time)
FLAG = CellKind("flag", "boolean", _write_flag, _read_flag)
LIST = CellKind("list", "array", _write_list, _read_list)
OBJECT = CellKind("object", "object", _write_object, _read_object)
MAYBE_NUMBER = or_unknown(NUMBER)
MAYBE_INTEGER = or_unknown(INTEGER)
MAYBE_TIME = or_unknown(TIME)
