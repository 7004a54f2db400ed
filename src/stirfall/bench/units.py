"""Values typed by people, in any unit they like, and values shown back to them.

Parsing of units is done by pint, which is loaded only when a unit was really typed.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from stirfall.bench.errors import InputError
from stirfall.bench.number_style import liked_temperature

if TYPE_CHECKING:
    import pint

THIN_SPACE = "\u2009"
MINUS = "\u2212"

_NUMBER = re.compile(r"^\s*([+\-\u2212]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+\-\u2212]?\d+)?)\s*(.*?)\s*$")
_THOUSANDS = re.compile(r"^[1-9]\d{0,2},\d{3}$")
_SPACES = re.compile("[\u00a0\u2009\u202f]")
# No unit holds a power of a number; what does could keep the computer busy for days: 9^9^9.
_NO_UNIT = re.compile(r"\d\s*(?:\^|\*\*)|\d{4}")
_LONGEST_UNIT = 60

# How people and labels write units, against the name that pint knows.
_SPELLINGS = {
    "c": "degC",
    "°c": "degC",
    "degc": "degC",
    "celsius": "degC",
    "f": "degF",
    "°f": "degF",
    "degf": "degF",
    "k": "kelvin",
    "d": "day",
    "day": "day",
    "days": "day",
    "wk": "week",
    "week": "week",
    "weeks": "week",
    "mo": "month",
    "month": "month",
    "months": "month",
    "yr": "year",
    "year": "year",
    "years": "year",
    "h": "hour",
    "hr": "hour",
    "hrs": "hour",
    "hour": "hour",
    "hours": "hour",
    "min": "minute",
    "mins": "minute",
    "minute": "minute",
    "minutes": "minute",
    "s": "second",
    "sec": "second",
    "seconds": "second",
    "rpm": "1/minute",
    "/min": "1/minute",
    "1/min": "1/minute",
    "turns/min": "1/minute",
    "turns per minute": "1/minute",
    "turns/s": "1/second",
    "%": "percent",
}
# Each as scale and zero in kelvin, exact by the definitions of the Celsius and Fahrenheit scales (ITS-90).
_TEMPERATURE = {"kelvin": (1.0, 0.0), "degC": (1.0, 273.15), "degF": (5.0 / 9.0, 459.67)}
_TEMPERATURE_NAMES = {"C": "degC", "F": "degF", "K": "kelvin"}
# A month is a twelfth of a year of 365.25 days, as pint has it.
_SECONDS = {
    "second": 1.0,
    "minute": 60.0,
    "hour": 3600.0,
    "day": 86_400.0,
    "week": 604_800.0,
    "month": 2_629_800.0,
    "year": 31_557_600.0,
}


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint as pint_module

    return pint_module.UnitRegistry(autoconvert_offset_to_baseunit=True)


def warm_units() -> None:
    """Load pint ahead of the first typed unit; call it off the window's thread."""
    _registry()


def _spelled(unit: str) -> str:
    bare = unit.strip()
    return _SPELLINGS.get(bare.lower(), bare)


def unit_kind(unit: str) -> str:
    """Return ``"time"``, ``"temperature"`` or ``"other"`` for a unit as people write it."""
    name = _spelled(unit)
    if name in _SECONDS:
        return "time"
    return "temperature" if name in _TEMPERATURE else "other"


def parse_number(text: str, *, decimal: str = ".") -> float:
    """Read a plain number with a decimal point or comma.

    Raises InputError: ``number.unreadable``; ``number.ambiguous`` for ``1,234``, which some read as 1234, unless
    the comma is the decimal sign of the reader.
    """
    number, rest = _split(text, decimal)
    if rest:
        raise InputError("number.unreadable", text=text)
    return number


