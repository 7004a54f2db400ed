"""One writer per session file: an advisory lock on a small file beside it, gone with the process that held it.

The lock is not taken on the session file itself, because closing any handle on that file would drop the locks that
SQLite holds on it (https://www.sqlite.org/howtocorrupt.html, section 2.2).
"""

from __future__ import annotations

import json
import os
import socket
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from stirfall.bench.ages import stamp
from stirfall.bench.errors import FileTroubleError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

# On Windows a locked byte cannot be read by others, so a byte far behind the text is locked.
_LOCKED_BYTE = 1 << 20


def lock_path(path: Path) -> Path:
    """Return the place of the lock file of a session file."""
    real = path.resolve()
    return real.with_name(f".{real.name}.lock")


class WriterLock:
    """The right to write one session file; hold it as long as the file is open for writing."""

    def __init__(self, path: Path) -> None:
        """Take the lock; raises FileTroubleError ``file.in_use`` (host, pid, since) or OSError."""
        self._path = lock_path(path)
        self._handle = self._take(path)

    def _take(self, path: Path) -> int:
        while True:
            handle = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o644)
            try:
                if not _try_lock(handle):
                    raise FileTroubleError("file.in_use", path=str(path), **_read_owner(handle))
                if _is_current(handle, self._path):
                    _write_owner(handle)
                    return handle
            except BaseException:
                os.close(handle)
                raise
            # The owner removed the file between our opening and our locking it: try with the new one.
            os.close(handle)

    def release(self) -> None:
        """Give the lock back and remove its file; doing so twice is harmless."""
        if self._handle < 0:
            return
        if sys.platform != "win32":
            self._path.unlink(missing_ok=True)
        os.close(self._handle)
        if sys.platform == "win32":
            try:
                self._path.unlink(missing_ok=True)
            except OSError:
                return
        self._handle = -1


def writer_of(path: Path) -> Mapping[str, object] | None:
    """Return host, pid and since of the process that has the file open for writing, or None; writes nothing."""
    try:
        handle = os.open(lock_path(path), os.O_RDWR)
    except OSError:
        return None
    try:
        return None if _try_lock(handle) else _read_owner(handle)
    finally:
        os.close(handle)


if sys.platform == "win32":

    def _try_lock(handle: int) -> bool:
        os.lseek(handle, _LOCKED_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _is_current(handle: int, path: Path) -> bool:  # noqa: ARG001
        return True

else:

    def _try_lock(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _is_current(handle: int, path: Path) -> bool:
        try:
            return os.path.samestat(os.fstat(handle), path.stat())
        except FileNotFoundError:
            return False


def _write_owner(handle: int) -> None:
    owner = {"host": socket.gethostname(), "pid": os.getpid(), "since": stamp(datetime.now(UTC))}
    os.lseek(handle, 0, os.SEEK_SET)
    os.ftruncate(handle, 0)
    os.write(handle, json.dumps(owner).encode())


def _read_owner(handle: int) -> dict[str, object]:
    os.lseek(handle, 0, os.SEEK_SET)
    try:
        owner = json.loads(os.read(handle, 4096))
        return {key: owner[key] for key in ("host", "pid", "since")}
    except (ValueError, KeyError, TypeError):
        return {"host": "?", "pid": "?", "since": "?"}
