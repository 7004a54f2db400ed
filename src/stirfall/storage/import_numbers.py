"""Numbers in the cells of a table: the decimal sign from the evidence of a column, units in cells, conversions."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from functools import lru_cache

from stirfall.bench.errors import InputError
from stirfall.bench.units import convert, unit_kind
from stirfall.storage.import_cells import NUMBER_CELL, SheetCell, is_missing
from stirfall.storage.import_plan import ASK
from stirfall.storage.import_units import unit_named

_PLAIN = re.compile(r"-?\d{1,15}(?:\.\d{1,15})?", re.ASCII)
_NUMBER = re.compile(
    r"([+\-\u2212]?)(\d[\d.,'\u2019\u00a0\u2009\u202f]*|[.,]\d+)(?:[eE]([+\-\u2212]?\d{1,4}))?", re.ASCII
)
_GROUP_COMMA = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+")
_GROUP_POINT = re.compile(r"[1-9]\d{0,2}(?:\.\d{3})+")
_QUANTITY = re.compile(rf"{_NUMBER.pattern}\s*(.*)", re.ASCII | re.DOTALL)
_LONGEST = 80  # characters of a number with its unit; longer cells are no numbers, and are not searched for one
_SPACED = re.compile("(?<=\\d)['\u2019\u00a0\u2009\u202f](?=\\d{3}(?:\\D|$))")
_COMPOUND = re.compile(r"(\d+(?:[.,]\d+)?)\s*([^\W\d_]+)\s*", re.ASCII)
POINT, COMMA = ".", ","


def _matched(cell: str) -> re.Match[str] | None:
    return None if len(cell) > _LONGEST else _QUANTITY.match(cell.strip())


def decimal_of(cells: Iterable[str]) -> str:
    """Return the decimal sign that cells tell: "." or ","; "" where no cell needs one, or each tells its own.

    ``ASK`` where the only cells that need one, such as 1,234, can be read in two ways.
    """
    told = {_sign_told(cell) for cell in cells}
    if {POINT, COMMA} <= told:
        return ""
    for sign in (POINT, COMMA):
        if sign in told:
            return sign
    return ASK if ASK in told else ""


def _sign_told(cell: str) -> str:
    if isinstance(cell, SheetCell) or _PLAIN.fullmatch(cell):
        return POINT if "." in cell and not isinstance(cell, SheetCell) else ""
    match = _matched(cell)
    if match is None:
        return ""
    digits = _SPACED.sub("", match[2])
    if "," in digits and "." in digits:
        return POINT if digits.rindex(".") > digits.rindex(",") else COMMA
    if "," in digits:
        if digits.count(",") > 1:
            return POINT
        return ASK if _GROUP_COMMA.fullmatch(digits) else COMMA
    if digits.count(".") > 1:
        return COMMA
    return POINT if "." in digits else ""


def read_number(cell: str, decimal: str = "") -> float:
    """Return the number of a cell without a unit; raises InputError as ``split_quantity`` does, and for a unit."""
    value, unit = split_quantity(cell, decimal)
    if unit:
        raise InputError("number.unreadable", text=cell)
    return value


def split_quantity(cell: str, decimal: str = "") -> tuple[float, str]:
    """Return the number of a cell and the unit after it, "" where there is none.

    Raises InputError ``number.unreadable``; ``number.ambiguous`` for 1,234 where ``decimal`` is "" or ``ASK``;
    ``import.two_signs`` for a sign that the column does not use.
    """
    if isinstance(cell, SheetCell) and cell.kind == NUMBER_CELL:
        return _finite(cell, cell), ""
    if _PLAIN.fullmatch(cell) and not (decimal == COMMA and "." in cell):
        return float(cell), ""
    match = _matched(cell)
    if match is None:
        raise InputError("number.unreadable", text=cell)
    digits = _with_point(_SPACED.sub("", match[2]), decimal, cell)
    power = f"e{match[3]}" if match[3] else ""
    text = f"{match[1]}{digits}{power}".replace("\u2212", "-")
    return _finite(text, cell), match[4]


def _with_point(digits: str, decimal: str, cell: str) -> str:
    has_comma, has_point = "," in digits, "." in digits
    if has_comma and has_point:
        comma_last = digits.rindex(",") > digits.rindex(".")
        group, sign = (".", ",") if comma_last else (",", ".")
        pattern = _GROUP_POINT if comma_last else _GROUP_COMMA
        whole, _, part = digits.rpartition(sign)
        if not pattern.fullmatch(whole) or not part.isdigit():
            raise InputError("number.unreadable", text=cell)
        return f"{whole.replace(group, '')}.{part}"
    if has_comma:
        return _one_sign(digits, ",", decimal, cell)
    if has_point:
        return _one_sign(digits, ".", decimal, cell)
    return digits


def _one_sign(digits: str, sign: str, decimal: str, cell: str) -> str:
    """Return digits that hold one kind of sign with a point, or without the signs between thousands."""
    is_grouped = (_GROUP_COMMA if sign == "," else _GROUP_POINT).fullmatch(digits) is not None
    if digits.count(sign) > 1:
        if not is_grouped:
            raise InputError("number.unreadable", text=cell)
        return digits.replace(sign, "")
    if decimal == sign or not is_grouped:
        return digits.replace(",", ".")
    if decimal in (POINT, COMMA):
        # The column writes the other sign: this one stands between thousands, or by mistake.
        if sign == ",":
            return digits.replace(",", "")
        raise InputError("import.two_signs", text=cell)
    if sign == ".":
        return digits
    raise InputError("number.ambiguous", text=cell)


def _finite(text: str, cell: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise InputError("number.unreadable", text=cell) from None
    if not math.isfinite(value):
        raise InputError("number.unreadable", text=cell)
    return value


def read_quantity(cell: str, decimal: str, bare: str, wanted: str) -> float:
    """Return a cell in the unit ``wanted``: "90 s", "1.5 h", "1 h 30 min", or a bare number in ``bare``.

    Raises InputError as ``split_quantity`` and ``convert`` do.
    """
    value, typed = split_quantity(cell, decimal)
    if typed:
        compound = _compound(cell, wanted, decimal)
        if compound is not None:
            return compound
    unit = (unit_named(typed) or typed) if typed else (bare or wanted)
    if unit == wanted:
        return value
    converted = _converted(value, unit, wanted)
    if not math.isfinite(converted):
        raise InputError("number.unreadable", text=cell)
    return converted


@lru_cache(maxsize=8192)
def _converted(value: float, unit: str, wanted: str) -> float:
    if len(unit) > 24:
        raise InputError("unit.unknown", unit=unit[:24], wanted=wanted)
    return convert(value, unit, wanted)


def _compound(cell: str, wanted: str, decimal: str) -> float | None:
    """Return a time told in several units, such as "1 h 30 min"; None where it is none."""
    if unit_kind(wanted) != "time":
        return None
    parts = _COMPOUND.findall(cell)
    if len(parts) < 2 or _COMPOUND.sub("", cell).strip():
        return None
    units = _time_units(cell)
    if not units:
        return None
    return sum(
        convert(split_quantity(number, decimal)[0], unit, wanted)
        for (number, _), unit in zip(parts, units, strict=True)
    )


def _time_units(cell: str) -> list[str]:
    """Return the units of a time in several units; nothing where one of them is none of time."""
    units = [unit_named(word) for _, word in _COMPOUND.findall(cell)]
    return units if all(unit and unit_kind(unit) == "time" for unit in units) else []


def unit_in_cells(cells: Iterable[str]) -> str:
    """Return the one unit that cells with a unit write, "" where there is none or several."""
    found = set()
    for cell in cells:
        match = None if isinstance(cell, SheetCell) or is_missing(cell) else _matched(cell)
        if match is not None and match[4]:
            found.add(unit_named(match[4]))
    return found.pop() if len(found) == 1 else ""


def has_unit(cell: str) -> bool:
    """Whether a cell is a number with a unit that is known."""
    match = None if isinstance(cell, SheetCell) else _matched(cell)
    return match is not None and bool(match[4]) and (bool(unit_named(match[4])) or _is_compound(cell))


def looks_like_number(cell: str) -> bool:
    """Whether a cell is a number, with or without a unit that is known; also one that can be read in two ways."""
    if isinstance(cell, SheetCell):
        return cell.kind == NUMBER_CELL
    if _PLAIN.fullmatch(cell):
        return True
    match = _matched(cell)
    return match is not None and (not match[4] or bool(unit_named(match[4])) or _is_compound(cell))


def _is_compound(cell: str) -> bool:
    """Whether a cell is a time in several units."""
    return len(_COMPOUND.findall(cell)) > 1 and not _COMPOUND.sub("", cell).strip() and bool(_time_units(cell))
