"""What the ledger writes into its cells, into the clipboard and into CSV; pure."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.ages import stamp
from stirfall.bench.factors import Factor, Value
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.bench.units import format_number, unit_label
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.bench_form.weighing import MASS_NAMES

STRUCK = "struck out"


@dataclass(frozen=True)
class Column:
    """One column of the ledger: title, text of a cell, and the key to sort by."""

    title: str
    text: Callable[[Attempt, str], str]
    key: Callable[[Attempt], tuple[bool, float | str]]
    is_number: bool = False


def columns_of(factors: tuple[Factor, ...]) -> tuple[Column, ...]:
    """Return the columns for these factors: number, outcome, time, place, each factor with its unit, note."""
    fixed = (
        Column("No.", lambda attempt, _: str(attempt.number), lambda attempt: (False, float(attempt.number)), True),
        Column("Outcome", lambda attempt, _: outcome_text(attempt), lambda attempt: (False, outcome_text(attempt))),
        Column("Time", lambda attempt, _: local_time(moment_of(attempt)), _moment_key),
        Column("Jar, lot", lambda attempt, _: place_text(attempt), lambda attempt: (False, place_text(attempt))),
    )
    note = Column("Note", lambda attempt, _: note_text(attempt), lambda attempt: (False, note_text(attempt)))
    return (*fixed, *(_factor_column(factor) for factor in factors), note)


def _factor_column(factor: Factor) -> Column:
    unit = unit_label(factor.unit)
    title = f"{titled(factor.name)}, {unit}" if unit else titled(factor.name)

    def text(attempt: Attempt, decimal: str) -> str:
        return value_cell(attempt.conditions.get(factor.name), decimal)

    def key(attempt: Attempt) -> tuple[bool, float | str]:
        value = attempt.conditions.get(factor.name)
        missing: float | str = "" if factor.is_choice else 0.0
        return value is None, missing if value is None else value

    return Column(title, text, key, is_number=not factor.is_choice)


def _moment_key(attempt: Attempt) -> tuple[bool, float | str]:
    moment = moment_of(attempt)
    return moment is None, moment.timestamp() if moment else 0.0


def value_cell(value: Value | None, decimal: str) -> str:
    """Write one value without its unit, which stands in the header; unknown is said."""
    if value is None:
        return "unknown"
    return value if isinstance(value, str) else format_number(value, digits=4, decimal=decimal)


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


def as_table(attempts: Iterable[Attempt], factors: tuple[Factor, ...], decimal: str) -> str:
    """Return attempts as tab-separated text, as spreadsheets paste it."""
    columns = columns_of(factors)
    lines = ["\t".join(column.title for column in columns)]
    lines += ["\t".join(_flat(column.text(attempt, decimal)) for column in columns) for attempt in attempts]
    return "\n".join(lines)


def _flat(text: str) -> str:
    return " ".join(text.split())


def as_csv(attempts: Iterable[Attempt], factors: tuple[Factor, ...]) -> bytes:
    """Return attempts as CSV after RFC 4180 in UTF-8: decimal points, ISO 8601 times in UTC, empty for unknown."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    conditions = [f"{factor.name} [{factor.unit}]" if factor.unit else factor.name for factor in factors]
    writer.writerow([*_CSV_HEAD, *conditions, *_CSV_TAIL, *MASS_NAMES, "note"])
    for attempt in attempts:
        values = (attempt.conditions.get(factor.name) for factor in factors)
        writer.writerow(
            [
                attempt.number,
                stamp(attempt.started_at) if attempt.started_at else "",
                attempt.lot_id or "",
                attempt.jar_id or "",
                *("" if value is None else _plain(value) for value in values),
                attempt.outcome.value,
                attempt.parted.value if attempt.parted else "",
                attempt.pooled.value if attempt.pooled else "",
                "" if attempt.successes is None else attempt.successes,
                attempt.trials,
                attempt.abort_reason if attempt.aborted else "",
                attempt.struck_reason or "",
                *("" if mass is None else _plain(mass) for mass in vars(attempt.masses).values()),
                attempt.note,
            ]
        )
    return out.getvalue().encode("utf-8")


_CSV_HEAD = ("number", "started_at", "lot", "jar")
_CSV_TAIL = ("outcome", "parted", "pooled", "successes", "trials", "aborted_because", "struck_out_because")


def _plain(value: Value) -> str:
    return value if isinstance(value, str) else f"{value:.15g}"
