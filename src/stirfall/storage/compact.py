"""Small nested records as JSON objects that hold only what is known, and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields
from typing import TypeVar, cast

from stirfall.bench.plans import PlanSettings
from stirfall.bench.run_facts import AcceptedWarning, RunFacts, WeighingSheet
from stirfall.bench.substances import (
    AdditiveValues,
    MetalValues,
    OilValues,
    OwnLimits,
    SolidsValues,
    Substances,
    VesselValues,
)

COMPACT = (
    AcceptedWarning,
    RunFacts,
    WeighingSheet,
    AdditiveValues,
    MetalValues,
    OilValues,
    OwnLimits,
    PlanSettings,
    SolidsValues,
    Substances,
    VesselValues,
)
"""The records that are written this way."""

_PARTS: Mapping[type, Mapping[str, type]] = {
    RunFacts: {"accepted": AcceptedWarning},
    Substances: {
        "metal": MetalValues,
        "solids": SolidsValues,
        "oil": OilValues,
        "additives": AdditiveValues,
        "vessel": VesselValues,
        "limits": OwnLimits,
    },
}
_TUPLES = {"accepted", "additives"}
T = TypeVar("T")


def compact(record: object) -> dict[str, object]:
    """Return the fields of a record that differ from their defaults, nested records likewise."""
    known: dict[str, object] = {}
    for item in fields(record):  # type: ignore[arg-type]
        value = getattr(record, item.name)
        if item.default is MISSING or value != item.default:
            known[item.name] = _compact_value(value)
    return known


def _compact_value(value: object) -> object:
    if isinstance(value, COMPACT):
        return compact(value)
    if isinstance(value, tuple):
        return [_compact_value(each) for each in value]
    return str(value) if isinstance(value, str) else value


def expand(kind: type[T], values: Mapping[str, object]) -> T:
    """Invert ``compact``; a field that this program does not know is left out.

    Raises TypeError, ValueError or InputError where a value cannot be what the record says.
    """
    parts = _PARTS.get(kind, {})
    known = {item.name for item in fields(kind)}  # type: ignore[arg-type]
    made: dict[str, object] = {}
    for name, value in values.items():
        if name not in known:
            continue
        part = parts.get(name)
        if part is None:
            made[name] = tuple(_tupled(each) for each in value) if isinstance(value, list) else value
        elif name in _TUPLES:
            made[name] = tuple(expand(part, each) for each in cast("list[Mapping[str, object]]", value))
        else:
            made[name] = expand(part, cast("Mapping[str, object]", value))
    return kind(**made)


def _tupled(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value
