"""The plan of the evening as it is printed: from the state that is shown to the sheet; pure, without widgets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.desktop.plan.cards import values_text
from stirfall.desktop.plan.tonight_state import PURPOSES, TonightState
from stirfall.desktop.printing.evening_drawing import EveningLine, EveningSheet
from stirfall.reporting.paper_sheet import make_paper_sheet
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState


def evening_sheet(state: TonightState, campaign: CampaignState, *, decimal: str) -> EveningSheet:
    """Return the attempts that are left to do, with the cautions of the campaign; a plan may have none left."""
    lines = tuple(
        EveningLine(
            clock=line.clock,
            jar=line.jar,
            purpose=f"{line.lot}, {PURPOSES[line.purpose][1]}",
            values=values_text(line.values),
            chance="" if line.chance is None else f"Chance of a clean separation: {line.chance.in_full}",
            why=line.why,
            pause=line.pause,
        )
        for line in state.lines
        if not line.is_over
    )
    drawn = "" if state.seed is None else sentence("plan_page.drawn", {"seed": state.seed})
    total = f"{state.total} {drawn}".strip()
    return EveningSheet(state.date, total, lines, make_paper_sheet(campaign, decimal=decimal))
