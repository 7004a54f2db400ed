"""The invented campaigns that come with the program, and how one becomes a session file of one's own."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from os import PathLike
from pathlib import Path

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.errors import InputError
from stirfall.bench.running import Run
from stirfall.session.clock import Clock, SystemClock
from stirfall.session.document import Document
from stirfall.session.packages import session_of
from stirfall.storage.package import DESCRIPTOR, PackageContent, read_descriptor, read_package
from stirfall.storage.shipped import shipped

__all__ = ["SampleInfo", "open_sample", "samples", "session_of"]

# The order in which they are offered; a sample that is not named here comes after these.
_FIRST = ("tin-bismuth-dross", "work-holding-alloy", "gallium-beads")


@dataclass(frozen=True)
class SampleInfo:
    """One sample: its key, what it is called, what it is about, and the folder that holds it."""

    key: str
    title: str
    summary: str
    folder: Path


def samples() -> tuple[SampleInfo, ...]:
    """Return the samples that came with the program, in the order in which they are offered."""
    folders = [path for path in shipped("sample_sessions").iterdir() if (path / DESCRIPTOR).is_file()]
    folders.sort(key=lambda path: (_FIRST.index(path.name) if path.name in _FIRST else len(_FIRST), path.name))
    return tuple(_info(folder) for folder in folders)


def _info(folder: Path) -> SampleInfo:
    descriptor = read_descriptor(folder)
    return SampleInfo(folder.name, str(descriptor["title"]), str(descriptor["description"]), folder)


def open_sample(key: str, target_path: str | PathLike[str], *, clock: Clock | None = None) -> Document:
    """Make a session file from a sample and open it.

    All dates move by the same number of whole days, so that the campaign seems to end within the day before the
    clock's present: jars on the shelf are then as young as the campaign means them to be. Raises InputError
    ``sample.unknown`` and what ``read_package`` and ``Document.create`` raise.
    """
    clock = clock or SystemClock()
    known = {sample.key: sample for sample in samples()}
    if key not in known:
        raise InputError("sample.unknown", key=key, known=", ".join(known))
    content = read_package(known[key].folder)
    return session_of(_moved(content, _days_until(clock.now(), content)), target_path, clock=clock)


def _days_until(now: datetime, content: PackageContent) -> timedelta:
    """Return the whole days that bring the last moment of the campaign into the day that ends now."""
    return timedelta(days=(now - max(_moments(content))) // timedelta(days=1))


def _moments(content: PackageContent) -> Iterable[datetime]:
    state = content.state
    stamps = [correction.at for correction in content.corrections]
    stamps += [moment for lot in state.lots if (moment := lot.made_at)]
    begun = [jar for jar in state.jars if not jar.planned]  # a planned start lies ahead of the campaign
    stamps += [moment for jar in begun for moment in (jar.started_at, jar.emptied_at) if moment]
    stamps += [moment for a in state.attempts for moment in (a.started_at, a.recorded_at) if moment]
    stamps += [moment for run in state.runs for moment in (run.started_at, run.ended_at) if moment]
    stamps += [event.at for run in state.runs for event in run.events]
    stamps += [regrade.at for regrade in state.regrades]
    stamps += [moment for proof in state.proofs for moment in (proof.started_at, proof.ended_at) if moment]
    stamps += [plan.made_at for plan in state.evenings]
    return stamps


def _moved(content: PackageContent, shift: timedelta) -> PackageContent:
    def later(moment: datetime | None) -> datetime | None:
        return None if moment is None else moment + shift

    state = content.state
    moved: CampaignState = replace(
        state,
        lots=tuple(replace(lot, made_at=later(lot.made_at)) for lot in state.lots),
        jars=tuple(
            replace(
                jar,
                started_at=jar.started_at + shift,
                emptied_at=later(jar.emptied_at),
                looked_at=later(jar.looked_at),
            )
            for jar in state.jars
        ),
        attempts=tuple(
            replace(attempt, started_at=later(attempt.started_at), recorded_at=later(attempt.recorded_at))
            for attempt in state.attempts
        ),
        runs=tuple(_moved_run(run, shift) for run in state.runs),
        regrades=tuple(replace(regrade, at=regrade.at + shift) for regrade in state.regrades),
        proofs=tuple(
            replace(proof, started_at=proof.started_at + shift, ended_at=later(proof.ended_at))
            for proof in state.proofs
        ),
        evenings=tuple(
            replace(
                plan,
                made_at=plan.made_at + shift,
                begins_at=plan.begins_at + shift,
                dropped_at=later(plan.dropped_at),
            )
            for plan in state.evenings
        ),
    )
    corrections: tuple[Correction, ...] = tuple(
        replace(correction, at=correction.at + shift) for correction in content.corrections
    )
    return replace(content, state=moved, corrections=corrections)


def _moved_run(run: Run, shift: timedelta) -> Run:
    return replace(
        run,
        started_at=run.started_at + shift,
        ended_at=None if run.ended_at is None else run.ended_at + shift,
        events=tuple(replace(event, at=event.at + shift) for event in run.events),
    )
