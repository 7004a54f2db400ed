"""A recipe as JSON, for programs; its schema is shipped as resources/schemas/recipe.schema.json."""

from __future__ import annotations

import json
from typing import cast

from stirfall.bench.ages import stamp
from stirfall.bench.estimates import Estimate, whole_percent
from stirfall.reporting.recipe_json_parts import attempt_json, batch_json, handbook_json, step_json
from stirfall.reporting.recipe_parts import Evidence, Recipe, RecipeCurve, RecipeProof, RecipeValue
from stirfall.storage.values import plain

SCHEMA = "stirfall.recipe/1"


def recipe_json(recipe: Recipe) -> dict[str, object]:
    """Return the recipe as a JSON document; probabilities are whole per cents from 1 to 99.

    A recipe that was read from JSON gives that document again, whatever this program knows of it.
    """
    if recipe.source:
        return cast("dict[str, object]", json.loads(recipe.source))
    cautions = recipe.cautions
    return {
        "schema": SCHEMA,
        "title": recipe.title,
        "invented": recipe.invented,
        "blocked": recipe.blocked,
        "created_at": stamp(recipe.created_at),
        "program": {"name": "stirfall", "version": recipe.program_version},
        "session": {"name": recipe.session_name, "fingerprint": recipe.fingerprint},
        "material": {
            "class": str(cautions.material),
            "metal": recipe.metal,
            "melting_point_c": recipe.melting_point_c,
            "oil": recipe.oil,
            "oil_flash_c": recipe.oil_flash_c,
            "lines": list(recipe.materials),
            "known": plain(recipe.substances),
        },
        "probability": _estimate(recipe.probability),
        "gates": {name: _estimate(estimate) for name, estimate in recipe.gates},
        "drop_points": whole_percent(recipe.drop),
        "conditions": [_value(value) for value in recipe.values],
        "steps": [step_json(step) for step in recipe.steps],
        "evidence": _evidence(recipe.evidence),
        "proofs": [_proof(proof) for proof in recipe.proofs],
        "remarks": [{"level": item.level, "code": item.code, "text": item.text} for item in recipe.remarks],
        "limits": list(recipe.limits),
        "cautions": {
            "headline": cautions.headline,
            "items": [
                {"key": item.key, "text": item.text, "source": item.source, "check": item.check}
                for item in cautions.items
            ],
        },
        "curve": None if recipe.curve is None else _curve(recipe.curve),
        "batch": None if recipe.batch is None else batch_json(recipe.batch),
        "handbook": None if recipe.handbook is None else handbook_json(recipe.handbook),
    }


def _estimate(estimate: Estimate) -> dict[str, object]:
    return {
        "percent": whole_percent(estimate.mean),
        "lower_percent": whole_percent(estimate.lower),
        "upper_percent": whole_percent(estimate.upper),
        "level_percent": round(100.0 * estimate.level, 6),
        "n": estimate.n,
        **({"of_trials": True} if estimate.of_trials else {}),
        **_beyond(estimate.mean, estimate.lower, estimate.upper),
    }


def _beyond(mean: float, lower: float, upper: float) -> dict[str, object]:
    """Name the per cents that stand for less than 1 or more than 99, which are held at these."""
    shares = {"percent": mean, "lower_percent": lower, "upper_percent": upper}
    beyond = [name for name, share in shares.items() if not 1 <= round(100.0 * share) <= 99]
    return {"beyond": beyond} if beyond else {}


def _value(value: RecipeValue) -> dict[str, object]:
    return {
        "name": value.name,
        "unit": value.unit,
        "value": value.value,
        "low": value.low,
        "high": value.high,
        "levels": list(value.levels),
        "note": value.note,
        "given": not value.filled,
        "tried": value.tried,
    }


def _evidence(evidence: Evidence) -> dict[str, object]:
    return {
        "attempts_used": evidence.used,
        "clean": evidence.clean,
        "trials": evidence.trials,
        "outcomes": dict(evidence.outcomes),
        "left_out": dict(evidence.left_out),
        "inside_all_ranges": {"clean": evidence.inside[0], "trials": evidence.inside[1]},
        "method": list(evidence.sentences),
        "priors": {"intercept_sd": evidence.priors[0], "effect_sd": evidence.priors[1]},
        "sampler": {
            "draws": evidence.draws,
            "effective_sample_size": round(evidence.effective_sample_size, 1),
            "pareto_k": round(evidence.pareto_k, 4),
            "sound": evidence.sound,
        },
        "attempts": [attempt_json(each) for each in evidence.attempts],
    }


def _proof(proof: RecipeProof) -> dict[str, object]:
    return {
        "title": proof.title,
        "started_at": stamp(proof.started_at),
        "verdict": proof.verdict,
        "rule": proof.rule,
        "claim_percent": round(100.0 * proof.claim, 6),
        "confidence_percent": round(100.0 * proof.confidence, 6),
        "attempts": proof.made,
        "failures": proof.failures,
        "lower_bound_percent": proof.lower_percent,
        "interval_percent": None if proof.interval_percent is None else list(proof.interval_percent),
        "interval_is_result": proof.is_result,
        "text": list(proof.lines),
    }


def _curve(curve: RecipeCurve) -> dict[str, object]:
    return {
        "factor": curve.factor,
        "unit": curve.unit,
        "scale": "log" if curve.log else "linear",
        "at": curve.at,
        "tried": None if curve.tried is None else list(curve.tried),
        "points": [
            _point(x, mean, lower, upper)
            for x, mean, lower, upper in zip(curve.x, curve.mean, curve.lower, curve.upper, strict=True)
        ],
        "attempts": [{"x": mark.x, "clean": mark.clean} for mark in curve.marks],
    }


def _point(x: float, *shares: float) -> dict[str, object]:
    """Return one point: whole per cents to read, and per mille that the picture is drawn with."""
    mille = [round(1000.0 * share) for share in shares]
    mean, lower, upper = (each / 1000.0 for each in mille)
    return {
        "x": float(f"{x:.6g}"),
        "percent": whole_percent(mean),
        "lower_percent": whole_percent(lower),
        "upper_percent": whole_percent(upper),
        "drawn_permille": mille,
        **_beyond(mean, lower, upper),
    }
