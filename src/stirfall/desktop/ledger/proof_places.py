"""Which attempts are marked for a proof, and the place of each among those that count; pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from stirfall.bench.campaign import CampaignState


@dataclass(frozen=True, order=True)
class ProofPlace:
    """An attempt of a proof: the proof in the order of starting, and its place; 0: it is marked and not counted."""

    proof: int
    place: int

    def text(self, *, is_only_proof: bool) -> str:
        """Return how it stands in a cell."""
        named = "the proof" if is_only_proof else f"proof {self.proof}"
        return f"{self.place} of {named}" if self.place else f"of {named}, not counted"


def proof_places(state: CampaignState) -> Mapping[str, ProofPlace]:
    """Return by attempt id what is marked for a proof."""
    from stirfall.session.proving import standing

    # What is not marked has no place, and may be very many.
    marked = replace(state, attempts=tuple(each for each in state.attempts if each.proof_id is not None))
    return {
        each.attempt.id: ProofPlace(number, each.place or 0)
        for number, proof in enumerate(state.proofs, 1)
        for each in standing(marked, proof).marked
    }
