"""Penalised likelihood's answer to ``stirfall odds``, as JSON and as text: a cross-check without a prior."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions
from stirfall.bench.units import format_number
from stirfall.cli.likelihood_answer import document, first_lines, last_lines, why
from stirfall.cli.odds_ml import GATE_WORDS
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import level_percent

if TYPE_CHECKING:
    from stirfall.inference.firth_table import OwnUnitsFirth
    from stirfall.inference.table import AttemptCounts


@dataclass(frozen=True)
class FirthAnswer:
    """The fit of each gate by its name, and the probability at the conditions asked for, if any were."""

    fits: dict[str, OwnUnitsFirth]
    counts: AttemptCounts
    level: float
    conditions: Conditions
    probability: Estimate | None

    @property
    def exists(self) -> bool:
        """Whether every gate has a fit."""
        return all(fit.fit.exists for fit in self.fits.values())


def firth_of_campaign(state: CampaignState, given: Conditions, gates: int | None = None) -> FirthAnswer:
    """Fit by penalised likelihood, ``gates`` as in ``analyse``; raises InputError ``conditions.missing``."""
    from stirfall.inference.firth_table import fit_firth_table
    from stirfall.inference.ml_table import gate_tables
    from stirfall.session.film_factor import prepare

    design, table = prepare(state).table(gates=gates)
    parts = gate_tables(table)
    level = state.settings.level
    gate_level = level ** (1.0 / len(parts))
    at = given if given else None
    fits = {
        name: fit_firth_table(part, design, level=level, at=at, at_level=gate_level) for name, part in parts.items()
    }
    trials = round(float(next(iter(parts.values())).clean_n.sum()))
    probability = _probability(fits, level, trials, of_trials=trials != table.counts.used)
    return FirthAnswer(fits, table.counts, level, given, probability)


def firth_json(answer: FirthAnswer) -> dict[str, object]:
    """Return the answer; with one gate its numbers stand at the top, with two in ``gates``."""
    gates = [_gate_json(name, fit) for name, fit in answer.fits.items()]
    return document(gates, answer.counts, answer.conditions, answer.probability, level=answer.level)


def firth_lines(state: CampaignState, answer: FirthAnswer) -> list[str]:
    """Return the answer as text: per gate the coefficients in own units with their intervals and p-values."""
    lines = first_lines(state, answer.counts)
    for name, fit in answer.fits.items():
        lines += ["", f"{GATE_WORDS[name]}, penalised likelihood (Firth), {level_percent(answer.level)} intervals:"]
        reason = fit.fit.reason
        if reason is not None:
            lines.append(f"  {sentence(reason.code, reason.params)}")
            continue
        lines += _coefficient_lines(fit)
        lines.append(f"  penalised log likelihood {_five(fit.penalised_log_likelihood)}")
        if fit.constant:
            lines.append(f"  Left out, for they never varied: {', '.join(fit.constant)}.")
    return lines + last_lines(state, answer.conditions, answer.probability)


def _coefficient_lines(fit: OwnUnitsFirth) -> list[str]:
    lines = []
    for place, term in enumerate(fit.terms):
        numbers = (fit.fit.estimate, fit.fit.lower, fit.fit.upper, fit.fit.se)
        estimate, lower, upper, se = (_five(values[place]) for values in numbers)
        p = _p_words(float(fit.fit.p[place]))
        lines.append(f"  {term.name}: {estimate}, {lower} to {upper}, standard error {se}, {p}")
    return lines


def _p_words(p: float) -> str:
    return "p below 0.0001" if p < 0.0001 else f"p {format_number(p, digits=3)}"


def _gate_json(name: str, fit: OwnUnitsFirth) -> dict[str, object]:
    whole = fit.fit
    about = {"name": name, "exists": whole.exists, "never_varied": list(fit.constant)}
    if whole.reason is not None:
        return {**about, "reason": why(whole.reason)}
    return {
        **about,
        "coefficients": [
            {
                "term": term.name,
                "estimate": float(whole.estimate[place]),
                "se": float(whole.se[place]),
                "lower": float(whole.lower[place]),
                "upper": float(whole.upper[place]),
                "p": float(whole.p[place]),
            }
            for place, term in enumerate(fit.terms)
        ],
        "penalised_log_likelihood": fit.penalised_log_likelihood,
    }


def _probability(fits: dict[str, OwnUnitsFirth], level: float, trials: int, *, of_trials: bool) -> Estimate | None:
    """Return the fitted probability with profile limits, of each gate at the square root of the level with two.

    The products of the gates' bounds then cover at least as often as the level says when the gates are fitted
    independently.
    """
    mean = lower = upper = 1.0
    for fit in fits.values():
        if fit.predictor is None:
            return None
        mean *= _share(fit.predictor.eta)
        lower *= _share(fit.predictor.lower)
        upper *= _share(fit.predictor.upper)
    return Estimate(mean, lower, upper, level, trials, of_trials)


def _share(eta: float) -> float:
    return 1.0 / (1.0 + math.exp(-eta)) if eta >= 0 else math.exp(eta) / (1.0 + math.exp(eta))


def _five(value: float) -> str:
    return format_number(float(value), digits=5)
