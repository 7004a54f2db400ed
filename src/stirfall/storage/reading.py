"""Connections for reading only, also to a file whose writer was killed in the middle of a write."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from pathlib import Path

from stirfall.storage.connection import connect


class Reading:
    """A connection that writes nothing to the session file.

    Where a killed process left an unfinished write, only a writer may undo it in place; the reader then undoes
    it in a private copy (``is_recovered``). Attributes: connection, is_recovered.
    """

    def __init__(self, path: Path) -> None:
        """Connect; raises sqlite3.Error or OSError."""
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self.connection = connect(path, True)
        try:
            if _has_unfinished_write(self.connection):
                self.connection.close()
                self.connection = self._recover(path)
        except BaseException:
            self.close()
            raise

    @property
    def is_recovered(self) -> bool:
        """Whether an unfinished write was undone in a private copy."""
        return self._folder is not None

    def _recover(self, path: Path) -> sqlite3.Connection:
        self._folder = tempfile.TemporaryDirectory(prefix="stirfall-", ignore_cleanup_errors=True)
        copy = Path(self._folder.name) / "session"
        # The journal goes first: a copy of the file alone would keep the unfinished write.
        shutil.copyfile(path.with_name(f"{path.name}-journal"), copy.with_name("session-journal"))
        shutil.copyfile(path, copy)
        connection = connect(copy, False)
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        return connection

    def close(self) -> None:
        """Close the connection and remove the private copy."""
        self.connection.close()
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None


def _has_unfinished_write(connection: sqlite3.Connection) -> bool:
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.OperationalError as error:
        if getattr(error, "sqlite_errorcode", None) != sqlite3.SQLITE_READONLY_ROLLBACK:
            raise
        return True
    return False
