"""The posterior's answer to ``stirfall odds``, as JSON and as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.records import INVENTED_NOTICE
from stirfall.cli.conditions import Chosen, write_conditions
from stirfall.cli.odds_effects import (
    effects_json,
    effects_text,
    outcomes_json,
    outcomes_text,
    recovery_json,
    recovery_text,
)
from stirfall.cli.odds_forms import forms_json, forms_lines, lots_json, lots_lines, partly_lines
from stirfall.cli.odds_health import health_json, health_lines
from stirfall.cli.output import estimate_json
from stirfall.inference.probability import weighted_interval
from stirfall.reporting.direction_words import direction_sentence
from stirfall.reporting.shares import counted, in_full

if TYPE_CHECKING:
    from stirfall.inference.odds import GateFit
    from stirfall.inference.table import AttemptCounts
    from stirfall.session.analysis import Analysis
    from stirfall.session.health import HealthReport

FloatArray = NDArray[np.float64]

_GATE_NAMES = {"clean": "clean", "parted": "the solids part", "pooled": "then one pool"}


def posterior_json(analysis: Analysis, chosen: Chosen) -> dict[str, object]:
    """Return the refined answer at the chosen conditions, and the coefficients of the first one per gate."""
    settings = analysis.state.settings
    by_gate = analysis.gate_estimates(chosen.conditions)
    return {
        "gate_count": len(analysis.base.gates),
        "stage": analysis.stage,
        "counts": counts_json(analysis.counts),
        "conditions": dict(chosen.conditions),
        "conditions_source": chosen.source,
        "filled": list(chosen.filled),
        "outside_tried": list(_outside(analysis, chosen)),
        "probability": estimate_json(analysis.estimate(chosen.conditions)),
        "first_answer": estimate_json(analysis.base.estimate(analysis.base.design.columns([chosen.conditions]))),
        "priors": {
            "family": "normal",
            "mean": 0.0,
            "intercept_sd": settings.intercept_prior_sd,
            "effect_sd": settings.effect_prior_sd,
            "scale": "each number mapped to [-1, 1] over the campaign's range",
        },
        "gates": [
            {
                "name": gate.name,
                "successes": gate.k,
                "trials": gate.n,
                "probability": estimate_json(by_gate[gate.name]) if gate.name in by_gate else None,
                **_coefficients(analysis, gate),
                "effective_sample_size": gate.posterior.effective_sample_size,
                "draws": len(gate.posterior.weights),
                "pareto_k": gate.posterior.pareto_k,
                "log_marginal": gate.posterior.log_marginal,
            }
            for gate in analysis.base.gates
        ],
        "forms": forms_json(analysis),
        "lots": lots_json(analysis),
        "effects": effects_json(analysis),
        "outcomes": outcomes_json(analysis, chosen.conditions),
        "recovery": recovery_json(analysis, chosen.conditions),
        "health": health_json(_health(analysis, chosen)),
    }


def posterior_lines(analysis: Analysis, chosen: Chosen) -> list[str]:
    """Return the answer as text: what was counted, the probability, its gates, and which way to move."""
    settings = analysis.state.settings
    lines = [settings.title + (f" ({INVENTED_NOTICE})" if settings.invented else "")]
    lines.append(counts_line(analysis.counts))
    lines += ["", f"{chosen.heading}:", f"  {write_conditions(analysis.state, chosen.conditions)}"]
    if chosen.filled:
        lines.append(f"  Filled in with the campaign's defaults: {', '.join(chosen.filled)}.")
    outside = _outside(analysis, chosen)
    if outside:
        lines.append(f"  Outside what was tried: {', '.join(outside)}.")
    lines += ["", f"Clean separation: {in_full(analysis.estimate(chosen.conditions))}"]
    if len(analysis.model.gates) > 1:
        by_gate = analysis.gate_estimates(chosen.conditions)
        lines += [f"  {_GATE_NAMES[name]}: {in_full(estimate)}" for name, estimate in by_gate.items()]
    direction = analysis.direction(chosen.conditions)
    if direction is not None:
        lines.append(direction_sentence(direction))
    lines += partly_lines(analysis.state)
    if not analysis.model.health.is_sound:
        lines.append("The draws behind these intervals are poor; take the intervals as rough.")
    lines += _under(outcomes_text(analysis, chosen.conditions)) + _under(effects_text(analysis))
    lines += lots_lines(analysis) + forms_lines(analysis) + _under(recovery_text(analysis, chosen.conditions))
    return lines + _under(health_lines(_health(analysis, chosen)))


def _health(analysis: Analysis, chosen: Chosen) -> HealthReport:
    """Return the health, looked at where the person asked, if there."""
    return analysis.health(conditions=chosen.conditions if chosen.source == "given" else None)


def _under(part: list[str]) -> list[str]:
    return ["", *part] if part else []


def counts_json(counts: AttemptCounts) -> dict[str, object]:
    """Return how many attempts are used and how many left out, by reason."""
    return {**vars(counts), "dropped_factors": list(counts.dropped_factors)}


def counts_line(counts: AttemptCounts) -> str:
    """Write how many attempts are used and how many left out, by reason."""
    reasons = {
        "aborted": counts.aborted,
        "struck out": counts.struck,
        "with a value missing": counts.missing,
        "not graded": counts.not_graded,
        "counted without grades": counts.only_counted,
    }
    left = ", ".join(f"{count} {reason}" for reason, count in reasons.items() if count)
    line = f"{counted(counts.used)} used" + (f"; left out: {left}." if left else ".")
    if counts.dropped_factors:
        line += f" Not in the model, for lack of values: {', '.join(counts.dropped_factors)}."
    return line


def _outside(analysis: Analysis, chosen: Chosen) -> tuple[str, ...]:
    return analysis.limits.tried.outside(analysis.model.design.factors, chosen.conditions)


def _coefficients(analysis: Analysis, gate: GateFit) -> dict[str, object]:
    """Return the coefficients of one gate, on the internal scale and in the units of the factors."""
    design, posterior, level = analysis.base.design, gate.posterior, analysis.base.level
    internal = _summaries([term.name for term in design.terms], posterior.draws, posterior.weights, level)
    for entry, sd in zip(internal, posterior.prior_sd, strict=True):
        entry["prior_sd"] = float(sd)
    own_names = [term.name for term in design.own.terms]
    own = _summaries(own_names, design.own_units(posterior.draws), posterior.weights, level)
    return {"coefficients": {"internal": internal, "own_units": own}}


def _summaries(names: list[str], draws: FloatArray, weights: FloatArray, level: float) -> list[dict[str, object]]:
    mean = weights @ draws
    sd = np.sqrt(weights @ np.square(draws - mean))
    lower, upper = weighted_interval(draws, weights, level)
    return [
        {
            "term": name,
            "mean": float(mean[place]),
            "sd": float(sd[place]),
            "lower": float(lower[place]),
            "upper": float(upper[place]),
        }
        for place, name in enumerate(names)
    ]
