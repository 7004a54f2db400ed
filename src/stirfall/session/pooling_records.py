"""Lots, jars, attempts and what hangs on them, of several benches in one session, each kept once."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import UTC, datetime

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.factors import Conditions, Value
from stirfall.bench.records import Attempt, Jar, Lot, Origin
from stirfall.bench.running import Regrade, Run, TemperatureLog
from stirfall.session.pooling_factors import Translator
from stirfall.storage.bulky import Pair, of_kind
from stirfall.storage.edits import StoredPhoto

RUNS, GRADES, PHOTOS = "runs", "grades", "photos"
OPTIONAL = (RUNS, GRADES, PHOTOS)
"""What may be taken along beside the attempts."""
_OWN_ID = re.compile(r"[0-9a-f]{32}\Z")  # as the program gives them: such an id never names two attempts
_LATE = datetime.max.replace(tzinfo=UTC)
# What two records of one attempt may differ in and still be the same: how each session calls its records.
_NOT_CONTENT = ("id", "number", "lot_id", "jar_id", "run_id", "proof_id", "origin", "conditions", "overrides")
_CONTENT = tuple(item.name for item in fields(Attempt) if item.name not in _NOT_CONTENT)


@dataclass(frozen=True)
class BenchSession:
    """One bench's session, ready to be joined."""

    bench: str
    state: CampaignState
    fingerprint: str
    translator: Translator
    corrections: tuple[Correction, ...] = ()
    bulky: Sequence[Pair] = ()


class PooledBulky(Iterable[Pair]):
    """Photos and temperature logs of the attempts that were taken, loaded one by one when they are written."""

    def __init__(self) -> None:
        self._parts: list[tuple[BenchSession, Mapping[str, str]]] = []

    def add(self, session: BenchSession, taken: Mapping[str, str]) -> None:
        """Take along what hangs on the attempts of a session; ``taken`` maps their ids to the new ones."""
        self._parts.append((session, taken))

    def __iter__(self) -> Iterator[Pair]:
        used: set[str] = set()
        for session, taken in self._parts:
            for record_id, photo in of_kind(session.bulky, StoredPhoto):
                if photo.attempt_id in taken:
                    new_id = _free_id(record_id, session.fingerprint, used)
                    yield new_id, replace(photo, attempt_id=taken[photo.attempt_id])
            for record_id, log in of_kind(session.bulky, TemperatureLog):
                if log.attempt_id in taken:
                    new_id = _free_id(record_id, session.fingerprint, used)
                    yield new_id, replace(log, id=new_id, attempt_id=taken[log.attempt_id])


@dataclass
class Joined:
    """What was joined, and per session how many attempts were taken, repeated, or repeated in another version.

    ``standing`` counts jars that still stand on the shelf of their bench, ``left_jars`` and ``left_lots`` have no
    attempt.
    """

    lots: list[Lot] = field(default_factory=list)
    jars: list[Jar] = field(default_factory=list)
    attempts: list[Attempt] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    regrades: list[Regrade] = field(default_factory=list)
    corrections: list[Correction] = field(default_factory=list)
    bulky: PooledBulky = field(default_factory=PooledBulky)
    taken: list[int] = field(default_factory=list)
    repeated: list[int] = field(default_factory=list)
    versions: list[int] = field(default_factory=list)
    standing: int = 0
    left_jars: int = 0
    left_lots: int = 0


def join_records(sessions: Sequence[BenchSession], takes: Iterable[str], made_at: datetime) -> Joined:
    """Return the records of all sessions: attempts once each, numbered anew in the order of time.

    An attempt that was pooled before keeps its first origin. The same attempt in two sessions counts once, as the
    first of them has it. Jars that still stand are closed at ``made_at``: shelf and alarms stay with their bench.
    """
    takes = frozenset(takes)
    join = _Join(takes, made_at)
    for session in sessions:
        join.add(session)
    return join.finished()


