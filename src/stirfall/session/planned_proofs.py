"""Commands of proofs and of evening plans."""

from __future__ import annotations

import math
import uuid
from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.plans import EveningPlan
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import Attempt
from stirfall.planning.limits import operating_limits
from stirfall.session import commands as c
from stirfall.session import validation as check
from stirfall.session.planned_parts import Planned, Surroundings
from stirfall.storage.edits import Edit


def plan_proof_command(
    command: c.StartProof | c.EndProof | c.KeepEvening | c.DropEvening, around: Surroundings
) -> Planned:
    """Return what it would write; raises InputError ``proof.*``, ``evening.*``, ``jar.*`` or ``lot.*``."""
    match command:
        case c.StartProof():
            return _start(command, around)
        case c.EndProof():
            return _end(command, around)
        case c.KeepEvening():
            return _keep(command, around)
        case c.DropEvening():
            return _drop(command, around)


def _start(command: c.StartProof, around: Surroundings) -> Planned:
    state, given = around.state, command.proof
    if is_running(state, state.open_proof):
        raise InputError("proof.another_open")
    limits = operating_limits(state)
    limits.raise_if_blocked()
    proof = checked_proof(replace(given, id=given.id or uuid.uuid4().hex, started_at=around.now), state)
    if any(each.id == proof.id for each in state.proofs):
        raise InputError("record.repeated", id=proof.id)
    if not limits.allows(proof.recipe):
        raise InputError("proof.outside_limits")
    if proof.ended_at is not None:
        raise InputError("proof.over", id=proof.id)
    return Planned("Start the proof", (Edit(proof.id, None, proof),))


def checked_proof(proof: Proof, state: CampaignState) -> Proof:
    """Return a proof as a file keeps it.

    Raises InputError where recipe or tolerances name what is not there, or where its rule cannot show its claim.
    """
    from stirfall.planning.proof import refuse_broken_promise

    if not proof.recipe:
        raise InputError("proof.no_recipe")
    check.check_conditions(proof.recipe, state.factors)
    numbers = {factor.name for factor in state.factors if not factor.is_choice}
    for name in proof.tolerances:
        if name not in numbers:
            raise InputError("factor.unknown", name=name, known=", ".join(sorted(numbers)))
    refuse_broken_promise(proof)
    return replace(
        proof,
        started_at=check.kept_moment(proof.started_at),
        recipe=Conditions(proof.recipe),
        rule=ProofRule(proof.rule),
        tolerances={name: float(width) for name, width in proof.tolerances.items()},
        ended_at=None if proof.ended_at is None else check.kept_moment(proof.ended_at),
    )


def is_running(state: CampaignState, proof: Proof | None) -> bool:
    """Whether a proof still takes attempts: it was not given up, and its rule has not decided."""
    from stirfall.session.proving import standing

    return proof is not None and proof.is_open and standing(state, proof).verdict == "open"


def check_marked(attempt: Attempt, state: CampaignState) -> None:
    """Raise InputError ``proof.*`` unless an attempt that is marked for a proof may belong to it."""
    if attempt.proof_id is None:
        return
    from stirfall.planning.proof import off_recipe

    proof = state.proof(attempt.proof_id)
    if proof is None:
        raise InputError("proof.unknown", id=attempt.proof_id)
    if not is_running(state, proof):
        raise InputError("proof.over", id=proof.id)
    if attempt.trials != 1:
        raise InputError("proof.one_trial", trials=attempt.trials)
    away = off_recipe(proof, attempt.conditions, state.factors, state.settings.material)
    if away is not None:
        raise InputError(away.code, **away.params)


def _end(command: c.EndProof, around: Surroundings) -> Planned:
    proof = around.state.proof(command.proof_id)
    if proof is None:
        raise InputError("proof.unknown", id=command.proof_id)
    if not is_running(around.state, proof):
        raise InputError("proof.over", id=proof.id)
    reason = check.require_text(command.reason, "proof.no_reason")
    ended = replace(proof, ended_at=check.kept_moment(around.now), end_reason=reason)
    return Planned("Give the proof up", (Edit(proof.id, proof, ended),), reason)


def _keep(command: c.KeepEvening, around: Surroundings) -> Planned:
    plan = checked_evening(
        replace(command.plan, id=command.plan.id or uuid.uuid4().hex, made_at=around.now, dropped_at=None),
        around.state,
    )
    if any(each.id == plan.id for each in around.state.evenings):
        raise InputError("record.repeated", id=plan.id)
    count = len(plan.attempts)
    attempts = "1 attempt" if count == 1 else f"{count} attempts"
    return Planned(f"Keep the plan of {attempts}", (Edit(plan.id, None, plan),))


def checked_evening(plan: EveningPlan, state: CampaignState, *, is_history: bool = False) -> EveningPlan:
    """Return an evening's plan as a file keeps it; raises InputError where it names what is not there.

    A plan that was kept before (``is_history``) may name factors that the campaign has no more.
    """
    if not plan.attempts:
        raise InputError("evening.empty")
    if not 0 < plan.hours < math.inf:
        raise InputError("evening.hours", value=plan.hours)
    for attempt in plan.attempts:
        if not is_history:
            check.check_conditions(attempt.conditions, state.factors)
        if attempt.jar_id is not None:
            check.require_jar(state, attempt.jar_id)
        if attempt.lot_id is not None:
            check.require_lot(state, attempt.lot_id)
    return replace(
        plan,
        made_at=check.kept_moment(plan.made_at),
        begins_at=check.kept_moment(plan.begins_at),
        hours=float(plan.hours),
        attempts=tuple(replace(each, starts_h=float(each.starts_h)) for each in plan.attempts),
        dropped_at=None if plan.dropped_at is None else check.kept_moment(plan.dropped_at),
    )


def _drop(command: c.DropEvening, around: Surroundings) -> Planned:
    plan = next((each for each in around.state.evenings if each.id == command.plan_id), None)
    if plan is None or plan.dropped_at is not None:
        raise InputError("evening.unknown", id=command.plan_id)
    dropped = replace(plan, dropped_at=check.kept_moment(around.now))
    return Planned("Drop the plan of the evening", (Edit(plan.id, plan, dropped),))
