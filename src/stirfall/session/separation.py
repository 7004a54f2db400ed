"""Separated outcomes of a campaign, one finding per gate, held within what may be suggested for its metal."""

from __future__ import annotations

from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.records import find_factor
from stirfall.inference.separations import Separation, separation_of
from stirfall.session.analysis import Analysis


def separations_of(analysis: Analysis) -> tuple[Separation, ...]:
    """Return for each gate whose outcomes are parted without exception by what, and what it means next.

    At most one per gate, in their order, for the straight form; gates whose outcomes overlap have none.
    """
    design = analysis.base.design
    found = [separation_of(rows, design, gate) for gate, rows in analysis.rows.items()]
    return tuple(within_limits(analysis.state, each) for each in found if each is not None)


def within_limits(state: CampaignState, separation: Separation) -> Separation:
    """Return the finding; for a superoxide former without a word that would invite a longer exposure."""
    exposures = [
        name
        for name in (*separation.factors, *separation.also)
        if (role := find_factor(state.factors, name).role) is not None and role.is_exposure
    ]
    if state.settings.material.may_lengthen_age or not exposures:
        return separation
    params = {"factors": ", ".join((*separation.factors, *separation.also))}
    return replace(
        separation, code="separation.by_exposure", params=params, means=Reason("separation.means_limits")
    )
