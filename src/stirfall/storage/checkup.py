"""A full check of a session file, page by page and reference by reference; it never writes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stirfall.storage.connection import connect, file_errors
from stirfall.storage.inspection import inspect_header

_MOST_PROBLEMS = 20


@dataclass(frozen=True)
class Checkup:
    """What a check found: the schema version of the file, and its problems in SQLite's own words."""

    schema_version: int
    problems: tuple[str, ...]


def examine(path: Path) -> Checkup:
    """Check every page, index and reference of a session file.

    Raises FileTroubleError ``file.*`` for a file that is missing, foreign, newer or cannot be opened at all.
    """
    with file_errors(path):
        version = inspect_header(path)
        connection = connect(path, True)
        try:
            lines = [str(row[0]) for row in connection.execute(f"PRAGMA integrity_check({_MOST_PROBLEMS})")]
            loose = [
                f"row {row[1]} of {row[0]} refers to a missing row of {row[2]}"
                for row in connection.execute("PRAGMA foreign_key_check")
            ]
        finally:
            connection.close()
    return Checkup(version, tuple(line for line in lines if line != "ok") + tuple(loose[:_MOST_PROBLEMS]))
