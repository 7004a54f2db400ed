"""Commands turned into edits: what would be written, decided before anything is."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from datetime import datetime

from stirfall.bench.ages import as_utc, stamp
from stirfall.bench.campaign import CampaignState, ChecklistTick
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import AgeOverride, Attempt, Jar, Masses
from stirfall.bench.run_facts import RunFacts, WeighingSheet
from stirfall.bench.running import Run
from stirfall.bench.substances import SurfaceLook
from stirfall.session import commands as c
from stirfall.session import validation as check
from stirfall.session.planned_evidence import plan_evidence
from stirfall.session.planned_findings import plan_finding
from stirfall.session.planned_import import plan_import
from stirfall.session.planned_parts import Planned, Surroundings
from stirfall.session.planned_proofs import check_marked, plan_proof_command
from stirfall.session.planned_runs import plan_run_command
from stirfall.storage.edits import FACTORS_ID, SETTINGS_ID, Edit, FieldChange
from stirfall.storage.values import to_json

# What the limits look at: a correction of anything else is never refused for them.
_JUDGED = ("conditions", "jar_id", "lot_id", "started_at", "facts", "masses", "aborted")
_NOT_CORRECTABLE = ("id", "number", "recorded_at", "struck_reason", "run_id", "proof_id", "origin")


def plan(command: c.Command, around: Surroundings) -> Planned:
    """Return what ``command`` would write; raises InputError when it may not."""
    match command:
        case c.RecordAttempt():
            return _record(command, around)
        case c.CorrectAttempt():
            return _correct(command, around)
        case c.StrikeAttempt():
            return _strike(command, around)
        case c.RestoreAttempt():
            return _restore(command, around)
        case c.AttachPhoto() | c.AttachLog() | c.SetAnchor() | c.GradeAgain():
            return plan_evidence(command, around)
        case c.TickChecklist():
            return _tick(command, around)
        case c.BeginRun() | c.AddRunEvent() | c.EndRun() | c.Acknowledge():
            return plan_run_command(command, around)
        case c.StartProof() | c.EndProof() | c.KeepEvening() | c.DropEvening():
            return plan_proof_command(command, around)
        case c.NoteComparison() | c.IssueRecipe() | c.MarkChange() | c.DropMark():
            return plan_finding(command, around)
        case c.ImportAttempts():
            return plan_import(command, around)
        case _:
            return _plan_for_campaign(command, around.state, around.now)


def _plan_for_campaign(
    command: c.AddLot
    | c.AddJar
    | c.SplitLot
    | c.StartJar
    | c.EmptyJar
    | c.InspectJar
    | c.ChangeJar
    | c.ChangeLot
    | c.ChangeSettings
    | c.ChangeFactors,
    state: CampaignState,
    now: datetime,
) -> Planned:
    match command:
        case c.AddLot():
            lot = check.checked_lot(command.lot, (other.id for other in state.lots))
            return Planned(f"Add lot {lot.id}", (Edit(lot.id, None, lot),))
        case c.AddJar():
            jar = check.checked_jar(command.jar, (other.id for other in state.jars), state)
            check.refuse_later_start(jar, state, now)
            return Planned(f"Start jar {jar.id}", (Edit(jar.id, None, jar),))
        case c.SplitLot():
            return _split(command, state, now)
        case c.StartJar():
            return _start(command, state, now)
        case c.EmptyJar():
            return Planned(f"Empty jar {command.jar_id}", (_emptying(state, command.jar_id, command.at),))
        case c.InspectJar() | c.ChangeJar() | c.ChangeLot():
            return _plan_for_shelf(command, state, now)
        case c.ChangeSettings():
            settings = check.checked_settings(command.settings, state.factors)
            return Planned("Change settings", _changed(SETTINGS_ID, state.settings, settings))
        case c.ChangeFactors():
            factors = tuple(command.factors)
            check.check_factors(factors, state)
            name = "Keep usual values" if _same_but_usual(state.factors, factors) else "Change factors"
            return Planned(name, _changed(FACTORS_ID, state.factors, factors))


def _same_but_usual(before: tuple[Factor, ...], after: tuple[Factor, ...]) -> bool:
    """Whether factors differ in nothing but their usual values."""
    return before != after and [replace(each, default=None) for each in before] == [
        replace(each, default=None) for each in after
    ]


def _plan_for_shelf(
    command: c.InspectJar | c.ChangeJar | c.ChangeLot, state: CampaignState, now: datetime
) -> Planned:
    match command:
        case c.InspectJar():
            return _inspect(command, state)
        case c.ChangeJar():
            before = check.require_jar(state, command.jar.id)
            reason = check.require_text(command.reason, "correction.no_reason")
            others = (jar.id for jar in state.jars if jar.id != before.id)
            jar = check.checked_jar(command.jar, others, state)
            if jar.planned and not before.planned:
                raise InputError("jar.already_started", id=before.id, at=stamp(before.started_at))
            if as_utc(jar.started_at) > as_utc(before.started_at):
                check.refuse_later_start(jar, state, now)
            if jar.lot_id != before.lot_id and any(each.jar_id == jar.id for each in state.attempts):
                raise InputError("jar.lot_in_use", id=jar.id, lot=before.lot_id)
            return Planned(f"Correct jar {jar.id}", _changed(jar.id, before, jar), reason)
        case c.ChangeLot():
            old = check.require_lot(state, command.lot.id)
            reason = check.require_text(command.reason, "correction.no_reason")
            lot = check.checked_lot(command.lot, (each.id for each in state.lots if each.id != old.id))
            return Planned(f"Correct lot {lot.id}", _changed(lot.id, old, lot), reason)


def _inspect(command: c.InspectJar, state: CampaignState) -> Planned:
    jar = check.require_jar(state, command.jar_id)
    check.refuse_planned(jar)
    if command.look not in tuple(SurfaceLook):
        raise InputError("jar.word", name="look", value=command.look, known=", ".join(SurfaceLook))
    alarming = bool(jar.look) and SurfaceLook(jar.look).is_alarming
    if alarming and not SurfaceLook(command.look).is_alarming:
        check.require_text(command.reason, "jar.look_taken_back")
    check.check_order(jar.started_at, command.at)
    looked = replace(jar, look=command.look, looked_at=check.kept_moment(command.at))
    return Planned(f"Inspect jar {jar.id}", _changed(jar.id, jar, looked), command.reason.strip())


def _split(command: c.SplitLot, state: CampaignState, now: datetime) -> Planned:
    lot = check.require_lot(state, command.lot_id)
    if not command.jars:
        raise InputError("split.no_jars", lot=lot.id)
    taken = [jar.id for jar in state.jars]
    edits = []
    for given in command.jars:
        jar = check.checked_jar(replace(given, lot_id=lot.id), taken, state)
        check.refuse_later_start(jar, state, now)
        taken.append(jar.id)
        edits.append(Edit(jar.id, None, jar))
    jars = "1 jar" if len(edits) == 1 else f"{len(edits)} jars"
    return Planned(f"Split lot {lot.id} into {jars}", tuple(edits))


def _start(command: c.StartJar, state: CampaignState, now: datetime) -> Planned:
    jar = check.require_jar(state, command.jar_id)
    if not jar.planned:
        raise InputError("jar.already_started", id=jar.id, at=stamp(jar.started_at))
    if jar.emptied_at is not None:
        raise InputError("jar.already_emptied", id=jar.id, at=stamp(jar.emptied_at))
    started = replace(jar, planned=False, started_at=check.kept_moment(command.at))
    check.refuse_later_start(started, state, now)
    return Planned(f"Start jar {jar.id}", _changed(jar.id, jar, started))


def _changed(record_id: str, before: object, after: object) -> tuple[Edit, ...]:
    return () if before == after else (Edit(record_id, before, after),)  # type: ignore[arg-type]


def _emptying(state: CampaignState, jar_id: str, at: datetime) -> Edit:
    jar: Jar = check.require_jar(state, jar_id)
    if jar.emptied_at is not None:
        raise InputError("jar.already_emptied", id=jar.id, at=stamp(jar.emptied_at))
    if jar.planned:
        return Edit(jar.id, jar, replace(jar, emptied_at=check.kept_moment(at)))
    check.check_order(jar.started_at, at)
    return Edit(jar.id, jar, replace(jar, emptied_at=check.kept_moment(at)))


def _record(command: c.RecordAttempt, around: Surroundings) -> Planned:
    given = command.attempt
    now = check.kept_moment(around.now)
    check.check_conditions(given.conditions, around.state.factors)
    attempt = replace(
        given,
        id=given.id or uuid.uuid4().hex,
        number=given.number or around.last_number + 1,
        lot_id=check.check_places(given, around.state),
        started_at=None if given.started_at is None else check.kept_moment(given.started_at),
        recorded_at=now,
    )
    if given.struck_reason is not None:
        raise InputError("attempt.struck_from_start")
    check.refuse_not_started(attempt, around.state)
    check.refuse_blocked(attempt, around.state)
    check_marked(attempt, around.state)
    if (given.id or given.number) and around.is_taken(attempt.id, attempt.number):
        raise InputError("attempt.number_taken", id=attempt.id, number=attempt.number)
    edits = [Edit(attempt.id, None, attempt)]
    if command.empties_jar:
        if attempt.jar_id is None:
            raise InputError("attempt.no_jar_to_empty")
        edits.append(_emptying(around.state, attempt.jar_id, attempt.started_at or now))
    if attempt.run_id is not None:
        edits.append(_named_by(attempt, around.state))
    return Planned(
        f"Record attempt {attempt.number}",
        tuple(edits),
        notes=_clock_note(attempt.id, now, around.last_recorded_at),
        clears_draft=True,
        new_attempt_id=attempt.id,
    )


def _named_by(attempt: Attempt, state: CampaignState) -> Edit:
    """Return the edit that lets a run know the attempt that it was recorded as."""
    run: Run | None = state.run(attempt.run_id)
    if run is None:
        raise InputError("run.unknown", id=attempt.run_id)
    if run.attempt_id is not None:
        raise InputError("run.recorded_already", id=run.id)
    return Edit(run.id, run, replace(run, attempt_id=attempt.id))


def _clock_note(attempt_id: str, now: datetime, last: datetime | None) -> tuple[FieldChange, ...]:
    """Remember that the clock ran backwards since the last recording; the order of the file stays right."""
    if last is None or now >= last:
        return ()
    return (FieldChange("clock", attempt_id, "recorded_at", to_json(last), to_json(now)),)


def _correct(command: c.CorrectAttempt, around: Surroundings) -> Planned:
    before = around.attempt(command.attempt_id)
    reason = check.require_text(command.reason, "correction.no_reason")
    changes = {name: _coerced(name, value) for name, value in command.changes.items()}
    after: Attempt = replace(before, **changes)  # type: ignore[arg-type]  # coerced just above
    check.check_conditions(after.conditions, around.state.factors)
    if "jar_id" in changes and "lot_id" not in changes:
        after = replace(after, lot_id=None) if after.jar_id is not None else after
    after = replace(after, lot_id=check.check_places(after, around.state))
    if after.jar_id != before.jar_id:
        check.refuse_not_started(after, around.state)
    if any(getattr(before, name) != getattr(after, name) for name in _JUDGED):
        check.refuse_blocked(after, around.state)
    return Planned(f"Correct attempt {before.number}", _changed(before.id, before, after), reason)


def _coerced(name: str, value: object) -> object:
    """Return a corrected value as ``Attempt`` keeps it; raises InputError ``correction.*``."""
    known = [item.name for item in fields(Attempt) if item.name not in _NOT_CORRECTABLE]
    if name not in known:
        raise InputError("correction.field_unknown", field=name, known=", ".join(known))
    try:
        return _COERCE.get(name, _text)(value)
    except (ValueError, TypeError, AttributeError) as error:
        raise InputError("correction.wrong_kind", field=name, value=value) from error


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _count(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(value)
    return value


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise TypeError(value)
    return value


def _conditions(value: object) -> Conditions:
    if not isinstance(value, Mapping):
        raise TypeError(value)
    return Conditions(value)


def _masses(value: object) -> Masses:
    if not isinstance(value, Masses):
        raise TypeError(value)
    return value


def _facts(value: object) -> RunFacts:
    if not isinstance(value, RunFacts):
        raise TypeError(value)
    return value


def _sheet(value: object) -> WeighingSheet:
    if not isinstance(value, WeighingSheet):
        raise TypeError(value)
    return value


def _overrides(value: object) -> tuple[AgeOverride, ...]:
    if not isinstance(value, (tuple, list)) or not all(isinstance(item, AgeOverride) for item in value):
        raise TypeError(value)
    return tuple(value)


def _moment(value: object) -> datetime:
    if not isinstance(value, datetime):
        raise TypeError(value)
    return check.kept_moment(value)


def _or_none(coerce: Callable[[object], object]) -> Callable[[object], object]:
    return lambda value: None if value is None else coerce(value)


_COERCE: Mapping[str, Callable[[object], object]] = {
    "conditions": _conditions,
    "started_at": _or_none(_moment),
    "lot_id": _or_none(_text),
    "jar_id": _or_none(_text),
    "parted": _or_none(lambda value: Parted(_text(value))),
    "pooled": _or_none(lambda value: Pooled(_text(value))),
    "successes": _or_none(_count),
    "trials": _count,
    "aborted": _flag,
    "masses": _masses,
    "overrides": _overrides,
    "facts": _facts,
    "sheet": _sheet,
    "invented": _flag,
}


def _strike(command: c.StrikeAttempt, around: Surroundings) -> Planned:
    before = around.attempt(command.attempt_id)
    reason = check.require_text(command.reason, "strike.no_reason")
    if before.is_struck:
        raise InputError("strike.already", number=before.number)
    edit = Edit(before.id, before, replace(before, struck_reason=reason))
    return Planned(f"Strike out attempt {before.number}", (edit,), reason)


def _restore(command: c.RestoreAttempt, around: Surroundings) -> Planned:
    before = around.attempt(command.attempt_id)
    if not before.is_struck:
        raise InputError("strike.not_struck", number=before.number)
    edit = Edit(before.id, before, replace(before, struck_reason=None))
    return Planned(f"Restore attempt {before.number}", (edit,), "restored")


def _tick(command: c.TickChecklist, around: Surroundings) -> Planned:
    day = check.require_text(command.day, "checklist.no_day")
    material = str(around.state.settings.material)
    tick = ChecklistTick(day, check.kept_moment(around.now), material, tuple(command.keys))
    return Planned("Tick the start checklist", (Edit(uuid.uuid4().hex, None, tick),))
