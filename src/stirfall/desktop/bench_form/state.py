"""What the bench form shows, worked out from what was entered; pure, so that it is tested without a window."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Scale, Value
from stirfall.bench.materials import Caution
from stirfall.bench.outcomes import Outcome, Parted, Pooled, derive_outcome
from stirfall.bench.records import AgeOverride, Attempt, Jar, Lot, Masses, computed_ages
from stirfall.bench.units import (
    THIN_SPACE,
    format_number,
    format_quantity,
    human_time,
    parse_number,
    parse_quantity,
    unit_kind,
)
from stirfall.desktop.bench_form.form import MASS_NAMES, Entry, Form, Origin
from stirfall.planning.findings import Finding
from stirfall.planning.limits import OperatingLimits


@dataclass(frozen=True)
class FieldState:
    """One factor in the form: what was typed, what was understood, and what is wrong with it."""

    factor: Factor
    entry: Entry
    value: Value | None
    echo: str = ""
    problem: Reason | None = None
    clock_value: float | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def is_override(self) -> bool:
        """Whether a typed age stands against the clock's, so that a reason is asked for."""
        return self.clock_value is not None and self.entry.origin is not Origin.CLOCK


@dataclass(frozen=True)
class MassState:
    """One weighing in the form."""

    name: str
    text: str
    value: float | None
    problem: Reason | None = None


@dataclass(frozen=True)
class ChecklistState:
    """The start checklist of the day: due or done, and which lines are ticked on screen."""

    is_due: bool
    items: tuple[Caution, ...] = ()
    ticked: frozenset[str] = frozenset()

    @property
    def is_complete(self) -> bool:
        """Whether each line is ticked."""
        return all(item.key in self.ticked for item in self.items)


@dataclass(frozen=True)
class Surroundings:
    """Everything outside the form that decides what it shows."""

    campaign: CampaignState
    now: datetime
    decimal: str
    limits: OperatingLimits | None = None
    checklist: ChecklistState = ChecklistState(is_due=False)
    read_only: Reason | None = None
    editing: str | None = None
    confirmed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class FormState:
    """The whole bench form as shown."""

    form: Form
    fields: tuple[FieldState, ...]
    conditions: Conditions
    jars: tuple[Jar, ...]
    lots: tuple[Lot, ...]
    jar: Jar | None
    lot: Lot | None
    jar_problem: Reason | None
    clock_problem: Reason | None
    masses: tuple[MassState, ...]
    outcome: Outcome | None
    findings: tuple[Finding, ...]
    needs_confirm: bool
    is_confirmed: bool
    missing: Reason | None
    checklist: ChecklistState
    decimal: str
    now: datetime

    @property
    def can_record(self) -> bool:
        """Whether the record button may be pressed."""
        return self.missing is None

    @property
    def pooled_enabled(self) -> bool:
        """Whether the second question can be answered."""
        return self.form.parted in (Parted.PARTLY, Parted.YES) and not self.form.aborted

    @property
    def pooled(self) -> Pooled | None:
        """The answer to the second question; not observed when nothing parted."""
        return Pooled.NOT_OBSERVED if self.form.parted is Parted.NO else self.form.pooled

    @property
    def starts_at(self) -> datetime:
        """The start of the attempt."""
        return self.form.started_at or self.now

    def field(self, name: str) -> FieldState:
        """Return the state of one factor; raises InputError ``factor.unknown``."""
        for item in self.fields:
            if item.factor.name == name:
                return item
        raise InputError("factor.unknown", name=name, known=", ".join(item.factor.name for item in self.fields))


