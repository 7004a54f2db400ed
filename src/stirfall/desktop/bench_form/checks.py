"""The start checklist of a local day, and the few cautions that always stay in view; pure."""

from __future__ import annotations

from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.materials import Caution, Cautions, MaterialClass
from stirfall.desktop.bench_form.state import ChecklistState
from stirfall.reporting.cautions import load_cautions, shortened

_VITAL: dict[MaterialClass, tuple[str, ...]] = {
    MaterialClass.BASE_METAL: ("fire_agent_oil", "watch_hot_oil", "no_water_near"),
    MaterialClass.ALKALI_METAL: ("fire_wrong_agents", "look_first", "stay_under_oil"),
    MaterialClass.SUPEROXIDE_FORMER: ("look_first", "never_age_on_purpose", "fire_wrong_agents"),
    MaterialClass.OTHER: ("fire_wrong_agents", "look_first", "stay_under_oil"),
}
_SHORT = 140


def day_of(now: datetime) -> str:
    """Return the local day of a moment, as ISO 8601."""
    return now.astimezone().date().isoformat()


def read_checklist(campaign: CampaignState, now: datetime, ticked: frozenset[str]) -> ChecklistState:
    """Return today's checklist; it is due until all lines were ticked today for this class of metal."""
    items = load_cautions(campaign.settings.material).checklist
    wanted = {item.key for item in items}
    is_done = any(
        tick.day == day_of(now) and tick.material == campaign.settings.material.value and wanted <= set(tick.keys)
        for tick in campaign.ticks
    )
    return ChecklistState(not is_done, items, frozenset() if is_done else ticked)


def ticked_lines(campaign: CampaignState, moment: datetime) -> tuple[str, ...]:
    """Return the lines of the start checklist ticked on the local day of a moment, for this class of metal."""
    material = campaign.settings.material.value
    ticks = [tick for tick in campaign.ticks if tick.day == day_of(moment) and tick.material == material]
    return tuple(dict.fromkeys(key for tick in ticks for key in tick.keys))


def vital_lines(cautions: Cautions) -> tuple[str, ...]:
    """Return the few lines that the compact strip always shows; the full list is one press away."""
    by_key: dict[str, Caution] = {item.key: item for item in cautions.items}
    picked = [by_key[key] for key in _VITAL[cautions.material] if key in by_key]
    return tuple(shortened(item.text, _SHORT) for item in picked or cautions.items[:3])
