"""Maximum likelihood's answer to ``stirfall odds``, as JSON and as text; it may be that there is none."""

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
from stirfall.bench.units import format_number
from stirfall.cli.likelihood_answer import document, first_lines, last_lines, why
from stirfall.cli.odds_separation import separation_json, separation_lines
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.inference.design import Design, FloatArray
    from stirfall.inference.ml_table import OwnUnitsFit
    from stirfall.inference.table import AttemptCounts

GATE_WORDS = {"clean": "Clean or not", "parted": "Gate 1, parted", "pooled": "Gate 2, pooled where parted"}


@dataclass(frozen=True)
class MlAnswer:
    """The fit of each gate by its name, and the probability at the conditions asked for, if any were."""

    fits: dict[str, OwnUnitsFit]
    counts: AttemptCounts
    conditions: Conditions
    probability: Estimate | None

    @property
    def exists(self) -> bool:
        """Whether every gate has a maximum-likelihood fit."""
        return all(fit.fit.exists for fit in self.fits.values())


def fit_campaign(state: CampaignState, given: Conditions, gates: int | None = None) -> MlAnswer:
    """Fit by maximum likelihood, ``gates`` as in ``analyse``; raises InputError ``conditions.missing``."""
    from stirfall.inference.ml_table import fit_ml_table, gate_tables
    from stirfall.session.film_factor import prepare

    design, table = prepare(state).table(gates=gates)
    parts = gate_tables(table)
    fits = {name: _held(state, fit_ml_table(part, design, name)) for name, part in parts.items()}
    trials = round(float(next(iter(parts.values())).clean_n.sum()))
    probability = _probability(fits, given, state.settings.level, trials, of_trials=trials != table.counts.used)
    return MlAnswer(fits, table.counts, given, probability)


def _held(state: CampaignState, fit: OwnUnitsFit) -> OwnUnitsFit:
    """Return the fit with no word on its separation that the metal at hand forbids."""
    from stirfall.session.separation import within_limits

    return fit if fit.separation is None else replace(fit, separation=within_limits(state, fit.separation))


def ml_json(answer: MlAnswer) -> dict[str, object]:
    """Return the answer; with one gate its numbers stand at the top, with two in ``gates``."""
    gates = [_gate_json(name, fit) for name, fit in answer.fits.items()]
    return document(gates, answer.counts, answer.conditions, answer.probability)


def ml_lines(state: CampaignState, answer: MlAnswer) -> list[str]:
    """Return the answer as text: per gate the coefficients in the table's own units, or why there are none."""
    lines = first_lines(state, answer.counts)
    for name, fit in answer.fits.items():
        lines += ["", f"{GATE_WORDS[name]}, maximum likelihood:"]
        reason = fit.fit.reason
        if reason is not None:
            lines.append(f"  {sentence(reason.code, reason.params)}")
            lines += separation_lines(fit.separation) if fit.separation is not None else []
            continue
        lines += [
            f"  {term.name}: {_four(estimate)}, standard error {_four(se)}"
            for term, estimate, se in zip(fit.terms, fit.estimate, fit.se, strict=True)
        ]
        lines.append(
            f"  deviance {_four(fit.fit.deviance)} on {fit.fit.df} degrees of freedom "
            f"(intercept alone {_four(fit.fit.null_deviance)}), log likelihood {_four(fit.fit.log_likelihood)}"
        )
        if fit.constant:
            lines.append(f"  Left out, for they never varied: {', '.join(fit.constant)}.")
    return lines + last_lines(state, answer.conditions, answer.probability)


def _gate_json(name: str, fit: OwnUnitsFit) -> dict[str, object]:
    whole = fit.fit
    left_out = {"name": name, "exists": whole.exists, "never_varied": list(fit.constant)}
    if whole.reason is not None:
        parted = None if fit.separation is None else separation_json(fit.separation)
        return {**left_out, "reason": why(whole.reason), "separation": parted}
    return {
        **left_out,
        "coefficients": [
            {"term": term.name, "estimate": float(estimate), "se": float(se)}
            for term, estimate, se in zip(fit.terms, fit.estimate, fit.se, strict=True)
        ],
        **contrasts_json(fit.design, whole.estimate, whole.covariance),
        "deviance": whole.deviance,
        "null_deviance": whole.null_deviance,
        "df": whole.df,
        "log_likelihood": whole.log_likelihood,
    }


def contrasts_json(design: Design, estimate: FloatArray, covariance: FloatArray) -> dict[str, object]:
    """Return each level of a choice against its first one, and the log odds at all the first ones."""
    from stirfall.inference.level_contrasts import at_first_levels, level_contrasts

    reference = at_first_levels(design, estimate, covariance)
    return {
        "contrasts": [each._asdict() for each in level_contrasts(design, estimate, covariance)],
        "reference": None if reference is None else reference._asdict(),
    }


def _probability(
    fits: dict[str, OwnUnitsFit], conditions: Conditions, level: float, trials: int, *, of_trials: bool
) -> Estimate | None:
    """Return the fitted probability; its interval is symmetric on the logit scale (with two gates: of each gate).

    With two gates the bounds are the products of the bounds at the square root of the level, which covers at
    least as often as stated when the gates are fitted independently.
    """
    if not conditions or not all(fit.fit.exists for fit in fits.values()):
        return None
    gate_level = level ** (1.0 / len(fits))
    z = NormalDist().inv_cdf((1.0 + gate_level) / 2.0)
    mean = lower = upper = 1.0
    for fit in fits.values():
        row = fit.design.matrix(fit.design.columns([conditions]), rows=1)[0]
        if np.isnan(row).any():
            missing = [factor.name for factor in fit.design.factors if factor.name not in conditions]
            raise InputError("conditions.missing", names=", ".join(missing))
        eta = float(row @ fit.fit.estimate)
        reach = z * math.sqrt(max(0.0, float(row @ fit.fit.covariance @ row)))
        mean, lower, upper = mean * _share(eta), lower * _share(eta - reach), upper * _share(eta + reach)
    return Estimate(mean, lower, upper, level, trials, of_trials)


def _share(eta: float) -> float:
    return 1.0 / (1.0 + math.exp(-eta)) if eta >= 0 else math.exp(eta) / (1.0 + math.exp(eta))


def _four(value: float) -> str:
    return format_number(float(value), digits=5)
