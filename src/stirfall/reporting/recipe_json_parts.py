"""The later parts of a recipe's JSON: batch size, and what a stranger needs beside conditions and steps."""

from __future__ import annotations

from stirfall.reporting.recipe_batch import BatchSize
from stirfall.reporting.recipe_parts import EvidenceAttempt, Handbook, Step


def step_json(step: Step) -> dict[str, object]:
    """Return one step: its words, the conditions that it sets, amounts, timer, and what should be seen."""
    return {
        "heading": step.heading,
        "text": step.text,
        "conditions": list(step.names),
        "amounts": [{"label": label, "amount": amount} for label, amount in step.amounts],
        "timer_s": step.timer_s,
        "see": step.see,
        "otherwise": step.otherwise,
        "bench": step.bench,
    }


def batch_json(batch: BatchSize) -> dict[str, object]:
    """Return the batch with every quantity, its unit and how it was got."""
    return {
        "charge_g": batch.charge_g,
        "from_g": batch.from_g,
        "largest_proven_g": batch.largest_g,
        "quantities": [
            {
                "key": line.key,
                "name": line.name,
                "unit": line.unit,
                "before": line.before,
                "after": line.after,
                "before_text": line.shown_before,
                "after_text": line.shown_after,
                "how": line.how,
                "estimate": line.is_estimate,
            }
            for line in batch.lines
        ],
        "warnings": [{"level": each.level, "code": each.code, "text": each.text} for each in batch.warnings],
        "asked": list(batch.asked),
        "scaled_conditions": dict(batch.scaled),
    }


def handbook_json(handbook: Handbook) -> dict[str, object]:
    """Return the words around the recipe as lists of finished lines."""
    return {name: list(lines) for name, lines in vars(handbook).items()}


def attempt_json(attempt: EvidenceAttempt) -> dict[str, object]:
    """Return one attempt of the evidence."""
    return dict(vars(attempt))
