"""The shipped tables of operating limits and of additive classes, each value with its source."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.materials import MaterialClass
from stirfall.storage.shipped import shipped

LIMITS_FILE, ADDITIVES_FILE = "resources/limits.toml", "resources/additives.toml"
LEVELS = ("note", "warn", "block")


@dataclass(frozen=True)
class LimitValue:
    """One number of a rule, in its unit."""

    value: float
    unit: str


@dataclass(frozen=True)
class LimitRule:
    """One rule: what it is about, the levels that it can reach, its numbers by name, and where they are from."""

    key: str
    title: str
    levels: tuple[str, ...]
    source: str
    values: Mapping[str, LimitValue]

    def number(self, name: str) -> float:
        """Return one number of the rule, in the unit that the table gives it."""
        return self.values[name].value


@dataclass(frozen=True)
class AdditiveKind:
    """One class of additives; ``allowed`` are the classes of metal that it may meet.

    ``hydrogen`` says that it can release hydrogen from a reactive metal; ``words`` are parts of names that give the
    class away, and ``sure`` that they count whatever class was entered.
    """

    key: str
    title: str
    allowed: frozenset[MaterialClass]
    hydrogen: bool
    halogenated: bool
    water_based: bool
    sure: bool
    words: tuple[str, ...]
    source: str

    def is_named_in(self, name: str) -> bool:
        """Whether one of the words stands in the name as a word of its own."""
        return bool(self.words) and _pattern(self.words).search(name) is not None


@cache
def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    # "water-free" and "non-halogenated" say the opposite of what they name.
    either = "|".join(map(re.escape, words))
    return re.compile(rf"(?<![a-z])(?<!non-)(?<!non )(?:{either})(?![a-z]|[ -]free\b)", re.IGNORECASE)


@cache
def limit_table() -> Mapping[str, LimitRule]:
    """Return every rule by its key, in the order of the table.

    Raises FileTroubleError ``limits_file.unreadable`` when the shipped table is missing or broken: without its
    limits the program must not judge anything.
    """
    rules = {}
    for key, row in _tables(LIMITS_FILE).items():
        rules[key] = _rule(key, row)
    return MappingProxyType(rules)


@cache
def additive_kinds() -> Mapping[str, AdditiveKind]:
    """Return every class of additives by its key; raises FileTroubleError ``limits_file.unreadable``."""
    return MappingProxyType({key: _kind(key, row) for key, row in _tables(ADDITIVES_FILE).items()})


def kind_of(kind: str, name: str) -> AdditiveKind | None:
    """Return the class of an additive: as entered, but a name that gives a dangerous class away counts more.

    None where neither the class entered nor the name tells.
    """
    kinds = additive_kinds()
    told = [each for each in kinds.values() if each.is_named_in(name)]
    sure = next((each for each in told if each.sure), None)
    return sure or kinds.get(kind) or (told[0] if told else None)


def _tables(path: str) -> dict[str, Mapping[str, object]]:
    place = shipped(path)
    try:
        tables = tomllib.loads(place.read_text(encoding="utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise FileTroubleError("limits_file.unreadable", path=str(place)) from error
    if not tables or not all(isinstance(row, dict) for row in tables.values()):
        raise FileTroubleError("limits_file.unreadable", path=str(place))
    return tables


def _rule(key: str, row: Mapping[str, object]) -> LimitRule:
    try:
        values, levels = row.get("values", {}), _texts(row["levels"])
        if not isinstance(values, dict) or not levels or not set(levels) <= set(LEVELS):
            raise ValueError(key)
        numbers = {name: LimitValue(float(each["value"]), str(each["unit"])) for name, each in values.items()}
        return LimitRule(key, str(row["title"]), levels, str(row["source"]), MappingProxyType(numbers))
    except (KeyError, TypeError, ValueError) as error:
        raise FileTroubleError("limits_file.unreadable", path=LIMITS_FILE) from error


def _kind(key: str, row: Mapping[str, object]) -> AdditiveKind:
    try:
        return AdditiveKind(
            key=key,
            title=str(row["title"]),
            allowed=frozenset(MaterialClass(each) for each in _texts(row["allowed"])),
            hydrogen=bool(row["hydrogen"]),
            halogenated=bool(row.get("halogenated", False)),
            water_based=bool(row.get("water_based", False)),
            sure=bool(row.get("sure", False)),
            words=_texts(row.get("words", [])),
            source=str(row["source"]),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise FileTroubleError("limits_file.unreadable", path=ADDITIVES_FILE) from error


def _texts(given: object) -> tuple[str, ...]:
    if not isinstance(given, list) or not all(isinstance(each, str) for each in given):
        raise TypeError(given)
    return tuple(given)
