"""What the person has put into the bench form, raw, as one immutable value that survives a crash."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum

from stirfall.bench.ages import read_stamp, stamp
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.bench.units import format_number

AGE_ROLES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE)
MASS_NAMES = ("charge_g", "product_g", "beads_g", "residue_g", "additive_g")


class Origin(StrEnum):
    """Where the value of a field came from."""

    TYPED = "typed"
    CLOCK = "clock"
    JAR = "jar"
    KEPT = "kept"


@dataclass(frozen=True)
class Entry:
    """One field as entered: raw text (the level of a choice), its origin, and why the clock was overridden."""

    text: str = ""
    origin: Origin = Origin.TYPED
    reason: str = ""


@dataclass(frozen=True)
class Form:
    """The whole form as entered. ``started_at`` None means that the attempt starts now."""

    jar_text: str = ""
    jar_id: str | None = None
    lot_id: str | None = None
    started_at: datetime | None = None
    entries: Mapping[str, Entry] = field(default_factory=dict)
    parted: Parted | None = None
    pooled: Pooled | None = None
    aborted: bool = False
    abort_reason: str = ""
    masses: Mapping[str, str] = field(default_factory=dict)
    note: str = ""
    empties_jar: bool = True
    photos: tuple[str, ...] = ()
    filled_from: str = ""

    def entry(self, name: str) -> Entry:
        """Return the entry of a factor; an untouched one is empty."""
        return self.entries.get(name, Entry())

    def with_entry(self, name: str, entry: Entry) -> Form:
        """Return a copy with one entry changed."""
        return replace(self, entries={**self.entries, name: entry})

    def without_result(self) -> Form:
        """Return the form for the next attempt: conditions kept, outcome, masses, note and photos cleared."""
        return replace(
            self,
            parted=None,
            pooled=None,
            aborted=False,
            abort_reason="",
            masses={},
            note="",
            photos=(),
            started_at=None,
            filled_from="",
        )


def text_of(value: float | str, decimal: str) -> str:
    """Write a value as the person would type it into its field."""
    return value if isinstance(value, str) else format_number(value, digits=6, decimal=decimal)


def is_age(factor: Factor) -> bool:
    """Whether the clock can tell this factor."""
    return factor.role in AGE_ROLES and not factor.is_choice


def is_oil_depth(factor: Factor) -> bool:
    """Whether the factor is the depth of oil that stands on the label of a jar."""
    return factor.name.casefold() == "oil depth" and factor.unit == "mm" and not factor.is_choice


def last_attempt(state: CampaignState) -> Attempt | None:
    """Return the newest attempt that was not struck out."""
    return next((attempt for attempt in reversed(state.attempts) if not attempt.is_struck), None)


def fresh_form(state: CampaignState, decimal: str) -> Form:
    """Return an empty form whose settings stand as they stood last time; ages are never guessed."""
    last = last_attempt(state)
    known = last.conditions if last else Conditions()
    entries: dict[str, Entry] = {}
    for factor in state.visible_factors:
        value = known.get(factor.name, factor.default)
        if is_age(factor) or value is None or (factor.is_choice and value not in factor.levels):
            continue
        entries[factor.name] = Entry(text_of(value, decimal), Origin.KEPT)
    return Form(entries=entries)


def with_conditions(form: Form, conditions: Conditions, state: CampaignState, decimal: str) -> Form:
    """Return the form filled with conditions; a factor without a value becomes unknown."""
    entries: dict[str, Entry] = {}
    for factor in state.visible_factors:
        value = conditions.get(factor.name)
        entries[factor.name] = Entry("" if value is None else text_of(value, decimal))
    return replace(form, entries=entries)


def with_jar(form: Form, jar_id: str | None, lot_id: str | None, state: CampaignState, decimal: str) -> Form:
    """Return the form with a jar (or only a lot) picked; ages that were not argued for come from the clock.

    A factor that means the oil depth takes the depth of the jar.
    """
    entries = dict(form.entries)
    jar = state.jar(jar_id)
    if jar is not None and jar.oil_depth_mm is not None:
        for factor in filter(is_oil_depth, state.visible_factors):
            entries[factor.name] = Entry(text_of(jar.oil_depth_mm, decimal), Origin.JAR)
    if jar_id is not None or lot_id is not None:
        for factor in filter(is_age, state.visible_factors):
            if not form.entry(factor.name).reason:
                entries[factor.name] = Entry(origin=Origin.CLOCK)
    else:
        for name, entry in form.entries.items():
            if entry.origin is Origin.CLOCK:
                entries[name] = Entry()
    return replace(form, jar_id=jar_id, jar_text=jar_id or "", lot_id=lot_id, entries=entries)


def to_draft(form: Form) -> dict[str, object]:
    """Return the form as plain JSON values, for the draft kept in the session file."""
    return {
        "version": 1,
        "jar_text": form.jar_text,
        "jar_id": form.jar_id,
        "lot_id": form.lot_id,
        "started_at": stamp(form.started_at) if form.started_at else None,
        "entries": {
            name: {"text": entry.text, "origin": entry.origin.value, "reason": entry.reason}
            for name, entry in form.entries.items()
        },
        "parted": form.parted.value if form.parted else None,
        "pooled": form.pooled.value if form.pooled else None,
        "aborted": form.aborted,
        "abort_reason": form.abort_reason,
        "masses": dict(form.masses),
        "note": form.note,
        "empties_jar": form.empties_jar,
        "photos": list(form.photos),
        "filled_from": form.filled_from,
    }


def from_draft(draft: Mapping[str, object]) -> Form | None:
    """Return the form of a draft, or None when the draft cannot be read; a bad draft must never stop the window."""
    try:
        return _read_draft(draft)
    except (InputError, ValueError, TypeError, AttributeError, KeyError):
        return None


def _read_draft(draft: Mapping[str, object]) -> Form:
    entries = _mapping(draft["entries"])
    started, parted, pooled = (draft.get(key) for key in ("started_at", "parted", "pooled"))
    photos = draft.get("photos")
    return Form(
        jar_text=str(draft.get("jar_text") or ""),
        jar_id=_text_or_none(draft.get("jar_id")),
        lot_id=_text_or_none(draft.get("lot_id")),
        started_at=read_stamp(str(started)) if started else None,
        entries={name: _read_entry(_mapping(entry)) for name, entry in entries.items()},
        parted=Parted(str(parted)) if parted else None,
        pooled=Pooled(str(pooled)) if pooled else None,
        aborted=bool(draft.get("aborted")),
        abort_reason=str(draft.get("abort_reason") or ""),
        masses={name: str(text) for name, text in _mapping(draft.get("masses") or {}).items()},
        note=str(draft.get("note") or ""),
        empties_jar=bool(draft.get("empties_jar", True)),
        photos=tuple(str(path) for path in photos) if isinstance(photos, (list, tuple)) else (),
        filled_from=str(draft.get("filled_from") or ""),
    )


def _read_entry(entry: Mapping[str, object]) -> Entry:
    return Entry(str(entry["text"]), Origin(str(entry["origin"])), str(entry.get("reason") or ""))


def _mapping(value: object) -> Mapping[str, object]:
    if not isinstance(value, Mapping):
        raise TypeError(type(value).__name__)
    return value


def _text_or_none(value: object) -> str | None:
    return None if value is None else str(value)