class _Join:
    def __init__(self, takes: frozenset[str], made_at: datetime) -> None:
        self._takes, self._made_at = takes, made_at
        self._out = Joined()
        self._by_origin: dict[str, list[Attempt]] = {}
        self._ids: set[str] = set()
        self._other_ids: set[str] = set()

    def add(self, session: BenchSession) -> None:
        """Take in one session."""
        out = self._out
        places = _Places(session, out, self._made_at)
        taken: dict[str, str] = {}
        repeated = versions = 0
        for attempt in session.state.attempts:
            origin = attempt.origin or Origin(
                session.bench, session.state.settings.title, session.fingerprint, attempt.id, attempt.number
            )
            conditions = session.translator.conditions(attempt.conditions)
            known = self._same(origin.attempt_id, attempt, conditions)
            if known is not None:
                repeated += 1
                versions += not _is_content_same(known, attempt, conditions)
                places.meet(attempt)
                continue
            new_id = _free_id(attempt.id, session.fingerprint, self._ids)
            taken[attempt.id] = new_id
            made = replace(
                attempt,
                id=new_id,
                conditions=conditions,
                overrides=session.translator.overrides(attempt.overrides),
                lot_id=None if attempt.lot_id is None else places.lot(attempt.lot_id),
                jar_id=None if attempt.jar_id is None else places.jar(attempt.jar_id),
                run_id=None,
                proof_id=None,
                origin=origin,
            )
            out.attempts.append(made)
            self._by_origin.setdefault(origin.attempt_id, []).append(made)
        places.finish()
        out.taken.append(len(taken))
        out.repeated.append(repeated)
        out.versions.append(versions)
        self._add_beside(session, taken, places)

    def _same(self, origin_id: str, attempt: Attempt, conditions: Conditions) -> Attempt | None:
        for known in self._by_origin.get(origin_id, ()):
            if _OWN_ID.match(origin_id) or _is_content_same(known, attempt, conditions):
                return known
        return None

    def _add_beside(self, session: BenchSession, taken: Mapping[str, str], places: _Places) -> None:
        out, state = self._out, session.state
        if RUNS in self._takes:
            for run in state.runs:
                attempt_id = taken.get(run.attempt_id or "")
                if attempt_id is not None and not run.is_open:
                    out.runs.append(self._run(run, session, attempt_id, places))
        if GRADES in self._takes:
            out.regrades += [
                replace(
                    grade,
                    id=_free_id(grade.id, session.fingerprint, self._other_ids),
                    attempt_id=taken[grade.attempt_id],
                )
                for grade in state.regrades
                if grade.attempt_id in taken
            ]
        if PHOTOS in self._takes:
            out.bulky.add(session, taken)
        ids: dict[str, Callable[[str], str | None]] = {
            "attempt": taken.get,
            "lot": places.known_lot,
            "jar": places.known_jar,
        }
        for correction in session.corrections:
            kept_as = ids[correction.kind](correction.record_id) if correction.kind in ids else None
            if kept_as is not None:
                out.corrections.append(_translated(replace(correction, record_id=kept_as), session.translator))

    def _run(self, run: Run, session: BenchSession, attempt_id: str, places: _Places) -> Run:
        run_id = _free_id(run.id, session.fingerprint, self._other_ids)
        events = tuple(
            replace(event, id=_free_id(event.id, session.fingerprint, self._other_ids), run_id=run_id)
            for event in run.events
        )
        return replace(
            run,
            id=run_id,
            conditions=session.translator.conditions(run.conditions),
            jar_id=places.known_jar(run.jar_id or ""),
            lot_id=places.known_lot(run.lot_id or ""),
            attempt_id=attempt_id,
            events=events,
        )

    def finished(self) -> Joined:
        """Return what was joined, the attempts numbered in the order of time; without a time they come last."""
        out = self._out
        ordered = sorted(out.attempts, key=_moment)
        run_of = {run.attempt_id: run.id for run in out.runs}
        out.attempts = [
            replace(attempt, number=number, run_id=run_of.get(attempt.id))
            for number, attempt in enumerate(ordered, 1)
        ]
        return out


def _free_id(wanted: str, fingerprint: str, used: set[str]) -> str:
    """Return the id, or one that follows from it and its session where another record has it."""
    free = wanted
    while free in used:
        free = hashlib.sha256(f"{fingerprint}\n{free}".encode()).hexdigest()[:32]
    used.add(free)
    return free


def _moment(attempt: Attempt) -> datetime:
    moment = attempt.started_at or attempt.recorded_at
    return _LATE if moment is None else as_utc(moment)


def _is_content_same(known: Attempt, attempt: Attempt, conditions: Conditions) -> bool:
    """Whether two records tell the same of an attempt; converted values may differ in their last digits."""
    if any(getattr(known, name) != getattr(attempt, name) for name in _CONTENT):
        return False
    return known.conditions.keys() == conditions.keys() and all(
        _is_close(known.conditions[name], value) for name, value in conditions.items()
    )


