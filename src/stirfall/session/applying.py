"""Edits applied to a state in memory, so that a command never reads the file again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar, cast

from stirfall.bench.campaign import CampaignState, ChecklistTick
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.commands import Changes
from stirfall.storage.edits import Edit, StoredPhoto

R = TypeVar("R")


def apply_edits(state: CampaignState, edits: Sequence[Edit], positions: dict[str, int]) -> CampaignState:
    """Return the state after ``edits``; ``positions`` (attempt id to place) is brought up to date."""
    for edit in edits:
        state = _apply(state, edit, positions)
    return state


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
        case StoredPhoto():
            return state
        case factors:
            return replace(state, factors=factors)


def _apply_to_attempts(state: CampaignState, edit: Edit, positions: dict[str, int]) -> CampaignState:
    place = positions.get(edit.record_id)
    attempts = _replaced(state.attempts, edit, place)
    if edit.before is None:
        positions[edit.record_id] = len(attempts) - 1
    elif edit.after is None:
        # Only the last attempt can be withdrawn: undo runs backwards. So no other place changes.
        del positions[edit.record_id]
    return replace(state, attempts=attempts)


def _place(records: Sequence[Lot | Jar], edit: Edit) -> int | None:
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
    attempts += [record.attempt_id for record in records if isinstance(record, StoredPhoto)]
    return Changes(
        name,
        settings=any(isinstance(record, CampaignSettings) for record in records),
        factors=any(isinstance(record, tuple) for record in records),
        shelf=any(isinstance(record, (Lot, Jar)) for record in records),
        attempts=tuple(attempts),
        checklist=any(isinstance(record, ChecklistTick) for record in records),
        new_attempt_id=new_attempt_id,
    )
