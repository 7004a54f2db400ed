"""One session file that is open: the only place where a session is read from and written to disk."""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import cast

from stirfall.bench.ages import stamp
from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.errors import FileTroubleError, StirfallError
from stirfall.bench.running import TemperatureLog
from stirfall.storage import rows
from stirfall.storage.bulky import LazyBulky, bulky_of, undone_records
from stirfall.storage.connection import Connect, connect, file_errors, record_errors, transaction
from stirfall.storage.copies import copy_database, put_in_place, temporary_beside
from stirfall.storage.edits import Bulky, Edit
from stirfall.storage.inspection import inspect_header, missing_parts, quick_check
from stirfall.storage.loading import Loaded, load
from stirfall.storage.lock import WriterLock, lock_path, writer_of
from stirfall.storage.migration import migrate, schema_version
from stirfall.storage.reading import Reading
from stirfall.storage.run_rows import LOG_COLUMNS, read_log
from stirfall.storage.schema import APPLICATION_ID, SCHEMA_VERSION, TABLES
from stirfall.storage.writing import LogEntry, write_all, write_edits, write_factors, write_settings


@dataclass(frozen=True)
class Photo:
    """A photo as it is shown; ``original_size`` is that of the kept original in bytes, 0 when none is kept."""

    name: str
    media_type: str
    data: bytes = field(repr=False)
    id: str = ""
    original_size: int = 0


def create_session_file(
    path: Path,
    state: CampaignState,
    corrections: Sequence[Correction],
    *,
    created_at: datetime,
    bulky: Iterable[tuple[str, Bulky]] = (),
) -> None:
    """Write a new session file under a name that is free; complete, or not there at all.

    ``bulky`` are photos, examples and temperature logs by their ids.

    Raises FileTroubleError ``file.exists``, ``file.no_folder``, ``file.folder_closed`` and other ``file.*``.
    """
    if path.is_symlink() or path.exists():
        raise FileTroubleError("file.exists", path=str(path))
    if not path.parent.is_dir():
        raise FileTroubleError("file.no_folder", path=str(path), folder=str(path.parent))
    part = temporary_beside(path)
    with file_errors(path):
        try:
            _make_empty(part, path)
            _fill(part, state, corrections, created_at, bulky)
            put_in_place(part, path)
        finally:
            part.unlink(missing_ok=True)


def _make_empty(part: Path, path: Path) -> None:
    """Make an empty file; raises FileTroubleError ``file.folder_closed`` where the folder takes no new file."""
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o644))
    except OSError as error:
        if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
            raise FileTroubleError("file.folder_closed", path=str(path), folder=str(path.parent)) from error
        raise


def _fill(
    part: Path,
    state: CampaignState,
    corrections: Sequence[Correction],
    created_at: datetime,
    bulky: Iterable[tuple[str, Bulky]],
) -> None:
    connection = connect(part, False)
    try:
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("PRAGMA defer_foreign_keys = ON")  # runs and attempts name each other
        for statement in TABLES.split(";"):
            connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
        connection.execute("INSERT INTO meta (key, value) VALUES ('created_at', ?)", (stamp(created_at),))
        write_settings(connection, state.settings)
        write_factors(connection, state.factors)
        write_all(connection, state, corrections, bulky)
        connection.execute("COMMIT")
    finally:
        connection.close()


