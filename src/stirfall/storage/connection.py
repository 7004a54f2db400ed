"""Connections to a session file: pragmas, transactions, and SQLite's errors as codes."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from stirfall.bench.errors import FileTroubleError, InputError

BUSY_TIMEOUT_MS = 2000

Connect = Callable[[Path, bool], sqlite3.Connection]

# The low byte of an SQLite result code, from https://www.sqlite.org/rescode.html
_CODES = {
    sqlite3.SQLITE_FULL: "file.disk_full",
    sqlite3.SQLITE_READONLY: "file.not_writable",
    sqlite3.SQLITE_PERM: "file.not_writable",
    sqlite3.SQLITE_IOERR: "file.io_error",
    sqlite3.SQLITE_BUSY: "file.busy",
    sqlite3.SQLITE_LOCKED: "file.busy",
    sqlite3.SQLITE_CORRUPT: "file.damaged",
    sqlite3.SQLITE_NOTADB: "file.damaged",
    sqlite3.SQLITE_CANTOPEN: "file.cannot_open",
}
_ERRNO = {
    errno.ENOSPC: "file.disk_full",
    errno.EDQUOT: "file.disk_full",
    errno.EROFS: "file.not_writable",
    errno.EACCES: "file.no_permission",
    errno.EPERM: "file.no_permission",
    errno.ENOENT: "file.missing",
    errno.ENOTDIR: "file.missing",
    errno.EISDIR: "file.is_folder",
    errno.EEXIST: "file.exists",
}


def connect(path: Path, read_only: bool) -> sqlite3.Connection:
    """Open an existing SQLite file with the pragmas of a session; transactions are always explicit."""
    mode = "ro" if read_only else "rw"
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}",
        uri=True,
        isolation_level=None,
        timeout=BUSY_TIMEOUT_MS / 1000.0,
        check_same_thread=False,  # a large file is opened on a worker and then used by the window alone
    )
    connection.execute("PRAGMA foreign_keys = ON")
    if not read_only:
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA cell_size_check = ON")
    return connection


def trouble_of(error: sqlite3.Error | OSError, path: Path) -> FileTroubleError | None:
    """Return the error of the environment behind ``error``, or None when it is a bug of ours."""
    if isinstance(error, OSError):
        code = _ERRNO.get(error.errno or 0, "file.io_error")
        return FileTroubleError(code, path=str(path), detail=error.strerror or str(error))
    number = getattr(error, "sqlite_errorcode", None)
    if number is None:
        return None
    if number == sqlite3.SQLITE_READONLY_ROLLBACK:
        return FileTroubleError("file.unfinished_write", path=str(path))
    code = _CODES.get(number & 0xFF, "")
    return FileTroubleError(code, path=str(path), detail=str(error)) if code else None


@contextmanager
def file_errors(path: Path) -> Iterator[None]:
    """Turn errors of the environment into FileTroubleError ``file.*``; bugs pass through unchanged."""
    try:
        yield
    except (sqlite3.Error, OSError) as error:
        trouble = trouble_of(error, path)
        if trouble is None:
            raise
        raise trouble from error


@contextmanager
def record_errors(path: Path) -> Iterator[None]:
    """Turn whatever reading tables and records can raise into FileTroubleError: of the environment, or damage.

    Our statements are known to fit a whole file; flipped bytes make SQLite and the records fail in any way.
    """
    try:
        yield
    except FileTroubleError:
        raise
    except (sqlite3.Error, OSError, ValueError, TypeError, LookupError, AttributeError, InputError) as error:
        trouble = trouble_of(error, path) if isinstance(error, (sqlite3.Error, OSError)) else None
        damage = FileTroubleError("file.damaged", path=str(path), detail=str(error))
        raise trouble or damage from error


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Run the body as one transaction: all of it is on disk when this ends, or none of it."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
