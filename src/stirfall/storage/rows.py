"""Table rows to records and back; loading is written for speed, a session may hold 100,000 attempts."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import fields
from datetime import datetime
from typing import cast

from stirfall.bench.ages import read_stamp, stamp
from stirfall.bench.campaign import ChecklistTick, Correction
from stirfall.bench.factors import Conditions, Factor, Role, Scale, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses, Origin
from stirfall.bench.run_facts import NO_FACTS, NO_SHEET, RunFacts, WeighingSheet
from stirfall.bench.substances import Substances
from stirfall.storage.compact import expand
from stirfall.storage.values import to_json

Cell = str | int | float | bytes | None
Row = tuple[Cell, ...]

FACTOR_COLUMNS = "name, position, unit, low, high, scale, step, levels, role, default_value, hidden"
LOT_COLUMNS = "id, made_at, solids_percent, note, metal_percent, metal_u_percent, assays"
JAR_COLUMNS = (
    "id, lot_id, started_at, oil, oil_depth_mm, lid, charge_g, note, emptied_at, inner_diameter_mm, headspace_mm, "
    "piece_count, piece_mm, metal_area_cm2, material, oil_history, storage_c, room_rh_percent, contents, look, "
    "looked_at, planned"
)
ATTEMPT_COLUMNS = (
    "id, number, conditions, started_at, recorded_at, lot_id, jar_id, parted, pooled, successes, trials, "
    "aborted, abort_reason, masses, note, overrides, struck_reason, invented, facts, sheet, run_id, proof_id, "
    "origin"
)
TICK_COLUMNS = "day, ticked_at, material, keys"
CORRECTION_COLUMNS = "at, kind, record_id, field, old, new, reason, command"

_Text = str | None
_AttemptRow = tuple[
    str,
    int,
    str,
    _Text,
    _Text,
    _Text,
    _Text,
    _Text,
    _Text,
    int | None,
    int,
    int,
    str,
    str,
    str,
    str,
    _Text,
    int,
    str,
    str,
    _Text,
    _Text,
    _Text,
]

_NO_MASSES = Masses()
_PARTED: dict[str | None, Parted | None] = {None: None, **{member.value: member for member in Parted}}
_POOLED: dict[str | None, Pooled | None] = {None: None, **{member.value: member for member in Pooled}}


def marks(columns: str) -> str:
    """Return one question mark per column, for an INSERT."""
    return ", ".join("?" * len(columns.split(",")))


def read_moment(text: str | None) -> datetime | None:
    """Return the moment of a cell, None where it is empty."""
    return None if text is None else read_stamp(text)


def stamped(moment: datetime | None) -> str | None:
    """Return the cell of a moment, None where it is not known."""
    return None if moment is None else stamp(moment)


def factor_row(factor: Factor, position: int) -> Row:
    """Return the row of a factor."""
    return (
        factor.name,
        position,
        factor.unit,
        factor.low,
        factor.high,
        str(factor.scale),
        factor.step,
        to_json(factor.levels),
        str(factor.role),
        None if factor.default is None else to_json(factor.default),
        int(factor.hidden),
    )


def read_factor(row: Row) -> Factor:
    """Return the factor of a row."""
    name, _, unit, low, high, scale, step, levels, role, default, hidden = row
    return Factor(
        str(name),
        str(unit),
        cast("float | None", low),
        cast("float | None", high),
        Scale(str(scale)),
        cast("float | None", step),
        tuple(json.loads(str(levels))),
        Role(str(role)),
        None if default is None else cast("Value", json.loads(str(default))),
        bool(hidden),
    )


def lot_row(lot: Lot) -> Row:
    """Return the row of a lot."""
    return (
        lot.id,
        stamped(lot.made_at),
        lot.solids_percent,
        lot.note,
        lot.metal_percent,
        lot.metal_u_percent,
        lot.assays,
    )


def read_lot(row: Row) -> Lot:
    """Return the lot of a row."""
    lot_id, made_at, solids, note, metal, metal_u, assays = row
    return Lot(
        str(lot_id),
        read_moment(cast("str | None", made_at)),
        cast("float | None", solids),
        str(note),
        cast("float | None", metal),
        cast("float | None", metal_u),
        cast("int | None", assays),
    )


def jar_row(jar: Jar) -> Row:
    """Return the row of a jar."""
    return (
        jar.id,
        jar.lot_id,
        stamp(jar.started_at),
        jar.oil,
        jar.oil_depth_mm,
        jar.lid,
        jar.charge_g,
        jar.note,
        stamped(jar.emptied_at),
        jar.inner_diameter_mm,
        jar.headspace_mm,
        jar.piece_count,
        jar.piece_mm,
        jar.metal_area_cm2,
        jar.material,
        jar.oil_history,
        jar.storage_c,
        jar.room_rh_percent,
        jar.contents,
        jar.look,
        stamped(jar.looked_at),
        int(jar.planned),
    )


def read_jar(row: Row) -> Jar:
    """Return the jar of a row."""
    jar_id, lot_id, started_at, oil, depth, lid, charge, note, emptied_at, *supply = row
    diameter, headspace, count, piece, area, material, history, storage, rh, *state = supply
    contents, look, looked_at, planned = state
    return Jar(
        str(jar_id),
        str(lot_id),
        read_stamp(str(started_at)),
        str(oil),
        cast("float | None", depth),
        str(lid),
        cast("float | None", charge),
        str(note),
        read_moment(cast("str | None", emptied_at)),
        cast("float | None", diameter),
        cast("float | None", headspace),
        cast("int | None", count),
        cast("float | None", piece),
        cast("float | None", area),
        str(material),
        str(history),
        cast("float | None", storage),
        cast("float | None", rh),
        str(contents),
        str(look),
        read_moment(cast("str | None", looked_at)),
        bool(planned),
    )


def attempt_row(attempt: Attempt) -> Row:
    """Return the row of an attempt."""
    return (
        attempt.id,
        attempt.number,
        to_json(attempt.conditions),
        stamped(attempt.started_at),
        stamped(attempt.recorded_at),
        attempt.lot_id,
        attempt.jar_id,
        None if attempt.parted is None else attempt.parted.value,
        None if attempt.pooled is None else attempt.pooled.value,
        attempt.successes,
        attempt.trials,
        int(attempt.aborted),
        attempt.abort_reason,
        to_json(attempt.masses),
        attempt.note,
        to_json(attempt.overrides) if attempt.overrides else "[]",
        attempt.struck_reason,
        int(attempt.invented),
        "{}" if attempt.facts is NO_FACTS else to_json(attempt.facts),
        "{}" if attempt.sheet is NO_SHEET else to_json(attempt.sheet),
        attempt.run_id,
        attempt.proof_id,
        None if attempt.origin is None else to_json(vars(attempt.origin)),
    )


def read_attempts(rows: Sequence[Row]) -> Iterator[Attempt]:
    """Yield the attempts of rows; the JSON cells are parsed in one go, which also shares the factor names."""
    typed = cast("Sequence[_AttemptRow]", rows)
    conditions = _parse_all(row[2] for row in typed)
    masses = _parse_all(row[13] for row in typed)
    for row, values, weighed in zip(typed, conditions, masses, strict=True):
        started_at, recorded_at = row[3], row[4]
        yield Attempt(
            row[0],
            row[1],
            Conditions(values),
            None if started_at is None else read_stamp(started_at),
            None if recorded_at is None else read_stamp(recorded_at),
            row[5],
            row[6],
            _PARTED[row[7]],
            _POOLED[row[8]],
            row[9],
            row[10],
            row[11] != 0,
            row[12],
            Masses(**cast("dict[str, float]", weighed)) if weighed else _NO_MASSES,
            row[14],
            _read_overrides(row[15]),
            row[16],
            row[17] != 0,
            NO_FACTS if row[18] == "{}" else expand(RunFacts, json.loads(row[18])),
            NO_SHEET if row[19] == "{}" else expand(WeighingSheet, json.loads(row[19])),
            row[20],
            row[21],
            None if row[22] is None else Origin(**json.loads(row[22])),
        )


def _parse_all(cells: Iterable[str]) -> list[dict[str, Value]]:
    return cast("list[dict[str, Value]]", json.loads(f"[{','.join(cells)}]"))


def _read_overrides(text: str) -> tuple[AgeOverride, ...]:
    return () if text == "[]" else tuple(AgeOverride(**item) for item in json.loads(text))


def tick_row(tick: ChecklistTick) -> Row:
    """Return the row of a checklist tick."""
    return (tick.day, stamp(tick.ticked_at), tick.material, to_json(tick.keys))


def read_tick(row: Row) -> ChecklistTick:
    """Return the checklist tick of a row."""
    day, ticked_at, material, keys = row
    return ChecklistTick(str(day), read_stamp(str(ticked_at)), str(material), tuple(json.loads(str(keys))))


def correction_row(correction: Correction) -> Row:
    """Return the row of a correction."""
    return (
        stamp(correction.at),
        correction.kind,
        correction.record_id,
        correction.field,
        correction.old,
        correction.new,
        correction.reason,
        correction.command,
    )


def read_correction(row: Row) -> Correction:
    """Return the correction of a row."""
    at, *texts = row
    return Correction(read_stamp(str(at)), *(str(text) for text in texts))


def setting_rows(settings: CampaignSettings) -> list[Row]:
    """Return one row per setting: its name and its value as JSON."""
    return [(item.name, to_json(getattr(settings, item.name))) for item in fields(settings)]


def read_settings(rows: Sequence[Row]) -> CampaignSettings:
    """Return the settings of rows; a setting that the file does not have keeps its default."""
    known = {item.name for item in fields(CampaignSettings)}
    values = {str(key): json.loads(str(value)) for key, value in rows if key in known}
    if "material" in values:
        values["material"] = MaterialClass(values["material"])
    if "substances" in values:
        values["substances"] = expand(Substances, values["substances"])
    if "plan" in values:
        values["plan"] = expand(PlanSettings, values["plan"])
    if "humps" in values:
        values["humps"] = tuple(values["humps"])
    if "products" in values:
        values["products"] = tuple((first, second) for first, second in values["products"])
    return CampaignSettings(**values)
