"""What the person has put into the bench form, raw, as one immutable value that survives a crash."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.bench.units import THIN_SPACE, human_time
from stirfall.desktop.bench_form.seen import SEEN
from stirfall.desktop.shown import CAMPAIGN, Shown, in_other_unit

AGE_ROLES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.FILM_INDEX)


class Origin(StrEnum):
    """Where the value of a field came from."""

    TYPED = "typed"
    CLOCK = "clock"
    JAR = "jar"
    KEPT = "kept"
    USUAL = "usual"


@dataclass(frozen=True)
class Entry:
    """One field as entered: raw text (the level of a choice), its origin, and why the clock was overridden."""

    text: str = ""
    origin: Origin = Origin.TYPED
    reason: str = ""


@dataclass(frozen=True)
class Form:
    """The whole form as entered. ``started_at`` None means that the attempt starts now.

    ``masses``, ``tares``, ``sheet`` and ``seen`` hold raw texts by field name; ``reasons`` the reason for each
    warning that is gone past. ``planned`` are the conditions that this program suggested, with its jar.
    ``proof_id`` is the proof that the attempt shall count for. ``operator`` and ``tool`` stay for the next attempt.
    ``temperature`` says in which unit the bare numbers of temperatures stand, as in ``Shown``.
    """

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
    look: str = ""
    seen: Mapping[str, str] = field(default_factory=dict)
    tares: Mapping[str, str] = field(default_factory=dict)
    sheet: Mapping[str, str] = field(default_factory=dict)
    reasons: Mapping[str, str] = field(default_factory=dict)
    planned: Mapping[str, Value] = field(default_factory=dict)
    planned_jar: str | None = None
    run_id: str | None = None
    proof_id: str | None = None
    temperature: str = CAMPAIGN
    operator: str = ""
    tool: str = ""

    def entry(self, name: str) -> Entry:
        """Return the entry of a factor; an untouched one is empty."""
        return self.entries.get(name, Entry())

    def with_entry(self, name: str, entry: Entry) -> Form:
        """Return a copy with one entry changed."""
        return replace(self, entries={**self.entries, name: entry})

    def with_photo(self, key: str) -> Form:
        """Return a copy that holds one photo more."""
        return replace(self, photos=(*self.photos, key))

    def without_photo(self, key: str) -> Form:
        """Return a copy without one photo."""
        return replace(self, photos=tuple(kept for kept in self.photos if kept != key))

    def without_result(self) -> Form:
        """Return the form for the next attempt: conditions and balance step kept, everything else cleared."""
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
            look="",
            seen={},
            tares={},
            sheet={name: text for name, text in self.sheet.items() if name == "step_g"},
            reasons={},
            planned={},
            planned_jar=None,
            run_id=None,
            proof_id=None,
        )


def text_of(value: float | str, decimal: str, unit: str = "") -> str:
    """Write a value of ``unit`` as the person would type it into its field: a bare number in the shown unit."""
    return value if isinstance(value, str) else Shown.of(decimal).number(value, unit)


def in_shown_units(form: Form, factors: tuple[Factor, ...], decimal: str) -> Form:
    """Return the form with its bare temperatures in the unit shown now: the amounts stay, not the digits."""
    old, new = Shown(decimal, form.temperature), Shown.of(decimal)
    if old.temperature == new.temperature:
        return form
    entries = dict(form.entries)
    for factor in factors:
        if factor.name in entries and not factor.is_choice:
            entry = entries[factor.name]
            entries[factor.name] = replace(entry, text=in_other_unit(entry.text, factor.unit, old, new))
    units = {quantity.name: quantity.unit for quantity in SEEN}
    seen = {name: in_other_unit(text, units.get(name, ""), old, new) for name, text in form.seen.items()}
    return replace(form, entries=entries, seen=seen, temperature=new.temperature)


def is_age(factor: Factor) -> bool:
    """Whether the clock can tell this factor: an age, or the film index that follows from it and the jar."""
    return factor.role in AGE_ROLES and not factor.is_choice


def age_text(hours: float, decimal: str) -> str:
    """Return the age of a jar in h as a person says it; nobody says the age of a jar in seconds."""
    return human_time(hours, "h", decimal=decimal) if hours >= 1.0 / 60.0 else f"under 1{THIN_SPACE}min"


def is_oil_depth(factor: Factor) -> bool:
    """Whether the factor is the depth of oil that stands on the label of a jar."""
    return factor.name.casefold() == "oil depth" and factor.unit == "mm" and not factor.is_choice


def last_attempt(state: CampaignState) -> Attempt | None:
    """Return the newest attempt that was not struck out."""
    return next((attempt for attempt in reversed(state.attempts) if not attempt.is_struck), None)


def fresh_form(state: CampaignState, decimal: str, *, usual: bool = False) -> Form:
    """Return an empty form whose settings stand as they stood last time; ages are never guessed.

    Where ``usual``, the campaign's usual values come first, where a factor has one.
    """
    last = last_attempt(state)
    known = last.conditions if last else Conditions()
    entries: dict[str, Entry] = {}
    for factor in state.visible_factors:
        value = known.get(factor.name, factor.default)
        if usual and factor.default is not None:
            value = factor.default
        if is_age(factor) or value is None or (factor.is_choice and value not in factor.levels):
            continue
        origin = Origin.USUAL if usual and factor.default is not None else Origin.KEPT
        entries[factor.name] = Entry(text_of(value, decimal, factor.unit), origin)
    step = last.sheet.step_g if last else None
    sheet = {} if step is None else {"step_g": text_of(step, decimal)}
    who, tool = (last.facts.operator, last.facts.tool) if last else ("", "")
    temperature = Shown.of(decimal).temperature
    return Form(entries=entries, sheet=sheet, temperature=temperature, operator=who, tool=tool)


def with_conditions(form: Form, conditions: Conditions, state: CampaignState, decimal: str) -> Form:
    """Return the form filled with conditions; a factor without a value becomes unknown."""
    entries: dict[str, Entry] = {}
    for factor in state.visible_factors:
        value = conditions.get(factor.name)
        entries[factor.name] = Entry("" if value is None else text_of(value, decimal, factor.unit))
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
