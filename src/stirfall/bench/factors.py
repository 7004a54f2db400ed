"""Factors: the conditions that may matter, and one set of values for them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar, overload

from stirfall.bench.errors import InputError
from stirfall.bench.units import unit_kind

Value = float | str
_Word = TypeVar("_Word", bound=StrEnum)
_Other = TypeVar("_Other")


class Scale(StrEnum):
    """The scale on which a number is thought to act."""

    LINEAR = "linear"
    LOG = "log"


class Role(StrEnum):
    """What a factor means to the operating limits and to the clock; everything else is GENERAL."""

    GENERAL = "general"
    SAMPLE_AGE = "sample age"
    OIL_EXPOSURE = "oil exposure"
    HOT_TIME = "hot time"
    TEMPERATURE = "temperature"
    DOSE = "dose"
    FILM_INDEX = "film index"

    @property
    def is_exposure(self) -> bool:
        """Whether a larger value means that the metal met more air and water."""
        return self in (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.HOT_TIME, Role.FILM_INDEX)


@dataclass(frozen=True)
class Factor:
    """One condition: a number (``unit``, ``low``, ``high``, ``scale``, ``step``) or a choice (``levels``).

    ``low`` and ``high`` are the campaign's range in ``unit``. ``default`` is what a new form shows. A hidden
    factor keeps its recorded values. Raises InputError (``factor.*``) when the values contradict each other.
    """

    name: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    scale: Scale = Scale.LINEAR
    step: float | None = None
    levels: tuple[str, ...] = ()
    role: Role | None = None
    default: Value | None = None
    hidden: bool = False

    def __post_init__(self) -> None:
        """Normalise text and numbers, guess the role where none was given, and check the whole."""
        object.__setattr__(self, "name", " ".join(self.name.split()))
        object.__setattr__(self, "unit", self.unit or "")
        object.__setattr__(self, "scale", self._member(Scale, self.scale, "factor.scale_unknown"))
        object.__setattr__(self, "levels", tuple(str(level) for level in self.levels))
        role = guess_role(self.name, self.unit) if self.role is None else self.role
        object.__setattr__(self, "role", self._member(Role, role, "factor.role_unknown"))
        if not self.name:
            raise InputError("factor.unnamed")
        if self.levels:
            self._check_choice()
        else:
            self._check_number()

    def _member(self, kind: type[_Word], given: str, code: str) -> _Word:
        try:
            return kind(given)
        except ValueError:
            raise InputError(code, name=self.name, given=given, known=", ".join(kind)) from None

    def _check_choice(self) -> None:
        if len(set(self.levels)) != len(self.levels):
            raise InputError("factor.levels_repeat", name=self.name)
        if self.default is not None and self.default not in self.levels:
            raise InputError("factor.default_not_a_level", name=self.name, value=self.default)

    def _check_number(self) -> None:
        low, high = self._plain_number(self.low), self._plain_number(self.high)
        if low is None or high is None:
            raise InputError("factor.no_range", name=self.name)
        object.__setattr__(self, "low", low)
        object.__setattr__(self, "high", high)
        if not (math.isfinite(low) and math.isfinite(high)) or not low < high:
            raise InputError("factor.range_reversed", name=self.name, low=low, high=high)
        if self.scale is Scale.LOG and low <= 0:
            raise InputError("factor.log_needs_positive", name=self.name, low=low)
        step, default = self._plain_number(self.step), self._plain_number(self.default)
        if self.step is not None and not (step is not None and math.isfinite(step) and step > 0):
            raise InputError("factor.step_not_positive", name=self.name, step=self.step)
        if self.default is not None and not (default is not None and math.isfinite(default)):
            raise InputError("factor.default_not_a_number", name=self.name, value=self.default)
        object.__setattr__(self, "step", step)
        object.__setattr__(self, "default", default)

    @staticmethod
    def _plain_number(given: Value | None) -> float | None:
        """Return a plain number, which files can hold, or None where there is none."""
        try:
            return None if given is None else float(given)
        except (TypeError, ValueError):
            return None

    @property
    def is_choice(self) -> bool:
        """Whether the factor is a choice between levels."""
        return bool(self.levels)

    @property
    def bounds(self) -> tuple[float, float]:
        """The campaign's range of a number; raises InputError ``factor.is_choice`` for a choice."""
        if self.low is None or self.high is None:
            raise InputError("factor.is_choice", name=self.name)
        return self.low, self.high

    def to_unit_interval(self, value: float) -> float:
        """Map a value so that the campaign's range is [-1, 1] on the factor's own scale.

        Raises InputError ``value.log_needs_positive`` for a value at or below zero on a log scale.
        """
        low, high = self.bounds
        if self.scale is Scale.LOG:
            if value <= 0:
                raise InputError("value.log_needs_positive", name=self.name, value=value)
            low, high, value = math.log(low), math.log(high), math.log(value)
        return 2.0 * (value - low) / (high - low) - 1.0

    def from_unit_interval(self, position: float) -> float:
        """Invert ``to_unit_interval``."""
        low, high = self.bounds
        share = (position + 1.0) / 2.0
        if self.scale is Scale.LOG:
            return math.exp(math.log(low) + share * (math.log(high) - math.log(low)))
        return low + share * (high - low)

    def snap(self, value: float) -> float:
        """Return the nearest value on the factor's steps inside its range (two digits where it has no step)."""
        low, high = self.bounds
        clipped = min(max(value, low), high)
        if self.step is None:
            snapped = float(f"{clipped:.2g}")
        else:
            snapped = round(round(clipped / self.step) * self.step, 10)
            if snapped < low:
                snapped = round(math.ceil(round(low / self.step, 9)) * self.step, 10)
            if snapped > high:
                snapped = round(math.floor(round(high / self.step, 9)) * self.step, 10)
        return min(max(snapped, low), high)

    def holds(self, value: Value) -> bool:
        """Whether ``value`` is one of the levels, or lies inside the range."""
        if self.is_choice:
            return value in self.levels
        low, high = self.bounds
        return isinstance(value, (int, float)) and low <= value <= high

    @property
    def middle(self) -> Value:
        """The default, or the middle of the range on the factor's scale, or the first level."""
        if self.default is not None:
            return self.default
        return self.levels[0] if self.is_choice else self.snap(self.from_unit_interval(0.0))