def _is_close(one: Value, other: Value) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return abs(one - other) <= 1e-9 * max(abs(one), abs(other))


class _Places:
    """Lots and jars of one session under their new names; only those that an attempt names are taken along."""

    def __init__(self, session: BenchSession, out: Joined, made_at: datetime) -> None:
        self._session, self._out, self._made_at = session, out, made_at
        self._lots = {lot.id: lot for lot in session.state.lots}
        self._jars = {jar.id: jar for jar in session.state.jars}
        origins = {each.origin.bench for each in session.state.attempts if each.origin is not None}
        self._fronts = tuple(f"{bench} " for bench in origins)
        self._known_lots: dict[str, str] = {}
        self._known_jars: dict[str, str] = {}
        self._met: set[str] = set()
        self._met_lots: set[str] = set()
        self._taken_lots = {lot.id.casefold(): lot for lot in out.lots}
        self._taken_jars = {jar.id.casefold(): jar for jar in out.jars}

    def lot(self, lot_id: str) -> str:
        """Return the new name of a lot, and take it along where that was not done yet."""
        if lot_id not in self._known_lots:
            named = replace(self._lots[lot_id], id=self._named(lot_id))
            known = self._taken_lots.get(named.id.casefold())
            if known is None or known != named:
                named = replace(named, id=_free_name(named.id, self._taken_lots))
                self._taken_lots[named.id.casefold()] = named
                self._out.lots.append(named)
            self._known_lots[lot_id] = named.id
        return self._known_lots[lot_id]

    def jar(self, jar_id: str) -> str:
        """Return the new name of a jar, and take it along, closed, where that was not done yet."""
        if jar_id not in self._known_jars:
            jar = self._jars[jar_id]
            lot_id = self.lot(jar.lot_id)
            if jar.emptied_at is None:
                self._out.standing += 1
                jar = replace(jar, emptied_at=max(self._made_at, as_utc(jar.started_at)))
            named = replace(jar, id=self._named(jar_id), lot_id=lot_id)
            known = self._taken_jars.get(named.id.casefold())
            if known is None or replace(known, emptied_at=named.emptied_at) != named:
                named = replace(named, id=_free_name(named.id, self._taken_jars))
                self._taken_jars[named.id.casefold()] = named
                self._out.jars.append(named)
            self._known_jars[jar_id] = named.id
        return self._known_jars[jar_id]

    def meet(self, attempt: Attempt) -> None:
        """Note that the places of an attempt came along with another session's record of it."""
        if attempt.jar_id is not None:
            self._met.add(attempt.jar_id)
        if attempt.lot_id is not None:
            self._met_lots.add(attempt.lot_id)

    def known_lot(self, lot_id: str) -> str | None:
        """Return the new name of a lot that was taken along, else None."""
        return self._known_lots.get(lot_id)

    def known_jar(self, jar_id: str) -> str | None:
        """Return the new name of a jar that was taken along, else None."""
        return self._known_jars.get(jar_id)

    def finish(self) -> None:
        """Count the lots and jars that stay behind."""
        self._out.left_jars += len(self._jars.keys() - self._known_jars.keys() - self._met)
        self._out.left_lots += len(self._lots.keys() - self._known_lots.keys() - self._met_lots)

    def _named(self, old: str) -> str:
        """Put the bench in front of an id, once: records that were pooled before have one there."""
        return old if old.startswith(self._fronts) else f"{self._session.bench} {old}"


def _free_name(wanted: str, taken: Mapping[str, object]) -> str:
    number, name = 1, wanted
    while name.casefold() in taken:
        number += 1
        name = f"{wanted} ({number})"
    return name


def _translated(correction: Correction, translator: Translator) -> Correction:
    """Return a correction with a condition under its pooled name and in its pooled unit."""
    head, dot, name = correction.field.partition(".")
    part = translator.part(name) if head == "conditions" and dot else None
    if part is None:
        return correction

    def told(text: str) -> str:
        value = json.loads(text)
        return (
            text if value is None or isinstance(value, bool) else json.dumps(part.value(value), ensure_ascii=False)
        )

    return replace(correction, field=f"conditions.{part.name}", old=told(correction.old), new=told(correction.new))
