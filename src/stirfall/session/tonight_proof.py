"""What a running proof asks of an evening: attempts at its recipe, with jars whose ages keep within it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from stirfall.bench.estimates import Reason
from stirfall.planning.proof import off_recipe
from stirfall.session.proving import standing
from stirfall.session.tonight_choice import Chosen, Fixed
from stirfall.session.tonight_control import with_jar
from stirfall.session.tonight_parts import PROOF

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.proofs import Proof
    from stirfall.session.tonight_choice import Choice
    from stirfall.session.tonight_jars import Hands, InHand


@dataclass(frozen=True)
class ProofLines:
    """The attempts that a proof still needs, as far as jars in hand allow them, and what there is to say."""

    lines: tuple[Fixed, ...] = ()
    notes: tuple[Reason, ...] = ()


def choose_proof(
    hands: Hands, choice: Choice, state: CampaignState, jars: Sequence[InHand], moments: Sequence[datetime]
) -> ProofLines:
    """Return attempts for the proof that runs, none where none does.

    A jar fits when the recipe with the jar's own ages belongs to the proof at all ``moments``: the first and the
    last at which an attempt of the evening may begin.
    """
    proof = state.open_proof
    if proof is None:
        return ProofLines()
    stands = standing(state, proof)
    if stands.verdict != "open":
        return ProofLines()
    reason = Reason("tonight.proof", {"left": f"{stands.remaining}"})
    lines, away = [], None
    for hand in jars:
        why = next(
            (found for at in moments if (found := away_from_recipe(hands, proof, hands.of(hand.jar, at)))), None
        )
        columns = with_jar(hands, proof.recipe, hand)
        if why is None and columns is not None:
            lines.append(Fixed(Chosen(hand, columns, choice.known), PROOF, reason))
        else:
            away = away or why
    if not lines and away is not None:
        return ProofLines(notes=(Reason("tonight.proof_no_jar", {"why": away}),))
    return ProofLines(tuple(lines[: stands.remaining]))


def away_from_recipe(hands: Hands, proof: Proof, hand: InHand) -> Reason | None:
    """Return why an attempt at the recipe with what a jar fixes does not belong to the proof; None: it does."""
    columns = with_jar(hands, proof.recipe, hand)
    if columns is None:
        return Reason("proof.outside_limits")
    conditions, state = hand.conditions(hands.box, columns, 0), hands.state
    return off_recipe(proof, conditions, state.factors, state.settings.material)