FILM_INDEX_NAME = "film index"
_STIRRING = re.compile(r"stir|settl|cool|ramp|press|knead|mix", re.IGNORECASE)
_HOT = re.compile(r"\bhot\b|heated|above melting", re.IGNORECASE)
_OIL = re.compile(r"\boil\b|expos", re.IGNORECASE)
_DOSE = re.compile(r"\bdose\b", re.IGNORECASE)
_AGE = re.compile(r"\bage(d|ing)?\b|\baging\b", re.IGNORECASE)
# A column without a unit tells by its name that it is a time: "exposure", "days in the jar", "hot time".
_NAMED_TIME = re.compile(r"expos|\btime\b|\b(second|minute|hour|day|week|month|year)s?\b|under oil", re.IGNORECASE)


def guess_role(name: str, unit: str) -> Role:
    """Guess what a factor means from its name and unit.

    A time that is not plainly a time of stirring, settling or cooling counts as an exposure: for a metal whose
    exposure must never be lengthened, a wrong guess then errs on the safe side. Without a unit the name decides
    whether it is a time.
    """
    kind = unit_kind(unit)
    if kind == "temperature":
        return Role.TEMPERATURE
    if _DOSE.search(name):
        return Role.DOSE
    if " ".join(name.split()).casefold() == FILM_INDEX_NAME:
        return Role.FILM_INDEX
    named_time = not unit.strip() and _NAMED_TIME.search(name) is not None
    if kind != "time" and not named_time:
        return Role.SAMPLE_AGE if _AGE.search(name) else Role.GENERAL
    if _HOT.search(name):
        return Role.HOT_TIME
    if _OIL.search(name):
        return Role.OIL_EXPOSURE
    return Role.GENERAL if _STIRRING.search(name) else Role.SAMPLE_AGE


class Conditions(Mapping[str, Value]):
    """An immutable, hashable set of factor values by factor name; a factor may be missing (unknown)."""

    __slots__ = ("_values",)

    def __init__(self, values: Mapping[str, Value] | Iterable[tuple[str, Value]] = ()) -> None:
        pairs = values.items() if isinstance(values, Mapping) else values
        self._values: dict[str, Value] = {
            name: value if isinstance(value, str) else float(value) for name, value in pairs
        }

    def __getitem__(self, name: str) -> Value:
        return self._values[name]

    # The next two are only quicker than those of Mapping: long campaigns ask for millions of values.
    def __contains__(self, name: object) -> bool:
        return name in self._values

    @overload
    def get(self, name: str, default: None = None, /) -> Value | None: ...
    @overload
    def get(self, name: str, default: Value | _Other, /) -> Value | _Other: ...
    def get(self, name: str, default: Value | _Other | None = None, /) -> Value | _Other | None:
        """Return the value of a factor, or ``default`` when it is missing."""
        return self._values.get(name, default)

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __hash__(self) -> int:
        return hash(frozenset(self._values.items()))

    def __eq__(self, other: object) -> bool:
        return dict(self) == dict(other) if isinstance(other, Mapping) else NotImplemented

    def __repr__(self) -> str:
        return f"Conditions({self._values!r})"

    def with_value(self, name: str, value: Value | None) -> Conditions:
        """Return a copy with one value changed, or removed when ``value`` is None."""
        values = {key: kept for key, kept in self._values.items() if key != name or value is not None}
        if value is not None:
            values[name] = value
        return Conditions(values)

    def number(self, name: str) -> float | None:
        """Return the value of a number factor, or None when it is missing or a choice."""
        value = self._values.get(name)
        return None if value is None or isinstance(value, str) else value


def values_of(rows: Iterable[Conditions], name: str) -> list[Value | None]:
    """Return the value of one factor in each of many conditions, None where it is missing."""
    return [row._values.get(name) for row in rows]


def standard_factors() -> tuple[Factor, ...]:
    """Return the factors of a new campaign, in the order of the form.

    The ranges are starting points of our own (common practice, no source); every campaign edits them.
    """
    log = Scale.LOG
    return (
        Factor("sample age", "h", 0.5, 240.0, log, role=Role.SAMPLE_AGE, default=24.0),
        Factor("oil exposure time", "h", 0.5, 240.0, log, role=Role.OIL_EXPOSURE, default=24.0),
        Factor("hot time before stirring", "min", 1.0, 60.0, log, step=1.0, role=Role.HOT_TIME, default=5.0),
        Factor("temperature", "C", 80.0, 180.0, step=1.0, role=Role.TEMPERATURE, default=150.0),
        Factor("stirring speed", "1/min", 20.0, 180.0, step=5.0, role=Role.GENERAL, default=90.0),
        Factor("stirring time", "s", 15.0, 600.0, log, step=5.0, role=Role.GENERAL, default=120.0),
        Factor("stirring action", levels=("swirl", "fold", "press", "scrape"), default="swirl"),
        Factor("additive", levels=("none", "additive A"), default="none"),
        Factor("additive dose", "mg/g", 0.0, 20.0, step=0.5, role=Role.DOSE, default=0.0),
    )
