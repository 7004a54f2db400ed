"""Whole copies of a session file that are complete or absent, never half written."""

from __future__ import annotations

import errno
import os
import sqlite3
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_DATABASE = b"SQLite format 3\0"  # how every SQLite file begins (sqlite.org/fileformat2.html, 1.3.1)
_SESSION_THERE = "A session is there, and only a copy of a session takes its place"


def _is_database(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(_DATABASE)) == _DATABASE
    except OSError:
        return False


def temporary_beside(path: Path) -> Path:
    """Return an unused name in the folder of ``path``, for a file that is to take its place."""
    return path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.part")


def sync_file(path: Path) -> None:
    """Wait until the bytes of a file are on the disk."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Wait until a folder's list of names is on the disk, where the system can say so."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def replacing(target: Path, *, over_session: bool = False) -> Iterator[Path]:
    """Yield the path of a file to be written; when it is whole and on the disk it takes the place of ``target``.

    When the body fails nothing is left of it, and what was there stays. Only a copy of a session may take the place
    of one: a report that is called like the session would end the campaign. Raises FileExistsError otherwise.
    """
    if not over_session and _is_database(target):
        raise FileExistsError(errno.EEXIST, _SESSION_THERE, str(target))
    part = temporary_beside(target)
    try:
        yield part
        sync_file(part)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
    sync_folder(target.parent)


def copy_database(connection: sqlite3.Connection, target: Path) -> None:
    """Write a complete copy of an open database to ``target``, replacing what was there in one step."""
    with replacing(target, over_session=True) as part:
        connection.execute("VACUUM INTO ?", (str(part),))


def write_atomic(target: Path, data: bytes) -> None:
    """Write a small file whole or not at all; what was there stays until the new bytes are on the disk."""
    with replacing(target) as part:
        part.write_bytes(data)


def put_in_place(part: Path, target: Path) -> None:
    """Give a finished file its name; raises FileExistsError when the name is taken by now."""
    sync_file(part)
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:
        # Some file systems know no hard links; the gap between check and rename is then accepted.
        if target.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target)) from None
        part.replace(target)
    part.unlink(missing_ok=True)
    sync_folder(target.parent)
