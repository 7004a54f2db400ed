"""Sessions of several benches as one new session: checked first, each attempt kept once with where it was made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from os import PathLike
from pathlib import Path

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import LOT_EFFECT_BENCH
from stirfall.bench.running import TemperatureLog
from stirfall.session.clock import Clock
from stirfall.session.document import Document
from stirfall.session.pooling_factors import PooledFactors, Translator, pool_factors
from stirfall.session.pooling_records import GRADES, OPTIONAL, PHOTOS, RUNS, BenchSession, Joined, join_records
from stirfall.session.pooling_settings import pool_settings, refusals_of
from stirfall.storage.bulky import Pair, count_of
from stirfall.storage.edits import StoredPhoto
from stirfall.storage.fingerprint import fingerprint


@dataclass(frozen=True)
class PoolSource:
    """One session to be pooled: where it was read, its content, and what its bench is called ("": not told)."""

    place: str
    state: CampaignState
    bench: str = ""
    corrections: tuple[Correction, ...] = ()
    bulky: Sequence[Pair] = ()

    @property
    def name(self) -> str:
        """What the bench is called: as given, else as the session says, else as the file is called."""
        return self.bench.strip() or self.state.settings.bench_name.strip() or Path(self.place).stem


@dataclass(frozen=True)
class SourceCount:
    """What one session brought: its attempts, those taken, those that another session had already.

    ``versions`` of the repeated ones say something else than the one that was kept. ``same_as`` names the bench
    whose session is the very same, "" where there is none.
    """

    bench: str
    place: str
    title: str
    attempts: int
    taken: int = 0
    repeated: int = 0
    versions: int = 0
    same_as: str = ""


@dataclass(frozen=True)
class Pooled:
    """The outcome of pooling: a state, or None and the reasons why these sessions cannot be one.

    ``notes`` say what was converted, widened, closed and left behind.
    """

    state: CampaignState | None
    sources: tuple[SourceCount, ...]
    refusals: tuple[Reason, ...]
    notes: tuple[Reason, ...]
    corrections: tuple[Correction, ...] = ()
    bulky: Iterable[Pair] = ()

    def raise_if_refused(self) -> CampaignState:
        """Return the state; raises InputError ``pool.refused`` with the first reason and how many there are."""
        if self.state is None:
            raise InputError("pool.refused", why=self.refusals[0], count=len(self.refusals))
        return self.state

    def write(self, path: str | PathLike[str], *, clock: Clock | None = None) -> Document:
        """Make the session file and open it; raises as ``raise_if_refused`` and ``Document.create_from``."""
        state = self.raise_if_refused()
        return Document.create_from(path, state, corrections=self.corrections, bulky=self.bulky, clock=clock)


def pool(
    sources: Sequence[PoolSource], *, title: str = "", takes: Iterable[str] = (), made_at: datetime | None = None
) -> Pooled:
    """Join sessions into the content of a new one; refusals and notes tell what was found, nothing is raised.

    ``takes`` names what comes along beside the attempts: "runs", "grades" (second grades), "photos" (with
    temperature logs). Same sources in the same order at the same moment, same content. Raises InputError
    ``pool.takes`` for another word.
    """
    takes = tuple(takes)
    for word in takes:
        if word not in OPTIONAL:
            raise InputError("pool.takes", value=word, known=", ".join(OPTIONAL))
    prints = [fingerprint(source.state) for source in sources]
    names = [source.name for source in sources]
    kept, counts = _without_copies(sources, names, prints)
    refusals = _refused_names(sources, names, kept)
    if len(kept) < 2:
        refusals.append(Reason("pool.too_few", {"count": len(kept)}))
        return Pooled(None, counts, tuple(refusals), ())
    benches = [(names[place], sources[place].state) for place in kept]
    refusals += refusals_of(benches)
    factors = pool_factors([(name, state.factors) for name, state in benches])
    refusals += [*factors.refusals, *_reserved(factors)]
    if refusals:
        return Pooled(None, counts, tuple(refusals), factors.notes)
    sessions = [
        BenchSession(
            names[place],
            sources[place].state,
            prints[place],
            translator,
            sources[place].corrections,
            sources[place].bulky,
        )
        for place, translator in zip(kept, factors.translators, strict=True)
    ]
    told = title.strip() or f"Pooled: {', '.join(name for name, _ in benches)}"
    settings, notes = pool_settings([(each.bench, _renamed(each)) for each in sessions], told)
    joined = join_records(sessions, takes, made_at or datetime.now(UTC))
    state = CampaignState(
        settings,
        factors.factors,
        tuple(joined.lots),
        tuple(joined.jars),
        tuple(joined.attempts),
        runs=tuple(joined.runs),
        regrades=tuple(joined.regrades),
    )
    found = [*factors.notes, *notes, *_unknown_values(state), *_notes_of(joined, sessions, takes)]
    return Pooled(
        state,
        _counted(counts, kept, joined),
        (),
        tuple(found),
        tuple(joined.corrections),
        joined.bulky,
    )


def _without_copies(
    sources: Sequence[PoolSource], names: Sequence[str], prints: Sequence[str]
) -> tuple[list[int], tuple[SourceCount, ...]]:
    """Return the places of the sessions that no earlier one equals, and a count for each source."""
    first: dict[str, int] = {}
    counts = []
    for place, source in enumerate(sources):
        owner = first.setdefault(prints[place], place)
        same_as = "" if owner == place else names[owner]
        attempts = len(source.state.attempts)
        repeated = attempts if same_as else 0
        counts.append(
            SourceCount(
                names[place],
                source.place,
                source.state.settings.title,
                attempts,
                repeated=repeated,
                same_as=same_as,
            )
        )
    return list(first.values()), tuple(counts)


def _refused_names(sources: Sequence[PoolSource], names: Sequence[str], kept: Sequence[int]) -> list[Reason]:
    """Say which benches have the same name; one that was pooled before may meet its own session again."""
    found = []
    seen: dict[str, str] = {}
    for place in kept:
        name = names[place]
        if name.casefold() in seen:
            found.append(
                Reason(
                    "pool.name_taken",
                    {"name": name, "first": seen[name.casefold()], "second": sources[place].place},
                )
            )
        seen.setdefault(name.casefold(), sources[place].place)
    for place in kept:
        origins = [each.origin for each in sources[place].state.attempts if each.origin is not None]
        for other in kept:
            alike = [origin for origin in origins if origin.bench.casefold() == names[other].casefold()]
            if not alike or other == place:
                continue
            state = sources[other].state
            ids = {each.id for each in state.attempts}
            if not any(o.session == state.settings.title or o.attempt_id in ids for o in alike):
                about = {"name": names[other], "first": sources[place].place, "second": sources[other].place}
                found.append(Reason("pool.name_within", about))
    return found


def _reserved(factors: PooledFactors) -> list[Reason]:
    """Refuse a factor that is called as what pooled attempts share."""
    return [
        Reason("pool.factor_reserved", {"name": factor.name})
        for factor in factors.factors
        if factor.name.casefold() == LOT_EFFECT_BENCH and factor.is_choice
    ]


def _renamed(session: BenchSession) -> CampaignState:
    """Return the bench's content with squares and products under the names of the pooled factors."""
    state, translator = session.state, session.translator
    settings = replace(
        state.settings,
        humps=tuple(_new_name(translator, name) for name in state.settings.humps),
        products=tuple(
            (_new_name(translator, one), _new_name(translator, other)) for one, other in state.settings.products
        ),
    )
    return replace(state, settings=settings)


