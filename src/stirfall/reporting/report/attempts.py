"""Every attempt of a campaign in tables: outcomes, conditions, what was seen, weighings, and remarks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stirfall.bench.factors import Factor, Value
from stirfall.bench.records import Attempt
from stirfall.bench.units import unit_label
from stirfall.physics.measured import Measured
from stirfall.reporting.report.telling import NOT_KNOWN, Telling, moment_words
from stirfall.reporting.report.tree import Block, Column, Heading, Paragraph, TableBlock
from stirfall.reporting.shares import counted
from stirfall.session.weighing import attempt_weighing

_FACTORS_PER_TABLE = 8
_MASSES = ("charge_g", "product_g", "beads_g", "residue_g", "additive_g")
_SEEN = ("room_rh_percent", "peak_c", "lifted_at_c", "oil_ml")
_STEP = 500
_DIGITS = 6


def attempt_blocks(telling: Telling) -> list[Block]:
    """Return every attempt, struck-out, aborted and failed ones too, in the order of their numbers."""
    attempts = telling.attempts
    blocks: list[Block] = [Heading(telling.say("report.heading_attempts"))]
    if not attempts:
        return [*blocks, Paragraph(telling.say("report.no_attempts"))]
    blocks.append(Paragraph(_summary(telling)))
    blocks.append(_outcomes(telling, attempts))
    blocks += _conditions(telling, attempts)
    blocks += [table for table in (_seen(telling, attempts), _weighings(telling, attempts)) if table is not None]
    remarks = tuple(row for attempt in attempts for row in _remarks(attempt))
    if remarks:
        columns = (Column("No.", is_number=True), Column("What"), Column("In words", wide=True))
        blocks.append(TableBlock(telling.say("report.caption_remarks"), columns, remarks))
    return blocks


def standing_of(telling: Telling, attempt: Attempt) -> str:
    """Say whether the model uses an attempt, and if not, why."""
    if attempt.is_struck:
        return "struck out"
    if attempt.aborted:
        return "aborted"
    if attempt.id in telling.used:
        return "used"
    return "not graded" if attempt.clean_count is None else "a value is unknown"


def _summary(telling: Telling) -> str:
    attempts = telling.attempts
    struck = sum(each.is_struck for each in attempts)
    aborted = sum(each.aborted and not each.is_struck for each in attempts)
    used = sum(each.id in telling.used for each in attempts)
    return telling.say(
        "report.attempts_summary",
        attempts=counted(len(attempts)),
        used=used,
        struck=struck or "none",
        aborted=aborted or "none",
        others=(len(attempts) - used - struck - aborted) or "none",
    )


# -------------------------------------------------------------------------------------------------------- outcomes


def _outcomes(telling: Telling, attempts: Sequence[Attempt]) -> TableBlock:
    pooled, named = any(each.origin for each in attempts), any(each.facts.operator for each in attempts)
    tools = any(each.facts.tool for each in attempts)
    counts = any(each.successes is not None for each in attempts)
    columns = [Column("No.", is_number=True), Column("Started (UTC)", whole=True), Column("Lot"), Column("Jar")]
    columns += [Column("Bench and its number")] if pooled else []
    columns += [Column("Operator")] if named else []
    columns += [Column("Tool")] if tools else []
    columns += [Column("Solids left the metal"), Column("Became one pool")]
    columns += [Column("Clean of trials")] if counts else []
    columns += [Column("Outcome", whole=True), Column("In the model")]
    rows = []
    for place, each in enumerate(attempts):
        if place % _STEP == 0:
            telling.poll()
        row = [str(each.number), moment_words(each.started_at), each.lot_id or NOT_KNOWN, each.jar_id or NOT_KNOWN]
        row += [f"{each.origin.bench} {each.origin.number}" if each.origin else NOT_KNOWN] if pooled else []
        row += [each.facts.operator] if named else []
        row += [each.facts.tool] if tools else []
        row += [str(each.parted or NOT_KNOWN), str(each.pooled or NOT_KNOWN)]
        row += [NOT_KNOWN if each.successes is None else f"{each.successes} of {each.trials}"] if counts else []
        rows.append((*row, str(each.outcome), standing_of(telling, each)))
    note = telling.say("report.outcomes_note")
    return TableBlock(telling.say("report.caption_attempts"), tuple(columns), tuple(rows), note)


# ------------------------------------------------------------------------------------------------------ conditions


def _conditions(telling: Telling, attempts: Sequence[Attempt]) -> Iterator[TableBlock]:
    factors = telling.state.factors
    parts = -(-len(factors) // _FACTORS_PER_TABLE)
    size = -(-len(factors) // parts) if parts else 0
    for part in range(parts):
        telling.poll()
        chosen = factors[part * size : (part + 1) * size]
        columns = (
            Column("No.", is_number=True),
            *(_heading(factor) for factor in chosen),
            Column("Outcome", whole=True),
        )
        rows = tuple(
            (
                str(each.number),
                *(_cell(telling, each.conditions.get(factor.name)) for factor in chosen),
                str(each.outcome),
            )
            for each in attempts
        )
        code = "report.caption_conditions" if parts == 1 else "report.caption_conditions_part"
        yield TableBlock(telling.say(code, part=part + 1, parts=parts), columns, rows)


def _heading(factor: Factor) -> Column:
    label = unit_label(factor.unit)
    return Column(f"{factor.name}, {label}" if label else factor.name, is_number=not factor.is_choice)


def _cell(telling: Telling, value: Value | None) -> str:
    return value if isinstance(value, str) else telling.number(value, _DIGITS)


# ------------------------------------------------------------------------------------------- what was seen, weighed


def _seen(telling: Telling, attempts: Sequence[Attempt]) -> TableBlock | None:
    told = [each for each in attempts if each.facts.look or any(_facts(each))]
    if not told:
        return None
    columns = (
        Column("No.", is_number=True),
        Column("Surface before melting"),
        Column("Room humidity, %", is_number=True),
        Column("Highest temperature, °C", is_number=True),
        Column("Lifted at, °C", is_number=True),
        Column("Hot oil, mL", is_number=True),
        Column("Checklist lines ticked", is_number=True),
    )
    rows = tuple(
        (
            str(each.number),
            each.facts.look,
            *(telling.number(value) for value in _facts(each)[:-1]),
            str(len(each.facts.ticked) or NOT_KNOWN),
        )
        for each in told
    )
    return TableBlock(telling.say("report.caption_seen"), columns, rows)


def _facts(attempt: Attempt) -> tuple[float | None, ...]:
    return (*(getattr(attempt.facts, name) for name in _SEEN), float(len(attempt.facts.ticked)) or None)


def _weighings(telling: Telling, attempts: Sequence[Attempt]) -> TableBlock | None:
    rows = []
    for place, each in enumerate(attempts):
        if place % _STEP == 0:
            telling.poll()
        if any(getattr(each.masses, name) is not None for name in _MASSES):
            rows.append(_weighing(telling, each))
    if not rows:
        return None
    masses = (f"{name.removesuffix('_g').capitalize()}, g" for name in _MASSES)
    shares = ("Gross yield, %", "Recovery of metal, %", "Closure, %")
    numbers = (Column(title, is_number=True) for title in (*masses, *shares))
    columns = (Column("No.", is_number=True), *numbers, Column("Oil removed"))
    note = telling.say("report.weighings_note")
    return TableBlock(telling.say("report.caption_weighings"), columns, tuple(rows), note)


def _weighing(telling: Telling, attempt: Attempt) -> tuple[str, ...]:
    found = attempt_weighing(telling.state, attempt)
    grams = (telling.number(getattr(attempt.masses, name)) for name in _MASSES)
    shares = (_share(telling, share) for share in (found.gross_yield, found.recovery, found.closure))
    return (str(attempt.number), *grams, *shares, attempt.sheet.oil_removed)


def _share(telling: Telling, share: Measured | None) -> str:
    if share is None:
        return NOT_KNOWN
    percent = share.percent()
    return Measured(percent.value, percent.u).bare(decimal=telling.decimal)


# --------------------------------------------------------------------------------------------------------- remarks


def _remarks(attempt: Attempt) -> Iterator[tuple[str, str, str]]:
    number = str(attempt.number)
    if attempt.struck_reason is not None:
        yield number, "struck out", attempt.struck_reason or "no reason was given"
    if attempt.aborted:
        yield number, "aborted", attempt.abort_reason or "no reason was given"
    for override in attempt.overrides:
        yield number, f"{override.factor} typed by hand", override.reason
    for warning in attempt.facts.accepted:
        yield number, "went past a limit", f"{warning.text} Why: {warning.reason or 'no reason was given'}"
    if attempt.note:
        yield number, "note", attempt.note
