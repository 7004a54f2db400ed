"""How the chance of the three outcomes moves along one factor: nothing parted, parted but beads, clean.

The three shares belong to one attempt and sum to one. They come from the two gates: 1 - P(parted),
P(parted) (1 - P(pooled)) and P(parted) P(pooled).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.records import find_factor
from stirfall.inference.odds import Bands, OddsModel, points_matrix
from stirfall.inference.probability import probability_draws, weighted_interval, weighted_means
from stirfall.inference.stack import StackedModel

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]
Columns = dict[str, FloatArray]
Model = OddsModel | StackedModel


@dataclass(frozen=True)
class OutcomeShares:
    """Shares of the three outcomes at the points ``x`` of ``factor``, in its unit (a choice: index of the level).

    ``not_parted`` is too little film (the solids stay), ``beads`` too much (parted, but no single pool), ``clean``
    both gates passed. Each has ``mean``, ``lower`` and ``upper``, arrays (points,); the means sum to one, the
    bounds do not. ``partly_parted`` says on which side partly parted attempts count: "not parted" or "parted".
    ``forms_share`` is the weight of the forms that tell the outcomes apart, 1 where all do. ``tried``,
    ``tried_low`` and ``tried_high`` are as in ``Curve``; ``level`` is that of the intervals, ``n`` the attempts
    used.
    """

    factor: Factor
    x: FloatArray
    not_parted: Bands
    beads: Bands
    clean: Bands
    level: float
    n: int
    partly_parted: str
    forms_share: float
    tried_low: float | None
    tried_high: float | None
    tried: NDArray[np.bool_]


@dataclass(frozen=True)
class SharesAt:
    """The shares of the three outcomes at a number of points, each as arrays (points,).

    ``forms_share`` is the weight of the forms that they come from.
    """

    not_parted: Bands
    beads: Bands
    clean: Bands
    forms_share: float


def why_no_shares(analysis: Analysis) -> Reason | None:
    """Return why the three outcomes cannot be told apart, None where they can: it takes a form with two gates."""
    return None if _has_two_gates(analysis.model) else Reason("outcomes.one_gate")


def outcome_shares(
    analysis: Analysis, factor_name: str, conditions: Conditions, points: int = 121
) -> OutcomeShares | None:
    """Return the shares along one factor, everything else as in ``conditions``; None with one gate.

    ``why_no_shares`` then gives the reason. Where the model weighs forms with two gates and with one, the share of
    clean is the answer of all forms; only those with two gates can say how the rest divides, and it is divided as
    they divide it. Raises InputError ``factor.unknown`` and ``conditions.missing``.
    """
    if why_no_shares(analysis) is not None:
        return None
    factor = find_factor(analysis.state.factors, factor_name)
    curve = analysis.curve(factor.name, conditions, points)
    shares = shares_at(analysis.model, analysis.columns_along({factor.name: curve.x}, conditions))
    partly = "parted" if analysis.state.settings.partly == "success" else "not parted"
    return OutcomeShares(
        factor,
        curve.x,
        shares.not_parted,
        shares.beads,
        shares.clean,
        analysis.model.level,
        analysis.model.n,
        partly,
        shares.forms_share,
        curve.tried_low,
        curve.tried_high,
        curve.tried,
    )


def shares_at(model: Model, columns: Columns) -> SharesAt:
    """Return the shares at the points of ``columns`` from a model that has forms with two gates.

    The gates of one form are independent, so the mean of their product is that of the exact means. Intervals are
    quantiles of the paired draws, widened where a law is so skew that its mean lies outside. Raises InputError
    ``odds.value_missing``.
    """
    parted, pooled, forms_share = _joint_draws(model, columns)
    clean = parted * pooled
    beads = parted - clean
    if isinstance(model, OddsModel):
        gate = next(gate for gate in model.gates if gate.name == "parted").posterior
        not_parted_mean = 1.0 - weighted_means(gate.draws, gate.weights, points_matrix(model.design, columns))
        clean_mean = model.means(columns)
    else:
        not_parted_mean, clean_mean = 1.0 - parted.mean(axis=0), clean.mean(axis=0)
    beads_mean = np.maximum(1.0 - not_parted_mean - clean_mean, 0.0)
    weights = np.full(len(parted), 1.0 / len(parted))
    whole: Bands | None = None
    if isinstance(model, StackedModel) and model.other is not None:
        whole = model.estimates(columns)
        failing = beads_mean + not_parted_mean
        scale = (1.0 - whole.mean) / np.where(failing > 0, failing, 1.0)
        beads_mean, not_parted_mean = beads_mean * scale, not_parted_mean * scale

    def bands(mean: FloatArray, draws: FloatArray) -> Bands:
        lower, upper = weighted_interval(draws, weights, model.level)
        return Bands(mean, np.minimum(lower, mean), np.maximum(upper, mean))

    clean_bands = bands(clean_mean, clean) if whole is None else whole
    return SharesAt(bands(not_parted_mean, 1.0 - parted), bands(beads_mean, beads), clean_bands, forms_share)


def _has_two_gates(model: Model) -> bool:
    if len(model.gates) == 2:
        return True
    return isinstance(model, StackedModel) and model.other is not None and len(model.other.betas) == 2


def _joint_draws(model: Model, columns: Columns) -> tuple[FloatArray, FloatArray, float]:
    """Return (m, points) equally likely draws of both gates, paired, and the weight of the forms behind them."""
    if len(model.gates) == 2:
        draws = model.gate_draws(columns)
        share = 1.0 - model.other_share if isinstance(model, StackedModel) else 1.0
        return draws["parted"], draws["pooled"], share
    # The heaviest form has one gate: the lighter ones with two are all that can tell the outcomes apart.
    assert isinstance(model, StackedModel)
    assert model.other is not None
    matrix = points_matrix(model.design, columns)
    place = None if model.lot is None else model.lot_names.index(model.lot)
    parted, pooled = (probability_draws(beta, matrix) for beta in model.other.for_lot(place))
    return parted, pooled, model.other_share
