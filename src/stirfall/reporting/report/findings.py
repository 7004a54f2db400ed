"""What was looked into beside the model: comparisons asked for, change in time, rivals, and other benches."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC

from stirfall.bench.comparisons import Comparison
from stirfall.bench.errors import InputError
from stirfall.reporting.bench_words import bench_lines
from stirfall.reporting.compare_words import (
    adjusted_lines,
    blocked_lines,
    cannot_tell_lines,
    capital,
    count_lines,
    difference_lines,
    headline,
    probability_lines,
    warning_lines,
)
from stirfall.reporting.drift_words import drift_lines, mark_line
from stirfall.reporting.report.telling import Telling, moment_words
from stirfall.reporting.report.tree import Block, Bullets, Column, Heading, Notice, Paragraph, TableBlock
from stirfall.reporting.rivals_words import doubt_lines, evidence_line, foretells_line, title, verdict_line
from stirfall.reporting.sentences import error_sentence
from stirfall.session.benches import holds_elsewhere
from stirfall.session.comparing import compare
from stirfall.session.drift import drift
from stirfall.session.rivals import rivals

_SEED = 0
_TWO = 2


def comparison_blocks(telling: Telling) -> list[Block]:
    """Return every comparison that was ever asked for, with its result now: of many, some differ by chance."""
    comparisons = telling.state.comparisons
    blocks: list[Block] = [Heading(telling.say("report.heading_comparisons"), 3)]
    if not comparisons:
        return [*blocks, Paragraph(telling.say("report.no_comparisons"))]
    blocks.append(Paragraph(telling.say("report.comparisons", count=len(comparisons))))
    for place, comparison in enumerate(comparisons, 1):
        telling.poll()
        lines = tuple(dict.fromkeys(_compared(telling, comparison)))
        asked = telling.say("report.comparison", number=place, made=moment_words(comparison.made_at))
        blocks += [Paragraph(f"{asked} {lines[0]}", "strong"), Bullets(lines[1:])]
    return blocks


def _compared(telling: Telling, comparison: Comparison) -> Iterator[str]:
    decimal = telling.decimal
    try:
        found = compare(telling.analysis, comparison, seed=_SEED, token=telling.token, tz=UTC)
    except InputError as error:
        yield telling.say("report.comparison_lost")
        yield error_sentence(error, decimal=decimal)
        return
    yield headline(found, decimal=decimal)
    yield from warning_lines(found, decimal=decimal)
    for lines in (
        count_lines,
        difference_lines,
        probability_lines,
        blocked_lines,
        adjusted_lines,
        cannot_tell_lines,
    ):
        yield from (capital(line) for line in lines(found, decimal=decimal))


def drift_blocks(telling: Telling) -> list[Block]:
    """Return whether something has changed in time, and the changes at the bench that were marked."""
    found = drift(telling.analysis, now=telling.state, tz=UTC, seed=_SEED, token=telling.token)
    blocks: list[Block] = [
        Heading(telling.say("report.heading_drift"), 3),
        Bullets(drift_lines(found, decimal=telling.decimal)),
    ]
    if found.marks:
        columns = (Column("When (UTC)", whole=True), Column("Change", wide=True))
        rows = tuple((moment_words(each.at), mark_line(each, decimal=telling.decimal)) for each in found.marks)
        blocks.append(TableBlock(telling.say("report.caption_marks"), columns, rows))
    return blocks


def rival_blocks(telling: Telling) -> list[Block]:
    """Return the rival explanations of what was seen, and what the attempts say of each; none without attempts."""
    if not telling.analysis.counts.used:
        return []
    decimal = telling.decimal
    blocks: list[Block] = [Heading(telling.say("report.heading_rivals"), 3)]
    if not telling.analysis.limits.may_wait:
        blocks.append(Notice("stop", telling.say("report.no_longer")))
    blocks.append(Paragraph(telling.say("rivals.hypothesis")))
    for rival in rivals(telling.analysis, now=telling.source.created_at, token=telling.token):
        lines = [verdict_line(rival, decimal=decimal), foretells_line(rival)]
        lines += [evidence_line(each, decimal=decimal) for each in rival.evidence]
        lines += doubt_lines(rival, decimal=decimal)
        blocks += [Paragraph(title(rival), "strong"), Bullets(tuple(dict.fromkeys(lines)))]
    return blocks


def bench_blocks(telling: Telling) -> list[Block]:
    """Return whether it holds for other benches, where attempts of several benches were pooled."""
    benches = {each.origin.bench for each in telling.attempts if each.origin is not None}
    if len(benches) < _TWO or not telling.analysis.counts.used:
        return []
    found = holds_elsewhere(telling.analysis, token=telling.token)
    lines = [line.strip() for line in bench_lines(found, decimal=telling.decimal) if line.strip()]
    return [Heading(telling.say("report.heading_benches"), 3), Bullets(tuple(lines))]
