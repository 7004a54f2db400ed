"""Proofs and evening plans of a new session, checked against its factors, jars, lots and attempts."""

from __future__ import annotations

from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.session.content_runs import check_ids
from stirfall.session.planned_proofs import checked_evening, checked_proof


def checked_plans(state: CampaignState) -> CampaignState:
    """Return the content with its proofs and evening plans as a file will keep them.

    Raises InputError ``proof.*``, ``evening.*``, ``record.repeated``, ``factor.unknown``, ``jar.*`` or ``lot.*``.
    """
    check_ids(proof.id for proof in state.proofs)
    check_ids(plan.id for plan in state.evenings)
    known = {proof.id for proof in state.proofs}
    for attempt in state.attempts:
        if attempt.proof_id is not None and attempt.proof_id not in known:
            raise InputError("proof.unknown", id=attempt.proof_id)
    return replace(
        state,
        proofs=tuple(checked_proof(proof, state) for proof in state.proofs),
        evenings=tuple(checked_evening(plan, state, is_history=True) for plan in state.evenings),
    )
