"""What a suggestion says for itself, as lines of text and as JSON has it."""

from __future__ import annotations

from stirfall.bench.estimates import Estimate, Reason
from stirfall.planning.explanation import AfterOutcome, Explanation
from stirfall.planning.nearest import Nearest
from stirfall.planning.settling import Settled
from stirfall.reporting.sentences import sentence


def explanation_lines(explanation: Explanation, *, decimal: str = ".") -> list[str]:
    """Return what the attempt would settle, what each outcome does to the plan, and the nearest tried attempt."""
    reasons = (explanation.settles, *(each.reason for each in explanation.after), explanation.near)
    return [_text(reason, decimal) for reason in reasons]


def explanation_json(explanation: Explanation) -> dict[str, object]:
    """Return an explanation as JSON has it; values in the units of the factors, shares and chances from 0 to 1."""
    recipe, estimate = explanation.recipe, explanation.estimate
    return {
        "settles": _reason_json(explanation.settles),
        "settled": [_settled_json(each) for each in explanation.settled],
        "recipe": None if recipe is None else dict(recipe),
        "recipe_probability": None if estimate is None else _estimate_json(estimate),
        "after": [_after_json(each) for each in explanation.after],
        "nearest": None if explanation.nearest is None else _nearest_json(explanation.nearest),
        "near": _reason_json(explanation.near),
    }


def _text(reason: Reason, decimal: str = ".") -> str:
    return sentence(reason.code, reason.params, decimal=decimal)


def _reason_json(reason: Reason) -> dict[str, object]:
    return {"code": reason.code, "text": _text(reason)}


def _settled_json(each: Settled) -> dict[str, object]:
    """Return one effect; ``factor`` null stands for the level as a whole."""
    return {"factor": each.factor, "gate": each.gate, "share": each.share}


def _after_json(each: AfterOutcome) -> dict[str, object]:
    return {
        "outcome": each.outcome,
        "chance": each.chance,
        "conditions": dict(each.conditions),
        "probability": _estimate_json(each.estimate),
        "present_recipe": each.present,
        "moves": [{"factor": move.factor, "before": move.before, "after": move.after} for move in each.moves],
        "text": _text(each.reason),
    }


def _nearest_json(nearest: Nearest) -> dict[str, object]:
    return {
        "attempt": nearest.attempt_id,
        "number": nearest.number,
        "outcome": nearest.outcome.value,
        "distance": nearest.distance,
        "differences": [
            {"factor": gap.factor, "here": gap.here, "there": gap.there, "difference": gap.difference}
            for gap in nearest.gaps
        ],
    }


def _estimate_json(estimate: Estimate) -> dict[str, object]:
    return {
        "mean": estimate.mean,
        "lower": estimate.lower,
        "upper": estimate.upper,
        "level": estimate.level,
        "n": estimate.n,
    }
