"""Comparisons, issued recipes and change marks as tables of the open text form; without any there are no files."""

from __future__ import annotations

from typing import cast

from stirfall.bench.comparisons import Comparison, Measure
from stirfall.bench.factors import Conditions, Value
from stirfall.bench.issued import ChangeMark, IssuedRecipe, MarkKind
from stirfall.storage.evidence_rows import group_json, read_group
from stirfall.storage.package_cells import ID, INTEGER, OBJECT, TEXT, TIME, one_of
from stirfall.storage.package_tables import Row, Table, columns


def _comparison_row(comparison: Comparison) -> Row:
    return vars(comparison) | {"first": group_json(comparison.first), "second": group_json(comparison.second)}


def _comparison(row: Row) -> Comparison:
    first, second = (read_group(cast("dict[str, object]", row[name])) for name in ("first", "second"))
    return Comparison(**(dict(row) | {"first": first, "second": second}))  # type: ignore[arg-type]


COMPARISONS = Table(
    "comparisons",
    columns(
        ("id", ID, "Identity of the comparison."),
        ("made_at", TIME, "When it was first asked for, UTC."),
        ("first", OBJECT, "One group of attempts, JSON: what, and level, low, high, since, until or attempts."),
        ("second", OBJECT, "The other group, likewise."),
        ("measure", one_of(Measure), "What was compared."),
    ),
    _comparison_row,
    _comparison,
    key="id",
)


def _issued(row: Row) -> IssuedRecipe:
    conditions = Conditions(cast("dict[str, Value]", row["conditions"]))
    return IssuedRecipe(**(dict(row) | {"conditions": conditions}))  # type: ignore[arg-type]


ISSUED = Table(
    "recipes",
    columns(
        ("id", ID, "Identity of the issued recipe."),
        ("number", INTEGER, "What people call it: recipes are counted from 1."),
        ("issued_at", TIME, "When it was issued, UTC."),
        ("title", TEXT, "Its title."),
        ("conditions", OBJECT, "Its conditions, JSON."),
        ("document", TEXT, "The whole recipe with its evidence, JSON."),
        ("fingerprint", TEXT, "Fingerprint of the session when it was issued."),
        ("program_version", TEXT, "Version of the program that issued it."),
        ("note", TEXT, "Why it was issued."),
    ),
    lambda recipe: vars(recipe) | {"conditions": dict(recipe.conditions)},
    _issued,
    key="id",
)

MARKS = Table(
    "change_marks",
    columns(
        ("id", ID, "Identity of the mark."),
        ("at", TIME, "From when on it holds, UTC."),
        ("kind", one_of(MarkKind), "What was changed."),
        ("text", TEXT, "In words."),
    ),
    vars,
    lambda row: ChangeMark(**row),  # type: ignore[arg-type]
    key="id",
)
