"""Looking at a file before it is trusted; nothing here writes."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from stirfall.bench.errors import FileTroubleError
from stirfall.storage.schema import APPLICATION_ID, SCHEMA_VERSION, TABLE_NAMES, TABLES

# Offsets in the file header, from https://www.sqlite.org/fileformat.html, section 1.3
_MAGIC = b"SQLite format 3\x00"
_HEADER_SIZE = 100
_USER_VERSION = slice(60, 64)
_APPLICATION_ID = slice(68, 72)


def inspect_header(path: Path) -> int:
    """Return the schema version that a session file states in its first bytes.

    Raises FileTroubleError ``file.missing``, ``file.is_folder``, ``file.foreign``, ``file.newer``, or OSError.
    """
    if path.is_dir():
        raise FileTroubleError("file.is_folder", path=str(path))
    with path.open("rb") as stream:
        header = stream.read(_HEADER_SIZE)
    if not header.startswith(_MAGIC):
        raise FileTroubleError("file.foreign", path=str(path))
    if len(header) < _HEADER_SIZE:
        raise FileTroubleError("file.damaged", path=str(path), detail="the header is cut off")
    if int.from_bytes(header[_APPLICATION_ID], "big") != APPLICATION_ID:
        raise FileTroubleError("file.foreign", path=str(path))
    version = int.from_bytes(header[_USER_VERSION], "big")
    if version > SCHEMA_VERSION:
        raise FileTroubleError("file.newer", path=str(path), version=version, known=SCHEMA_VERSION)
    return version


def is_cut_off(connection: sqlite3.Connection) -> bool:
    """Whether the file is shorter than its pages, if only by some bytes that hold nothing yet.

    SQLite itself does not mind a last page that is not whole; who lost bytes should know it.
    """
    connection.execute("BEGIN")
    try:
        # The read makes sure that no other process is in the middle of a write.
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        (page_size,) = connection.execute("PRAGMA page_size").fetchone()
        (_, _, file) = connection.execute("PRAGMA database_list").fetchone()
        return Path(file).stat().st_size < int(pages) * int(page_size)
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def quick_check(connection: sqlite3.Connection, path: Path) -> None:
    """Raise FileTroubleError ``file.damaged`` unless every page of the file can be used."""
    if is_cut_off(connection):
        raise FileTroubleError("file.damaged", path=str(path), detail="its end is cut off")
    lines = [str(row[0]) for row in connection.execute("PRAGMA quick_check(1)")]
    if lines != ["ok"]:
        raise FileTroubleError("file.damaged", path=str(path), detail="; ".join(lines))


def missing_parts(connection: sqlite3.Connection) -> dict[str, list[str]]:
    """Return, by table, the columns that a session of the present schema has and this file has not."""
    wanted = sqlite3.connect(":memory:")
    try:
        wanted.executescript(TABLES)
        missing = {}
        for table in TABLE_NAMES:
            found = _columns(connection, table)
            missing[table] = [name for name in _columns(wanted, table) if name not in found]
        return {table: columns for table, columns in missing.items() if columns}
    finally:
        wanted.close()


def _columns(connection: sqlite3.Connection, table: str) -> list[str]:
    return [str(row[1]) for row in connection.execute(f"PRAGMA table_info({table})")]
