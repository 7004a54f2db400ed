"""What every answer by likelihood shares: its document, its first lines, and the probability that was asked for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.cli.conditions import write_conditions
from stirfall.cli.odds_posterior import counts_json, counts_line
from stirfall.cli.output import estimate_json
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import in_full

if TYPE_CHECKING:
    from stirfall.inference.table import AttemptCounts


def document(
    gates: Sequence[dict[str, object]],
    counts: AttemptCounts,
    conditions: Conditions,
    probability: Estimate | None,
    **about: object,
) -> dict[str, object]:
    """Return the whole answer; with one gate its numbers stand at the top, with two in ``gates``."""
    whole: dict[str, object] = {
        "gate_count": len(gates),
        "counts": counts_json(counts),
        "exists": all(gate["exists"] for gate in gates),
        **about,
    }
    if conditions:
        whole["conditions"] = dict(conditions)
        whole["probability"] = None if probability is None else estimate_json(probability)
    return {**whole, **gates[0]} if len(gates) == 1 else {**whole, "gates": list(gates)}


def why(reason: Reason) -> dict[str, object]:
    """Return a reason as JSON has it."""
    return {"code": reason.code, "text": sentence(reason.code, reason.params)}


def first_lines(state: CampaignState, counts: AttemptCounts) -> list[str]:
    """Return the title of the campaign, with the notice that it is invented, and what was counted."""
    settings = state.settings
    return [settings.title + (f" ({INVENTED_NOTICE})" if settings.invented else ""), counts_line(counts)]


def last_lines(
    state: CampaignState, conditions: Conditions, probability: Estimate | None, where: str = ""
) -> list[str]:
    """Return the probability at the conditions that were asked for; ``where`` follows the conditions."""
    if probability is None:
        return []
    at = f"At {write_conditions(state, conditions)}{where}:"
    return ["", at, f"  Clean separation: {in_full(probability)}"]
