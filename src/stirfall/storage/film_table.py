"""The constants of the film index, read from the shipped table."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from math import isfinite

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.film_constants import AboveOil, FilmConstants, OilContent, UsualValues
from stirfall.bench.substances import Lid, OilHistory
from stirfall.storage.shipped import shipped

_PLACE = "resources/film.toml"
_NOT_NUMBERS = ("usual", "histories", "lids", "sources")


@cache
def film_constants() -> FilmConstants:
    """Return the constants of the film index.

    Raises FileTroubleError ``film.table_unreadable`` when the shipped table is missing, broken or names no source.
    """
    path = shipped(_PLACE)
    try:
        return _constants(tomllib.loads(path.read_text(encoding="utf-8")))
    except (OSError, KeyError, TypeError, ValueError) as error:
        raise FileTroubleError("film.table_unreadable", path=str(path)) from error


def _constants(table: Mapping[str, dict[str, object]]) -> FilmConstants:
    numbers = {
        item.name: _number(table[item.name]["value"])
        for item in fields(FilmConstants)
        if item.name not in _NOT_NUMBERS
    }
    usual, histories, lids = table["usual"], table["history"], table["lid"]
    return FilmConstants(
        **numbers,
        usual=UsualValues(
            lid=Lid(str(_row(usual, "lid")["value"])),
            oil_history=OilHistory(str(_row(usual, "oil_history")["value"])),
            **{name: _number(_row(usual, name)["value"]) for name in _USUAL_NUMBERS},
        ),
        histories=tuple(
            (word.value, OilContent(*(_number(_row(histories, word)[gas]) for gas in ("oxygen", "water"))))
            for word in OilHistory
        ),
        lids=tuple(
            (word.value, AboveOil(bool(_row(lids, word)["renewed"]), _number(_row(lids, word)["share"])))
            for word in Lid
        ),
        sources=tuple(_sources(table)),
    )


_USUAL_NUMBERS = ("storage_c", "room_rh_percent", "headspace_mm", "temperature_c")


def _row(table: Mapping[str, object], key: str) -> dict[str, object]:
    row = table[key]
    if not isinstance(row, dict):
        raise TypeError(key)
    return row


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value):
        raise TypeError(value)
    return float(value)


def _sources(table: Mapping[str, object], start: str = "") -> list[tuple[str, str]]:
    """Return where each value is from, by its place in the table; a value without a source raises KeyError."""
    found: list[tuple[str, str]] = []
    for key, row in table.items():
        if not isinstance(row, dict):
            raise TypeError(key)
        if start or "value" in row:
            found.append((f"{start}{key}", str(row["source"])))
        else:
            found.extend(_sources(row, f"{key}."))
    return found
