"""Attempts as text for other programs: tab-separated as shown, and CSV with everything; made in small steps."""

from __future__ import annotations

import csv
import io
from collections.abc import Generator, Iterable, Sequence

from stirfall.bench.ages import stamp
from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor, Value
from stirfall.bench.open_text import safe_cell
from stirfall.bench.records import Attempt
from stirfall.bench.run_facts import AcceptedWarning
from stirfall.bench.running import Run
from stirfall.desktop.bench_form.seen import SEEN
from stirfall.desktop.bench_form.weighing import MASS_NAMES, SHEET
from stirfall.desktop.ledger.columns import Column
from stirfall.desktop.ledger.proof_places import ProofPlace, proof_places

_STEP = 50
_HEAD = ("number", "started_at", "lot", "jar")
_TAIL = ("outcome", "parted", "pooled", "successes", "trials", "aborted_because", "struck_out_because")
_FACTS = ("look", *(quantity.name for quantity in SEEN), "checks_ticked", "accepted_warnings", "ages_typed_by_hand")
_SHEET = (*(f"tare_{name}" for name in MASS_NAMES), "oil_removed", *(quantity.name for quantity in SHEET))
_RUN = ("run_id", "run_started_at", "run_ended_at", "run_events", "second_grade", "recorded_at", "invented", "id")
_PROOF = ("proof", "proof_place")
_WHO = ("operator", "tool")
_ORIGIN = ("bench", "origin_session", "origin_number", "origin_id", "origin_fingerprint")

TextSteps = Generator[None, None, str]
PartSteps = Generator[None, None, list[bytes]]


def table_steps(attempts: Iterable[Attempt], columns: Sequence[Column]) -> TextSteps:
    """Return attempts as tab-separated text, as spreadsheets paste it, with the columns as they are shown."""
    lines = ["\t".join(safe_cell(_flat(column.title)) for column in columns)]
    for count, attempt in enumerate(attempts, 1):
        lines.append("\t".join(safe_cell(_flat(column.text(attempt))) for column in columns))
        if count % _STEP == 0:
            yield
    return "\n".join(lines)


def _flat(text: str) -> str:
    return " ".join(text.split())


def csv_steps(attempts: Iterable[Attempt], campaign: CampaignState) -> PartSteps:
    """Return attempts as parts of a CSV file after RFC 4180 in UTF-8, with everything that they keep.

    Decimal points, ISO 8601 times in UTC, the units of the campaign, empty for unknown; an apostrophe stands before
    text that a spreadsheet would run. Columns of older versions stand first, so that what reads them goes on
    working.
    """
    factors = campaign.factors
    runs = {run.id: run for run in campaign.runs}
    grades = {regrade.attempt_id: regrade.outcome for regrade in campaign.regrades}
    out, parts = io.StringIO(newline=""), []
    writer = csv.writer(out, lineterminator="\r\n")
    conditions = [f"{factor.name} [{factor.unit}]" if factor.unit else factor.name for factor in factors]
    places = proof_places(campaign)
    header = [*_HEAD, *conditions, *_TAIL, *MASS_NAMES, "note", *_FACTS, *_SHEET, *_RUN, *_PROOF, *_ORIGIN, *_WHO]
    writer.writerow(map(safe_cell, header))
    for count, attempt in enumerate(attempts, 1):
        cells = [
            *_main(attempt, factors),
            *_facts(attempt),
            *_sheet(attempt),
            *_of_run(attempt, runs.get(attempt.run_id or ""), grades.get(attempt.id, "")),
            *_of_proof(attempt, places.get(attempt.id)),
            *_of_origin(attempt),
            attempt.facts.operator,
            attempt.facts.tool,
        ]
        writer.writerow([safe_cell(cell) if isinstance(cell, str) else cell for cell in cells])
        if count % _STEP == 0:
            parts.append(_taken(out))
            yield
    return [*parts, _taken(out)]


def _taken(out: io.StringIO) -> bytes:
    """Take what was written so far."""
    text = out.getvalue()
    out.seek(0)
    out.truncate()
    return text.encode("utf-8")


def _main(attempt: Attempt, factors: Sequence[Factor]) -> list[object]:
    return [
        attempt.number,
        stamp(attempt.started_at) if attempt.started_at else "",
        attempt.lot_id or "",
        attempt.jar_id or "",
        *(_plain(attempt.conditions.get(factor.name)) for factor in factors),
        attempt.outcome.value,
        attempt.parted.value if attempt.parted else "",
        attempt.pooled.value if attempt.pooled else "",
        "" if attempt.successes is None else attempt.successes,
        attempt.trials,
        attempt.abort_reason if attempt.aborted else "",
        attempt.struck_reason or "",
        *(_plain(mass) for mass in vars(attempt.masses).values()),
        attempt.note,
    ]


def _of_origin(attempt: Attempt) -> list[object]:
    """Return where a pooled attempt was made; empty for this session's own."""
    origin = attempt.origin
    if origin is None:
        return [""] * len(_ORIGIN)
    return [origin.bench, origin.session, origin.number, origin.attempt_id, origin.fingerprint]


def _facts(attempt: Attempt) -> list[object]:
    facts = attempt.facts
    return [
        facts.look,
        *(_plain(getattr(facts, quantity.name)) for quantity in SEEN),
        len(facts.ticked),
        " | ".join(_warning(kept) for kept in facts.accepted),
        " | ".join(f"{item.factor}: clock {_plain(item.computed)}, {item.reason}" for item in attempt.overrides),
    ]


def _warning(kept: AcceptedWarning) -> str:
    return f"{kept.code}: {kept.text} Why: {kept.reason}"


def _sheet(attempt: Attempt) -> list[object]:
    sheet = attempt.sheet
    return [
        *(_plain(sheet.tare(name)) for name in MASS_NAMES),
        sheet.oil_removed,
        *(_plain(getattr(sheet, quantity.name)) for quantity in SHEET),
    ]


def _of_run(attempt: Attempt, run: Run | None, second_grade: str) -> list[object]:
    return [
        attempt.run_id or "",
        stamp(run.started_at) if run else "",
        stamp(run.ended_at) if run and run.ended_at else "",
        len(run.events) if run else "",
        second_grade,
        stamp(attempt.recorded_at) if attempt.recorded_at else "",
        "yes" if attempt.invented else "no",
        attempt.id,
    ]


def _of_proof(attempt: Attempt, place: ProofPlace | None) -> list[object]:
    return [attempt.proof_id or "", place.place if place is not None and place.place else ""]


def _plain(value: Value | None) -> str:
    if value is None:
        return ""
    return value if isinstance(value, str) else f"{value:.15g}"
