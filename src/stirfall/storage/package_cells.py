"""Cells of the open text form: how each value of the bench is written into a CSV cell and read back.

A cell that is empty means unknown. Text that a spreadsheet could take for a formula, text that begins with an
apostrophe, and text that is empty where empty would mean unknown is written with one apostrophe in front, which
reading takes away again: nothing that a person typed can run in a spreadsheet, and nothing is lost. Text with a
zero character, which CSV cannot hold, is an apostrophe, a backslash and then the text with the escapes of JSON.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import cast

from stirfall.bench.ages import as_utc, read_stamp, stamp
from stirfall.bench.errors import InputError
from stirfall.bench.open_text import is_risky
from stirfall.storage.package_limits import MOST_ID

Cell = object
_ESCAPED = "'\\"
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")
_INTEGER = re.compile(r"-?[0-9]{1,19}")
_LARGEST_INTEGER = 2**63 - 1  # what the session file can hold


class CellError(ValueError):
    """A cell that does not hold what its column asks for; the text says what was wanted."""


@dataclass(frozen=True)
class CellKind:
    """One kind of column: its Table Schema type, how to write and read a cell, and what a validator can check.

    ``words`` are the cells that are allowed, none where any is; ``is_needed`` says that no cell may be empty.
    """

    name: str
    type: str
    write: Callable[[Cell], str]
    read: Callable[[str], Cell]
    words: tuple[str, ...] = ()
    is_needed: bool = False


def write_text(value: str) -> str:
    """Write text that may be empty but not unknown."""
    if "\0" in value:
        return _ESCAPED + json.dumps(value)[1:-1]
    return f"'{value}" if is_risky(value) else value


def read_text(cell: str) -> str:
    """Invert ``write_text``; raises CellError."""
    if not cell.startswith(_ESCAPED):
        return cell.removeprefix("'")
    return str(_from_json(f'"{cell[2:]}"', str, "text with the escapes of JSON"))


def _write_id(value: Cell) -> str:
    text = str(value)
    if len(text) > MOST_ID:
        raise InputError("package.long_id", id=f"{text[:40]}…", most=MOST_ID)
    return write_text(text)


def _read_id(cell: str) -> str:
    text = read_text(cell) if len(cell) <= 8 * MOST_ID else ""
    if not text.strip() or len(text) > MOST_ID:
        raise CellError(f"a name of 1 to {MOST_ID} characters")
    return text


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
    if not _INTEGER.fullmatch(cell) or abs(int(cell)) > _LARGEST_INTEGER:
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


def _write_json(value: Cell) -> str:
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False) if value else ""
    except ValueError as error:
        raise InputError("package.not_finite", value=str(value)) from error


def _read_list(cell: str) -> list[object]:
    return cast("list[object]", _from_json(cell, list, "a list in JSON")) if cell else []


def _read_object(cell: str) -> dict[str, object]:
    return cast("dict[str, object]", _from_json(cell, dict, "an object in JSON")) if cell else {}


def _from_json(cell: str, kind: type, wanted: str) -> object:
    """Read strict JSON (RFC 8259): no NaN, no number beyond a double, no half of a character pair."""
    try:
        value = json.loads(cell, parse_constant=_refused, parse_float=_finite)
        if "\\u" in cell:
            json.dumps(value, ensure_ascii=False).encode()
    except (ValueError, RecursionError, OverflowError) as error:
        raise CellError(wanted) from error
    if not isinstance(value, kind):
        raise CellError(wanted)
    return value


def _refused(word: str) -> object:
    raise ValueError(word)


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(text)
    return number


def one_of(words: type[StrEnum]) -> CellKind:
    """Return the kind of a column that holds one of these words."""

    def read(cell: str) -> Cell:
        try:
            return words(cell)
        except ValueError as error:
            raise CellError("one of: " + ", ".join(word.value for word in words)) from error

    return CellKind(words.__name__, "string", str, read, tuple(word.value for word in words), is_needed=True)


def or_unknown(kind: CellKind) -> CellKind:
    """Return the kind of a column that holds the same, or nothing when unknown."""

    def write(value: Cell) -> str:
        return "" if value is None else kind.write(value)

    def read(cell: str) -> Cell:
        return kind.read(cell) if cell else None

    return CellKind(f"{kind.name} or unknown", kind.type, write, read, kind.words)


def one_of_levels(levels: Iterable[str]) -> CellKind:
    """Return the kind of a column that holds one of the levels of a choice, or nothing when unknown."""
    cells = tuple(_write_maybe_text(level) for level in levels)
    return CellKind("level or unknown", "string", _write_maybe_text, _read_maybe_text, cells)


TEXT = CellKind("text", "string", lambda value: write_text(str(value)), read_text)
MAYBE_TEXT = CellKind("text or unknown", "string", _write_maybe_text, _read_maybe_text)
ID = CellKind("name", "string", _write_id, _read_id, is_needed=True)
MAYBE_ID = or_unknown(ID)
NUMBER = CellKind("number", "number", lambda value: write_number(cast(float, value)), read_number, is_needed=True)
INTEGER = CellKind(
    "whole number", "integer", lambda value: str(int(cast(int, value))), _read_integer, is_needed=True
)
TIME = CellKind("time", "datetime", _write_time, _read_time, is_needed=True)
FLAG = CellKind("flag", "boolean", _write_flag, _read_flag, is_needed=True)
LIST = CellKind("list", "array", _write_json, _read_list)
OBJECT = CellKind("object", "object", _write_json, _read_object)
MAYBE_NUMBER = or_unknown(NUMBER)
MAYBE_INTEGER = or_unknown(INTEGER)
MAYBE_TIME = or_unknown(TIME)
