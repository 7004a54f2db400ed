"""What the section "Rehearsal" asks for in the background: what is kept of a rehearsal, and playing the rest."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import FileTroubleError

if TYPE_CHECKING:
    from stirfall.planning.rehearsal import Guess, Kept, RehearsalTask, Rehearsed
    from stirfall.session.analysis import Analysis

# A record is named by its task as it would be at this moment, so that it is found again at any later one.
_NAMED_AT = datetime(2000, 1, 1, tzinfo=UTC)
_MOST_RECORDS = 20
_TELL_S, _SUMMARISE_S = 0.5, 3.0

DEFAULT_ORDERS = ("planned to learn", "planned for reliability", "space filling", "one factor at a time")


@dataclass(frozen=True)
class Asked:
    """What the person wants to know; ``target`` None is that of the campaign's plan."""

    target: float | None = None
    campaigns: int = 50
    most: int = 30
    seed: int = 0
    orders: tuple[str, ...] = DEFAULT_ORDERS
    guess: Guess | None = None

    @property
    def of(self) -> int:
        """How many campaigns are played in all."""
        return self.campaigns * len(self.orders)


@dataclass(frozen=True, eq=False)
class Answer:
    """What is kept of a rehearsal: ``key`` names what decides its numbers; ``rehearsed`` None: nothing new to tell.

    ``orders`` are those that were asked for.
    """

    key: str
    done: int
    of: int
    orders: tuple[str, ...]
    rehearsed: Rehearsed | None


Tell = Callable[[Answer], None]


def records_folder() -> Path:
    """Return where the program keeps the records of rehearsals."""
    from stirfall.desktop.app import settings_folder

    return settings_folder() / "rehearsals"


def look_up(analysis: Analysis, asked: Asked, folder: Path, _token: CancelToken) -> Answer:
    """Return what is kept of a rehearsal; runs on a worker. Raises as ``rehearsal_task``."""
    from stirfall.planning.rehearsal import Kept

    path = _record(analysis, asked, folder)
    task = _task(analysis, asked, _begun(path) or _NAMED_AT)
    return _answer(path.stem, task, asked, _read(path, task) or Kept())


@dataclass(frozen=True, eq=False)
class Playing:
    """What is to be played from ``now`` on, in ``jobs`` processes; ``anew`` forgets what was kept."""

    analysis: Analysis
    asked: Asked
    folder: Path
    now: datetime
    jobs: int = -1
    anew: bool = False


def play_on(playing: Playing, tell: Tell, stop: CancelToken, token: CancelToken) -> Answer:
    """Play what is missing and return all; runs on a worker, which plays in processes of their own.

    ``stop`` ends the work, and what was finished is returned; ``token`` drops it all, but for the record. ``tell``
    is called now and then with what there is so far. Raises as ``rehearse`` does.
    """
    from stirfall.planning.rehearsal import rehearse

    path, asked = _record(playing.analysis, playing.asked, playing.folder), playing.asked
    task, kept = _begin(path, playing)
    teller = _Teller(path.stem, task, asked, kept, tell)
    wish = _Either(stop, token)
    try:
        rehearse(task, orders=asked.orders, jobs=playing.jobs, record=kept, progress=teller, token=wish)
    except Cancelled:
        token.raise_if_cancelled()
    return _answer(path.stem, task, asked, kept)


def _begin(path: Path, playing: Playing) -> tuple[RehearsalTask, Kept]:
    """Return the task and its record, which goes on from where it was unless it is begun anew."""
    from stirfall.planning.rehearsal_keep import KeptInFile
    from stirfall.storage.connection import file_errors

    begun = None if playing.anew else _begun(path)
    task = _task(playing.analysis, playing.asked, begun or playing.now.replace(microsecond=0))
    with file_errors(playing.folder):
        playing.folder.mkdir(parents=True, exist_ok=True)
        if begun is None or _read(path, task) is None:
            path.unlink(missing_ok=True)
        _make_room(playing.folder, path)
    return task, KeptInFile(path)


def _record(analysis: Analysis, asked: Asked, folder: Path) -> Path:
    """Return where the record of a rehearsal is kept; its name holds for all that decides the numbers."""
    return folder / f"{_task(analysis, asked, _NAMED_AT).fingerprint}.jsonl"


def _task(analysis: Analysis, asked: Asked, now: datetime) -> RehearsalTask:
    from stirfall.session.rehearsing import rehearsal_task

    return rehearsal_task(
        analysis,
        now=now,
        campaigns=asked.campaigns,
        target=asked.target,
        most=asked.most,
        guess=asked.guess,
        seed=asked.seed,
    )


def _begun(path: Path) -> datetime | None:
    """Return when the rehearsal of a record began, None where there is none that can be read."""
    from stirfall.storage.rehearsal_file import begun_at

    try:
        return begun_at(path)
    except FileTroubleError:
        return None


def _read(path: Path, task: RehearsalTask) -> Kept | None:
    """Return what a record holds, None where there is none of this task."""
    from stirfall.planning.rehearsal_keep import KeptInFile

    if not path.exists():
        return None
    kept = KeptInFile(path)
    try:
        kept.begin(task)
    except FileTroubleError:
        return None
    kept.close()
    return kept


def _make_room(folder: Path, mine: Path) -> None:
    """Let the oldest records go, so that the folder never grows without end."""
    others = sorted(
        (each for each in folder.glob("*.jsonl") if each != mine), key=lambda each: each.stat().st_mtime
    )
    for old in others[: max(0, len(others) - _MOST_RECORDS + 1)]:
        old.unlink(missing_ok=True)


def _answer(key: str, task: RehearsalTask, asked: Asked, kept: Kept, *, told: bool = True) -> Answer:
    from stirfall.planning.rehearsal import summarise

    played = tuple(kept.played)
    mine = {(each.order, each.number) for each in played if each.number < asked.campaigns}
    orders = tuple(order for order in asked.orders if any(order == each for each, _ in mine))
    done = sum(order in asked.orders for order, _ in mine)
    rehearsed = summarise(task, orders, played) if told and orders else None
    return Answer(key, done, asked.of, asked.orders, rehearsed)


class _Teller:
    """Tells how far it is, at most twice a second, and every few seconds what it adds up to."""

    def __init__(self, key: str, task: RehearsalTask, asked: Asked, kept: Kept, tell: Tell) -> None:
        self._parts = (key, task, asked, kept)
        self._tell = tell
        self._told_at = self._summed_at = -1e9

    def __call__(self, done: int, of: int) -> None:
        now = time.monotonic()
        if done < of and now - self._told_at < _TELL_S:
            return
        self._told_at = now
        is_due = now - self._summed_at >= _SUMMARISE_S
        if is_due:
            self._summed_at = now
        self._tell(_answer(*self._parts, told=is_due))


class _Either(CancelToken):
    """Cancelled where either of two is."""

    __slots__ = ("_both",)

    def __init__(self, *both: CancelToken) -> None:
        super().__init__()
        self._both = both

    @property
    def is_cancelled(self) -> bool:
        """Whether either was asked to stop."""
        return any(each.is_cancelled for each in self._both)

    def raise_if_cancelled(self) -> None:
        """Raise Cancelled where either was asked to stop."""
        if self.is_cancelled:
            raise Cancelled
