"""Reads a whole package, from wherever it comes, or raises and returns nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import closing
from datetime import datetime
from typing import cast

from stirfall.bench.ages import read_stamp
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.factors import Factor
from stirfall.bench.records import CampaignSettings
from stirfall.storage import package_limits as limits
from stirfall.storage.bulky import LazyBulky
from stirfall.storage.package_acts import ACKNOWLEDGED
from stirfall.storage.package_bulky import (
    EXAMPLES,
    LOGS,
    PHOTOS,
    READINGS,
    example_items,
    log_items,
    photo_items,
)
from stirfall.storage.package_cells import MAYBE_NUMBER, MAYBE_TEXT, CellKind
from stirfall.storage.package_content import LeftOut, PackageContent, PackageFacts
from stirfall.storage.package_evidence import COMPARISONS, ISSUED, MARKS
from stirfall.storage.package_names import is_safe, shortened
from stirfall.storage.package_plans import EVENINGS, PROOFS
from stirfall.storage.package_reader import PackageReader
from stirfall.storage.package_runs import REGRADES, RUN_EVENTS, RUNS
from stirfall.storage.package_schema import OLDER_SCHEMAS, SCHEMA
from stirfall.storage.package_sources import OpenSource, Source
from stirfall.storage.package_tables import (
    CONDITION,
    CORRECTIONS,
    FACTORS,
    JARS,
    LOTS,
    SETTINGS,
    TICKS,
    attempts_table,
)
from stirfall.storage.package_targets import DESCRIPTOR
from stirfall.storage.run_rows import with_events

_MOST_WORDS = 100_000


def read_content(opened: OpenSource) -> PackageContent:
    """Read a package whole; ``opened`` opens it, now and whenever a photo is asked for."""
    with opened() as source:
        descriptor = descriptor_of(source)
        _check_paths(descriptor)
        reader = PackageReader(source)
        state = _state(reader, descriptor)
        corrections = tuple(reader.records(CORRECTIONS))
        photos, examples = reader.records_if_there(PHOTOS), reader.records_if_there(EXAMPLES)
        logs = reader.records_if_there(LOGS)
        reader.most += limits.MOST_TABLE  # readings are kept packed, apart from the records
        points = reader.stream(READINGS) if reader.has(READINGS.file_name) else iter(())
        log_records = log_items(logs, points)
        reader.finish()
        items = [*photo_items(source, photos), *example_items(source, examples), *log_records]
    bulky = LazyBulky(items, opened) if items else ()
    return PackageContent(state, corrections, _words(descriptor.get("description")), bulky, _facts(descriptor))


def _state(reader: PackageReader, descriptor: Mapping[str, object]) -> CampaignState:
    settings = reader.records(SETTINGS)
    factors = tuple(reader.records(FACTORS))
    lots = tuple(reader.records(LOTS))
    jars = tuple(reader.records(JARS))
    kinds = _condition_kinds(reader.header("attempts.csv"), factors, descriptor)
    attempts = tuple(reader.records(attempts_table(kinds, {})))
    ticks = tuple(reader.records(TICKS))
    runs = reader.records_if_there(RUNS)
    state = CampaignState(
        settings[0] if settings else CampaignSettings(),
        factors,
        lots,
        jars,
        attempts,
        ticks,
        with_events(runs, reader.records_if_there(RUN_EVENTS)),
        tuple(reader.records_if_there(REGRADES)),
        tuple(reader.records_if_there(ACKNOWLEDGED)),
        tuple(reader.records_if_there(PROOFS)),
        tuple(reader.records_if_there(EVENINGS)),
        tuple(reader.records_if_there(COMPARISONS)),
        tuple(reader.records_if_there(ISSUED)),
        tuple(reader.records_if_there(MARKS)),
    )
    reader.finish()
    if len(settings) != 1:
        raise InputError("package.one_settings_row", count=len(settings))
    return state


def _condition_kinds(
    header: Sequence[str], factors: Sequence[Factor], descriptor: Mapping[str, object]
) -> dict[str, CellKind]:
    """A factor tells its own kind; a name that is no factor any more takes the type of the descriptor."""
    is_choice = {factor.name: factor.is_choice for factor in factors}
    typed = _described_types(descriptor)
    kinds = {}
    for heading in header:
        if heading.startswith(CONDITION) and len(heading) <= limits.MOST_HEADING:
            name = heading.removeprefix(CONDITION)
            text = is_choice.get(name, typed.get(heading) == "string")
            kinds[name] = MAYBE_TEXT if text else MAYBE_NUMBER
    return kinds


# ------------------------------------------------------------------------------------------------------ descriptor


def descriptor_of(source: Source) -> Mapping[str, object]:
    """Return the descriptor of a package of ours.

    Raises FileTroubleError ``package.no_descriptor`` or ``package.unreadable``, InputError ``package.foreign`` or
    ``package.newer``.
    """
    place = f"{source.place}: {DESCRIPTOR}"
    if DESCRIPTOR not in source.names():
        raise FileTroubleError("package.no_descriptor", path=source.place)
    with closing(source.open(DESCRIPTOR, limits.MOST_DESCRIPTOR)) as file:
        data = b"".join(iter(lambda: file.read(1 << 16), b""))
    try:
        descriptor = json.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise FileTroubleError("package.unreadable", path=place) from error
    mark = descriptor.get("stirfall") if isinstance(descriptor, dict) else None
    schema = _words(mark.get("schema")) if isinstance(mark, dict) else ""
    family, _, version = schema.rpartition("/")
    if family != "stirfall.package":
        raise InputError("package.foreign", path=place)
    if schema not in (SCHEMA, *OLDER_SCHEMAS):
        raise InputError("package.newer", path=place, version=shortened(version))
    return dict(descriptor)


def _words(value: object) -> str:
    """Return text of the descriptor that a session can hold, "" for anything else."""
    if not isinstance(value, str):
        return ""
    return value[:_MOST_WORDS].encode("utf-8", "replace").decode("utf-8")


def _resources(descriptor: Mapping[str, object]) -> list[Mapping[str, object]]:
    found = descriptor.get("resources")
    if not isinstance(found, list) or not all(isinstance(each, dict) for each in found):
        raise InputError("package.foreign", path=DESCRIPTOR)
    return cast("list[Mapping[str, object]]", found)


def _check_paths(descriptor: Mapping[str, object]) -> None:
    """Raise InputError ``package.path_outside`` where a resource would be read from outside the package."""
    for resource in _resources(descriptor):
        path = resource.get("path", "")
        for each in path if isinstance(path, list) else [path]:
            if not isinstance(each, str) or not is_safe(each):
                raise InputError("package.path_outside", path=shortened(str(each)))


def _described_types(descriptor: Mapping[str, object]) -> dict[object, object]:
    try:
        attempts = next(item for item in _resources(descriptor) if item.get("name") == "attempts")
        return {item["name"]: item["type"] for item in attempts["schema"]["fields"]}  # type: ignore[index]
    except (LookupError, TypeError, StopIteration) as error:
        raise InputError("package.foreign", path=DESCRIPTOR) from error


def _facts(descriptor: Mapping[str, object]) -> PackageFacts:
    """Return what the descriptor tells of its origin; what makes no sense is left out, it decides nothing."""
    ours = cast("Mapping[str, object]", descriptor["stirfall"])
    told = ours.get("left_out")
    counts = told if isinstance(told, dict) else {}
    known = {name: counts.get(name, 0) for name in vars(LeftOut())}
    left_out = {name: count if type(count) is int and 0 <= count < 10**9 else 0 for name, count in known.items()}
    return PackageFacts(
        _moment(descriptor.get("created")),
        next(iter(_listed(descriptor.get("sources"), "title")), ""),
        _words(ours.get("program")),
        _listed(descriptor.get("licenses"), "name"),
        LeftOut(**left_out),
    )


def _moment(value: object) -> datetime | None:
    try:
        return read_stamp(_words(value)[:64])
    except InputError:
        return None


def _listed(value: object, name: str) -> tuple[str, ...]:
    items = value if isinstance(value, list) else []
    return tuple(text for each in items[:100] if isinstance(each, dict) and (text := _words(each.get(name))))
