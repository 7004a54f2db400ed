"""Units as headings and cells write them, told from the words around them."""

from __future__ import annotations

import re
from functools import cache

from stirfall.bench.errors import InputError
from stirfall.bench.units import convert

_UNITS = {
    "°c": "C", "º c": "C", "ºc": "C", "° c": "C", "deg c": "C", "degc": "C", "deg. c": "C", "celsius": "C",
    "°f": "F", "ºf": "F", "° f": "F", "deg f": "F", "degf": "F", "fahrenheit": "F", "kelvin": "K",
    "c": "C", "f": "F", "k": "K",
    "s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s",
    "min": "min", "mins": "min", "minute": "min", "minutes": "min",
    "h": "h", "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
    "d": "d", "day": "d", "days": "d", "wk": "week", "week": "week", "weeks": "week",
    "rpm": "1/min", "1/min": "1/min", "/min": "1/min", "min-1": "1/min", "min^-1": "1/min", "min⁻¹": "1/min",
    "min−1": "1/min", "turns/min": "1/min", "turns per minute": "1/min", "stirs/min": "1/min", "rev/min": "1/min",
    "turns/s": "1/s", "1/s": "1/s", "hz": "1/s",
    "g": "g", "gram": "g", "grams": "g", "mg": "mg", "kg": "kg", "oz": "oz",
    "mg/g": "mg/g", "mg per g": "mg/g", "g/g": "g/g", "g/kg": "g/kg", "mg g-1": "mg/g",
    "%": "%", "percent": "%", "pct": "%", "wt%": "%", "wt.%": "%", "wt. %": "%", "w%": "%", "% rh": "%", "%rh": "%",
    "ml": "mL", "l": "L", "mm": "mm", "cm": "cm", "µm": "um", "μm": "um", "um": "um", "cm2": "cm^2", "cm²": "cm^2",
    "cm^2": "cm^2", "mmol/m2": "mmol/m^2", "mmol/m²": "mmol/m^2", "mmol/m^2": "mmol/m^2",
}  # fmt: skip
# Only in brackets: elsewhere such letters are parts of names.
_IN_BRACKETS = {
    each.casefold(): each
    for each in (
        "W", "kW", "mW", "V", "mV", "A", "mA", "bar", "mbar", "Pa", "kPa", "hPa", "ppm", "N", "J",
        "mol", "mmol", "m", "m/s", "cm/s", "mm/s", "L/min", "mL/min", "cP",
    )
}  # fmt: skip
_PLAIN_WORDS = frozenset({"-", "–", "1", "none", "text", "y/n", "yes/no", "no.", "#"})
_BRACKETED = re.compile(r"^(.*?)[\s_]*[\[({<]\s*([^\[\](){}<>]{1,24})\s*[\])}>]\s*$")
_SEPARATOR = re.compile(r"\s*(?:/|,|;|\s+in\s+|_in_|\s+-\s+|_|\s)\s*")
_LEADING = re.compile(r"^(days?|hours?|minutes?|weeks?|seconds?|mins?|hrs?)\s+(?=\S)", re.IGNORECASE)
_WEAK = frozenset({"c", "f", "k", "s", "d", "h", "g", "l", "min", "day", "second", "hour", "week"})
_GLUED = re.compile(r"^([^\W\d_]{1,3}|temp)(°[CF])$", re.IGNORECASE)


def unit_named(text: str) -> str:
    """Return the unit that a text is, as ``bench.units`` writes it; "" where it is none."""
    return _UNITS.get(" ".join(text.split()).casefold(), "")


def is_unit(text: str) -> bool:
    """Whether a cell of a row of units can stand there: a unit, or a word for none."""
    return bool(unit_named(text)) or text.strip().casefold() in _PLAIN_WORDS


@cache
def split_heading(heading: str) -> tuple[str, str]:
    """Return the name and the unit in a heading: "T (°C)", "age [h]", "Temp_C", "stir/min"; the unit may be ""."""
    text = " ".join(heading.replace("\u00a0", " ").split())
    bracketed = _BRACKETED.match(text)
    if bracketed and (unit := unit_named(bracketed[2]) or _IN_BRACKETS.get(bracketed[2].strip().casefold(), "")):
        return bracketed[1].strip(" _,:/") or text, unit
    glued = _GLUED.match(text)
    if glued:
        return glued[1], unit_named(glued[2])
    whole = unit_named(text)
    if whole and text.casefold() not in _WEAK:
        return text, whole
    for cut in _SEPARATOR.finditer(text):
        if text[: cut.start()].strip(" _,:/") and (unit := unit_named(text[cut.end() :])):
            return text[: cut.start()].strip(" _,:/"), unit
    leading = _LEADING.match(text)
    if leading:
        return text, unit_named(leading[1])
    return text, ""


def can_convert(unit: str, wanted: str) -> bool:
    """Whether a value in one unit can be told in the other."""
    if unit == wanted or not unit:
        return True
    try:
        convert(1.0, unit, wanted)
    except InputError:
        return False
    return True
