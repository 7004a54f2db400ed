"""The shipped tables of metals and solids, read once; every value carries its source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.material_rows import Law, MetalRow, SolidRow, Sourced
from stirfall.bench.materials import MaterialClass
from stirfall.storage.shipped import shipped

METALS, SOLIDS = "resources/materials/metals.toml", "resources/materials/solids.toml"


@dataclass(frozen=True)
class MaterialTable:
    """All metals and solids of the program, in the order of the files."""

    metals: tuple[MetalRow, ...]
    solids: tuple[SolidRow, ...]

    def metal(self, key: str) -> MetalRow | None:
        """Return the metal with this key or name, None where the table has none."""
        return next((row for row in self.metals if row.is_called(key)), None) if key.strip() else None

    def solid(self, key: str) -> SolidRow | None:
        """Return the solid with this key or name, None where the table has none."""
        return next((row for row in self.solids if row.is_called(key)), None) if key.strip() else None


@cache
def materials() -> MaterialTable:
    """Return the shipped tables; raises FileTroubleError ``materials.unreadable`` when one is missing or broken."""
    return MaterialTable(
        tuple(_metal(entry) for entry in _entries(METALS, "metal")),
        tuple(_solid(entry) for entry in _entries(SOLIDS, "solid")),
    )


def read_metals(path: Path) -> tuple[MetalRow, ...]:
    """Read a table of metals from a file; raises FileTroubleError ``materials.unreadable``."""
    return tuple(_metal(entry) for entry in _read(path, "metal"))


def _entries(name: str, kind: str) -> list[_Entry]:
    return _read(shipped(name), kind)


@dataclass(frozen=True)
class _Entry:
    path: Path
    values: Mapping[str, object]


def _read(path: Path, kind: str) -> list[_Entry]:
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))[kind]
        return [_Entry(path, {**entry}) for entry in table]
    except (OSError, KeyError, TypeError, tomllib.TOMLDecodeError) as error:
        raise FileTroubleError("materials.unreadable", path=str(path), row=kind) from error


def _metal(entry: _Entry) -> MetalRow:
    values = entry.values
    try:
        return MetalRow(
            key=str(values["key"]),
            name=str(values["name"]),
            hazard=MaterialClass(str(values["hazard"])),
            melting_c=_sourced(values.get("melting_c"), "C"),
            density=_law(values.get("density")),
            viscosity=_law(values.get("viscosity")),
            tension=_law(values.get("tension")),
            parts=_parts(values.get("parts")),
            names=_texts(values.get("names")),
            notes=str(values.get("notes", "")),
        )
    except (KeyError, TypeError, ValueError, InputError) as error:
        raise _broken(entry) from error


def _solid(entry: _Entry) -> SolidRow:
    values = entry.values
    try:
        density = _sourced(values["density"], "kg/m3")
        if density is None:
            raise TypeError("density")
        return SolidRow(
            str(values["key"]),
            str(values["name"]),
            density,
            _texts(values.get("names")),
            str(values.get("notes", "")),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise _broken(entry) from error


def _broken(entry: _Entry) -> FileTroubleError:
    return FileTroubleError("materials.unreadable", path=str(entry.path), row=str(entry.values.get("key", "")))


def _mapping(value: object) -> Mapping[str, object]:
    if not isinstance(value, dict):
        raise TypeError(value)
    return value


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise TypeError(value)
    return float(value)


def _source(values: Mapping[str, object]) -> str:
    source = str(values["source"]).strip()
    if not source:
        raise ValueError("source")
    return source


def _sourced(value: object, unit: str) -> Sourced | None:
    if value is None:
        return None
    values = _mapping(value)
    return Sourced(_number(values["value"]), unit, _source(values))


def _law(value: object) -> Law | None:
    if value is None:
        return None
    values = _mapping(value)
    low, high = (_number(each) for each in _sequence(values["range_k"]))
    percent = values.get("uncertainty_percent")
    return Law(
        str(values["kind"]),
        tuple(_number(each) for each in _sequence(values["coefficients"])),
        low,
        high,
        None if percent is None else _number(percent),
        _source(values),
    )


def _parts(value: object) -> tuple[tuple[str, float], ...]:
    if value is None:
        return ()
    parts = tuple((str(key), _number(share)) for key, share in _mapping(value).items())
    if abs(sum(share for _, share in parts) - 1.0) > 1e-9 or any(share <= 0 for _, share in parts):
        raise ValueError("parts")
    return parts


def _sequence(value: object) -> list[object]:
    if not isinstance(value, list):
        raise TypeError(value)
    return value


def _texts(value: object) -> tuple[str, ...]:
    return () if value is None else tuple(str(each) for each in _sequence(value))
