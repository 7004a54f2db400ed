"""What the ledger writes into its cells; pure."""

from __future__ import annotations

from datetime import datetime

from stirfall.bench.factors import Value
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.desktop.shown import Shown

STRUCK = "struck out"
_CELL_DIGITS = 4


def value_cell(value: Value | None, decimal: str, unit: str = "") -> str:
    """Write one value of ``unit`` in the shown unit, which stands in the header; unknown is said."""
    if value is None:
        return "unknown"
    return value if isinstance(value, str) else Shown.of(decimal).number(value, unit, digits=_CELL_DIGITS)


def moment_of(attempt: Attempt) -> datetime | None:
    """Return when the attempt was made, or else recorded."""
    return attempt.started_at or attempt.recorded_at


def local_time(moment: datetime | None) -> str:
    """Write a moment in local time."""
    return f"{moment.astimezone():%Y-%m-%d %H:%M}" if moment else "unknown"


def place_text(attempt: Attempt) -> str:
    """Write jar and lot."""
    return ", ".join(part for part in (attempt.jar_id, attempt.lot_id) if part) or "none"


def outcome_text(attempt: Attempt) -> str:
    """Write the outcome as a word; a struck-out attempt says so first."""
    word = attempt.outcome.value
    if attempt.outcome is Outcome.COUNTED:
        word = f"{attempt.successes} of {attempt.trials} clean"
    return f"{STRUCK} ({word})" if attempt.is_struck else word


def note_text(attempt: Attempt) -> str:
    """Write the note, with the reasons that belong to the attempt before it."""
    parts = [f"Aborted: {attempt.abort_reason}" if attempt.aborted else "", attempt.note]
    if attempt.struck_reason:
        parts.insert(0, f"Struck out: {attempt.struck_reason}")
    return " · ".join(part.replace("\n", " ") for part in parts if part)
