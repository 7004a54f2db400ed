"""The descriptor of a package: Data Package and Table Schema, version 2, of datapackage.org.

What the standards do not know stands in ``stirfall`` (resources/schemas/package.schema.json) and in the property
``unit`` of a field.
"""

from __future__ import annotations

import json
import mimetypes
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from stirfall.bench.ages import stamp
from stirfall.bench.campaign import CampaignState
from stirfall.storage.fingerprint import fingerprint
from stirfall.storage.package_content import LeftOut, PackageContent
from stirfall.storage.package_tables import Column, Table
from stirfall.storage.package_targets import Put

SCHEMA = "stirfall.package/2"
OLDER_SCHEMAS = ("stirfall.package/1",)
_PROFILE = "https://datapackage.org/profiles/2.0/{}.json"
_TEXT_RULE = (
    "A text cell that begins with an apostrophe is the text after it: the apostrophe keeps spreadsheets from "
    "taking the text for a formula. An apostrophe alone is the empty text, and an apostrophe with a backslash is "
    "followed by text with the escapes of JSON."
)
_UNITS: Mapping[str, str] = {
    "_c": "°C",
    "_g": "g",
    "_h": "h",
    "_s": "s",
    "_mm": "mm",
    "_cm2": "cm²",
    "_percent": "%",
}


def table_resource(table: Table[Any], put: Put) -> dict[str, object]:
    """Return the resource of a table that was written."""
    schema: dict[str, object] = {
        "$schema": _PROFILE.format("tableschema"),
        "fields": [_field(column) for column in table.columns],
        "missingValues": [""],
    }
    if table.key:
        schema["primaryKey"] = [table.key]
    if table.links:
        schema["foreignKeys"] = [
            {"fields": [column], "reference": {"resource": target, "fields": ["id"]}}
            for column, target in table.links
        ]
    return {
        "name": table.name,
        "type": "table",
        "path": table.file_name,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "doubleQuote": True},
        "bytes": put.size,
        "hash": f"sha256:{put.sha256}",
        "schema": schema,
    }


def _field(column: Column) -> dict[str, object]:
    found: dict[str, object] = {"name": column.name, "type": column.kind.type, "description": column.meaning}
    if unit := _unit(column):
        found["unit"] = unit
    constraints: dict[str, object] = {}
    if column.kind.is_needed:
        constraints["required"] = True
    if column.kind.words:
        constraints["enum"] = list(column.kind.words)
    return found | ({"constraints": constraints} if constraints else {})


def _unit(column: Column) -> str:
    if column.unit is not None:
        return column.unit
    if column.kind.type not in ("number", "integer"):
        return ""
    return next((unit for ending, unit in _UNITS.items() if column.name.endswith(ending)), "")


def file_resource(name: str, path: str, put: Put) -> dict[str, object]:
    """Return the resource of a file that stands beside the tables."""
    kind = mimetypes.types_map.get(f".{path.rpartition('.')[2].lower()}", "application/octet-stream")
    return {"name": name, "path": path, "mediatype": kind, "bytes": put.size, "hash": f"sha256:{put.sha256}"}


def resource_names(paths: Sequence[str], taken: Sequence[str]) -> dict[str, str]:
    """Return a resource name for each path: small letters, digits and hyphens, each only once."""
    names: dict[str, str] = {}
    used = set(taken)
    for path in paths:
        stem = re.sub(r"[^a-z0-9]+", "-", path.lower()).strip("-") or "file"
        name, number = stem, 1
        while name in used:
            number += 1
            name = f"{stem}-{number}"
        used.add(name)
        names[path] = name
    return names


def descriptor_text(content: PackageContent, resources: Sequence[object], left_out: LeftOut) -> str:
    """Return the descriptor as JSON; the same content gives the same text."""
    state, facts = content.state, content.facts
    told: dict[str, object] = {
        "$schema": _PROFILE.format("datapackage"),
        "name": re.sub(r"[^a-z0-9]+", "-", state.settings.title.lower()).strip("-") or "campaign",
        "title": state.settings.title,
        "description": content.description,
        "version": _version(content),
    }
    if facts.created_at is not None:
        told["created"] = stamp(facts.created_at)
    if facts.licenses:
        told["licenses"] = [{"name": name} for name in facts.licenses]
    if sources := _sources(state, facts.source):
        told["sources"] = [{"title": title} for title in sources]
    ours: dict[str, object] = {"schema": SCHEMA, "fingerprint": fingerprint(state), "text": _TEXT_RULE}
    if facts.program:
        ours["program"] = facts.program
    if missing := {name: count for name, count in asdict(left_out).items() if count}:
        ours["left_out"] = missing
    told |= {"stirfall": ours, "resources": list(resources)}
    return json.dumps(told, ensure_ascii=False, indent=2) + "\n"


def _version(content: PackageContent) -> str:
    """Return a version after the recipe of the standard: form, then data that were added, then corrected."""
    return f"{SCHEMA.rpartition('/')[2]}.{len(content.state.attempts)}.{len(content.corrections)}"


def _sources(state: CampaignState, source: str) -> list[str]:
    pooled = {f"{each.origin.bench}: {each.origin.session}" for each in state.attempts if each.origin is not None}
    return [title for title in (source, *sorted(pooled)) if title.strip()]
