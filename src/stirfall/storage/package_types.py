"""Whether what JSON cells brought into a record is of the types that the record declares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from functools import cache
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from stirfall.bench.factors import Conditions


def has_types(record: object) -> bool:
    """Whether every field of a frozen record, and of the records in it, holds what its annotation says."""
    kind: Any = type(record)
    return all(_fits(getattr(record, name), hint) for name, hint in _hints(kind))


@cache
def _hints(kind: Any) -> tuple[tuple[str, Any], ...]:  # noqa: ANN401 - any dataclass
    known = get_type_hints(kind)
    return tuple((item.name, known[item.name]) for item in fields(kind))


def _fits(value: object, hint: Any) -> bool:  # noqa: ANN401 - an annotation may be anything
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        return any(_fits(value, each) for each in get_args(hint))
    if origin is tuple:
        return isinstance(value, tuple) and _tuple_fits(value, get_args(hint))
    if isinstance(origin, type) and issubclass(origin, Mapping):
        key, kept = get_args(hint)
        return isinstance(value, Mapping) and all(_fits(k, key) and _fits(v, kept) for k, v in value.items())
    if hint is None or hint is type(None):
        return value is None
    if hint is float:
        return isinstance(value, (int, float)) and not isinstance(value, bool)
    if hint is int:
        return isinstance(value, int) and not isinstance(value, bool)
    return _plain_fits(value, hint)


def _tuple_fits(value: tuple[object, ...], hints: tuple[Any, ...]) -> bool:
    if len(hints) == 2 and hints[1] is Ellipsis:
        return all(_fits(each, hints[0]) for each in value)
    return len(value) == len(hints) and all(_fits(each, hint) for each, hint in zip(value, hints, strict=True))


def _plain_fits(value: object, hint: type) -> bool:
    if hint is Conditions:
        return isinstance(value, Conditions)  # it makes floats and words of whatever it takes
    if not isinstance(value, hint):
        return False
    is_leaf = isinstance(value, (str, datetime, Enum, bool))
    return is_leaf or not is_dataclass(value) or has_types(value)
