"""A whole campaign as open text: a Data Package, that is datapackage.json and RFC 4180 CSV files in one folder.

Descriptor and schemas follow the Data Package and Table Schema standards of Frictionless Data, so that any tool
can read and check them. Reading is all or nothing: every bad cell is listed and no half-read campaign comes out.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.records import CampaignSettings
from stirfall.storage.package_cells import MAYBE_NUMBER, MAYBE_TEXT, CellKind
from stirfall.storage.package_evidence import COMPARISONS, ISSUED, MARKS
from stirfall.storage.package_plans import EVENINGS, PROOFS
from stirfall.storage.package_reader import PackageReader
from stirfall.storage.package_runs import REGRADES, RUN_EVENTS, RUNS
from stirfall.storage.package_tables import (
    CONDITION,
    CORRECTIONS,
    FACTORS,
    JARS,
    LOTS,
    SETTINGS,
    TICKS,
    Table,
    attempts_table,
    condition_kinds,
)
from stirfall.storage.run_rows import with_events

SCHEMA = "stirfall.package/1"
DESCRIPTOR = "datapackage.json"
_NOT_ALWAYS_THERE: tuple[Table[Any], ...] = (
    RUNS,
    RUN_EVENTS,
    REGRADES,
    PROOFS,
    EVENINGS,
    COMPARISONS,
    ISSUED,
    MARKS,
)

T = TypeVar("T")


@dataclass(frozen=True)
class PackageContent:
    """What a package holds: the campaign, its corrections, and the words that describe it."""

    state: CampaignState
    corrections: tuple[Correction, ...]
    description: str = ""


# ---------------------------------------------------------------------------------------------------------- writing


def write_package(
    state: CampaignState, corrections: Sequence[Correction], folder: Path, *, description: str = ""
) -> None:
    """Write the campaign into ``folder``; an older package there is replaced, anything else is left alone.

    The same campaign gives the same bytes. Raises FileTroubleError ``package.folder_in_use`` or
    ``package.cannot_write``, and InputError ``package.not_finite`` or ``package.mixed_condition``.
    """
    if folder.exists() and not (folder / DESCRIPTOR).is_file() and any(folder.iterdir()):
        raise FileTroubleError("package.folder_in_use", path=str(folder))
    files = _rendered(state, corrections, description)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
        try:
            for name, text in files.items():
                (fresh / name).write_text(text, encoding="utf-8", newline="")
            folder.mkdir(exist_ok=True)
            for table in _NOT_ALWAYS_THERE:
                if table.file_name not in files:  # those of the older package would be read as this one's
                    (folder / table.file_name).unlink(missing_ok=True)
            for name in files:  # the descriptor is the last one, so a package without it was never finished
                (fresh / name).replace(folder / name)
        finally:
            shutil.rmtree(fresh, ignore_errors=True)
    except OSError as error:
        raise FileTroubleError("package.cannot_write", path=str(folder), why=error.strerror or "") from error


def _rendered(state: CampaignState, corrections: Sequence[Correction], description: str) -> dict[str, str]:
    units = {factor.name: factor.unit for factor in state.factors}
    attempts = attempts_table(condition_kinds(state), units)
    filled = [
        _filled(SETTINGS, [state.settings]),
        _filled(FACTORS, state.factors),
        _filled(LOTS, state.lots),
        _filled(JARS, state.jars),
        _filled(attempts, state.attempts),
        _filled(CORRECTIONS, corrections),
        _filled(TICKS, state.ticks),
    ]
    events = [event for run in state.runs for event in run.events]
    filled += [_filled(RUNS, state.runs)] if state.runs else []
    filled += [_filled(RUN_EVENTS, events)] if events else []
    filled += [_filled(REGRADES, state.regrades)] if state.regrades else []
    filled += [_filled(PROOFS, state.proofs)] if state.proofs else []
    filled += [_filled(EVENINGS, state.evenings)] if state.evenings else []
    filled += [_filled(COMPARISONS, state.comparisons)] if state.comparisons else []
    filled += [_filled(ISSUED, state.recipes)] if state.recipes else []
    filled += [_filled(MARKS, state.marks)] if state.marks else []
    files = {resource["path"]: text for resource, text in filled}
    descriptor = {
        "profile": "tabular-data-package",
        "name": re.sub(r"[^a-z0-9]+", "-", state.settings.title.lower()).strip("-") or "campaign",
        "title": state.settings.title,
        "description": description,
        "stirfall": {"schema": SCHEMA},
        "resources": [resource for resource, _ in filled],
    }
    return {str(path): text for path, text in files.items()} | {
        DESCRIPTOR: json.dumps(descriptor, ensure_ascii=False, indent=2) + "\n"
    }


def _filled(table: Table[T], records: Sequence[T]) -> tuple[dict[str, object], str]:
    lines: list[str] = []
    writer = csv.writer(_Lines(lines))
    writer.writerow([column.name for column in table.columns])
    for record in records:
        row = table.to_row(record)
        writer.writerow([column.kind.write(row.get(column.name)) for column in table.columns])
    return _resource(table), "".join(lines)


@dataclass(frozen=True)
class _Lines:
    """The smallest thing that a csv writer can write into."""

    lines: list[str]

    def write(self, text: str) -> None:
        """Keep one line."""
        self.lines.append(text)


def _resource(table: Table[T]) -> dict[str, object]:
    fields = [
        {"name": column.name, "type": column.kind.type, "description": column.meaning} for column in table.columns
    ]
    schema: dict[str, object] = {"fields": fields, "missingValues": [""]}
    if table.key:
        schema["primaryKey"] = [table.key]
    if table.links:
        schema["foreignKeys"] = [
            {"fields": [column], "reference": {"resource": target, "fields": ["id"]}}
            for column, target in table.links
        ]
    return {
        "name": table.name,
        "path": table.file_name,
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": schema,
    }


# ---------------------------------------------------------------------------------------------------------- reading


def read_package(folder: Path) -> PackageContent:
    """Read a package whole, or raise and return nothing.

    Raises FileTroubleError (``package.no_descriptor``, ``package.missing_file``, ``package.unreadable``) and
    InputError (``package.foreign``, ``package.newer``, ``package.wrong_header``, ``package.ragged``,
    ``package.bad_cells`` with ``cells``, ``package.bad_row``, ``package.repeated_id``, ``package.unknown_link``,
    ``package.one_settings_row``).
    """
    descriptor = read_descriptor(folder)
    reader = PackageReader(folder)
    settings = reader.records(SETTINGS)
    factors = reader.records(FACTORS)
    lots = reader.records(LOTS)
    jars = reader.records(JARS)
    kinds = _condition_kinds(reader.header("attempts.csv"), {f.name: f.is_choice for f in factors}, descriptor)
    attempts = reader.records(attempts_table(kinds, {}))
    corrections = reader.records(CORRECTIONS)
    ticks = reader.records(TICKS)
    runs = reader.records_if_there(RUNS)
    events = reader.records_if_there(RUN_EVENTS)
    regrades = reader.records_if_there(REGRADES)
    proofs = reader.records_if_there(PROOFS)
    evenings = reader.records_if_there(EVENINGS)
    comparisons = reader.records_if_there(COMPARISONS)
    recipes = reader.records_if_there(ISSUED)
    marks = reader.records_if_there(MARKS)
    reader.finish()
    if len(settings) != 1:
        raise InputError("package.one_settings_row", count=len(settings))
    only: CampaignSettings = settings[0]
    state = CampaignState(
        only,
        tuple(factors),
        tuple(lots),
        tuple(jars),
        tuple(attempts),
        tuple(ticks),
        with_events(runs, events),
        tuple(regrades),
        proofs=tuple(proofs),
        evenings=tuple(evenings),
        comparisons=tuple(comparisons),
        recipes=tuple(recipes),
        marks=tuple(marks),
    )
    return PackageContent(state, tuple(corrections), str(descriptor.get("description", "")))


def read_descriptor(folder: Path) -> Mapping[str, object]:
    """Return the descriptor of a package of ours; raises as ``read_package`` does."""
    path = folder / DESCRIPTOR
    if not path.is_file():
        raise FileTroubleError("package.no_descriptor", path=str(folder))
    try:
        descriptor = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise FileTroubleError("package.unreadable", path=str(path)) from error
    mark = descriptor.get("stirfall") if isinstance(descriptor, dict) else None
    schema = str(mark.get("schema", "")) if isinstance(mark, dict) else ""
    family, _, version = schema.rpartition("/")
    if family != "stirfall.package":
        raise InputError("package.foreign", path=str(path))
    if schema != SCHEMA:
        raise InputError("package.newer", path=str(path), version=version)
    return dict(descriptor)


def _condition_kinds(
    header: Sequence[str], is_choice: Mapping[str, bool], descriptor: Mapping[str, object]
) -> dict[str, CellKind]:
    """A factor tells its own kind; a name that is no factor any more takes the type of the descriptor."""
    typed = _described_types(descriptor)
    kinds = {}
    for heading in header:
        if heading.startswith(CONDITION):
            name = heading.removeprefix(CONDITION)
            text = is_choice.get(name, typed.get(heading) == "string")
            kinds[name] = MAYBE_TEXT if text else MAYBE_NUMBER
    return kinds


def _described_types(descriptor: Mapping[str, object]) -> dict[str, str]:
    try:
        resources = descriptor["resources"]
        attempts = next(item for item in resources if item["name"] == "attempts")  # type: ignore[attr-defined]
        return {item["name"]: item["type"] for item in attempts["schema"]["fields"]}
    except (KeyError, TypeError, StopIteration) as error:
        raise InputError("package.foreign", path=DESCRIPTOR) from error
