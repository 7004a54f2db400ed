"""Writing edits inside a transaction that the caller opened.

Names of tables and columns are put into the SQL from our own constants; values always travel as parameters.
"""

# ruff: noqa: S608

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.ages import stamp
from stirfall.bench.campaign import CampaignState, ChecklistTick, Correction
from stirfall.bench.comparisons import Comparison
from stirfall.bench.issued import ChangeMark, IssuedRecipe
from stirfall.bench.plans import EveningPlan
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import Acknowledgement, Regrade, Run, RunEvent, TemperatureLog
from stirfall.storage import evidence_rows, plan_rows, rows, run_rows
from stirfall.storage.edits import (
    Action,
    Bulky,
    Edit,
    Factors,
    FieldChange,
    StoredAnchor,
    StoredPhoto,
    field_changes,
    kind_of,
    record_changes,
)
from stirfall.storage.values import to_json

_MANY = 50


@dataclass(frozen=True)
class LogEntry:
    """What is kept about one command: when, do or undo or redo, its name, its kind and the reason given."""

    at: datetime
    action: Action
    name: str
    kind: str
    reason: str = ""
    notes: tuple[FieldChange, ...] = ()
    clears_draft: bool = False


def write_edits(connection: sqlite3.Connection, edits: Sequence[Edit], entry: LogEntry) -> None:
    """Write records, the correction history and the command log of one command."""
    touched = [[kind_of(edit.record), edit.record_id] for edit in edits]
    cursor = connection.execute(
        "INSERT INTO command (at, action, name, kind, records) VALUES (?, ?, ?, ?, ?)",
        (stamp(entry.at), str(entry.action), entry.name, entry.kind, to_json(touched)),
    )
    changes = list(entry.notes)
    one_by_one, together = _apart(connection, edits)
    for edit in one_by_one:
        changes += field_changes(edit)
        changes += _write_edit(connection, edit)
    if together:
        _insert_attempts(connection, together)
    if entry.clears_draft:
        connection.execute("DELETE FROM draft")
    name = entry.name if entry.action is Action.DO else f"{entry.action}: {entry.name}"
    reason = entry.reason if entry.action is Action.DO else str(entry.action)
    _insert_corrections(
        connection,
        (
            Correction(entry.at, item.kind, item.record_id, item.field, item.old, item.new, reason, name)
            for item in changes
        ),
        cursor.lastrowid,
    )


def _apart(connection: sqlite3.Connection, edits: Sequence[Edit]) -> tuple[Sequence[Edit], Sequence[Attempt]]:
    """Return the edits to be written one by one, and many new attempts of a table that can go in together."""
    new = [edit.after for edit in edits if edit.before is None and isinstance(edit.after, Attempt)]
    if len(new) < _MANY or connection.execute("SELECT 1 FROM attempt WHERE withdrawn = 1 LIMIT 1").fetchone():
        return edits, ()
    return [edit for edit in edits if edit.before is not None or not isinstance(edit.after, Attempt)], new


def _insert_attempts(connection: sqlite3.Connection, attempts: Sequence[Attempt]) -> None:
    last = connection.execute("SELECT coalesce(max(seq), 0) FROM attempt").fetchone()[0]
    connection.executemany(
        f"INSERT INTO attempt (seq, {rows.ATTEMPT_COLUMNS}) VALUES (?, {rows.marks(rows.ATTEMPT_COLUMNS)})",
        ((seq, *rows.attempt_row(attempt)) for seq, attempt in enumerate(attempts, last + 1)),
    )


def _write_edit(connection: sqlite3.Connection, edit: Edit) -> list[FieldChange]:
    """Write one record; returns what must be noted besides, when a withdrawn record comes back."""
    record = edit.record
    if isinstance(record, CampaignSettings):
        write_settings(connection, record)
        return []
    if isinstance(record, tuple):
        write_factors(connection, record)
        return []
    table = "attachment" if isinstance(record, StoredPhoto) else kind_of(record)
    if edit.after is None:
        connection.execute(f"UPDATE {table} SET withdrawn = 1 WHERE id = ?", (edit.record_id,))
        return []
    noted = _return_of_withdrawn(connection, table, edit) if edit.before is None else []
    _write_record(connection, edit.record_id, record, edit.before is None)
    return noted


