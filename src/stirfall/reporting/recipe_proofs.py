"""The proofs of a recipe, as it tells them: shown, open, given up or not shown; failures are never hidden."""

from __future__ import annotations

from collections.abc import Iterable

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.factors import Conditions
from stirfall.planning.proof import off_recipe
from stirfall.reporting.proof_words import ceiling_percent, floor_percent, rule_line, standing_lines
from stirfall.reporting.recipe_parts import RecipeProof
from stirfall.session.proving import ProofStanding, all_standings


def proofs_of(
    state: CampaignState, conditions: Conditions, *, corrections: Iterable[Correction] = (), decimal: str = "."
) -> tuple[RecipeProof, ...]:
    """Return every proof that was started at these conditions, within its tolerances, in the order of the file."""
    material = state.settings.material
    found = all_standings(state, corrections) if state.proofs else ()
    at_hand = [each for each in found if off_recipe(each.proof, conditions, state.factors, material) is None]
    return tuple(_told(each, decimal) for each in at_hand)


def _told(found: ProofStanding, decimal: str) -> RecipeProof:
    proof, interval = found.proof, found.interval
    return RecipeProof(
        title=proof.title,
        started_at=proof.started_at,
        verdict=found.verdict.value,
        rule=rule_line(found.plan, decimal=decimal),
        claim=proof.claim,
        confidence=proof.confidence,
        made=found.made,
        failures=found.failures,
        lower_percent=None if interval is None else floor_percent(interval.lower),
        interval_percent=None
        if interval is None
        else (floor_percent(interval.low), ceiling_percent(interval.high)),
        is_result=interval is not None and interval.is_result,
        lines=standing_lines(found, decimal=decimal),
    )
