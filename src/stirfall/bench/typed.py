"""Conditions as people and scripts give them: numbers in the factor's unit, or text with a unit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import StrEnum
from typing import SupportsFloat, TypeVar

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale, Value
from stirfall.bench.records import find_factor
from stirfall.bench.units import parse_quantity

_Grade = TypeVar("_Grade", bound=StrEnum)


def read_grade(text: str, kind: type[_Grade]) -> _Grade:
    """Return the member of ``kind`` (``Parted`` or ``Pooled``) that ``text`` names; raises InputError."""
    wanted = " ".join(text.replace("_", " ").split()).casefold()
    for member in kind:
        if member.value == wanted:
            return member
    raise InputError("value.not_a_grade", value=text, known=", ".join(member.value for member in kind))


def read_value(factor: Factor, given: str | SupportsFloat, *, bare: str = "", decimal: str = ".") -> Value:
    """Return the value that ``given`` means for ``factor``: a level, or a number in the factor's unit.

    A bare number in a text is taken to be in ``bare``, by default in the factor's unit; ``decimal`` is the decimal
    sign of whoever typed it.

    Raises InputError: ``value.not_a_level``, ``value.not_finite``, ``value.log_needs_positive``, and the codes of
    ``parse_quantity``. A number outside the campaign's range is allowed here; operating limits judge it.
    """
    if factor.is_choice:
        typed = str(given).strip()
        # Levels may differ in letter case alone; then only the exact spelling tells them apart.
        for level in (typed, *factor.levels):
            if level in factor.levels and level.casefold() == typed.casefold():
                return level
        raise InputError("value.not_a_level", name=factor.name, value=given, known=", ".join(factor.levels))
    number = (
        parse_quantity(given, factor.unit, bare=bare, decimal=decimal) if isinstance(given, str) else float(given)
    )
    if not math.isfinite(number):
        raise InputError("value.not_finite", name=factor.name)
    if factor.scale is Scale.LOG and number <= 0:
        raise InputError("value.log_needs_positive", name=factor.name, value=number)
    return number


def read_conditions(factors: tuple[Factor, ...], given: Mapping[str, str | SupportsFloat | None]) -> Conditions:
    """Return conditions from factor names and values as typed; None is unknown, like a name that is not there.

    Raises InputError for an unknown name or value.
    """
    pairs = []
    for name, value in given.items():
        factor = find_factor(factors, name)
        if value is not None:
            pairs.append((factor.name, read_value(factor, value)))
    return Conditions(pairs)
