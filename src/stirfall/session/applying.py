"""Edits applied to a state in memory, so that a command never reads the file again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from typing import TypeVar, cast

from stirfall.bench.campaign import CampaignState, ChecklistTick
from stirfall.bench.comparisons import Comparison
from stirfall.bench.issued import ChangeMark, IssuedRecipe
from stirfall.bench.plans import EveningPlan
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import Acknowledgement, Regrade, Run, RunEvent, TemperatureLog
from stirfall.session.commands import Changes
from stirfall.storage.edits import Edit, StoredAnchor, StoredPhoto

R = TypeVar("R")


def apply_edits(state: CampaignState, edits: Sequence[Edit], positions: dict[str, int]) -> CampaignState:
    """Return the state after ``edits``; ``positions`` (attempt id to place) is brought up to date."""
    for is_many, group in groupby(edits, key=_comes_or_goes):
        if is_many:
            state = _apply_many(state, tuple(group), positions)
        else:
            for edit in group:
                state = _apply(state, edit, positions)
    return state


def _comes_or_goes(edit: Edit) -> bool:
    return isinstance(edit.record, Attempt) and (edit.before is None or edit.after is None)


def _apply_many(state: CampaignState, edits: Sequence[Edit], positions: dict[str, int]) -> CampaignState:
    """Return the state with attempts added or withdrawn, at once: a table may bring a hundred thousand of them."""
    attempts = list(state.attempts)
    for edit in edits:
        if isinstance(edit.after, Attempt):
            positions[edit.record_id] = len(attempts)
            attempts.append(edit.after)
        elif attempts and attempts[-1].id == edit.record_id:
            # Only the last attempt can be withdrawn: undo runs backwards. So no other place changes.
            del positions[edit.record_id]
            attempts.pop()
        else:
            raise LookupError(edit.record_id)
    return replace(state, attempts=tuple(attempts))


def _apply(state: CampaignState, edit: Edit, positions: dict[str, int]) -> CampaignState:
    match edit.record:
        case CampaignSettings() as settings:
            return replace(state, settings=settings)
        case Lot():
            return replace(state, lots=_replaced(state.lots, edit, _place(state.lots, edit)))
        case Jar():
            return replace(state, jars=_replaced(state.jars, edit, _place(state.jars, edit)))
        case Attempt():
            return _apply_to_attempts(state, edit, positions)
        case ChecklistTick():
            place = None if edit.before is None else len(state.ticks) - 1
            return replace(state, ticks=_replaced(state.ticks, edit, place))
        case Run():
            return replace(state, runs=_with_run(state.runs, edit))
        case RunEvent():
            return _apply_to_run(state, edit, edit.record)
        case Regrade() | Acknowledgement() | Proof() | EveningPlan() | Comparison() | IssuedRecipe() | ChangeMark():
            return _apply_to_list(state, edit, _LISTS[type(edit.record)])
        case StoredPhoto() | StoredAnchor() | TemperatureLog():
            return state
        case factors:
            return replace(state, factors=factors)


_LISTS = {
    Regrade: "regrades",
    Acknowledgement: "acknowledged",
    Proof: "proofs",
    EveningPlan: "evenings",
    Comparison: "comparisons",
    IssuedRecipe: "recipes",
    ChangeMark: "marks",
}
_Listed = Lot | Jar | Run | RunEvent | Regrade | Acknowledgement | Proof | EveningPlan | Comparison | IssuedRecipe


def _apply_to_list(state: CampaignState, edit: Edit, name: str) -> CampaignState:
    records = getattr(state, name)
    return replace(state, **{name: _replaced(records, edit, _place(records, edit))})  # type: ignore[arg-type]


def _apply_to_attempts(state: CampaignState, edit: Edit, positions: dict[str, int]) -> CampaignState:
    place = positions.get(edit.record_id)
    return replace(state, attempts=_replaced(state.attempts, edit, place))


def _with_run(runs: tuple[Run, ...], edit: Edit) -> tuple[Run, ...]:
    place = _place(runs, edit)
    if place is not None and isinstance(edit.after, Run):
        # What the program noted by itself in the meantime stays, whichever way the run is changed.
        edit = Edit(edit.record_id, edit.before, replace(edit.after, events=runs[place].events))
    return _replaced(runs, edit, place)


def _apply_to_run(state: CampaignState, edit: Edit, event: RunEvent) -> CampaignState:
    place = next(at for at, run in enumerate(state.runs) if run.id == event.run_id)
    run = state.runs[place]
    run = replace(run, events=_replaced(run.events, edit, _place(run.events, edit)))
    return replace(state, runs=(*state.runs[:place], run, *state.runs[place + 1 :]))


def _place(records: Sequence[_Listed | ChangeMark], edit: Edit) -> int | None:
    return next((place for place, record in enumerate(records) if record.id == edit.record_id), None)


def _replaced(records: tuple[R, ...], edit: Edit, place: int | None) -> tuple[R, ...]:
    if edit.before is None:
        return (*records, cast("R", edit.after))
    if place is None:
        raise LookupError(edit.record_id)
    after = () if edit.after is None else (cast("R", edit.after),)
    return (*records[:place], *after, *records[place + 1 :])


def changes_of(name: str, edits: Sequence[Edit], new_attempt_id: str | None) -> Changes:
    """Return what a set of edits makes stale."""
    records = [edit.record for edit in edits]
    attempts = [edit.record_id for edit in edits if isinstance(edit.record, Attempt)]
    bulky = [record for record in records if isinstance(record, (StoredPhoto, TemperatureLog))]
    attempts += [record.attempt_id for record in bulky]
    return Changes(
        name,
        settings=any(isinstance(record, CampaignSettings) for record in records),
        factors=any(isinstance(record, tuple) for record in records),
        shelf=any(isinstance(record, (Lot, Jar)) for record in records),
        attempts=tuple(attempts),
        checklist=any(isinstance(record, ChecklistTick) for record in records),
        runs=any(isinstance(record, (Run, RunEvent)) for record in records),
        regrades=any(isinstance(record, Regrade) for record in records),
        anchors=any(isinstance(record, StoredAnchor) for record in records),
        acknowledged=any(isinstance(record, Acknowledgement) for record in records),
        proofs=any(isinstance(record, Proof) for record in records),
        evenings=any(isinstance(record, EveningPlan) for record in records),
        comparisons=any(isinstance(record, Comparison) for record in records),
        recipes=any(isinstance(record, IssuedRecipe) for record in records),
        marks=any(isinstance(record, ChangeMark) for record in records),
        new_attempt_id=new_attempt_id,
    )
