"""What one clean attempt of a campaign brings in grams, for the goal that counts them."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.inference.design import Design
from stirfall.inference.recovery import mean_draws
from stirfall.planning.box import Columns
from stirfall.planning.objectives import Yield

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]

_FEW = 256
_SHUFFLE_SEED = 20_017


def yield_of(analysis: Analysis) -> Yield | Reason:
    """Return what a clean attempt brings, or why that is not known.

    The charge is the usual one of the jars on the shelf, else of the attempts so far; the recovery is that of the
    clean attempts whose charge and product were weighed.
    """
    recovery = analysis.recovery
    if recovery is None:
        return Reason("plan.recovery_unknown")
    charge = usual_charge_g(analysis.state) or recovery.median_charge_g
    if charge is None:
        return Reason("plan.charge_unknown")
    design = Design(tuple(f for f in analysis.state.factors if f.name in recovery.effects))

    def shares(columns: Columns, draws: int) -> FloatArray:
        rows = len(next(iter(columns.values())))
        matrix = design.matrix({f.name: columns[f.name] for f in design.factors}, rows=rows)
        return recovery.metal_share * mean_draws(recovery.fit, matrix, draws=draws)

    def mean(columns: Columns) -> FloatArray:
        return np.asarray(shares(columns, _FEW).mean(axis=0))

    def paired(columns: Columns, draws: int) -> FloatArray:
        return np.random.default_rng(_SHUFFLE_SEED).permutation(shares(columns, draws), axis=0)

    return Yield(charge, mean, paired)


def usual_charge_g(state: CampaignState) -> float | None:
    """Return the median charge of the jars on the shelf that say one, None where none does."""
    charges = [jar.charge_g for jar in state.shelf if jar.charge_g and not jar.is_residue]
    return float(median(charges)) if charges else None
