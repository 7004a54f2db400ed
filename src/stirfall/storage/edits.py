"""Edits: one record before and after a command, the common coin of saving, undo and the correction history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime
from enum import StrEnum

from stirfall.bench.campaign import ChecklistTick
from stirfall.bench.comparisons import Comparison
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.issued import ChangeMark, IssuedRecipe
from stirfall.bench.plans import EveningPlan, PlanSettings
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.bench.run_facts import RunFacts, WeighingSheet
from stirfall.bench.running import Acknowledgement, Regrade, Run, RunEvent, TemperatureLog
from stirfall.bench.substances import Substances
from stirfall.storage.values import to_json

SETTINGS_ID = "settings"
FACTORS_ID = "factors"


class Action(StrEnum):
    """How an edit came about."""

    DO = "do"
    UNDO = "undo"
    REDO = "redo"


@dataclass(frozen=True)
class StoredPhoto:
    """A photo of one attempt; its bytes may be empty once the photo is in the file."""

    attempt_id: str
    name: str
    media_type: str
    added_at: datetime
    data: bytes = field(repr=False, default=b"")
    original: bytes = field(repr=False, default=b"")


@dataclass(frozen=True)
class StoredAnchor:
    """The example photo of one class of outcome; ``data`` may be empty once the photo is in the file."""

    outcome: str
    name: str
    media_type: str
    added_at: datetime
    data: bytes = field(repr=False, default=b"")


Factors = tuple[Factor, ...]
Bulky = StoredPhoto | StoredAnchor | TemperatureLog
"""Records that are in the file and not in the state."""

Record = (
    CampaignSettings
    | Factors
    | Lot
    | Jar
    | Attempt
    | ChecklistTick
    | Run
    | RunEvent
    | Regrade
    | Acknowledgement
    | Proof
    | EveningPlan
    | Comparison
    | IssuedRecipe
    | ChangeMark
    | Bulky
)
_KINDS: Mapping[type, str] = {
    CampaignSettings: "settings",
    Lot: "lot",
    Jar: "jar",
    Attempt: "attempt",
    ChecklistTick: "tick",
    StoredPhoto: "photo",
    StoredAnchor: "anchor",
    TemperatureLog: "temperature_log",
    Run: "run",
    RunEvent: "run_event",
    Regrade: "regrade",
    Acknowledgement: "acknowledgement",
    Proof: "proof",
    EveningPlan: "evening_plan",
    Comparison: "comparison",
    IssuedRecipe: "issued_recipe",
    ChangeMark: "change_mark",
}


@dataclass(frozen=True)
class Edit:
    """One record before and after; before None makes it, after None withdraws it (the row stays)."""

    record_id: str
    before: Record | None
    after: Record | None

    def reversed(self) -> Edit:
        """Return the edit that takes this one back."""
        return Edit(self.record_id, self.after, self.before)

    @property
    def record(self) -> Record:
        """The record after the edit, or the one that it withdraws."""
        record = self.before if self.after is None else self.after
        if record is None:
            raise ValueError(self.record_id)
        return record


@dataclass(frozen=True)
class FieldChange:
    """One changed field of one record; values are JSON text."""

    kind: str
    record_id: str
    field: str
    old: str
    new: str


def kind_of(record: Record) -> str:
    """Return the word for the kind of a record, as the correction table keeps it."""
    return _KINDS.get(type(record), "factors")


def field_changes(edit: Edit) -> list[FieldChange]:
    """Return what an edit changes, field by field; making a record changes nothing, withdrawing it is one change.

    An attempt that is withdrawn leaves behind which proof it was marked for: no failure vanishes without a trace.
    Conditions and masses are told per name (``conditions.temperature``), factors per factor.
    """
    record = edit.record
    kind = kind_of(record)
    if edit.before is None:
        return []
    if edit.after is None:
        gone = [FieldChange(kind, edit.record_id, "withdrawn", "false", "true")]
        if isinstance(record, Attempt) and record.proof_id is not None:
            gone.append(FieldChange(kind, edit.record_id, "proof_id", to_json(record.proof_id), to_json(None)))
        return gone
    if isinstance(edit.before, tuple) and isinstance(edit.after, tuple):
        return _factor_changes(edit.before, edit.after)
    return record_changes(kind, edit.record_id, edit.before, edit.after)


def record_changes(kind: str, record_id: str, before: Record, after: Record) -> list[FieldChange]:
    """Return the fields in which two records of one kind differ."""
    changes: list[FieldChange] = []
    for item in fields(before):  # type: ignore[arg-type]  # every record but the factor list is a dataclass
        old, new = getattr(before, item.name), getattr(after, item.name)
        if old == new or item.name == "events":  # the events of a run are records of their own
            continue
        if isinstance(old, (Conditions, Masses, RunFacts, WeighingSheet, PlanSettings)):
            changes += _part_changes(kind, record_id, item.name, old, new)
        elif isinstance(old, Substances):
            for part in fields(Substances):
                changes += _part_changes(
                    kind, record_id, f"{item.name}.{part.name}", getattr(old, part.name), getattr(new, part.name)
                )
        else:
            changes.append(FieldChange(kind, record_id, item.name, to_json(old), to_json(new)))
    return changes


def _part_changes(kind: str, record_id: str, name: str, old: object, new: object) -> list[FieldChange]:
    if isinstance(old, tuple) or isinstance(new, tuple):
        return [FieldChange(kind, record_id, name, to_json(old), to_json(new))] if old != new else []
    olds = dict(old) if isinstance(old, Conditions) else vars(old)
    news = dict(new) if isinstance(new, Conditions) else vars(new)
    return [
        FieldChange(kind, record_id, f"{name}.{part}", to_json(olds.get(part)), to_json(news.get(part)))
        for part in dict.fromkeys([*olds, *news])
        if olds.get(part) != news.get(part)
    ]


def _factor_changes(before: Factors, after: Factors) -> list[FieldChange]:
    olds = {factor.name: factor for factor in before}
    news = {factor.name: factor for factor in after}
    changes: list[FieldChange] = []
    for name in dict.fromkeys([*olds, *news]):
        old, new = olds.get(name), news.get(name)
        if old is not None and new is not None:
            changes += [
                FieldChange(
                    "factor", name, item.name, to_json(getattr(old, item.name)), to_json(getattr(new, item.name))
                )
                for item in fields(Factor)
                if getattr(old, item.name) != getattr(new, item.name)
            ]
        else:
            word = "removed" if new is None else "added"
            changes.append(FieldChange("factor", name, word, to_json(old), to_json(new)))
    if list(olds) != list(news):
        changes.append(FieldChange("factors", FACTORS_ID, "order", to_json(list(olds)), to_json(list(news))))
    return changes
