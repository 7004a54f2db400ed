"""Photos, examples of the classes and temperature logs: each is loaded when asked for, never all at once."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar, cast, overload

from stirfall.bench.ages import read_stamp
from stirfall.bench.running import TemperatureLog
from stirfall.storage.edits import Bulky, StoredAnchor, StoredPhoto
from stirfall.storage.run_rows import LOG_COLUMNS, read_log

Pair = tuple[str, Bulky]
_Kind = TypeVar("_Kind", StoredPhoto, StoredAnchor, TemperatureLog)


@dataclass(frozen=True)
class Item:
    """One record that is loaded when it is asked for: its id, its kind, and how it comes out of what is open.

    ``subject`` is the id of its attempt, or the class of outcome of an example.
    """

    id: str
    kind: type[Bulky]
    load: Callable[[Any], Bulky]
    subject: str = ""


class LazyBulky(Sequence[Pair]):
    """Records by their ids that are loaded one by one; equal to any sequence of equal pairs."""

    def __init__(self, items: Sequence[Item], opened: Callable[[], AbstractContextManager[Any]]) -> None:
        self.items = tuple(items)
        self._opened = opened

    def __len__(self) -> int:
        return len(self.items)

    def __iter__(self) -> Iterator[Pair]:
        return self.loaded(self.items)

    @overload
    def __getitem__(self, place: int) -> Pair: ...
    @overload
    def __getitem__(self, place: slice) -> LazyBulky: ...
    def __getitem__(self, place: int | slice) -> Pair | LazyBulky:
        if isinstance(place, slice):
            return LazyBulky(self.items[place], self._opened)
        return next(self.loaded((self.items[place],)))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, (tuple, list, LazyBulky)):
            return NotImplemented
        return len(self) == len(other) and all(mine == theirs for mine, theirs in zip(self, other, strict=True))

    def __hash__(self) -> int:
        return hash(tuple(item.id for item in self.items))

    def loaded(self, items: Iterable[Item]) -> Iterator[Pair]:
        """Yield the records of these items, one by one."""
        with self._opened() as opened:
            for item in items:
                yield item.id, item.load(opened)


def of_kind(
    bulky: Sequence[Pair], kind: type[_Kind], ids: Iterable[str] | None = None
) -> Iterator[tuple[str, _Kind]]:
    """Yield the records of one kind, of these ids where some are given, without loading any other."""
    wanted = None if ids is None else frozenset(ids)
    if isinstance(bulky, LazyBulky):
        items = [item for item in bulky.items if item.kind is kind and (wanted is None or item.id in wanted)]
        if items:
            yield from cast("Iterator[tuple[str, _Kind]]", bulky.loaded(items))
        return
    for record_id, record in bulky:
        if isinstance(record, kind) and (wanted is None or record_id in wanted):
            yield record_id, record


def count_of(bulky: Sequence[Pair], kind: type[Bulky]) -> int:
    """Return how many records of one kind there are, without loading any."""
    if isinstance(bulky, LazyBulky):
        return sum(item.kind is kind for item in bulky.items)
    return sum(isinstance(record, kind) for _, record in bulky)


# --------------------------------------------------------------------------------------------------- a session file

_PHOTO_IDS = (
    "SELECT id, attempt_id FROM attachment WHERE withdrawn = 0 "
    "AND attempt_id IN (SELECT id FROM attempt WHERE withdrawn = 0) ORDER BY seq"
)
_LOG_IDS = (
    "SELECT id, attempt_id FROM temperature_log WHERE withdrawn = 0 "
    "AND attempt_id IN (SELECT id FROM attempt WHERE withdrawn = 0) ORDER BY seq"
)
_ANCHOR_IDS = "SELECT id, outcome FROM anchor WHERE withdrawn = 0 ORDER BY seq"


def bulky_of(connection: sqlite3.Connection) -> LazyBulky:
    """Return what an open session file keeps beside its state; what was withdrawn is left out."""
    kinds: tuple[tuple[str, type[Bulky], Callable[[str, sqlite3.Connection], Bulky]], ...] = (
        (_PHOTO_IDS, StoredPhoto, _photo),
        (_ANCHOR_IDS, StoredAnchor, _anchor),
        (_LOG_IDS, TemperatureLog, _log),
    )
    items = [
        Item(str(record_id), kind, partial(read, str(record_id)), str(subject))
        for sql, kind, read in kinds
        for record_id, subject in connection.execute(sql)
    ]
    return LazyBulky(items, lambda: nullcontext(connection))


def _row(connection: sqlite3.Connection, sql: str, record_id: str) -> tuple[Any, ...]:
    row = connection.execute(sql, (record_id,)).fetchone()
    return cast("tuple[Any, ...]", row)


def _photo(record_id: str, connection: sqlite3.Connection) -> StoredPhoto:
    sql = "SELECT attempt_id, name, media_type, added_at, data, original FROM attachment WHERE id = ?"
    attempt_id, name, media_type, added_at, data, original = _row(connection, sql, record_id)
    return StoredPhoto(attempt_id, name, media_type, read_stamp(added_at), bytes(data), bytes(original or b""))


def _anchor(record_id: str, connection: sqlite3.Connection) -> StoredAnchor:
    sql = "SELECT outcome, name, media_type, added_at, data FROM anchor WHERE id = ?"
    outcome, name, media_type, added_at, data = _row(connection, sql, record_id)
    return StoredAnchor(outcome, name, media_type, read_stamp(added_at), bytes(data))


def _log(record_id: str, connection: sqlite3.Connection) -> TemperatureLog:
    return read_log(_row(connection, f"SELECT {LOG_COLUMNS} FROM temperature_log WHERE id = ?", record_id))  # noqa: S608


_WITHDRAWN_KINDS = (
    "lot",
    "jar",
    "attempt",
    "tick",
    "attachment",
    "run",
    "run_event",
    "regrade",
    "acknowledgement",
    "anchor",
    "temperature_log",
    "proof",
    "evening_plan",
    "comparison",
    "issued_recipe",
    "change_mark",
)


def undone_records(connection: sqlite3.Connection) -> int:
    """Return how many records were withdrawn: they are in the file and in nothing that leaves the program."""
    counts = " + ".join(f"(SELECT count(*) FROM {table} WHERE withdrawn = 1)" for table in _WITHDRAWN_KINDS)  # noqa: S608
    (total,) = connection.execute(f"SELECT {counts}").fetchone()
    return int(total)
