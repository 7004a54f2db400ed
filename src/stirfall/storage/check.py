"""A full check of a session file: pages, references, tables, records; it never writes."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.bench.outcomes import Outcome
from stirfall.storage.connection import record_errors
from stirfall.storage.inspection import inspect_header, is_cut_off, missing_parts
from stirfall.storage.loading import load
from stirfall.storage.migration import schema_version
from stirfall.storage.reading import Reading
from stirfall.storage.run_rows import LOG_COLUMNS, read_log
from stirfall.storage.schema import SCHEMA_VERSION

_MOST_FINDINGS = 20
_COUNTED = ("lot", "jar", "attempt", "correction", "attachment")
_COUNTED_IF_KEPT = (
    "run",
    "run_event",
    "regrade",
    "temperature_log",
    "anchor",
    "proof",
    "evening_plan",
    "comparison",
    "issued_recipe",
    "change_mark",
)
# What a record that counts may not refer to: one that was taken back. Columns by table, with the table they name.
_LIVE_LINKS = (
    ("jar", "lot_id", "lot"),
    ("attempt", "lot_id", "lot"),
    ("attempt", "jar_id", "jar"),
    ("attempt", "run_id", "run"),
    ("attempt", "proof_id", "proof"),
    ("run", "jar_id", "jar"),
    ("run", "lot_id", "lot"),
    ("run", "attempt_id", "attempt"),
    ("run_event", "run_id", "run"),
    ("regrade", "attempt_id", "attempt"),
    ("attachment", "attempt_id", "attempt"),
    ("temperature_log", "attempt_id", "attempt"),
)


@dataclass(frozen=True)
class CheckFinding:
    """One thing that a check found: a code, what fills its sentence, and whether it is a problem or a mere note."""

    code: str
    params: dict[str, object] = field(default_factory=dict)
    is_problem: bool = True


def check_file(path: Path) -> tuple[CheckFinding, ...]:
    """Check every page, reference, table and record of a session file; the counts come last, as a note.

    A file that is missing, foreign, newer or cannot be read gives its ``file.*`` code as the one finding.
    """
    try:
        with record_errors(path):
            inspect_header(path)
            reading = Reading(path)
    except StirfallError as error:
        return (CheckFinding(error.code, dict(error.params)),)
    try:
        notes = [CheckFinding("check.unfinished_write", is_problem=False)] if reading.is_recovered else []
        with record_errors(path):
            return (*notes, *_findings(reading.connection))
    except FileTroubleError as error:
        return (CheckFinding(error.code, dict(error.params)),)
    finally:
        reading.close()


def _findings(connection: sqlite3.Connection) -> Iterator[CheckFinding]:
    problems = list(_pages(connection))
    problems = problems or [*_tables(connection), *_references(connection)]
    yield from problems
    if problems or schema_version(connection) != SCHEMA_VERSION:
        return
    try:
        load(connection)
        _read_what_is_not_loaded(connection)
    except (sqlite3.Error, ValueError, TypeError, LookupError, AttributeError, InputError) as error:
        yield CheckFinding("check.record", {"detail": str(error)})
    yield from _taken_back(connection)
    yield CheckFinding("check.counts", _counts(connection), is_problem=False)


def _pages(connection: sqlite3.Connection) -> Iterator[CheckFinding]:
    if is_cut_off(connection):
        yield CheckFinding("check.page", {"detail": "the end of the file is cut off"})
    for (line,) in connection.execute(f"PRAGMA integrity_check({_MOST_FINDINGS})"):
        if line != "ok":
            yield CheckFinding("check.page", {"detail": str(line)})


def _references(connection: sqlite3.Connection) -> Iterator[CheckFinding]:
    rows = connection.execute("PRAGMA foreign_key_check").fetchmany(_MOST_FINDINGS)
    for table, row, parent, _ in rows:
        yield CheckFinding("check.reference", {"table": table, "row": row, "parent": parent})


def _tables(connection: sqlite3.Connection) -> Iterator[CheckFinding]:
    if schema_version(connection) != SCHEMA_VERSION:
        yield CheckFinding("check.older", {"version": schema_version(connection)}, is_problem=False)
        return
    for table, missing in missing_parts(connection).items():
        yield CheckFinding("check.table", {"table": table, "missing": ", ".join(missing)})


def _read_what_is_not_loaded(connection: sqlite3.Connection) -> None:
    """Read what a session fetches only when it is asked for; raises what reading raises."""
    for row in connection.execute(f"SELECT {LOG_COLUMNS} FROM temperature_log"):  # noqa: S608 - our own names
        read_log(row)
    for (word,) in connection.execute("SELECT outcome FROM anchor"):
        Outcome(word)


def _taken_back(connection: sqlite3.Connection) -> Iterator[CheckFinding]:
    """Find records that count and refer to one that was taken back, and runs whose attempt is of another run."""
    for table, column, parent in _LIVE_LINKS:
        found = connection.execute(
            f"SELECT a.seq FROM {table} a JOIN {parent} b ON b.id = a.{column} "  # noqa: S608 - our own names
            "WHERE a.withdrawn = 0 AND b.withdrawn = 1"
        ).fetchmany(_MOST_FINDINGS)
        yield from (
            CheckFinding("check.taken_back", {"table": table, "row": row, "parent": parent}) for (row,) in found
        )
    differing = connection.execute(
        "SELECT r.seq FROM run r JOIN attempt a ON a.id = r.attempt_id "
        "WHERE r.withdrawn = 0 AND a.run_id IS NOT r.id "
        "UNION SELECT r.seq FROM attempt a JOIN run r ON r.id = a.run_id "
        "WHERE a.withdrawn = 0 AND r.attempt_id IS NOT a.id"
    ).fetchmany(_MOST_FINDINGS)
    yield from (CheckFinding("check.run_differs", {"row": row}) for (row,) in differing)


def _counts(connection: sqlite3.Connection) -> dict[str, object]:
    def count(source: str) -> int:
        return int(connection.execute(f"SELECT count(*) FROM {source}").fetchone()[0])  # noqa: S608 - our own names

    return {
        **{f"{table}s": count(table) for table in _COUNTED},
        **{f"{table}s": count(f"{table} WHERE withdrawn = 0") for table in _COUNTED_IF_KEPT},
        "struck": count("attempt WHERE struck_reason IS NOT NULL AND withdrawn = 0"),
        "withdrawn": count("attempt WHERE withdrawn = 1"),
    }
