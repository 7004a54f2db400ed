"""Bringing an older session file up to date: a backup first, then one transaction per step."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from stirfall.bench.errors import FileTroubleError
from stirfall.storage.connection import transaction
from stirfall.storage.copies import copy_database
from stirfall.storage.schema import EVIDENCE_TABLES, PLAN_TABLES, RUN_TABLES, SCHEMA_VERSION


@dataclass(frozen=True)
class Step:
    """One change of the tables, from the version before ``to_version``."""

    to_version: int
    apply: Callable[[sqlite3.Connection], None]


# What each table of version 1 lacks of version 2; written out, because a later schema may change these again.
ADDED_IN_2: Mapping[str, tuple[str, ...]] = {
    "lot": ("metal_percent REAL", "metal_u_percent REAL", "assays INTEGER"),
    "jar": (
        "inner_diameter_mm REAL",
        "headspace_mm REAL",
        "piece_count INTEGER",
        "piece_mm REAL",
        "metal_area_cm2 REAL",
        "material TEXT NOT NULL DEFAULT ''",
        "oil_history TEXT NOT NULL DEFAULT ''",
        "storage_c REAL",
        "room_rh_percent REAL",
        "contents TEXT NOT NULL DEFAULT 'crude'",
        "look TEXT NOT NULL DEFAULT ''",
        "looked_at TEXT",
    ),
    "attempt": (
        "facts TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(facts))",
        "sheet TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(sheet))",
    ),
}


def _to_2(connection: sqlite3.Connection) -> None:
    for table, columns in ADDED_IN_2.items():
        for column in columns:
            connection.execute(f"ALTER TABLE {table} ADD COLUMN {column}")


ADDED_IN_3: Mapping[str, tuple[str, ...]] = {
    "jar": ("planned INTEGER NOT NULL DEFAULT 0",),
    "attempt": ("run_id TEXT REFERENCES run (id)",),
    "attachment": ("original BLOB",),
}


def _to_3(connection: sqlite3.Connection) -> None:
    _add(connection, RUN_TABLES, ADDED_IN_3)


ADDED_IN_4: Mapping[str, tuple[str, ...]] = {"attempt": ("proof_id TEXT REFERENCES proof (id)",)}


def _to_4(connection: sqlite3.Connection) -> None:
    _add(connection, PLAN_TABLES, ADDED_IN_4)


ADDED_IN_5: Mapping[str, tuple[str, ...]] = {
    "attempt": ("origin TEXT CHECK (origin IS NULL OR json_valid(origin))",)
}


def _to_5(connection: sqlite3.Connection) -> None:
    _add(connection, EVIDENCE_TABLES, ADDED_IN_5)


def _add(connection: sqlite3.Connection, tables: str, added: Mapping[str, tuple[str, ...]]) -> None:
    for statement in tables.split(";"):
        connection.execute(statement)
    for table, columns in added.items():
        for column in columns:
            connection.execute(f"ALTER TABLE {table} ADD COLUMN {column}")


STEPS: tuple[Step, ...] = (Step(2, _to_2), Step(3, _to_3), Step(4, _to_4), Step(5, _to_5))
"""All steps ever, in order; version 1 is the first schema."""


def schema_version(connection: sqlite3.Connection) -> int:
    """Return the schema version of an open file."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    return int(version)


def migrate(
    connection: sqlite3.Connection,
    path: Path,
    *,
    steps: Sequence[Step] = STEPS,
    target: int = SCHEMA_VERSION,
    copy_to: Path | None = None,
) -> Path | None:
    """Bring an open file to ``target`` and return the backup that was made, or None when nothing was to do.

    The backup is ``copy_to``, or stands beside ``path``.

    Raises FileTroubleError ``file.no_migration`` when a step is missing; the file is then untouched. A step that
    fails leaves the file at the version before it, and the backup beside it.
    """
    version = schema_version(connection)
    if version == target:
        return None
    pending = [step for step in steps if version < step.to_version <= target]
    if [step.to_version for step in pending] != list(range(version + 1, target + 1)):
        raise FileTroubleError("file.no_migration", path=str(path), version=version, wanted=target)
    backup = copy_to or _backup_path(path, version)
    copy_database(connection, backup)
    for step in pending:
        with transaction(connection):
            step.apply(connection)
            connection.execute(f"PRAGMA user_version = {step.to_version}")
    return backup


def _backup_path(path: Path, version: int) -> Path:
    number = 1
    while True:
        ending = "" if number == 1 else f"-{number}"
        candidate = path.with_name(f"{path.stem}.schema-{version}{ending}{path.suffix}")
        if not candidate.exists():
            return candidate
        number += 1
