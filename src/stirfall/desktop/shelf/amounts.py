"""Numbers typed into the short forms of the shelf: read with their unit, or what is wrong with them; pure."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.units import format_number, parse_quantity

_LIKE_THOUSANDS = re.compile(r"^[1-9]\d{0,2},\d{3}$")
_ABSOLUTE_ZERO_C, _HOTTEST_C = -273.15, 2000.0


@dataclass
class Reader:
    """Collects what is wrong with which entry while a form is read."""

    problems: dict[str, Reason] = field(default_factory=dict)

    def say(self, name: str, code: str, **params: object) -> None:
        """Keep a problem of an entry, unless it has one already."""
        self.problems.setdefault(name, Reason(code, params))

    def amount(
        self, name: str, text: str, unit: str, *, above_zero: bool = False, most: float | None = None
    ) -> float | None:
        """Return an amount in ``unit`` that is not negative; None where the entry is empty or wrong."""
        value = self._number(name, text, unit)
        if value is None:
            return None
        if value < 0:
            self.say(name, "shelf.negative")
        elif above_zero and value == 0:
            self.say(name, "shelf.zero")
        elif most is not None and value > most:
            self.say(name, "shelf.above_most", most=f"{most:g} {unit}")
        else:
            return value
        return None

    def temperature(self, name: str, text: str) -> float | None:
        """Return a temperature in °C; None where the entry is empty or wrong."""
        value = self._number(name, text, "°C")
        if value is not None and not _ABSOLUTE_ZERO_C < value < _HOTTEST_C:
            self.say(name, "desktop.temperature_impossible", value=value)
            return None
        return value

    def count(self, name: str, text: str) -> int | None:
        """Return a whole number from 1 on; None where the entry is empty or wrong."""
        value = self._number(name, text, "")
        if value is None:
            return None
        if value < 1 or value != int(value):
            self.say(name, "shelf.not_a_count")
            return None
        return int(value)

    def _number(self, name: str, text: str, unit: str) -> float | None:
        if not text.strip():
            return None
        try:
            return parse_quantity(text, unit)
        except InputError as error:
            self.problems[name] = Reason(error.code, error.params)
            return None


def typed(value: float | None, decimal: str = ".") -> str:
    """Write a number as a person would type it; an unknown one is empty.

    A zero more keeps 12,345 from being taken for thousands when it is read again.
    """
    text = "" if value is None else format_number(value, digits=12, decimal=decimal)
    return f"{text}0" if str(decimal) == "," and _LIKE_THOUSANDS.match(text) else text