class SessionFile:
    """An open session file; the second opener, and one who may not write, reads only and is told why."""

    def __init__(self, path: Path, *, read_only: bool = False, connect_with: Connect = connect) -> None:
        """Open the file.

        Raises FileTroubleError ``file.*`` for a file that is missing, foreign, newer, damaged or unreadable;
        such a file is left as it is, byte for byte.
        """
        self.path = path
        self.read_only_reason: StirfallError | None = None
        self._lock: WriterLock | None = None
        self._reading: Reading | None = None
        with file_errors(path):
            inspect_header(path)
            if read_only:
                self.read_only_reason = FileTroubleError("file.read_only_wanted", path=str(path))
            else:
                self._lock = self._take_lock()
            try:
                self._connect(connect_with)
                self._prepare()
            except BaseException:
                self.close()
                raise

    @property
    def read_only(self) -> bool:
        """Whether nothing can be written."""
        return self.read_only_reason is not None

    def _take_lock(self) -> WriterLock | None:
        if not os.access(self.path, os.W_OK) or not os.access(self.path.resolve().parent, os.W_OK):
            self.read_only_reason = FileTroubleError("file.not_writable", path=str(self.path), detail="")
            return None
        try:
            return WriterLock(self.path)
        except FileTroubleError as reason:
            self.read_only_reason = reason
        except OSError as error:
            self.read_only_reason = FileTroubleError(
                "file.lock_failed", path=str(self.path), detail=error.strerror or str(error)
            )
        return None

    def _connect(self, connect_with: Connect) -> None:
        if self.read_only and connect_with is connect:
            with record_errors(self.path):
                self._reading = Reading(self.path)
            self._connection = self._reading.connection
        else:
            self._connection = connect_with(self.path, self.read_only)

    def _prepare(self) -> None:
        with record_errors(self.path):
            quick_check(self._connection, self.path)
        if not self.read_only:
            self._connection.execute("PRAGMA journal_mode = DELETE")
            migrate(self._connection, self.path)
        elif schema_version(self._connection) < SCHEMA_VERSION and self._reading is not None:
            self._connection = self._reading.bring_up_to_date()
        with record_errors(self.path):
            for table, columns in missing_parts(self._connection).items():
                detail = f"the table {table} lacks {', '.join(columns)}"
                raise FileTroubleError("file.damaged", path=str(self.path), detail=detail)
        self._data_version = self._read_data_version()
        self._identity = self.path.stat()

    def _read_data_version(self) -> int:
        return cast("int", self._connection.execute("PRAGMA data_version").fetchone()[0])

    def load(self) -> Loaded:
        """Read the whole session; raises FileTroubleError ``file.damaged`` when a record makes no sense."""
        with record_errors(self.path):
            return load(self._connection)

    def write(self, edits: Sequence[Edit], entry: LogEntry) -> None:
        """Write one command as one transaction; on FileTroubleError ``file.*`` nothing was written."""
        with self._writing():
            write_edits(self._connection, edits, entry)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        if self.read_only_reason is not None:
            raise FileTroubleError("session.read_only", path=str(self.path))
        with file_errors(self.path):
            self._refuse_if_moved()
            with transaction(self._connection):
                if self._read_data_version() != self._data_version:
                    raise FileTroubleError("file.changed_elsewhere", path=str(self.path))
                yield

    def _refuse_if_moved(self) -> None:
        # SQLite would go on writing to a file that was deleted or replaced, and the writes would be lost.
        try:
            now = self.path.stat()
        except FileNotFoundError:
            raise FileTroubleError("file.gone", path=str(self.path)) from None
        if not os.path.samestat(now, self._identity):
            raise FileTroubleError("file.replaced", path=str(self.path))

    def number_or_id_taken(self, attempt_id: str, number: int) -> bool:
        """Whether an attempt, also a withdrawn one, has this id or this number."""
        sql = "SELECT 1 FROM attempt WHERE id = ? OR number = ?"
        with file_errors(self.path):
            return self._connection.execute(sql, (attempt_id, number)).fetchone() is not None

    def corrections(self, record_id: str | None = None) -> tuple[Correction, ...]:
        """Return what was changed of one record, or of all, in the order in which it happened."""
        where = "" if record_id is None else "WHERE record_id = ?"
        parameters = () if record_id is None else (record_id,)
        sql = f"SELECT {rows.CORRECTION_COLUMNS} FROM correction {where} ORDER BY seq"  # noqa: S608 - our own names
        with record_errors(self.path):
            return tuple(map(rows.read_correction, self._connection.execute(sql, parameters)))

    def photos(self, attempt_id: str) -> tuple[Photo, ...]:
        """Return the photos of one attempt."""
        sql = (
            "SELECT name, media_type, data, id, coalesce(length(original), 0) FROM attachment "
            "WHERE attempt_id = ? AND withdrawn = 0 ORDER BY seq"
        )
        with file_errors(self.path):
            return tuple(Photo(*row) for row in self._connection.execute(sql, (attempt_id,)))

    def original(self, photo_id: str) -> bytes:
        """Return the original of a photo, empty where none is kept."""
        with file_errors(self.path):
            row = self._connection.execute("SELECT original FROM attachment WHERE id = ?", (photo_id,)).fetchone()
        return b"" if row is None or row[0] is None else bytes(row[0])

    def photographed(self) -> frozenset[str]:
        """Return the ids of the attempts that have photos."""
        sql = "SELECT DISTINCT attempt_id FROM attachment WHERE withdrawn = 0"
        with file_errors(self.path):
            return frozenset(str(row[0]) for row in self._connection.execute(sql))

    def logged(self) -> frozenset[str]:
        """Return the ids of the attempts that have temperature logs."""
        sql = "SELECT DISTINCT attempt_id FROM temperature_log WHERE withdrawn = 0"
        with file_errors(self.path):
            return frozenset(str(row[0]) for row in self._connection.execute(sql))

    def anchors(self) -> dict[str, Photo]:
        """Return the newest example photo of each class of outcome, by the word of the class."""
        sql = "SELECT outcome, name, media_type, data, id FROM anchor WHERE withdrawn = 0 ORDER BY seq"
        with file_errors(self.path):
            return {str(row[0]): Photo(*row[1:]) for row in self._connection.execute(sql)}

    def logs(self, attempt_id: str) -> tuple[TemperatureLog, ...]:
        """Return the temperature logs of one attempt."""
        sql = f"SELECT {LOG_COLUMNS} FROM temperature_log WHERE attempt_id = ? AND withdrawn = 0 ORDER BY seq"  # noqa: S608
        with record_errors(self.path):
            return tuple(map(read_log, self._connection.execute(sql, (attempt_id,))))

    def bulky(self) -> LazyBulky:
        """Return all photos, examples and logs that were not withdrawn, each loaded when it is asked for."""
        with file_errors(self.path):
            return bulky_of(self._connection)

    def undone_count(self) -> int:
        """Return how many records are in the file whose making was undone."""
        with file_errors(self.path):
            return undone_records(self._connection)

    def draft(self) -> Mapping[str, object] | None:
        """Return the half-filled form, or None."""
        with record_errors(self.path):
            row = self._connection.execute("SELECT form FROM draft").fetchone()
            return None if row is None else cast("dict[str, object]", json.loads(row[0]))

    def save_draft(self, form: Mapping[str, object], at: datetime) -> None:
        """Keep a half-filled form, in a transaction of its own."""
        text = json.dumps(dict(form), ensure_ascii=False)
        with self._writing():
            self._connection.execute(
                "INSERT OR REPLACE INTO draft (only, saved_at, form) VALUES (1, ?, ?)", (stamp(at), text)
            )

    def clear_draft(self) -> None:
        """Forget the half-filled form and its photos."""
        with self._writing():
            self._connection.execute("DELETE FROM draft")
            self._connection.execute("DELETE FROM draft_photo")

    def draft_photos(self) -> dict[str, tuple[str, bytes]]:
        """Return the photos of the half-filled form: name and bytes by key."""
        with record_errors(self.path):
            rows_found = self._connection.execute("SELECT key, name, data FROM draft_photo")
            return {str(key): (str(name), bytes(data)) for key, name, data in rows_found}

    def keep_draft_photo(self, key: str, name: str, data: bytes) -> None:
        """Keep one photo of the half-filled form, in a transaction of its own."""
        with self._writing():
            self._connection.execute("INSERT OR REPLACE INTO draft_photo VALUES (?, ?, ?)", (key, name, data))

    def drop_draft_photos(self, keys: Iterable[str]) -> None:
        """Forget photos of the half-filled form."""
        with self._writing():
            self._connection.executemany("DELETE FROM draft_photo WHERE key = ?", [(key,) for key in keys])

    def save_copy(self, target: Path) -> None:
        """Write a complete copy to ``target``, replacing a file there; it is there whole or not at all.

        Raises FileTroubleError ``file.copy_onto_itself``, ``file.in_use`` and other ``file.*``.
        """
        if target.exists() and target.samefile(self.path):
            raise FileTroubleError("file.copy_onto_itself", path=str(target))
        owner = writer_of(target)
        if owner is not None:
            raise FileTroubleError("file.in_use", path=str(target), **owner)
        if not target.parent.is_dir():
            raise FileTroubleError("file.no_folder", path=str(target), folder=str(target.parent))
        with file_errors(target):
            copy_database(self._connection, target)

    def close(self) -> None:
        """Close the file and give the lock back; doing so twice is harmless."""
        connection = getattr(self, "_connection", None)
        if connection is not None:
            connection.close()
        if self._reading is not None:
            self._reading.close()
        if self._lock is not None:
            self._lock.release()
            self._lock = None


__all__ = ["Photo", "SessionFile", "create_session_file", "lock_path"]
