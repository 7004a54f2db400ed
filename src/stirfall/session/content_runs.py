"""Runs and second grades of a new session, checked against its jars, lots and attempts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.running import EventKind, Regrade, Run, RunEvent
from stirfall.session import validation as check
from stirfall.session.planned_evidence import CLASSES


def checked_runs(state: CampaignState) -> CampaignState:
    """Return the content with its runs and second grades as a file will keep them.

    Raises InputError ``run.*``, ``regrade.*``, ``record.repeated``, ``attempt.unknown``, ``jar.*`` or ``lot.*``.
    """
    named = {run.id: run.attempt_id for run in state.runs}
    for attempt in state.attempts:
        if attempt.run_id is not None and attempt.run_id not in named:
            raise InputError("run.unknown", id=attempt.run_id)
        if attempt.run_id is not None and named[attempt.run_id] != attempt.id:
            raise InputError("run.attempt_differs", id=attempt.run_id)
    check_ids(run.id for run in state.runs)
    check_ids(event.id for run in state.runs for event in run.events)
    check_ids(regrade.id for regrade in state.regrades)
    still_open = [run.id for run in state.runs if run.is_open]
    if len(still_open) > 1:
        raise InputError("run.another_open", id=still_open[0])
    known = {attempt.id: attempt.run_id for attempt in state.attempts}
    return replace(
        state,
        runs=tuple(_checked_run(run, state, known) for run in state.runs),
        regrades=tuple(_checked_regrades(state.regrades, known)),
    )


def check_ids(ids: Iterable[str]) -> None:
    """Raise InputError ``record.repeated`` where an id is empty or stands twice."""
    seen: set[str] = set()
    for each in ids:
        if each in seen or not each.strip():
            raise InputError("record.repeated", id=each)
        seen.add(each)


def _checked_run(run: Run, state: CampaignState, known: dict[str, str | None]) -> Run:
    if run.jar_id is not None:
        check.refuse_planned(check.require_jar(state, run.jar_id))
    if run.lot_id is not None:
        check.require_lot(state, run.lot_id)
    if run.attempt_id is not None and run.attempt_id not in known:
        raise InputError("attempt.unknown", id=run.attempt_id)
    if run.attempt_id is not None and known[run.attempt_id] != run.id:
        raise InputError("run.attempt_differs", id=run.id)
    return replace(
        run,
        started_at=check.kept_moment(run.started_at),
        ended_at=None if run.ended_at is None else check.kept_moment(run.ended_at),
        events=tuple(_checked_event(event, run) for event in run.events),
    )


def _checked_event(event: RunEvent, run: Run) -> RunEvent:
    if event.run_id != run.id:
        raise InputError("run.unknown", id=event.run_id)
    if event.kind is EventKind.STEP and run.planned(event.step) is None:
        raise InputError("run.step_unknown", step=event.step, known=", ".join(each.step for each in run.steps))
    return replace(event, at=check.kept_moment(event.at))


def _checked_regrades(regrades: Iterable[Regrade], known: dict[str, str | None]) -> Iterator[Regrade]:
    words = [each.value for each in CLASSES]
    for regrade in regrades:
        if regrade.attempt_id not in known:
            raise InputError("attempt.unknown", id=regrade.attempt_id)
        if regrade.outcome not in words:
            raise InputError("regrade.not_a_class", value=regrade.outcome, known=", ".join(words))
        yield replace(regrade, at=check.kept_moment(regrade.at))