def read_form(form: Form, around: Surroundings) -> FormState:
    """Return what the form shows: each field understood, ages from the clock, findings, and what is missing."""
    campaign = around.campaign
    jar = campaign.jar(form.jar_id)
    lot = campaign.lot(jar.lot_id if jar else form.lot_id)
    clock, clock_problem = _clock_values(form, campaign, lot, jar, around.now)
    fields = tuple(_read_field(factor, form, clock, around) for factor in campaign.visible_factors)
    conditions = Conditions({item.factor.name: item.value for item in fields if item.value is not None})
    findings = tuple(around.limits.check(conditions)) if around.limits else ()
    fields = tuple(
        replace(item, findings=tuple(found for found in findings if found.factor == item.factor.name))
        for item in fields
    )
    asked = _asked(findings, aborted=form.aborted)
    draft = FormState(
        form=form,
        fields=fields,
        conditions=conditions,
        jars=campaign.shelf,
        lots=campaign.lots,
        jar=jar,
        lot=lot,
        jar_problem=_jar_problem(form, campaign, jar),
        clock_problem=clock_problem,
        masses=tuple(_read_mass(name, form) for name in MASS_NAMES),
        outcome=_outcome(form),
        findings=findings,
        needs_confirm=bool(asked),
        is_confirmed=asked <= around.confirmed,
        missing=None,
        checklist=around.checklist,
        decimal=around.decimal,
        now=around.now,
    )
    return replace(draft, missing=_missing(draft, around))


def finding_key(finding: Finding) -> str:
    """Return what a confirmation holds for: the code, the factor and the numbers, so that a new value asks anew."""
    return f"{finding.code}|{finding.factor}|{sorted((key, str(value)) for key, value in finding.params.items())}"


def findings_to_confirm(state: FormState) -> frozenset[str]:
    """Return the keys of the findings that one confirmation covers."""
    return _asked(state.findings, aborted=state.form.aborted)


def attempt_of(state: FormState, *, invented: bool = False) -> Attempt:
    """Return the attempt that the form describes; raises InputError when the answers contradict each other."""
    form = state.form
    return Attempt(
        id="",
        number=0,
        conditions=state.conditions,
        started_at=state.starts_at,
        lot_id=state.lot.id if state.lot else None,
        jar_id=state.jar.id if state.jar else None,
        parted=form.parted,
        pooled=state.pooled if form.parted is not None else None,
        aborted=form.aborted,
        abort_reason=form.abort_reason.strip() if form.aborted else "",
        masses=Masses(**{item.name: item.value for item in state.masses}),
        note=form.note.strip(),
        overrides=tuple(
            AgeOverride(item.factor.name, item.clock_value, item.entry.reason.strip())
            for item in state.fields
            if item.is_override
        ),
        invented=invented,
    )


def _clock_values(
    form: Form, campaign: CampaignState, lot: Lot | None, jar: Jar | None, now: datetime
) -> tuple[Mapping[str, float], Reason | None]:
    try:
        ages = computed_ages(campaign.visible_factors, lot=lot, jar=jar, started_at=form.started_at or now)
    except InputError as error:
        return {}, Reason(error.code, error.params)
    return ages, None


def _read_field(factor: Factor, form: Form, clock: Mapping[str, float], around: Surroundings) -> FieldState:
    entry = form.entry(factor.name)
    if factor.is_choice:
        return FieldState(factor, entry, entry.text if entry.text in factor.levels else None)
    clock_value = clock.get(factor.name)
    if entry.origin is Origin.CLOCK:
        text = "" if clock_value is None else format_number(clock_value, digits=3, decimal=around.decimal)
        echo = _echo(factor, clock_value, around.decimal) if clock_value is not None else ""
        return FieldState(factor, replace(entry, text=text), clock_value, echo, clock_value=clock_value)
    if not entry.text.strip():
        return FieldState(factor, entry, None, clock_value=clock_value)
    try:
        value = _parse(factor, entry.text)
    except InputError as error:
        problem = None if around.editing == factor.name else Reason(error.code, error.params)
        return FieldState(factor, entry, None, problem=problem, clock_value=clock_value)
    return FieldState(factor, entry, value, _echo(factor, value, around.decimal), clock_value=clock_value)


def _parse(factor: Factor, text: str) -> float:
    value = parse_quantity(text, factor.unit) if factor.unit else parse_number(text)
    if factor.scale is Scale.LOG and value <= 0:
        raise InputError("value.log_needs_positive", name=factor.name, value=value)
    return value


