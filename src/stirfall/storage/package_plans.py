"""Proofs and evening plans as tables of the open text form; a package without any has no such files."""

from __future__ import annotations

from typing import cast

from stirfall.bench.factors import Conditions, Value
from stirfall.bench.plans import EveningPlan
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.storage.package_cells import (
    ID,
    INTEGER,
    LIST,
    MAYBE_NUMBER,
    MAYBE_TIME,
    NUMBER,
    OBJECT,
    TEXT,
    TIME,
    one_of,
)
from stirfall.storage.package_tables import Row, Table, columns
from stirfall.storage.plan_rows import planned_json, read_planned


def _proof_row(proof: Proof) -> Row:
    return vars(proof) | {"recipe": dict(proof.recipe), "tolerances": dict(proof.tolerances)}


def _proof(row: Row) -> Proof:
    return Proof(**(dict(row) | {"recipe": Conditions(cast("dict[str, Value]", row["recipe"]))}))  # type: ignore[arg-type]


PROOFS = Table(
    "proofs",
    columns(
        ("id", ID, "Identity of the proof; its attempts name it."),
        ("started_at", TIME, "When its rule was settled, UTC."),
        ("recipe", OBJECT, "The conditions that are proved, JSON."),
        ("rule", one_of(ProofRule), "count: so many attempts. sequential: each attempt is held against two lines."),
        ("claim", NUMBER, "The reliability to be shown, between 0 and 1."),
        ("confidence", NUMBER, "The confidence of the claim, between 0 and 1."),
        ("attempts", INTEGER, "The attempts of a count; in sequence the most that are made."),
        ("failures_allowed", INTEGER, "How many attempts of a count may fail."),
        ("good", MAYBE_NUMBER, "In sequence: the reliability at which the proof should succeed."),
        ("risk_of_missing", MAYBE_NUMBER, "In sequence: how likely it may be missed at that reliability."),
        ("tolerances", OBJECT, "How far an attempt may lie from the recipe, by factor in its unit, JSON."),
        ("title", TEXT, "What people call it."),
        ("ended_at", MAYBE_TIME, "When it was given up, UTC; empty: it was not."),
        ("end_reason", TEXT, "Why it was given up."),
    ),
    _proof_row,
    _proof,
    key="id",
)


def _evening_row(plan: EveningPlan) -> Row:
    return vars(plan) | {"attempts": [planned_json(each) for each in plan.attempts]}


def _evening(row: Row) -> EveningPlan:
    lines = cast("list[dict[str, object]]", row["attempts"])
    return EveningPlan(**(dict(row) | {"attempts": tuple(read_planned(each) for each in lines)}))  # type: ignore[arg-type]


EVENINGS = Table(
    "evenings",
    columns(
        ("id", ID, "Identity of the plan."),
        ("made_at", TIME, "When it was kept, UTC."),
        ("begins_at", TIME, "When its evening begins, UTC."),
        ("hours", NUMBER, "Hours that were free."),
        ("seed", INTEGER, "The number that settled its order by chance."),
        ("attempts", LIST, "Its lines, a JSON array: conditions, jar_id, lot_id, purpose, why, starts_h."),
        ("dropped_at", MAYBE_TIME, "When it was dropped, UTC; empty: it was not."),
    ),
    _evening_row,
    _evening,
    key="id",
)
