"""Reading a whole session into one state."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from stirfall.bench.ages import read_stamp
from stirfall.bench.campaign import CampaignState
from stirfall.bench.collecting import collection_held
from stirfall.storage import evidence_rows, plan_rows, rows, run_rows


@dataclass(frozen=True)
class Loaded:
    """A state, and what counting on needs: the highest number ever given and the latest recording."""

    state: CampaignState
    last_number: int
    last_recorded_at: datetime | None


def load(connection: sqlite3.Connection) -> Loaded:
    """Return everything that was not withdrawn, in the order of the file, as seen at one moment."""
    connection.execute("BEGIN")
    try:
        with collection_held():
            return _load(connection)
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def _load(connection: sqlite3.Connection) -> Loaded:
    def select(columns: str, rest: str) -> list[rows.Row]:
        return connection.execute(f"SELECT {columns} FROM {rest}").fetchall()  # noqa: S608 - our own names

    state = CampaignState(
        rows.read_settings(select("key, value", "setting")),
        tuple(map(rows.read_factor, select(rows.FACTOR_COLUMNS, "factor ORDER BY position"))),
        tuple(map(rows.read_lot, select(rows.LOT_COLUMNS, "lot WHERE withdrawn = 0 ORDER BY seq"))),
        tuple(map(rows.read_jar, select(rows.JAR_COLUMNS, "jar WHERE withdrawn = 0 ORDER BY seq"))),
        tuple(rows.read_attempts(select(rows.ATTEMPT_COLUMNS, "attempt WHERE withdrawn = 0 ORDER BY seq"))),
        tuple(map(rows.read_tick, select(rows.TICK_COLUMNS, "tick WHERE withdrawn = 0 ORDER BY seq"))),
        run_rows.with_events(
            map(run_rows.read_run, select(run_rows.RUN_COLUMNS, "run WHERE withdrawn = 0 ORDER BY seq")),
            map(run_rows.read_event, select(run_rows.EVENT_COLUMNS, "run_event WHERE withdrawn = 0 ORDER BY seq")),
        ),
        tuple(
            map(run_rows.read_regrade, select(run_rows.REGRADE_COLUMNS, "regrade WHERE withdrawn = 0 ORDER BY seq"))
        ),
        tuple(
            map(
                run_rows.read_acknowledgement,
                select(run_rows.ACKNOWLEDGEMENT_COLUMNS, "acknowledgement WHERE withdrawn = 0 ORDER BY seq"),
            )
        ),
        tuple(map(plan_rows.read_proof, select(plan_rows.PROOF_COLUMNS, "proof WHERE withdrawn = 0 ORDER BY seq"))),
        tuple(
            map(
                plan_rows.read_evening,
                select(plan_rows.EVENING_COLUMNS, "evening_plan WHERE withdrawn = 0 ORDER BY seq"),
            )
        ),
        tuple(
            map(
                evidence_rows.read_comparison,
                select(evidence_rows.COMPARISON_COLUMNS, "comparison WHERE withdrawn = 0 ORDER BY seq"),
            )
        ),
        tuple(
            map(
                evidence_rows.read_issued,
                select(evidence_rows.RECIPE_COLUMNS, "issued_recipe WHERE withdrawn = 0 ORDER BY seq"),
            )
        ),
        tuple(
            map(
                evidence_rows.read_mark,
                select(evidence_rows.MARK_COLUMNS, "change_mark WHERE withdrawn = 0 ORDER BY seq"),
            )
        ),
    )
    (last_number,) = select("coalesce(max(number), 0)", "attempt")[0]
    last = select("recorded_at", "attempt WHERE recorded_at IS NOT NULL ORDER BY seq DESC LIMIT 1")
    return Loaded(state, cast("int", last_number), read_stamp(str(last[0][0])) if last else None)