def _return_of_withdrawn(connection: sqlite3.Connection, table: str, edit: Edit) -> list[FieldChange]:
    found = connection.execute(
        f"SELECT 1 FROM {table} WHERE id = ? AND withdrawn = 1", (edit.record_id,)
    ).fetchone()
    if found is None:
        return []
    kind = kind_of(edit.record)
    noted = [FieldChange(kind, edit.record_id, "withdrawn", "true", "false")]
    old: Lot | Jar | None = None
    if isinstance(edit.record, Lot):
        sql = f"SELECT {rows.LOT_COLUMNS} FROM lot WHERE id = ?"
        old = rows.read_lot(connection.execute(sql, (edit.record_id,)).fetchone())
    elif isinstance(edit.record, Jar):
        sql = f"SELECT {rows.JAR_COLUMNS} FROM jar WHERE id = ?"
        old = rows.read_jar(connection.execute(sql, (edit.record_id,)).fetchone())
    return noted if old is None else noted + record_changes(kind, edit.record_id, old, edit.record)


def _write_record(connection: sqlite3.Connection, record_id: str, record: object, is_new: bool) -> None:
    match record:
        case Lot():
            _upsert(connection, "lot", rows.LOT_COLUMNS, rows.lot_row(record), is_new)
        case Jar():
            _upsert(connection, "jar", rows.JAR_COLUMNS, rows.jar_row(record), is_new)
        case Attempt():
            _upsert(connection, "attempt", rows.ATTEMPT_COLUMNS, rows.attempt_row(record), is_new)
        case ChecklistTick():
            values = (record_id, *rows.tick_row(record))
            _upsert(connection, "tick", f"id, {rows.TICK_COLUMNS}", values, is_new)
        case Run():
            _upsert(connection, "run", run_rows.RUN_COLUMNS, run_rows.run_row(record), is_new)
        case RunEvent():
            _upsert(connection, "run_event", run_rows.EVENT_COLUMNS, run_rows.event_row(record), is_new)
        case Regrade():
            _upsert(connection, "regrade", run_rows.REGRADE_COLUMNS, run_rows.regrade_row(record), is_new)
        case Acknowledgement():
            values = run_rows.acknowledgement_row(record)
            _upsert(connection, "acknowledgement", run_rows.ACKNOWLEDGEMENT_COLUMNS, values, is_new)
        case Proof():
            _upsert(connection, "proof", plan_rows.PROOF_COLUMNS, plan_rows.proof_row(record), is_new)
        case EveningPlan():
            values = plan_rows.evening_row(record)
            _upsert(connection, "evening_plan", plan_rows.EVENING_COLUMNS, values, is_new)
        case Comparison() | IssuedRecipe() | ChangeMark():
            table, columns, values = evidence_rows.row_of(record)
            _upsert(connection, table, columns, values, is_new)
        case _:
            _write_bulky(connection, record_id, record)


def _upsert(connection: sqlite3.Connection, table: str, columns: str, values: rows.Row, is_new: bool) -> None:
    """Update a record by its id, or put it at the end of its table; a withdrawn one with this id comes back."""
    names = columns.split(", ")
    settings = ", ".join(f"{name} = excluded.{name}" for name in names if name != "id")
    place = ", seq = excluded.seq" if is_new else ""
    connection.execute(
        f"INSERT INTO {table} (seq, {columns}) "
        f"VALUES ((SELECT coalesce(max(seq), 0) + 1 FROM {table}), {rows.marks(columns)}) "
        f"ON CONFLICT (id) DO UPDATE SET {settings}, withdrawn = 0{place}",
        values,
    )


def _write_bulky(connection: sqlite3.Connection, record_id: str, record: object) -> None:
    """Write a photo or a log; one that comes back by redo carries no content, which is in the file already."""
    table, columns, values = _bulky_row(record_id, record)
    connection.execute(
        f"INSERT INTO {table} ({columns}) VALUES ({rows.marks(columns)}) "
        "ON CONFLICT (id) DO UPDATE SET withdrawn = 0",
        values,
    )


