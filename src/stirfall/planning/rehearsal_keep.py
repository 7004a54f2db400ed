"""What keeps finished campaigns of a rehearsal: memory, or a file that outlives the program."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

from stirfall.bench.errors import FileTroubleError
from stirfall.planning.rehearsal_play import Played
from stirfall.planning.rehearsal_task import RehearsalTask
from stirfall.storage.rehearsal_file import RehearsalFile


class Kept:
    """Finished campaigns in memory, so that a rehearsal that was stopped can show what it has, or be gone on with.

    A rehearsal of another task begins anew.
    """

    def __init__(self) -> None:
        self.task = ""
        self.played: list[Played] = []

    def begin(self, task: RehearsalTask) -> None:
        """Get ready for a task, and forget the campaigns of another one."""
        if self.task != task.fingerprint:
            self.task, self.played = task.fingerprint, []

    def add(self, played: Played) -> None:
        """Keep one more campaign."""
        self.played.append(played)

    def close(self) -> None:
        """Let go of what is held."""


class KeptInFile(Kept):
    """Finished campaigns in a file; raises what ``RehearsalFile`` raises."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self._path = path
        self._file: RehearsalFile | None = None

    def begin(self, task: RehearsalTask) -> None:
        """Open the file and read what it holds; refuses one of another task."""
        self._file = RehearsalFile(self._path, task.fingerprint, task.begun_at)
        try:
            self.played = [_played(row) for row in self._file.rows]
        except (KeyError, TypeError, ValueError) as error:
            self.close()
            raise FileTroubleError("rehearsal.record_not", path=str(self._path)) from error

    def add(self, played: Played) -> None:
        """Keep one more campaign, in the file too."""
        assert self._file is not None
        self._file.add(asdict(played))
        super().add(played)

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            self._file.close()


def _played(row: Mapping[str, object]) -> Played:
    """Read a campaign from a line; raises KeyError, TypeError or ValueError where it is none."""
    numbers = {name: _numbers(row[name]) for name in ("path", "weeks")}
    return Played(
        str(row["order"]),
        _count(row["number"]),
        None if row["first"] is None else _count(row["first"]),
        None if row["settled"] is None else _count(row["settled"]),
        numbers["path"],
        numbers["weeks"],
        _numbers([row["ceiling"]])[0],
    )


def _count(value: object) -> int:
    if not isinstance(value, int) or value < 0:
        raise TypeError(value)
    return value


def _numbers(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or not all(isinstance(each, (int, float)) for each in value):
        raise TypeError(value)
    return tuple(float(each) for each in value)
