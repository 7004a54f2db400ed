"""The record of a rehearsal, to go on with: JSON Lines, a header and then one line for each campaign."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from stirfall.bench.ages import read_stamp, stamp
from stirfall.bench.errors import FileTroubleError, InputError

FORMAT = "stirfall.rehearsal_record/1"

Row = Mapping[str, object]


class RehearsalFile:
    """An open record: ``rows`` are the campaigns that it holds; ``add`` appends one at once.

    What a killed program left of a last line is dropped. Raises FileTroubleError ``rehearsal.record_not`` for a
    file that is no such record, ``rehearsal.record_other`` for one of another rehearsal, and
    ``rehearsal.record_trouble`` where the file cannot be read or written; none of them changes the file.
    """

    def __init__(self, path: Path, task: str, begun_at: datetime) -> None:
        self.path = path
        header, rows, whole = _read(path)
        if header is not None and header.get("task") != task:
            raise FileTroubleError("rehearsal.record_other", path=str(path))
        self.rows: tuple[Row, ...] = tuple(rows)
        try:
            # Opened to append, so that two programs with one record add lines and never write over each other's.
            self._file = path.open("ab")
            if self._file.tell() > whole:
                self._file.truncate(whole)
        except OSError as error:
            raise _trouble(path, error) from error
        if header is None:
            self.add({"format": FORMAT, "task": task, "begun_at": stamp(begun_at)})

    def add(self, row: Row) -> None:
        """Append one line and hand it to the system."""
        try:
            self._file.write(json.dumps(row, separators=(",", ":"), allow_nan=False).encode("ascii") + b"\n")
            self._file.flush()
        except OSError as error:
            raise _trouble(self.path, error) from error

    def close(self) -> None:
        """Close the file; closing twice changes nothing."""
        self._file.close()


def begun_at(path: Path) -> datetime | None:
    """Return when the rehearsal of a record began, None where there is no file, or an empty one, yet.

    Raises as ``RehearsalFile`` does.
    """
    header = _read(path)[0]
    if header is None:
        return None
    try:
        return read_stamp(str(header["begun_at"]))
    except (KeyError, InputError) as error:
        raise FileTroubleError("rehearsal.record_not", path=str(path)) from error


def _read(path: Path) -> tuple[Row | None, list[Row], int]:
    """Return header, rows, and how many bytes of the file are whole lines."""
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return None, [], 0
    except OSError as error:
        raise _trouble(path, error) from error
    whole = content.rfind(b"\n") + 1
    if not whole:
        if content and not FORMAT_START.startswith(content[: len(FORMAT_START)]):
            raise FileTroubleError("rehearsal.record_not", path=str(path))
        return None, [], 0
    lines = [_line(line) for line in content[:whole].splitlines()]
    header, rows = lines[0], lines[1:]
    if header is None or header.get("format") != FORMAT or any(row is None for row in rows):
        raise FileTroubleError("rehearsal.record_not", path=str(path))
    return header, [row for row in rows if row is not None], whole


FORMAT_START = f'{{"format":"{FORMAT}"'.encode("ascii")


def _line(line: bytes) -> Row | None:
    try:
        read = json.loads(line)
    except ValueError:
        return None
    return read if isinstance(read, dict) else None


def _trouble(path: Path, error: OSError) -> FileTroubleError:
    return FileTroubleError(
        "rehearsal.record_trouble", path=str(path), reason=error.strerror or type(error).__name__
    )
