"""What the section "Drift" asks for in the background."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.session.analysis import Analysis
    from stirfall.session.drift_records import Drift


def work_out_drift(analysis: Analysis | None, state: CampaignState, measure: str, token: CancelToken) -> Drift:
    """Return how a measure went over time; runs on a worker, which loads the libraries that it needs."""
    from stirfall.session.drift import drift

    return drift(state if analysis is None else analysis, measure, now=state, token=token)