def _echo(factor: Factor, value: float, decimal: str) -> str:
    plain = format_quantity(value, factor.unit, digits=4, decimal=decimal)
    if unit_kind(factor.unit) != "time":
        return f"= {plain}"
    human = human_time(value, factor.unit, decimal=decimal)
    is_same_unit = human.rpartition(THIN_SPACE)[2] == plain.rpartition(THIN_SPACE)[2]
    return f"= {plain}" if is_same_unit else f"= {plain} ({human})"


def _read_mass(name: str, form: Form) -> MassState:
    text = form.masses.get(name, "")
    if not text.strip():
        return MassState(name, text, None)
    try:
        value = parse_quantity(text, "g")
        Masses(**{name: value})
    except InputError as error:
        told = {**error.params, "name": MASS_LABELS[name]}
        return MassState(name, text, None, Reason(error.code, told))
    return MassState(name, text, value)


def _jar_problem(form: Form, campaign: CampaignState, jar: Jar | None) -> Reason | None:
    if form.jar_id is not None and jar is not None and jar.emptied_at is not None:
        return Reason("bench.jar_gone", {"jar": jar.id})
    if form.jar_id is None and form.jar_text.strip():
        known = ", ".join(item.id for item in campaign.shelf) or "none"
        return Reason("bench.jar_unknown", {"text": form.jar_text.strip(), "known": known})
    return None


def _outcome(form: Form) -> Outcome | None:
    if form.parted is None and not form.aborted:
        return None
    pooled = Pooled.NOT_OBSERVED if form.parted is Parted.NO else form.pooled
    if form.parted is Parted.YES and pooled is None and not form.aborted:
        return None
    return derive_outcome(parted=form.parted, pooled=pooled, successes=None, trials=1, aborted=form.aborted)


def _asked(findings: tuple[Finding, ...], *, aborted: bool) -> frozenset[str]:
    # An aborted run beyond a limit is exactly what must be on record, so there a block only asks.
    levels = ("warn", "block") if aborted else ("warn",)
    if not aborted and any(found.level == "block" for found in findings):
        return frozenset()
    return frozenset(finding_key(found) for found in findings if found.level in levels)


def _missing(state: FormState, around: Surroundings) -> Reason | None:
    if around.read_only is not None:
        return around.read_only
    if state.checklist.is_due:
        return Reason("bench.missing.checklist")
    if state.jar_problem is not None:
        return state.jar_problem
    for missing in (_missing_in_fields(state), _missing_in_outcome(state), _missing_in_masses(state)):
        if missing is not None:
            return missing
    return _missing_confirm(state)


def _missing_in_fields(state: FormState) -> Reason | None:
    for item in state.fields:
        typed_badly = not item.factor.is_choice and item.entry.text.strip() and item.value is None
        if item.problem is not None or typed_badly:
            return Reason("bench.missing.unreadable", {"name": item.factor.name})
        if item.is_override and not item.entry.reason.strip():
            return Reason("bench.missing.age_reason", {"name": item.factor.name})
    return None


def _missing_in_outcome(state: FormState) -> Reason | None:
    form = state.form
    if form.aborted:
        return None if form.abort_reason.strip() else Reason("bench.missing.abort_reason")
    if form.parted is None:
        return Reason("bench.missing.gate_1")
    if form.parted is Parted.YES and form.pooled is None:
        return Reason("bench.missing.gate_2")
    return None


def _missing_in_masses(state: FormState) -> Reason | None:
    for item in state.masses:
        if item.problem is not None:
            return Reason("bench.missing.unreadable", {"name": MASS_LABELS[item.name]})
    return None


def _missing_confirm(state: FormState) -> Reason | None:
    if not state.form.aborted:
        for found in state.findings:
            if found.level == "block":
                return Reason(found.code, found.params)
    if state.needs_confirm and not state.is_confirmed:
        return Reason("bench.missing.confirm")
    return None


MASS_LABELS: Mapping[str, str] = {
    "charge_g": "charge",
    "product_g": "product",
    "beads_g": "beads",
    "residue_g": "residue",
    "additive_g": "additive",
}
