"""The forecasts of the shelf, as jobs of the window ask for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.session.analysis import Analysis
    from stirfall.session.forecast import JarForecast


def forecasts(
    analysis: Analysis, state: CampaignState, now: datetime, token: CancelToken
) -> Mapping[str, JarForecast]:
    """Return the forecast of every ageing jar; its library is loaded on the worker that asks, not at the start."""
    from stirfall.session.forecast import forecast_jars

    return forecast_jars(analysis, state, now, token)
