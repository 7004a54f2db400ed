"""Rows of proofs and of evening plans, and back."""

from __future__ import annotations

import json
from typing import cast

from stirfall.bench.ages import read_stamp, stamp
from stirfall.bench.factors import Conditions
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.storage.rows import Row, read_moment, stamped
from stirfall.storage.values import to_json

PROOF_COLUMNS = (
    "id, started_at, recipe, rule, claim, confidence, attempts, failures_allowed, good, risk_of_missing, "
    "tolerances, title, ended_at, end_reason"
)
EVENING_COLUMNS = "id, made_at, begins_at, hours, draw, attempts, dropped_at"


def proof_row(proof: Proof) -> Row:
    """Return the row of a proof."""
    return (
        proof.id,
        stamp(proof.started_at),
        to_json(proof.recipe),
        str(proof.rule),
        proof.claim,
        proof.confidence,
        proof.attempts,
        proof.failures_allowed,
        proof.good,
        proof.risk_of_missing,
        to_json(proof.tolerances),
        proof.title,
        stamped(proof.ended_at),
        proof.end_reason,
    )


def read_proof(row: Row) -> Proof:
    """Return the proof of a row."""
    proof_id, started_at, recipe, rule, claim, confidence, attempts, failures, good, risk, widths, title, *end = row
    return Proof(
        str(proof_id),
        read_stamp(str(started_at)),
        Conditions(json.loads(str(recipe))),
        ProofRule(str(rule)),
        float(cast("float", claim)),
        float(cast("float", confidence)),
        int(cast("int", attempts)),
        int(cast("int", failures)),
        cast("float | None", good),
        cast("float | None", risk),
        json.loads(str(widths)),
        str(title),
        read_moment(cast("str | None", end[0])),
        str(end[1]),
    )


def planned_json(attempt: PlannedAttempt) -> dict[str, object]:
    """Return one line of an evening as a JSON object."""
    return vars(attempt) | {"conditions": dict(attempt.conditions)}


def read_planned(values: dict[str, object]) -> PlannedAttempt:
    """Return the line of an evening that a JSON object holds."""
    conditions = Conditions(cast("dict[str, float | str]", values["conditions"]))
    return PlannedAttempt(**(values | {"conditions": conditions}))  # type: ignore[arg-type]


def evening_row(plan: EveningPlan) -> Row:
    """Return the row of an evening's plan."""
    return (
        plan.id,
        stamp(plan.made_at),
        stamp(plan.begins_at),
        plan.hours,
        plan.seed,
        to_json([planned_json(each) for each in plan.attempts]),
        stamped(plan.dropped_at),
    )


def read_evening(row: Row) -> EveningPlan:
    """Return the evening's plan of a row."""
    plan_id, made_at, begins_at, hours, seed, attempts, dropped_at = row
    return EveningPlan(
        str(plan_id),
        read_stamp(str(made_at)),
        read_stamp(str(begins_at)),
        float(cast("float", hours)),
        int(cast("int", seed)),
        tuple(read_planned(each) for each in json.loads(str(attempts))),
        read_moment(cast("str | None", dropped_at)),
    )
