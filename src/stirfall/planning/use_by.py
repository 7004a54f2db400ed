"""Until when a jar should be used: the age limit of its class of metal, as a moment."""

from __future__ import annotations

from datetime import datetime, timedelta

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Jar
from stirfall.planning.limits_exposure import age_limit


def use_by(state: CampaignState, jar: Jar) -> datetime | None:
    """Return the moment (UTC) when a jar of crude reaches the age limit of its class, None where there is none.

    The limit is the shipped one of the class or the campaign's own, whichever is shorter, so that a base metal has
    none unless the campaign sets one. It runs from the start of the jar; for a superoxide former from the making
    of the lot where that is earlier, as the limits judge it. Residue is not to be used, so it has none.
    """
    limit = age_limit(state.settings)
    if limit is None or jar.is_residue:
        return None
    starts = [as_utc(jar.started_at)]
    lot = state.lot(jar.lot_id)
    if state.settings.material is MaterialClass.SUPEROXIDE_FORMER and lot is not None and lot.made_at is not None:
        starts.append(as_utc(lot.made_at))
    try:
        return min(starts) + timedelta(hours=limit.most_h)
    except OverflowError:
        return None  # a limit so long that no calendar holds its end
