"""The forms of the model and the lots, as parts of the answer to ``stirfall odds``."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import whole_percent
from stirfall.bench.units import format_number
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted

if TYPE_CHECKING:
    from stirfall.inference.forms import FormScore
    from stirfall.inference.refined import LotEffect
    from stirfall.session.analysis import Analysis

_GATE_WORDS = {"clean": "a clean separation", "parted": "parting", "pooled": "one pool, where parted"}
_HEAVY = 0.7


def lot_of(analysis: Analysis, name: str | None) -> Analysis:
    """Return the analysis that answers for a lot; raises InputError ``odds.lot_unknown`` or ``odds.no_lots``."""
    if name is None:
        return analysis
    known = analysis.model.lot_names
    if not known:
        raise InputError("odds.no_lots")
    found = next((each for each in known if each.casefold() == name.strip().casefold()), None)
    if found is None:
        raise InputError("odds.lot_unknown", name=name, known=", ".join(known))
    return analysis.for_lot(found)


def forms_json(analysis: Analysis) -> dict[str, object]:
    """Return the forms, best first, and whether their scores differ beyond their noise."""
    return {
        "differ": analysis.forms_differ,
        "candidates": [_form_json(score) for score in analysis.forms],
    }


def lots_json(analysis: Analysis) -> dict[str, object]:
    """Return what attempts share, which lot the answers are for, the lots' spread and their effects per gate."""
    return {
        "grouping": analysis.table.grouping,
        "answer_for": analysis.lot,
        "known": list(analysis.model.lot_names),
        "spread": {
            gate: {"mean": spread.mean, "lower": spread.lower, "upper": spread.upper}
            for gate, spread in analysis.lot_spread.items()
        },
        "effects": [vars(effect) for effect in analysis.lots],
    }


def forms_lines(analysis: Analysis) -> list[str]:
    """Return the forms as lines of text, with a warning where their scores cannot be told apart."""
    lines = ["", "Forms of the model, by how well they foretold attempts that they had not seen:"]
    for score in analysis.forms:
        behind = "best" if score.behind == 0 else f"{_one(score.behind)} behind (± {_one(score.behind_se)})"
        pinned = ", pinned" if score.is_pinned else ""
        rough = f", Pareto k {_one(score.pareto_k)}: rough" if score.pareto_k > _HEAVY else ""
        name = sentence(score.form.code, score.form.params)
        lines.append(f"  {name}: weight {whole_percent(score.weight)} %{pinned}, {behind}{rough}")
    if len(analysis.forms) > 1 and not analysis.forms_differ:
        attempts = 0 if analysis.loo is None else len(analysis.loo.k)
        lines.append("  " + sentence("forms.not_distinguishable", {"attempts": counted(attempts)}))
    return lines


def lots_lines(analysis: Analysis) -> list[str]:
    """Return which lot the answers are for, and what each lot does to the odds, as lines of text."""
    if not analysis.model.lot_names:
        return []
    what = "lot" if analysis.table.grouping in ("lot", "none") else analysis.table.grouping
    lines = ["", sentence("lots.this_one", {"what": what, "lot": analysis.lot})]
    if analysis.lot is None:
        lines = ["", sentence("lots.new_one", {"what": what})]
    lines += [f"  {_effect_line(effect)}" for effect in analysis.lots]
    return lines


def partly_lines(state: CampaignState) -> list[str]:
    """Say how partly parted attempts count, where that is not the usual way."""
    partly = state.settings.partly
    return [] if partly == "failed" else [sentence(f"partly.{partly}")]


def _effect_line(effect: LotEffect) -> str:
    times, low, high = (_times(value) for value in (effect.mean, effect.lower, effect.upper))
    gate = _GATE_WORDS[effect.gate]
    return f"{effect.lot}: odds of {gate} × {times} ({low} to {high}), {counted(effect.attempts)}"


def _times(log_odds: float) -> str:
    return format_number(math.exp(min(max(log_odds, -50.0), 50.0)), digits=2)


def _one(value: float) -> str:
    return "unknown" if math.isnan(value) else f"{value:.1f}"


def _form_json(score: FormScore) -> dict[str, object]:
    return {
        "form": score.form.key,
        "gates": score.form.gates,
        "weight": score.weight,
        "pinned": score.is_pinned,
        "log_score": score.log_score,
        "log_score_se": _or_none(score.log_score_se),
        "behind": score.behind,
        "behind_se": _or_none(score.behind_se),
        "pareto_k": _or_none(score.pareto_k),
        "log_marginal": score.log_marginal,
    }


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value
