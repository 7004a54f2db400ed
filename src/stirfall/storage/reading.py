"""Connections for reading only, also to a file whose writer was killed in the middle of a write."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from pathlib import Path

from stirfall.storage.connection import connect
from stirfall.storage.copies import copy_database
from stirfall.storage.migration import migrate


class Reading:
    """A connection that writes nothing to the session file.

    Where a killed process left an unfinished write, only a writer may undo it in place; the reader then undoes
    it in a private copy (``is_recovered``). Attributes: connection, is_recovered (whether that was done).
    """

    def __init__(self, path: Path) -> None:
        """Connect; raises sqlite3.Error or OSError."""
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self._path = path
        self.is_recovered = False
        self.connection = connect(path, True)
        try:
            if _has_unfinished_write(self.connection):
                self.connection.close()
                self.connection = self._recover(path)
        except BaseException:
            self.close()
            raise

    def _recover(self, path: Path) -> sqlite3.Connection:
        self.is_recovered = True
        copy = self._private_folder() / "session"
        # The journal goes first: a copy of the file alone would keep the unfinished write.
        shutil.copyfile(path.with_name(f"{path.name}-journal"), copy.with_name("session-journal"))
        shutil.copyfile(path, copy)
        connection = connect(copy, False)
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        return connection

    def bring_up_to_date(self) -> sqlite3.Connection:
        """Return a connection to a private copy of an older file that was brought up to date.

        Raises FileTroubleError ``file.no_migration`` where no way leads to the present version.
        """
        folder = self._private_folder()
        copy = folder / "up-to-date"
        copy_database(self.connection, copy)
        self.connection.close()
        self.connection = connect(copy, False)
        migrate(self.connection, self._path, copy_to=folder / "before")
        return self.connection

    def _private_folder(self) -> Path:
        if self._folder is None:
            self._folder = tempfile.TemporaryDirectory(prefix="stirfall-", ignore_cleanup_errors=True)
        return Path(self._folder.name)

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