def parse_quantity(text: str, unit: str, *, bare: str = "", decimal: str = ".") -> float:
    """Read ``text`` ("3 d", "72 h", "230 F", "1,5 h", "72") and return the value in ``unit``.

    A bare number is taken to be in ``bare``, by default in ``unit``. Raises InputError: ``number.unreadable``,
    ``number.ambiguous`` (see ``parse_number``), and those of ``convert``.
    """
    number, typed = _split(text, decimal)
    value = convert(number, typed or bare or unit, unit)
    if not math.isfinite(value):
        raise InputError("number.unreadable", text=text)
    return value


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Convert ``value`` between two units, to twelve significant digits.

    Without the rounding 150 C would be 301.99999999999994 F and lie outside a range that begins at 302 F. Raises
    InputError ``unit.unknown`` or ``unit.mismatch``, and ``unit.not_wanted`` for a plain number.
    """
    source, target = _spelled(from_unit), _spelled(to_unit)
    if source == target:
        return value
    if source in _SECONDS and target in _SECONDS:
        return float(f"{value * _SECONDS[source] / _SECONDS[target]:.12g}")
    if source in _TEMPERATURE and target in _TEMPERATURE:
        return float(f"{_temperature(value, source, target):.12g}")
    return float(f"{_convert_with_pint(value, source, target, from_unit, to_unit):.12g}")


def _temperature(value: float, source: str, target: str) -> float:
    """Convert by way of neither scale's zero where that is not needed, so that 150 C is 302 F to the last digit."""
    if {source, target} == {"degC", "degF"}:
        return value * 9.0 / 5.0 + 32.0 if target == "degF" else (value - 32.0) * 5.0 / 9.0
    scale, zero = _TEMPERATURE[source]
    wanted, start = _TEMPERATURE[target]
    return (value + zero) * scale / wanted - start


def liked_unit(unit: str, decimal: str) -> str:
    """Return the unit in which the reader likes values in ``unit``: another one for temperatures alone."""
    liked = liked_temperature(decimal)
    if not liked or (name := _spelled(unit)) not in _TEMPERATURE or _TEMPERATURE_NAMES[liked] == name:
        return unit
    return liked


def liked_value(value: float, unit: str, decimal: str) -> float:
    """Return a value of ``unit`` in the reader's unit."""
    liked = liked_unit(unit, decimal)
    return value if liked == unit else convert(value, unit, liked)


def liked_difference(value: float, unit: str, decimal: str) -> float:
    """Return a difference in ``unit`` in the reader's unit: 10 °C more are 18 °F more, not 50."""
    liked = liked_unit(unit, decimal)
    if liked == unit:
        return value
    return float(f"{value * _TEMPERATURE[_spelled(unit)][0] / _TEMPERATURE[_spelled(liked)][0]:.12g}")


def _convert_with_pint(value: float, source: str, target: str, from_unit: str, to_unit: str) -> float:
    import pint as pint_module

    if any(len(unit) > _LONGEST_UNIT or _NO_UNIT.search(unit) for unit in (source, target)):
        raise InputError("unit.unknown", unit=from_unit[:_LONGEST_UNIT], wanted=to_unit)
    registry = _registry()
    try:
        quantity = registry.Quantity(value, registry.Unit(source))
        goal = registry.Unit(target) if target else registry.Unit("dimensionless")
    except Exception as error:
        code = "unit.unknown" if target else "unit.not_wanted"
        raise InputError(code, unit=from_unit, wanted=to_unit) from error
    try:
        return float(quantity.to(goal).magnitude)
    except pint_module.DimensionalityError as error:
        code = "unit.mismatch" if target else "unit.not_wanted"
        raise InputError(code, unit=from_unit, wanted=to_unit) from error


def _split(text: str, decimal: str) -> tuple[float, str]:
    match = _NUMBER.match(_SPACES.sub(" ", text))
    if match is None:
        raise InputError("number.unreadable", text=text)
    digits = match.group(1).replace(MINUS, "-")
    if _THOUSANDS.match(digits) and str(decimal) != ",":
        raise InputError("number.ambiguous", text=text)
    value = float(digits.replace(",", "."))
    if not math.isfinite(value):
        raise InputError("number.unreadable", text=text)
    return value, match.group(2)


