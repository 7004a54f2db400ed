"""What the bench form shows, worked out from what was entered; pure, so that it is tested without a window."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError, StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import Caution
from stirfall.bench.outcomes import Outcome, Parted, Pooled, derive_outcome
from stirfall.bench.records import Attempt, Jar, Lot
from stirfall.bench.run_facts import RunFacts
from stirfall.bench.short_ids import is_short_id, read_short_id
from stirfall.desktop.bench_form.fields import (
    FieldState,
    Place,
    conditions_of,
    planned_factors,
    read_fields,
    with_findings,
)
from stirfall.desktop.bench_form.film_line import FilmState, overrides_of, read_film
from stirfall.desktop.bench_form.form import Form
from stirfall.desktop.bench_form.proof_mark import ProofMark, read_mark
from stirfall.desktop.bench_form.reasons import Warned, accepted, is_answered, shown_reason, warned_of
from stirfall.desktop.bench_form.seen import LookState, facts_of, read_look, read_seen
from stirfall.desktop.bench_form.typed import Typed
from stirfall.desktop.bench_form.weighing import WeighingState, added_up, read_weighing
from stirfall.planning.findings import Finding
from stirfall.planning.limits import OperatingLimits
from stirfall.planning.situation import Situation


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


@dataclass(frozen=True)
class FormState:
    """The whole bench form as shown.

    ``findings`` is all that the limits say, most severe first; ``warned`` those that want a reason, ``reason`` the
    text of the one line that gives it. ``run_id`` is the open guided run that the form belongs to,
    ``missing_to_begin`` what stands in the way of beginning one: all but the outcome. ``proof`` is the mark for
    a proof that is running.
    """

    form: Form
    fields: tuple[FieldState, ...]
    conditions: Conditions
    jars: tuple[Jar, ...]
    lots: tuple[Lot, ...]
    jar: Jar | None
    lot: Lot | None
    jar_problem: Reason | None
    clock_problem: Reason | None
    look: LookState
    seen: tuple[Typed, ...]
    facts: RunFacts
    weighing: WeighingState
    film: FilmState
    outcome: Outcome | None
    findings: tuple[Finding, ...]
    warned: tuple[Warned, ...]
    reason: str
    missing: Reason | None
    checklist: ChecklistState
    decimal: str
    now: datetime
    run_id: str | None = None
    missing_to_begin: Reason | None = None
    proof: ProofMark | None = None

    @property
    def can_record(self) -> bool:
        """Whether the record button may be pressed."""
        return self.missing is None

    @property
    def blocked(self) -> Finding | None:
        """The first limit that cannot be gone past; a broken-off attempt is put on record all the same."""
        return next((found for found in self.findings if found.level == "block"), None)

    @property
    def asks_reason(self) -> bool:
        """Whether a warning wants a reason."""
        return bool(self.warned) and not self.form.aborted and self.blocked is None

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
    place = Place(jar, campaign.lot(jar.lot_id if jar else form.lot_id), form.started_at or around.now)
    fields, clock_problem = read_fields(form, campaign, place, decimal=around.decimal, editing=around.editing)
    seen = read_seen(form.seen, around.decimal, around.editing)
    facts = replace(facts_of(form.look, seen), operator=form.operator.strip(), tool=form.tool.strip())
    weighing = _read_weighing(form, campaign, place, around)
    draft = FormState(
        form=form,
        fields=fields,
        conditions=conditions_of(fields),
        jars=tuple(item for item in campaign.shelf if not item.is_residue),
        lots=campaign.lots,
        jar=jar,
        lot=place.lot,
        jar_problem=_jar_problem(form, campaign, jar),
        clock_problem=clock_problem,
        look=read_look(form.look, campaign, jar),
        seen=seen,
        facts=facts,
        weighing=weighing,
        film=read_film(campaign, place, fields, facts, around.decimal),
        outcome=_outcome(form),
        findings=(),
        warned=(),
        reason="",
        missing=None,
        checklist=around.checklist,
        decimal=around.decimal,
        now=around.now,
        run_id=_run_of(form, campaign),
        proof=read_mark(form, campaign, conditions_of(fields)),
    )
    judged = _judged(draft, around)
    missing = _missing_before(judged, around) or _missing_in_outcome(judged) or _missing_reason(judged)
    # A run is never begun as one that was broken off, so nothing is forgiven here.
    bare = replace(judged, form=replace(form, aborted=False))
    return replace(judged, missing=missing, missing_to_begin=_missing_before(bare, around) or _missing_reason(bare))


def _run_of(form: Form, campaign: CampaignState) -> str | None:
    """Return the open run that the form is the result of, None where it holds another jar by now."""
    run = campaign.open_run
    return run.id if run is not None and (run.id, run.jar_id) == (form.run_id, form.jar_id) else None


def _read_weighing(form: Form, campaign: CampaignState, place: Place, around: Surroundings) -> WeighingState:
    read = read_weighing(form.masses, form.tares, form.sheet, around.decimal, around.editing)
    has_beads = form.pooled in (Pooled.BEADS, Pooled.FEW_PIECES)
    return replace(read, result=added_up(read, campaign, place.lot, has_beads=has_beads))


def _judged(state: FormState, around: Surroundings) -> FormState:
    """Return the state with what the limits say about everything that is at hand."""
    form = state.form
    planned = planned_factors(form, state.fields, state.jar)
    suggested = {item.factor.name for item in state.fields if item.factor.name in form.planned}
    situation = Situation(
        state.conditions,
        state.jar,
        state.lot,
        state.facts,
        state.weighing.net,
        state.starts_at,
        planned=bool(suggested) and suggested <= planned,
    )
    findings = tuple(around.limits.judge(situation)) if around.limits else ()
    warned = warned_of(findings, form.reasons, planned=planned, decimal=around.decimal)
    return replace(
        state,
        fields=with_findings(state.fields, findings),
        findings=findings,
        warned=warned,
        reason=shown_reason(warned, form.reasons),
    )


def attempt_of(state: FormState, *, ticked: tuple[str, ...] = (), invented: bool = False) -> Attempt:
    """Return the attempt that the form describes; raises InputError when the answers contradict each other.

    ``ticked`` are the lines of the start checklist that held on the day of the attempt.
    """
    form = state.form
    gone_past = accepted(
        state.warned,
        state.findings,
        abort_reason=form.abort_reason,
        aborted=form.aborted,
        decimal=state.decimal,
    )
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
        masses=state.weighing.net,
        note=form.note.strip(),
        overrides=overrides_of(state.fields),
        invented=invented,
        facts=replace(state.facts, ticked=ticked, accepted=gone_past),
        sheet=state.weighing.sheet,
        run_id=state.run_id,
        proof_id=state.proof.proof_id if state.proof is not None and state.proof.counts else None,
    )


def read_only_reason(read_only: bool, reason: StirfallError | None) -> Reason | None:
    """Return why nothing can be recorded in a document that is open for reading only, None in another one."""
    if not read_only:
        return None
    return Reason(reason.code, reason.params) if reason is not None else Reason("bench.read_only")


def _jar_problem(form: Form, campaign: CampaignState, jar: Jar | None) -> Reason | None:
    if form.jar_id is not None and jar is not None and jar.emptied_at is not None:
        return Reason("bench.jar_gone", {"jar": jar.id})
    if jar is not None and jar.is_residue:
        return Reason("bench.jar_residue", {"jar": jar.id})
    if form.jar_id is None and form.jar_text.strip():
        return _unknown_jar(form.jar_text.strip(), [item.id for item in campaign.shelf if not item.is_residue])
    return None


def _unknown_jar(text: str, known: list[str]) -> Reason:
    """Return why there is no such jar: where all jars have ids with a check, what is wrong with this one."""
    if known and all(map(is_short_id, known)):
        try:
            read_short_id(text)
        except InputError as error:
            return Reason(error.code, error.params)
    return Reason("bench.jar_unknown", {"text": text, "known": ", ".join(known) or "none"})


def _outcome(form: Form) -> Outcome | None:
    if form.parted is None and not form.aborted:
        return None
    pooled = Pooled.NOT_OBSERVED if form.parted is Parted.NO else form.pooled
    if form.parted is Parted.YES and pooled is None and not form.aborted:
        return None
    return derive_outcome(parted=form.parted, pooled=pooled, successes=None, trials=1, aborted=form.aborted)


def _missing_before(state: FormState, around: Surroundings) -> Reason | None:
    """Return the first thing in the way of any attempt, in the order in which the work asks for it."""
    if around.read_only is not None:
        return around.read_only
    # The list was ticked before a run began; midnight in between does not make it due again.
    if state.checklist.is_due and state.run_id is None:
        return Reason("bench.missing.checklist")
    if state.jar_problem is not None:
        return state.jar_problem
    steps = (_missing_by_limits, _missing_in_fields, _missing_in_lines, _missing_in_proof)
    return next((missing for step in steps if (missing := step(state)) is not None), None)


def _missing_by_limits(state: FormState) -> Reason | None:
    """Return the look that was not told, or the limit that closes the way; neither for a broken-off attempt."""
    if state.form.aborted:
        return None
    if state.blocked is not None:
        return Reason(state.blocked.code, state.blocked.params)
    if state.look.is_needed and not state.look.look:
        return Reason("bench.missing.look")
    return None


def _missing_in_fields(state: FormState) -> Reason | None:
    for item in state.fields:
        typed_badly = not item.factor.is_choice and item.entry.text.strip() and item.value is None
        if item.problem is not None or typed_badly:
            return Reason("bench.missing.unreadable", {"name": item.factor.name})
        if item.is_override and not item.entry.reason.strip():
            return Reason("bench.missing.age_reason", {"name": item.factor.name})
    return None


def _missing_in_lines(state: FormState) -> Reason | None:
    for line in state.seen:
        if line.text.strip() and line.value is None:
            return Reason("bench.missing.unreadable", {"name": line.quantity.label})
    unread = state.weighing.unread
    return Reason("bench.missing.unreadable", {"name": unread}) if unread else None


def _missing_in_proof(state: FormState) -> Reason | None:
    """Return why an attempt that is marked for a proof does not belong to it; taking the mark away helps."""
    return state.proof.away if state.proof is not None and state.proof.counts else None


def _missing_in_outcome(state: FormState) -> Reason | None:
    form = state.form
    if form.aborted:
        return None if form.abort_reason.strip() else Reason("bench.missing.abort_reason")
    if form.parted is None:
        return Reason("bench.missing.gate_1")
    if form.parted is Parted.YES and form.pooled is None:
        return Reason("bench.missing.gate_2")
    return None


def _missing_reason(state: FormState) -> Reason | None:
    if state.asks_reason and not is_answered(state.warned):
        return Reason("bench.missing.reason")
    return None