def _bulky_row(record_id: str, record: object) -> tuple[str, str, rows.Row]:
    match record:
        case StoredPhoto(attempt_id, name, media_type, added_at, data, original):
            columns = "id, attempt_id, added_at, name, media_type, data, original"
            kept = (record_id, attempt_id, stamp(added_at), name, media_type, data, original or None)
            return "attachment", columns, kept
        case StoredAnchor(outcome, name, media_type, added_at, data):
            columns = "id, outcome, added_at, name, media_type, data"
            return "anchor", columns, (record_id, outcome, stamp(added_at), name, media_type, data)
        case TemperatureLog():
            return "temperature_log", run_rows.LOG_COLUMNS, run_rows.log_row(record)
        case _:
            raise TypeError(type(record).__name__)


def write_settings(connection: sqlite3.Connection, settings: CampaignSettings) -> None:
    """Write every setting."""
    connection.executemany("INSERT OR REPLACE INTO setting (key, value) VALUES (?, ?)", rows.setting_rows(settings))


def write_factors(connection: sqlite3.Connection, factors: Factors) -> None:
    """Replace the list of factors; what a removed one was is kept in the correction history."""
    connection.execute("DELETE FROM factor")
    connection.executemany(
        f"INSERT INTO factor ({rows.FACTOR_COLUMNS}) VALUES ({rows.marks(rows.FACTOR_COLUMNS)})",
        [rows.factor_row(factor, position) for position, factor in enumerate(factors)],
    )


def write_all(
    connection: sqlite3.Connection,
    state: CampaignState,
    corrections: Sequence[Correction] = (),
    bulky: Iterable[tuple[str, Bulky]] = (),
) -> None:
    """Fill the tables of a new session but for settings and factors; ``bulky`` are photos and logs by their ids."""
    tables: Mapping[str, tuple[str, list[rows.Row]]] = {
        "lot": (rows.LOT_COLUMNS, [rows.lot_row(lot) for lot in state.lots]),
        "jar": (rows.JAR_COLUMNS, [rows.jar_row(jar) for jar in state.jars]),
        "attempt": (rows.ATTEMPT_COLUMNS, [rows.attempt_row(attempt) for attempt in state.attempts]),
        "tick": (f"id, {rows.TICK_COLUMNS}", [(uuid.uuid4().hex, *rows.tick_row(tick)) for tick in state.ticks]),
        "run": (run_rows.RUN_COLUMNS, [run_rows.run_row(run) for run in state.runs]),
        "run_event": (
            run_rows.EVENT_COLUMNS,
            [run_rows.event_row(each) for run in state.runs for each in run.events],
        ),
        "regrade": (run_rows.REGRADE_COLUMNS, [run_rows.regrade_row(each) for each in state.regrades]),
        "acknowledgement": (
            run_rows.ACKNOWLEDGEMENT_COLUMNS,
            [run_rows.acknowledgement_row(each) for each in state.acknowledged],
        ),
        "proof": (plan_rows.PROOF_COLUMNS, [plan_rows.proof_row(each) for each in state.proofs]),
        "evening_plan": (plan_rows.EVENING_COLUMNS, [plan_rows.evening_row(each) for each in state.evenings]),
    }
    for table, (columns, values) in tables.items():
        _insert_all(connection, table, columns, values)
    for records in (state.comparisons, state.recipes, state.marks):
        kept = [evidence_rows.row_of(record) for record in records]
        if kept:
            _insert_all(connection, kept[0][0], kept[0][1], [row for _, _, row in kept])
    for record_id, record in bulky:
        _write_bulky(connection, record_id, record)
    _insert_corrections(connection, corrections, None)


def _insert_all(connection: sqlite3.Connection, table: str, columns: str, values: Sequence[rows.Row]) -> None:
    connection.executemany(
        f"INSERT INTO {table} (seq, {columns}) VALUES (?, {rows.marks(columns)})",
        [(seq, *row) for seq, row in enumerate(values, start=1)],
    )


def _insert_corrections(
    connection: sqlite3.Connection, corrections: Iterable[Correction], command_seq: int | None
) -> None:
    connection.executemany(
        f"INSERT INTO correction (command_seq, {rows.CORRECTION_COLUMNS}) "
        f"VALUES (?, {rows.marks(rows.CORRECTION_COLUMNS)})",
        [(command_seq, *rows.correction_row(correction)) for correction in corrections],
    )