def format_number(value: float, *, digits: int = 3, decimal: str = ".") -> str:
    """Write ``value`` with ``digits`` significant digits, no exponent for bench-sized values, a true minus."""
    if value == 0:
        return "0"
    if not math.isfinite(value):
        return "unknown" if math.isnan(value) else ("∞" if value > 0 else f"{MINUS}∞")
    magnitude = math.floor(math.log10(abs(value)))
    places = max(0, digits - 1 - magnitude)
    text = f"{value:.{places}f}" if -5 < magnitude < 7 else f"{value:.{digits - 1}e}"
    if "." in text and "e" not in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", MINUS).replace(".", decimal)


def format_quantity(value: float, unit: str, *, digits: int = 3, decimal: str = ".") -> str:
    """Write a value with its unit and a thin space; Celsius is written with its degree sign.

    A temperature is written in the unit that the reader likes, where ``decimal`` carries one (``NumberStyle``).
    """
    liked = liked_unit(unit, decimal)
    return _written(value if liked == unit else convert(value, unit, liked), liked, digits, decimal)


def _written(value: float, unit: str, digits: int, decimal: str) -> str:
    shown = unit_label(unit)
    number = format_number(value, digits=digits, decimal=decimal)
    return f"{number}{THIN_SPACE}{shown}" if shown else number


def unit_label(unit: str) -> str:
    """Return the unit as it is printed: ``C`` becomes ``°C``, ``rpm`` becomes ``1/min``."""
    name = _spelled(unit)
    return {"degC": "°C", "degF": "°F", "1/minute": "1/min"}.get(name, unit)


_SPOKEN = ((1.0, "s"), (60.0, "min"), (3600.0, "h"), (86_400.0, "days"), (604_800.0, "weeks"))
_MOST_SAID = (300, 180, 72, 60, 0)  # of each; our own choice
_SPOKEN_BELOW = (120.0, 7200.0, 172_800.0, 2_419_200.0)


def human_time(value: float, unit: str, *, decimal: str = ".") -> str:
    """Write a duration in the unit a person would say: "90 s", "90 min", "36 h", "3 days", "5 weeks".

    Seconds up to 2 min, minutes up to 2 h, hours up to 48 h, days up to 28 d, then weeks; but one unit smaller
    where that is a whole number people still say and the larger would be an awkward fraction: "275 s", "50 h".
    """
    seconds = value * _SECONDS[_spelled(unit)]
    place = sum(abs(seconds) >= limit for limit in _SPOKEN_BELOW)
    if place and _is_awkward(seconds / _SPOKEN[place][0]):
        smaller = seconds / _SPOKEN[place - 1][0]
        place -= abs(smaller) <= _MOST_SAID[place - 1] and abs(smaller - round(smaller)) < 1e-6
    size, word = _SPOKEN[place]
    amount = seconds / size
    if _is_awkward(amount):
        digits = 2 if abs(amount) < 10 or (word in ("s", "min") and abs(amount) < 100) else 3
        amount = float(f"{amount:.{digits}g}")
    return f"{format_number(amount, decimal=decimal)}{THIN_SPACE}{word}"


def _is_awkward(amount: float) -> bool:
    return abs(amount * 2 - round(amount * 2)) > 1e-6


@dataclass(frozen=True)
class Amount:
    """A value with its unit in the parameters of a sentence, written out once the decimal sign is known."""

    value: float
    unit: str

    def text(self, *, decimal: str = ".") -> str:
        """Write the amount as a person would say it: times in a fitting unit, the rest with the own unit."""
        if unit_kind(self.unit) == "time":
            return human_time(self.value, self.unit, decimal=decimal)
        return format_quantity(self.value, self.unit, decimal=decimal)

    def __str__(self) -> str:
        return self.text()


@dataclass(frozen=True)
class Difference(Amount):
    """An amount that is a difference between two values, as a step is; a temperature has no zero here."""

    def text(self, *, decimal: str = ".") -> str:
        """Write the difference; of temperatures in the reader's unit, without the zero of its scale."""
        if unit_kind(self.unit) == "time":
            return human_time(self.value, self.unit, decimal=decimal)
        value = liked_difference(self.value, self.unit, decimal)
        return _written(value, liked_unit(self.unit, decimal), 3, decimal)
