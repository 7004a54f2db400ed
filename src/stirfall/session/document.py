"""The open session: one state, one door for writes, named undo and redo."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from os import PathLike
from pathlib import Path
from types import TracebackType
from typing import Self

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.errors import InputError, StirfallError
from stirfall.bench.factors import Factor, standard_factors
from stirfall.bench.outcomes import Outcome
from stirfall.bench.plans import EveningPlan
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import Moment, Regrade, Run, TemperatureLog
from stirfall.session.applying import apply_edits, changes_of
from stirfall.session.clock import Clock, SystemClock
from stirfall.session.commands import Changes, Command
from stirfall.session.content import checked_content
from stirfall.session.history import Entry, History
from stirfall.session.planned import plan
from stirfall.session.planned_parts import Surroundings
from stirfall.storage.bulky import LazyBulky
from stirfall.storage.connection import Connect, connect
from stirfall.storage.edits import Action, Bulky, Edit, StoredAnchor, StoredPhoto
from stirfall.storage.fingerprint import fingerprint
from stirfall.storage.session_file import Photo, SessionFile, create_session_file
from stirfall.storage.writing import LogEntry

Listener = Callable[[Changes, object], None]

_log = logging.getLogger(__name__)


class Document:
    """A session file that is open; use ``create`` or ``open``, and it as a context manager where that fits."""

    def __init__(self, file: SessionFile, clock: Clock) -> None:
        """Read the whole session from an open file."""
        self._file = file
        self._clock = clock
        self._is_closed = False
        self._history = History()
        self._listeners: list[Listener] = []
        self._fingerprint: tuple[CampaignState, str] | None = None
        loaded = file.load()
        self._state = loaded.state
        self._last_number = loaded.last_number
        self._last_recorded_at = loaded.last_recorded_at
        self._draft = file.draft()
        self._positions = {attempt.id: place for place, attempt in enumerate(self._state.attempts)}

    @classmethod
    def create(
        cls,
        path: str | PathLike[str],
        settings: CampaignSettings,
        factors: Sequence[Factor] | None = None,
        *,
        lots: Sequence[Lot] = (),
        jars: Sequence[Jar] = (),
        attempts: Sequence[Attempt] = (),
        runs: Sequence[Run] = (),
        regrades: Sequence[Regrade] = (),
        proofs: Sequence[Proof] = (),
        evenings: Sequence[EveningPlan] = (),
        corrections: Sequence[Correction] = (),
        clock: Clock | None = None,
    ) -> Document:
        """Make a new session file under a free name and open it.

        Raises InputError when the content contradicts itself, FileTroubleError ``file.exists`` and other
        ``file.*``; then no file is left behind.
        """
        state = CampaignState(
            settings,
            tuple(standard_factors() if factors is None else factors),
            tuple(lots),
            tuple(jars),
            tuple(attempts),
            runs=tuple(runs),
            regrades=tuple(regrades),
            proofs=tuple(proofs),
            evenings=tuple(evenings),
        )
        return cls.create_from(path, state, corrections=corrections, clock=clock)

    @classmethod
    def create_from(
        cls,
        path: str | PathLike[str],
        state: CampaignState,
        *,
        corrections: Sequence[Correction] = (),
        bulky: Iterable[tuple[str, Bulky]] = (),
        clock: Clock | None = None,
    ) -> Document:
        """Make a new session file of a whole campaign and open it; ``bulky`` are photos and logs by their ids.

        Raises what ``create`` raises.
        """
        clock = clock or SystemClock()
        target = Path(path)
        create_session_file(target, checked_content(state), corrections, created_at=clock.now(), bulky=bulky)
        return cls.open(target, clock=clock)

    @classmethod
    def open(
        cls,
        path: str | PathLike[str],
        *,
        clock: Clock | None = None,
        read_only: bool = False,
        connect_with: Connect = connect,
    ) -> Document:
        """Open a session file; another opener's file, and one that may not be written, is read only.

        Raises FileTroubleError ``file.missing``, ``file.foreign``, ``file.newer``, ``file.damaged`` and other
        ``file.*``; such a file is left as it is. ``connect_with`` is for tests of failing disks.
        """
        file = SessionFile(Path(path), read_only=read_only, connect_with=connect_with)
        try:
            return cls(file, clock or SystemClock())
        except BaseException:
            file.close()
            raise

    @property
    def path(self) -> Path:
        """Where the session file is."""
        return self._file.path

    @property
    def read_only(self) -> bool:
        """Whether nothing can be changed."""
        return self._file.read_only

    @property
    def read_only_reason(self) -> StirfallError | None:
        """Why nothing can be changed, or None."""
        return self._file.read_only_reason

    @property
    def state(self) -> CampaignState:
        """The whole campaign as it stands."""
        return self._state

    @property
    def undo_name(self) -> str | None:
        """The name of what undo would take back, or None."""
        return self._history.undo_name

    @property
    def redo_name(self) -> str | None:
        """The name of what redo would do again, or None."""
        return self._history.redo_name

    @property
    def draft(self) -> Mapping[str, object] | None:
        """The half-filled form that was saved last, or None."""
        return self._draft

    @property
    def fingerprint(self) -> str:
        """SHA-256 over what the session says, in hexadecimal; equal content, equal fingerprint."""
        if self._fingerprint is None or self._fingerprint[0] is not self._state:
            self._fingerprint = (self._state, fingerprint(self._state))
        return self._fingerprint[1]

    def now(self) -> datetime:
        """Return the present moment by the document's clock, in UTC."""
        return self._clock.now()

    def moment(self) -> Moment:
        """Return the present moment by clock and by the counter that nobody can set."""
        return self._clock.moment()

    def execute(self, command: Command, *, origin: object = None) -> Changes:
        """Do a command: one transaction, one undo entry; listeners are told with ``origin``.

        A command that would change nothing writes nothing and returns Changes without a name. Raises InputError, or
        FileTroubleError when the file could not be written; state and file are then as before.
        """
        self._require_writable()
        moment = self.moment()
        now = moment.at
        planned = plan(command, self._surroundings(moment))
        if not planned.edits:
            return Changes("")
        kind = type(command).__name__
        log = LogEntry(
            now, Action.DO, planned.name, kind, planned.reason, planned.notes, clears_draft=planned.clears_draft
        )
        self._file.write(planned.edits, log)
        if planned.clears_draft:
            self._draft = None
        edits = tuple(_without_bytes(edit) for edit in planned.edits)
        if planned.belongs_to is not None:
            self._history.join(edits, planned.belongs_to)
        else:
            self._history.add(Entry(planned.name, kind, edits, planned.new_attempt_id))
        return self._take_over(edits, planned.name, planned.new_attempt_id, origin)

    def _surroundings(self, moment: Moment) -> Surroundings:
        return Surroundings(
            self._state,
            moment.at,
            self._last_number,
            self._last_recorded_at,
            self.attempt,
            self._file.number_or_id_taken,
            moment,
        )

    def undo(self, *, origin: object = None) -> Changes:
        """Take the last step back, in a transaction that leaves its trace; raises ``history.no_undo``."""
        self._require_writable()
        if not self._history.done:
            raise InputError("history.no_undo")
        entry = self._history.done[-1]
        edits = tuple(edit.reversed() for edit in reversed(entry.edits))
        self._file.write(edits, LogEntry(self.now(), Action.UNDO, entry.name, entry.kind))
        self._history.mark_undone()
        return self._take_over(edits, entry.name, None, origin)

    def redo(self, *, origin: object = None) -> Changes:
        """Do the last undone step again, with the same ids; raises InputError ``history.no_redo``."""
        self._require_writable()
        if not self._history.undone:
            raise InputError("history.no_redo")
        entry = self._history.undone[-1]
        self._file.write(entry.edits, LogEntry(self.now(), Action.REDO, entry.name, entry.kind))
        self._history.mark_redone()
        return self._take_over(entry.edits, entry.name, entry.new_attempt_id, origin)

    def _take_over(self, edits: Sequence[Edit], name: str, new_attempt_id: str | None, origin: object) -> Changes:
        self._state = apply_edits(self._state, edits, self._positions)
        for edit in edits:
            if edit.before is None and isinstance(edit.after, Attempt):
                self._last_number = max(self._last_number, edit.after.number)
                self._last_recorded_at = edit.after.recorded_at
        changes = changes_of(name, edits, new_attempt_id)
        self._tell(changes, origin)
        return changes

    def _tell(self, changes: Changes, origin: object) -> None:
        # The command is on disk: a listener that fails must not make the caller believe otherwise.
        for listener in tuple(self._listeners):
            try:
                listener(changes, origin)
            except Exception:
                _log.exception("A listener failed after %s", changes.name)

    def subscribe(self, listener: Listener) -> Callable[[], None]:
        """Call ``listener(changes, origin)`` after every change; returns what ends the subscription."""
        self._listeners.append(listener)

        def unsubscribe() -> None:
            if listener in self._listeners:
                self._listeners.remove(listener)

        return unsubscribe

    def attempt(self, attempt_id: str) -> Attempt:
        """Return an attempt at once, however many there are; raises InputError ``attempt.unknown``."""
        place = self._positions.get(attempt_id)
        if place is None:
            raise InputError("attempt.unknown", id=attempt_id)
        return self._state.attempts[place]

    def corrections(self, record_id: str | None = None) -> tuple[Correction, ...]:
        """Return every change of one record, or of all records, oldest first."""
        return self._file.corrections(record_id)

    def photos(self, attempt_id: str) -> tuple[Photo, ...]:
        """Return the photos of one attempt."""
        return self._file.photos(attempt_id)

    def original(self, photo_id: str) -> bytes:
        """Return the original of a photo, empty where none is kept."""
        return self._file.original(photo_id)

    def photographed(self) -> frozenset[str]:
        """Return the ids of the attempts that have photos."""
        return self._file.photographed()

    def logged(self) -> frozenset[str]:
        """Return the ids of the attempts that have temperature logs."""
        return self._file.logged()

    def anchors(self) -> Mapping[Outcome, Photo]:
        """Return the example photo of each class of outcome that has one."""
        return {Outcome(word): photo for word, photo in self._file.anchors().items()}

    def logs(self, attempt_id: str) -> tuple[TemperatureLog, ...]:
        """Return the temperature logs of one attempt."""
        return self._file.logs(attempt_id)

    def bulky(self) -> LazyBulky:
        """Return all photos, examples and logs by their ids, each loaded when it is asked for."""
        return self._file.bulky()

    def undone_count(self) -> int:
        """Return how many records are in the file whose making was undone."""
        return self._file.undone_count()

    def save_draft(self, form: Mapping[str, object]) -> None:
        """Keep a half-filled form (JSON values) so that it survives a crash."""
        self._require_writable()
        self._file.save_draft(form, self.now())
        self._draft = dict(form)

    def clear_draft(self) -> None:
        """Forget the half-filled form and its photos."""
        self._require_writable()
        if self._draft is not None:
            self._file.clear_draft()
            self._draft = None

    def draft_photos(self) -> Mapping[str, tuple[str, bytes]]:
        """Return the photos of the half-filled form: name and bytes by key.

        Recording the attempt leaves them until ``drop_draft_photos``, so that none is lost before it is attached.
        """
        return self._file.draft_photos()

    def keep_draft_photo(self, key: str, name: str, data: bytes) -> None:
        """Keep one photo of the half-filled form, so that it survives a crash."""
        self._require_writable()
        self._file.keep_draft_photo(key, name, data)

    def drop_draft_photos(self, keys: Iterable[str]) -> None:
        """Forget photos of the half-filled form: they were removed from it, or went to the attempt."""
        self._require_writable()
        self._file.drop_draft_photos(keys)

    def save_copy(self, path: str | PathLike[str]) -> None:
        """Write a complete copy of the session to ``path``; the open document stays where it is."""
        self._file.save_copy(Path(path))

    def _require_writable(self) -> None:
        if self._is_closed:
            raise InputError("session.closed", path=str(self.path))
        if self._file.read_only:
            raise InputError("session.read_only", path=str(self.path))

    def close(self) -> None:
        """Close the file and let others write it; doing so twice is harmless."""
        self._is_closed = True
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _without_bytes(edit: Edit) -> Edit:
    """Return the edit as the undo history keeps it: the content of photos and logs is in the file."""
    match edit.after:
        case StoredPhoto():
            return Edit(edit.record_id, edit.before, replace(edit.after, data=b"", original=b""))
        case StoredAnchor():
            return Edit(edit.record_id, edit.before, replace(edit.after, data=b""))
        case TemperatureLog():
            return Edit(edit.record_id, edit.before, replace(edit.after, points=()))
        case _:
            return edit
