"""Maximum likelihood with a random intercept per lot, as an answer to ``stirfall odds``: JSON and text."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions
from stirfall.bench.records import LOT_EFFECT_LOT, LOT_EFFECT_NONE
from stirfall.bench.units import format_number
from stirfall.cli.likelihood_answer import document, first_lines, last_lines, why
from stirfall.cli.odds_ml import GATE_WORDS, contrasts_json
from stirfall.cli.odds_separation import separation_json, separation_lines
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, level_percent

if TYPE_CHECKING:
    from stirfall.inference.lot_ml_table import OwnUnitsLotFit
    from stirfall.inference.table import AttemptCounts

# Log-likelihood units: a tenth moves no bound by more than a twentieth of a standard error.
_WORTH_SAYING = 0.1
_LISTED = 12


@dataclass(frozen=True)
class LotAnswer:
    """The fit of each gate by its name, what its lots are, and the probability in a new lot, if one was asked."""

    fits: dict[str, OwnUnitsLotFit]
    grouping: str
    counts: AttemptCounts
    level: float
    conditions: Conditions
    probability: Estimate | None

    @property
    def exists(self) -> bool:
        """Whether every gate has a fit."""
        return all(fit.fit.exists for fit in self.fits.values())


def lots_of_campaign(
    state: CampaignState, given: Conditions, gates: int | None = None, *, nodes: int | None = None
) -> LotAnswer:
    """Fit with lots as the campaign names them, record lots where it names none.

    Raises InputError ``conditions.missing`` or ``lot_ml.nodes_outside``.
    """
    from stirfall.inference.lot_ml import DEFAULT_NODES
    from stirfall.inference.lot_ml_table import fit_lot_ml_table
    from stirfall.inference.ml_table import gate_tables
    from stirfall.session.film_factor import prepare
    from stirfall.session.separation import within_limits

    settings = state.settings
    if settings.lot_effect == LOT_EFFECT_NONE:
        settings = replace(settings, lot_effect=LOT_EFFECT_LOT)
    design, table = prepare(state).table(settings, gates=gates)
    parts = gate_tables(table)
    fits = {}
    for name, part in parts.items():
        fit = fit_lot_ml_table(part, design, name, nodes=nodes or DEFAULT_NODES, level=settings.level)
        parted = None if fit.separation is None else within_limits(state, fit.separation)
        fits[name] = replace(fit, separation=parted)
    trials = round(float(next(iter(parts.values())).clean_n.sum()))
    probability = _probability(fits, given, settings.level, trials, of_trials=trials != table.counts.used)
    return LotAnswer(fits, table.grouping, table.counts, settings.level, given, probability)


def lots_json(answer: LotAnswer) -> dict[str, object]:
    """Return the answer; with one gate its numbers stand at the top, with two in ``gates``."""
    gates = [_gate_json(name, fit) for name, fit in answer.fits.items()]
    about = {"level": answer.level, "grouping": answer.grouping}
    return document(gates, answer.counts, answer.conditions, answer.probability, **about)


def lots_lines(state: CampaignState, answer: LotAnswer) -> list[str]:
    """Return the answer as text: per gate the coefficients, how far lots differ, and where each lot stands."""
    lines = first_lines(state, answer.counts)
    for name, fit in answer.fits.items():
        lines += ["", f"{GATE_WORDS[name]}, maximum likelihood, one intercept for each {answer.grouping}:"]
        lines += _gate_lines(fit, answer.level)
    return lines + last_lines(state, answer.conditions, answer.probability, f", in a new {answer.grouping}")


def _gate_json(name: str, fit: OwnUnitsLotFit) -> dict[str, object]:
    whole = fit.fit
    about: dict[str, object] = {"name": name, "exists": whole.exists, "never_varied": list(fit.constant)}
    about["nodes"] = whole.nodes
    if whole.reason is not None:
        about["reason"] = why(whole.reason)
    if not whole.exists:
        return {**about, "separation": None if fit.separation is None else separation_json(fit.separation)}
    return {
        **about,
        "coefficients": [
            {"term": term.name, "estimate": float(estimate), "se": float(se)}
            for term, estimate, se in zip(fit.terms, fit.estimate, fit.se, strict=True)
        ],
        **contrasts_json(fit.design, whole.estimate, whole.covariance[:-1, :-1]),
        "lot_sd": whole.lot_sd,
        "lot_sd_se": _or_none(whole.lot_sd_se),
        "lot_sd_lower": whole.lot_sd_lower,
        "lot_sd_upper": _or_none(whole.lot_sd_upper),
        "lots": _effects_json(fit),
        "deviance": whole.deviance,
        "log_likelihood": whole.log_likelihood,
        "log_likelihood_without_lots": whole.log_likelihood_alone,
        "nodes_gap": whole.nodes_gap,
    }


def _effects_json(fit: OwnUnitsLotFit) -> list[dict[str, object]]:
    return [
        {"lot": lot, "effect": float(effect), "sd": float(sd), "successes": int(k), "trials": int(n)}
        for lot, effect, sd, k, n in zip(
            fit.lots, fit.fit.effects, fit.fit.effect_sd, fit.successes, fit.trials, strict=True
        )
    ]


def _gate_lines(fit: OwnUnitsLotFit, level: float) -> list[str]:
    whole = fit.fit
    lines = [] if whole.reason is None else [f"  {sentence(whole.reason.code, whole.reason.params)}"]
    if not whole.exists:
        return lines + ([] if fit.separation is None else separation_lines(fit.separation))
    lines += [
        f"  {term.name}: {_five(estimate)}, standard error {_five(se)}"
        for term, estimate, se in zip(fit.terms, fit.estimate, fit.se, strict=True)
    ]
    upper = f"{_five(whole.lot_sd_lower)} to {_five(whole.lot_sd_upper)}"
    if math.isinf(whole.lot_sd_upper):
        upper = f"at least {_five(whole.lot_sd_lower)}"
    lines.append(
        f"  spread between lots (standard deviation on the log-odds scale): {_five(whole.lot_sd)}, "
        f"{upper} ({level_percent(level)})"
    )
    lines.append(
        f"  log likelihood {_five(whole.log_likelihood)} (without lots {_five(whole.log_likelihood_alone)}), "
        f"deviance {_five(whole.deviance)}, {counted(whole.nodes, 'node')}"
    )
    if abs(whole.nodes_gap) > _WORTH_SAYING:
        gap = {"gap": format_number(whole.nodes_gap, digits=2)}
        lines.append("  " + sentence("lot_ml.more_nodes", gap))
    return lines + _effect_lines(fit)


def _effect_lines(fit: OwnUnitsLotFit) -> list[str]:
    if fit.fit.lot_sd == 0.0:
        return []
    lines = [
        f"  {lot}: {_three(effect)}, standard deviation {_three(sd)}, {int(k)} of {int(n)}"
        for lot, effect, sd, k, n in zip(
            fit.lots, fit.fit.effects, fit.fit.effect_sd, fit.successes, fit.trials, strict=True
        )
        if lot is not None
    ]
    more = len(lines) - _LISTED
    lines = lines[:_LISTED] + ([f"  and {more} more, all in --json"] if more > 0 else [])
    return ["  effect of each lot on the log odds:", *(f"  {line}" for line in lines)] if lines else []


def _probability(
    fits: dict[str, OwnUnitsLotFit], conditions: Conditions, level: float, trials: int, *, of_trials: bool
) -> Estimate | None:
    """Return the probability in a new lot: the average over the law of the lots, its interval on the logit scale.

    The interval follows from the covariance of coefficients and sd (delta method); with two gates each takes the
    square root of the level, so that the products of the bounds cover at least as often as stated.
    """
    if not conditions or not all(fit.fit.exists for fit in fits.values()):
        return None
    z = NormalDist().inv_cdf((1.0 + level ** (1.0 / len(fits))) / 2.0)
    mean = lower = upper = 1.0
    for fit in fits.values():
        row = fit.design.matrix(fit.design.columns([conditions]), rows=1)[0]
        if np.isnan(row).any():
            missing = [factor.name for factor in fit.design.factors if factor.name not in conditions]
            raise InputError("conditions.missing", names=", ".join(missing))
        low, middle, high = _in_a_new_lot(fit, row, z)
        mean, lower, upper = mean * middle, lower * low, upper * high
    return Estimate(mean, lower, upper, level, trials, of_trials)


def _in_a_new_lot(fit: OwnUnitsLotFit, row: np.ndarray, z: float) -> tuple[float, float, float]:
    """Return lower bound, value and upper bound of the probability of one gate in a lot that was never seen."""
    from scipy.special import expit, logit

    t, weight = np.polynomial.hermite.hermgauss(99)
    steps, weight = math.sqrt(2.0) * t, weight / weight.sum()
    share = expit(float(row @ fit.fit.estimate) + fit.fit.lot_sd * steps)
    mean = float(weight @ share)
    slope = np.r_[row * (weight @ (share * (1.0 - share))), weight @ (share * (1.0 - share) * steps)]
    slope /= mean * (1.0 - mean)
    reach = z * math.sqrt(max(0.0, float(slope @ fit.fit.covariance @ slope)))
    return float(expit(logit(mean) - reach)), mean, float(expit(logit(mean) + reach))


def _or_none(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _three(value: float) -> str:
    return format_number(float(value), digits=3)


def _five(value: float) -> str:
    return format_number(float(value), digits=5)
