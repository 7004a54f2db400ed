"""Whether the attempt in the form counts for the proof that is running; pure."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.proofs import ProofRule
from stirfall.bench.running import EventKind
from stirfall.desktop.bench_form.form import Form


@dataclass(frozen=True)
class ProofMark:
    """What the form shows of a running proof.

    ``counts`` says that the attempt is marked. ``away`` is why its conditions do not belong to the proof. It is
    ``locked`` once an outcome is known: a mark that is set or taken away afterwards would make the proof worthless.
    ``said`` is the one sentence beside the box.
    """

    proof_id: str
    counts: bool
    locked: bool
    away: Reason | None
    said: Reason


def read_mark(form: Form, campaign: CampaignState, conditions: Conditions) -> ProofMark | None:
    """Return the mark of the form, None while no proof takes attempts."""
    proof = campaign.open_proof
    if proof is None:
        return None
    from stirfall.planning.proof import off_recipe
    from stirfall.session.proving import standing

    stands = standing(campaign, proof)
    if stands.verdict != "open":
        return None
    counts = form.proof_id == proof.id
    away = off_recipe(proof, conditions, campaign.factors, campaign.settings.material)
    locked = _is_known(form, campaign) and not (counts and away is not None)
    place = {"place": stands.made + 1, "count": proof.attempts}
    if counts and away is not None:
        said = away
    elif locked:
        said = Reason("bench.proof_locked" if counts else "bench.proof_too_late", place)
    elif counts:
        said = Reason(
            "bench.proof_counts" if proof.rule is ProofRule.COUNT else "bench.proof_counts_at_most", place
        )
    else:
        said = Reason("bench.proof_not_counted" if away is None else "bench.proof_elsewhere", place)
    return ProofMark(proof.id, counts, locked, away, said)


def _is_known(form: Form, campaign: CampaignState) -> bool:
    """Whether an outcome was given, in the form or in the guided run that it belongs to."""
    if form.parted is not None or form.aborted:
        return True
    run = campaign.run(form.run_id)
    return run is not None and any(event.kind is EventKind.GRADE for event in run.events)
