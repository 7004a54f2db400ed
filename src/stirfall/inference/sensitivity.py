"""How far the answer rests on the prior: the same attempts with half and with double the prior's breadth."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Estimate, Reason, whole_percent
from stirfall.bench.records import CampaignSettings
from stirfall.inference.blocks import weighted_sum
from stirfall.inference.design import Columns
from stirfall.inference.importance import effective_size, normalised
from stirfall.inference.odds import OddsModel, fit_odds
from stirfall.inference.table import AttemptTable

FloatArray = NDArray[np.float64]

HALF, DOUBLE = 0.5, 2.0
# Our proposal. ``share`` is the part of the information at a point that the prior brings; a probability that is
# nearly settled anyway (an interval of at most 20 points) is judged by how far it moves alone.
_SETTLED = 0.20
_LARGE_SHARE, _MODERATE_SHARE = 0.5, 0.25
_LARGE_MOVE, _MODERATE_MOVE, _MODERATE_END = 0.15, 0.05, 0.10
# Draws are weighed anew where at least this part of their effective number stays.
_KEPT = 0.9


@dataclass(frozen=True)
class PriorMove:
    """One answer under the prior as it is, at half and at double its standard deviations.

    ``move`` is the largest change of the probability, ``end_move`` that of an end of its interval. ``prior_share``
    is the part of the information about the log odds there that comes from the prior, 0 to 1: how the posterior
    standard deviation follows the prior's over the factor of four, d log sd / d log prior sd, which is that part
    for normal laws.
    """

    now: Estimate
    half: Estimate
    double: Estimate
    move: float
    end_move: float
    prior_share: float
    verdict: Reason

    @property
    def size(self) -> str:
        """Return "small", "moderate", "large" or "prior_only"."""
        return self.verdict.code.rpartition(".")[2]


def refits(
    now: OddsModel,
    table: AttemptTable,
    settings: CampaignSettings,
    *,
    seed: int = 0,
    token: CancelToken | None = None,
) -> tuple[OddsModel, OddsModel]:
    """Return the first answer ``now`` with half and with double all prior standard deviations.

    Where the prior hardly matters its draws are weighed anew, which is as exact and takes no time with very many
    attempts; otherwise the model is fitted again. Of the models returned only the draws, their weights and what
    comes from them are to be used.
    """
    half, double = (
        _weighed_anew(now, factor) or fit_odds(table, now.design, _scaled(settings, factor), seed=seed, token=token)
        for factor in (HALF, DOUBLE)
    )
    return half, double


def _weighed_anew(now: OddsModel, factor: float) -> OddsModel | None:
    """Return the model under the scaled prior from the same draws, None where these would no longer do."""
    gates = []
    for gate in now.gates:
        posterior = gate.posterior
        standard = np.square(posterior.draws / posterior.prior_sd).sum(axis=1)
        with np.errstate(divide="ignore"):
            log_weights = np.log(posterior.weights) - 0.5 * standard * (factor**-2 - 1.0)
        weights, _ = normalised(log_weights)
        size = effective_size(weights)
        if size < _KEPT * posterior.effective_sample_size:
            return None
        changed = replace(
            posterior, weights=weights, prior_sd=factor * posterior.prior_sd, effective_sample_size=size
        )
        gates.append(replace(gate, posterior=changed))
    return replace(now, gates=tuple(gates))


def prior_move(now: OddsModel, half: OddsModel, double: OddsModel, columns: Columns) -> PriorMove:
    """Compare the three answers at the one point of ``columns``; raises InputError ``odds.value_missing``."""
    estimates = [model.estimate(columns) for model in (now, half, double)]
    moves = [abs(each.mean - estimates[0].mean) for each in estimates[1:]]
    ends = [abs(each.lower - estimates[0].lower) for each in estimates[1:]]
    ends += [abs(each.upper - estimates[0].upper) for each in estimates[1:]]
    share = _prior_share(half, double, columns)
    return PriorMove(
        estimates[0],
        estimates[1],
        estimates[2],
        move=max(moves),
        end_move=max(ends),
        prior_share=share,
        verdict=_verdict(estimates, max(moves), max(ends), share),
    )


def _scaled(settings: CampaignSettings, factor: float) -> CampaignSettings:
    return replace(
        settings,
        intercept_prior_sd=settings.intercept_prior_sd * factor,
        effect_prior_sd=settings.effect_prior_sd * factor,
    )


def _prior_share(half: OddsModel, double: OddsModel, columns: Columns) -> float:
    spreads = [_log_odds_sd(model, columns) for model in (half, double)]
    if min(spreads) <= 0.0:
        return 0.0
    return min(1.0, max(0.0, math.log(spreads[1] / spreads[0]) / math.log(DOUBLE / HALF)))


def _log_odds_sd(model: OddsModel, columns: Columns) -> float:
    draws = np.clip(model.probability_draws(columns)[:, :1], 1e-300, 1.0 - 1e-16)
    log_odds = np.log(draws) - np.log1p(-draws)
    mean = weighted_sum(model.weights, log_odds)
    return float(np.sqrt(weighted_sum(model.weights, np.square(log_odds - mean)))[0])


def _verdict(estimates: list[Estimate], move: float, end_move: float, share: float) -> Reason:
    now, half, double = estimates
    params: dict[str, object] = {
        "now": whole_percent(now.mean),
        "half": whole_percent(half.mean),
        "double": whole_percent(double.mean),
        "share": round(100.0 * share),
    }
    if now.n == 0:
        return Reason("sensitivity.prior_only", params)
    open_still = now.upper - now.lower > _SETTLED
    if move > _LARGE_MOVE or (open_still and share > _LARGE_SHARE):
        return Reason("sensitivity.large", params)
    moderate = move > _MODERATE_MOVE or end_move > _MODERATE_END or (open_still and share > _MODERATE_SHARE)
    return Reason("sensitivity.moderate" if moderate else "sensitivity.small", params)
