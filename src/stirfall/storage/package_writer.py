"""Writes a whole campaign into a package: pictures first, then the tables, then the descriptor."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.running import TemperatureLog
from stirfall.storage import package_limits as limits
from stirfall.storage.bulky import count_of, of_kind
from stirfall.storage.edits import StoredPhoto
from stirfall.storage.package_acts import ACKNOWLEDGED
from stirfall.storage.package_bulky import EXAMPLES, LOGS, PHOTOS, READINGS, put_examples, put_photos, readings
from stirfall.storage.package_content import LeftOut, PackageContent, Photos
from stirfall.storage.package_evidence import COMPARISONS, ISSUED, MARKS
from stirfall.storage.package_names import checked_name, clash, shortened
from stirfall.storage.package_plans import EVENINGS, PROOFS
from stirfall.storage.package_runs import REGRADES, RUN_EVENTS, RUNS
from stirfall.storage.package_schema import descriptor_text, file_resource, resource_names, table_resource
from stirfall.storage.package_tables import (
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
from stirfall.storage.package_targets import DESCRIPTOR, Put, Target

NOT_ALWAYS_THERE: tuple[Table[Any], ...] = (
    RUNS,
    RUN_EVENTS,
    REGRADES,
    ACKNOWLEDGED,
    PROOFS,
    EVENINGS,
    COMPARISONS,
    ISSUED,
    MARKS,
    PHOTOS,
    EXAMPLES,
    LOGS,
    READINGS,
)
ALWAYS_THERE = ("settings", "factors", "lots", "jars", "attempts", "corrections", "checklist")
OUR_FILES = frozenset(
    (DESCRIPTOR, *(f"{name}.csv" for name in ALWAYS_THERE), *(table.file_name for table in NOT_ALWAYS_THERE))
)
_CHUNK = 1 << 16

T = TypeVar("T")


@dataclass(frozen=True)
class Written:
    """What a package got: rows by table, what stands beside them, and what was left out."""

    rows: Mapping[str, int]
    extra: tuple[str, ...]
    left_out: LeftOut
    size: int


@dataclass
class _Sizes:
    """A target that adds up what it is given, and stops between two files when it is asked to."""

    target: Target
    token: CancelToken | None
    total: int = 0
    tables: int = 0

    def put(self, name: str, chunks: Iterable[bytes]) -> Put:
        if self.token is not None:
            self.token.raise_if_cancelled()
        put = self.target.put(name, chunks)
        self.total += put.size
        self.tables += put.size if name in OUR_FILES and name != READINGS.file_name else 0
        return put


def write_into(
    target: Target,
    content: PackageContent,
    *,
    photos: Photos = "all",
    originals: bool = True,
    extra: Mapping[str, bytes] | None = None,
    token: CancelToken | None = None,
) -> Written:
    """Write a package and say what it got.

    Raises Cancelled, and InputError ``package.not_finite``, ``package.not_text``, ``package.long_id``,
    ``package.mixed_condition``, ``package.unsafe_name`` or ``package.name_taken``.
    """
    beside = dict(sorted((extra or {}).items()))
    _check_names(beside)
    sizes = _Sizes(target, token)
    numbers = {attempt.id: attempt.number for attempt in content.state.attempts}
    pictures = put_photos(sizes, content.bulky, numbers, photos, originals=originals)
    examples = put_examples(sizes, content.bulky)
    resources: list[object] = []
    rows: dict[str, int] = {}
    for table, records in _tables(content, pictures, examples):
        counted = _Counted(records)
        put = sizes.put(table.file_name, _csv(table, counted))
        resources.append(table_resource(table, put))
        rows[table.name] = counted.count
    names = resource_names(tuple(beside), tuple(rows))
    for path, data in beside.items():
        put = sizes.put(path, (data,))
        if not path.endswith(".json"):  # readers of Data Packages would take it for a part of the descriptor
            resources.append(file_resource(names[path], path, put))
    _check_amount(rows, sizes.tables)
    left_out = _left_out(content, pictures, originals=originals)
    text = descriptor_text(content, resources, left_out)
    sizes.put(DESCRIPTOR, (_encoded(text),))
    return Written(rows, tuple(beside), left_out, sizes.total)


def _check_amount(rows: Mapping[str, int], size: int) -> None:
    """Raise InputError ``package.too_much`` for more than a package may hold: it could not be read again."""
    records = sum(count for name, count in rows.items() if name != READINGS.name)
    if records > limits.MOST_ROWS or rows.get(READINGS.name, 0) > limits.MOST_READINGS or size > limits.MOST_TABLE:
        raise InputError("package.too_much", rows=records, most=limits.MOST_ROWS)


def _check_names(names: Collection[str]) -> None:
    for name in names:
        first = checked_name(name).casefold().split("/")[0]
        if first in OUR_FILES or first in ("photos", "examples"):
            raise InputError("package.name_taken", name=name)
    twice = clash(list(names))
    if twice is not None:
        raise InputError("package.name_taken", name=twice)


def _left_out(content: PackageContent, pictures: Collection[Any], *, originals: bool) -> LeftOut:
    all_photos = count_of(content.bulky, StoredPhoto)
    lost = 0
    if not originals:
        kept = [row.id for row in pictures]
        lost = sum(bool(photo.original) for _, photo in of_kind(content.bulky, StoredPhoto, kept))
    before = content.facts.left_out
    return replace(before, photos=before.photos + all_photos - len(pictures), originals=before.originals + lost)


def _tables(
    content: PackageContent, pictures: Iterable[Any], examples: Iterable[Any]
) -> Iterator[tuple[Table[Any], Iterable[Any]]]:
    """Yield the tables with their records: those that every package has, then those that hold something."""
    state = content.state
    units = {factor.name: factor.unit for factor in state.factors}
    yield SETTINGS, [state.settings]
    yield FACTORS, state.factors
    yield LOTS, state.lots
    yield JARS, state.jars
    yield attempts_table(condition_kinds(state), units), state.attempts
    yield CORRECTIONS, content.corrections
    yield TICKS, state.ticks
    logs = [replace(log, points=()) for _, log in of_kind(content.bulky, TemperatureLog)]
    some: tuple[tuple[Table[Any], Iterable[Any]], ...] = (
        (RUNS, state.runs),
        (RUN_EVENTS, [event for run in state.runs for event in run.events]),
        (REGRADES, state.regrades),
        (ACKNOWLEDGED, state.acknowledged),
        (PROOFS, state.proofs),
        (EVENINGS, state.evenings),
        (COMPARISONS, state.comparisons),
        (ISSUED, state.recipes),
        (MARKS, state.marks),
        (PHOTOS, pictures),
        (EXAMPLES, examples),
        (LOGS, logs),
    )
    for table, records in some:
        if records:
            yield table, records
    if logs:
        yield READINGS, readings(content.bulky)


# ------------------------------------------------------------------------------------------------------------- CSV


@dataclass
class _Counted:
    """Records that are counted while they are written."""

    records: Iterable[Any]
    count: int = 0

    def __iter__(self) -> Iterator[Any]:
        for record in self.records:
            self.count += 1
            yield record


def _csv(table: Table[Any], records: Iterable[Any]) -> Iterator[bytes]:
    """Yield a table as CSV after RFC 4180 in UTF-8, in pieces."""
    lines: list[str] = []
    writer = csv.writer(_Lines(lines))
    for column in table.columns:
        if "\0" in column.name:  # no text file holds it, and a heading has no escapes
            raise InputError("package.not_text", near=shortened(column.name))
    writer.writerow([column.name for column in table.columns])
    size = 0
    for record in records:
        row = table.to_row(record)
        writer.writerow([column.kind.write(row.get(column.name)) for column in table.columns])
        size += len(lines[-1])
        if size > _CHUNK:
            yield _encoded("".join(lines))
            lines.clear()
            size = 0
    yield _encoded("".join(lines))


def _encoded(text: str) -> bytes:
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError as error:
        shown = text[max(error.start - 20, 0) : error.start]
        raise InputError("package.not_text", near=shown) from error


@dataclass(frozen=True)
class _Lines:
    """The smallest thing that a csv writer can write into."""

    lines: list[str]

    def write(self, text: str) -> None:
        """Keep one line."""
        self.lines.append(text)
