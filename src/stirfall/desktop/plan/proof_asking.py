"""What the section "Proof" asks for in the background: the plans for a recipe, and how proofs stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.bench.errors import StirfallError
from stirfall.bench.factors import Conditions

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState, Correction
    from stirfall.bench.cancel import CancelToken
    from stirfall.planning.proof_outlook import Outlook
    from stirfall.session.analysis import Analysis
    from stirfall.session.proof_outlook import ProofChoices
    from stirfall.session.proving import ProofStanding


@dataclass(frozen=True)
class Asked:
    """Which recipe (None: the recommended one) shall show which reliability, in per cent, with which confidence."""

    recipe: Conditions | None = None
    claim: int = 90
    confidence: int = 95


@dataclass(frozen=True)
class Chances:
    """The plans for a recipe, or why there are none; and the chance of the proof that runs."""

    choices: ProofChoices | None = None
    problem: StirfallError | None = None
    from_here: Outlook | None = None


def work_out_standings(
    state: CampaignState, corrections: tuple[Correction, ...], _token: CancelToken
) -> tuple[ProofStanding, ...]:
    """Return how all proofs stand, the oldest first; runs on a worker."""
    from stirfall.session.proving import all_standings

    return all_standings(state, corrections)


def work_out_chances(
    analysis: Analysis, running: ProofStanding | None, asked: Asked, token: CancelToken
) -> Chances:
    """Return the chance of the proof that runs, or else of the plans that could be started; runs on a worker."""
    from stirfall.session.proof_outlook import outlook_from_here, proof_choices

    try:
        if running is not None:
            return Chances(from_here=outlook_from_here(analysis, running))
        recipe = analysis.best().conditions if asked.recipe is None else asked.recipe
        token.raise_if_cancelled()
        shares = asked.claim / 100.0, asked.confidence / 100.0
        return Chances(choices=proof_choices(analysis, recipe, claim=shares[0], confidence=shares[1]))
    except StirfallError as error:
        return Chances(problem=error)
