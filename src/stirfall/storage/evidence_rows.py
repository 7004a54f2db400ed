"""Rows of comparisons, issued recipes and change marks, and back."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import cast

from stirfall.bench.ages import read_stamp, stamp
from stirfall.bench.comparisons import Comparison, Group, Measure
from stirfall.bench.factors import Conditions
from stirfall.bench.issued import ChangeMark, IssuedRecipe, MarkKind
from stirfall.storage.rows import Row
from stirfall.storage.values import to_json

COMPARISON_COLUMNS = "id, made_at, first, second, measure"
RECIPE_COLUMNS = "id, number, issued_at, title, conditions, document, fingerprint, program_version, note"
MARK_COLUMNS = "id, at, kind, text"


def group_json(group: Group) -> dict[str, object]:
    """Return a group as a JSON object that holds only what it says."""
    found: dict[str, object] = {"what": group.what}
    for name in ("level", "low", "high"):
        if (value := getattr(group, name)) not in ("", None):
            found[name] = value
    for name in ("since", "until"):
        if (moment := getattr(group, name)) is not None:
            found[name] = stamp(moment)
    if group.attempts:
        found["attempts"] = list(group.attempts)
    return found


def read_group(values: Mapping[str, object]) -> Group:
    """Invert ``group_json``; raises KeyError, TypeError, ValueError or InputError where it makes no sense."""
    since, until = (values.get(name) for name in ("since", "until"))
    return Group(
        str(values["what"]),
        str(values.get("level", "")),
        cast("float | None", values.get("low")),
        cast("float | None", values.get("high")),
        None if since is None else read_stamp(str(since)),
        None if until is None else read_stamp(str(until)),
        tuple(str(each) for each in cast("list[str]", values.get("attempts", []))),
    )


def row_of(record: Comparison | IssuedRecipe | ChangeMark) -> tuple[str, str, Row]:
    """Return table, columns and row of a record."""
    match record:
        case Comparison():
            first, second = (to_json(group_json(group)) for group in (record.first, record.second))
            row: Row = (record.id, stamp(record.made_at), first, second, str(record.measure))
            return "comparison", COMPARISON_COLUMNS, row
        case IssuedRecipe():
            row = (
                record.id,
                record.number,
                stamp(record.issued_at),
                record.title,
                to_json(record.conditions),
                record.document,
                record.fingerprint,
                record.program_version,
                record.note,
            )
            return "issued_recipe", RECIPE_COLUMNS, row
        case ChangeMark():
            return "change_mark", MARK_COLUMNS, (record.id, stamp(record.at), str(record.kind), record.text)


def read_comparison(row: Row) -> Comparison:
    """Return the comparison of a row."""
    row_id, made_at, first, second, measure = map(str, row)
    return Comparison(
        row_id,
        read_stamp(made_at),
        read_group(json.loads(first)),
        read_group(json.loads(second)),
        Measure(measure),
    )


def read_issued(row: Row) -> IssuedRecipe:
    """Return the issued recipe of a row."""
    row_id, number, issued_at, title, conditions, *texts = row
    return IssuedRecipe(
        str(row_id),
        int(cast("int", number)),
        read_stamp(str(issued_at)),
        str(title),
        Conditions(json.loads(str(conditions))),
        *map(str, texts),
    )


def read_mark(row: Row) -> ChangeMark:
    """Return the change mark of a row."""
    row_id, at, kind, text = map(str, row)
    return ChangeMark(row_id, read_stamp(at), MarkKind(kind), text)
