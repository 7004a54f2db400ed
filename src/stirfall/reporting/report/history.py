"""What was corrected, when and why: old and new values as a person reads them."""

from __future__ import annotations

import json
from collections.abc import Mapping

from stirfall.bench.campaign import Correction
from stirfall.bench.units import format_quantity
from stirfall.reporting.report.telling import Telling, moment_words
from stirfall.reporting.report.tree import Block, Column, Heading, Paragraph, TableBlock

_WORDS = {
    "parted": "solids left the metal",
    "pooled": "became one pool",
    "struck_reason": "struck out",
    "withdrawn": "taken back",
    "lot_id": "lot",
    "jar_id": "jar",
    "started_at": "start",
    "abort_reason": "reason for aborting",
    "successes": "clean",
    "overrides": "ages typed by hand",
    "facts.accepted": "limits gone past",
    "facts.ticked": "checklist lines",
    "facts.look": "surface before melting",
    "sheet.oil_removed": "oil removed",
}
_DIGITS = 6


def history_blocks(telling: Telling) -> list[Block]:
    """Return the table of all corrections; a correction never erases, so old values stand here."""
    corrections = telling.source.corrections
    blocks: list[Block] = [Heading(telling.say("report.heading_corrections"), 3)]
    if not corrections:
        return [*blocks, Paragraph(telling.say("report.no_corrections"))]
    columns = (
        Column("When (UTC)", whole=True),
        Column("Record", whole=True),
        Column("What"),
        Column("Was", wide=True),
        Column("Is", wide=True),
        Column("Why", wide=True),
    )
    writer = _Writer(telling)
    rows = tuple(writer.row(each) for each in corrections)
    note = telling.say("report.corrections_note")
    return [*blocks, TableBlock(telling.say("report.caption_corrections"), columns, rows, note)]


class _Writer:
    """Writes the rows of the table."""

    def __init__(self, telling: Telling) -> None:
        self._telling = telling
        self._numbers = {each.id: each.number for each in telling.state.attempts}
        self._units: Mapping[str, str] = {each.name: each.unit for each in telling.state.factors}

    def row(self, correction: Correction) -> tuple[str, ...]:
        unit = self._unit(correction.field)
        return (
            moment_words(correction.at),
            self._record(correction),
            _field_words(correction.field),
            self._value(correction.old, unit),
            self._value(correction.new, unit),
            correction.reason or correction.command,
        )

    def _record(self, correction: Correction) -> str:
        if correction.kind != "attempt":
            return f"{correction.kind} {correction.record_id}".removesuffix(f" {correction.kind}")
        number = self._numbers.get(correction.record_id)
        return "an attempt that was taken back" if number is None else f"attempt {number}"

    def _unit(self, field: str) -> str:
        if field.startswith("masses."):
            return "g"
        return self._units.get(field.removeprefix("conditions."), "")

    def _value(self, text: str, unit: str) -> str:
        try:
            value = json.loads(text)
        except ValueError:
            return text
        return self._shown(value, unit)

    def _shown(self, value: object, unit: str = "") -> str:
        if value is None or value in ("", []):
            return "none"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, (int, float)):
            return format_quantity(float(value), unit, digits=_DIGITS, decimal=self._telling.decimal)
        if isinstance(value, str):
            return value
        if isinstance(value, list):
            return "; ".join(self._shown(item) for item in value)
        if isinstance(value, dict):
            return ", ".join(f"{key.replace('_', ' ')} {self._shown(item)}" for key, item in value.items())
        return str(value)


def _field_words(name: str) -> str:
    if name.startswith("conditions."):
        return name.removeprefix("conditions.")
    if name.startswith("masses."):
        return f"mass of {name.removeprefix('masses.').removesuffix('_g')}"
    bare = name.removeprefix("facts.").removeprefix("sheet.")
    return _WORDS.get(name, bare.replace("_", " "))