def _new_name(translator: Translator, name: str) -> str:
    part = translator.part(name)
    return name if part is None else part.name


def _unknown_values(state: CampaignState) -> list[Reason]:
    """Say what attempts without a value of a factor mean for the model."""
    found = []
    total = len(state.attempts)
    for factor in state.visible_factors:
        known = sum(factor.name in attempt.conditions for attempt in state.attempts)
        if 0 < known < total:
            code = "pool.values_left_out" if 2 * known >= total else "pool.factor_left_out"
            found.append(
                Reason(code, {"name": factor.name, "known": known, "total": total, "unknown": total - known})
            )
    return found


def _notes_of(joined: Joined, sessions: Sequence[BenchSession], takes: Sequence[str]) -> list[Reason]:
    found = []
    for session, repeated, versions, taken in zip(
        sessions, joined.repeated, joined.versions, joined.taken, strict=True
    ):
        if repeated:
            about = {"bench": session.bench, "repeated": repeated, "taken": taken}
            found.append(Reason("pool.repeated", about))
        if versions:
            found.append(Reason("pool.versions", {"bench": session.bench, "versions": versions}))
        if not session.state.attempts:
            found.append(Reason("pool.no_attempts", {"bench": session.bench}))
    if joined.standing:
        found.append(Reason("pool.jars_closed", {"jars": joined.standing}))
    left = _left_behind(joined, sessions, takes)
    if left:
        found.append(Reason("pool.left_behind", {"what": ", ".join(left)}))
    return found


def _left_behind(joined: Joined, sessions: Sequence[BenchSession], takes: Sequence[str]) -> list[str]:
    states = [session.state for session in sessions]
    counts = {
        "lot without an attempt": joined.left_lots,
        "jar without an attempt": joined.left_jars,
        "guided run": sum(len(state.runs) for state in states) - len(joined.runs),
        "second grade": sum(len(state.regrades) for state in states) - len(joined.regrades),
        "proof": sum(len(state.proofs) for state in states),
        "evening plan": sum(len(state.evenings) for state in states),
        "comparison": sum(len(state.comparisons) for state in states),
        "issued recipe": sum(len(state.recipes) for state in states),
        "mark of a change": sum(len(state.marks) for state in states),
    }
    if PHOTOS not in takes:
        counts["photo"] = sum(count_of(session.bulky, StoredPhoto) for session in sessions)
        counts["temperature log"] = sum(count_of(session.bulky, TemperatureLog) for session in sessions)
    return [f"{count} {_many(what, count)}" for what, count in counts.items() if count > 0]


def _many(noun: str, count: int) -> str:
    head, space, rest = noun.partition(" of ") if " of " in noun else noun.partition(" without ")
    return noun if count == 1 else f"{head}s{space}{rest}"


def _counted(counts: Sequence[SourceCount], kept: Sequence[int], joined: Joined) -> tuple[SourceCount, ...]:
    out = list(counts)
    for place, taken, repeated, versions in zip(kept, joined.taken, joined.repeated, joined.versions, strict=True):
        out[place] = replace(out[place], taken=taken, repeated=repeated, versions=versions)
    return tuple(out)


__all__ = ["GRADES", "OPTIONAL", "PHOTOS", "RUNS", "PoolSource", "Pooled", "SourceCount", "pool"]
