"""``stirfall compare``: says whether two groups of attempts differ by more than chance."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.comparisons import Comparison, Measure
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.bench.units import format_quantity, parse_number
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.comparing_records import Subject
    from stirfall.session.document import Document

SCHEMA = "stirfall.compare/1"
_MOST_LEVELS = 12


def _number(_context: click.Context, _parameter: click.Parameter, text: str | None) -> float | None:
    return None if text is None else parse_number(text.strip().removesuffix("%"))


@click.command("compare")
@session_argument
@click.option("--first", metavar="GROUP", help="The first group: lot=L1, additive=rosin, or 'sample age=1..12'.")
@click.option("--second", metavar="GROUP", help="The second group, written the same way.")
@click.option(
    "--measure",
    type=click.Choice([measure.value for measure in Measure]),
    default=Measure.CLEAN.value,
    help="What is compared; clean otherwise.",
)
@click.option("--matters", callback=_number, metavar="N", help="The difference that matters: points, s or min.")
@click.option("--look-only", is_flag=True, help="Do not note in the file that this was asked.")
@click.option("--subjects", is_flag=True, help="List what groups can be about here, and end.")
@json_option
def command(
    session: Path,
    first: str | None,
    second: str | None,
    measure: str,
    *,
    matters: float | None,
    look_only: bool,
    subjects: bool,
    as_json: bool,
) -> int:
    """Say whether two groups of attempts in the session FILE differ by more than chance.

    A group is NAME=VALUE: a lot, jar, day, operator, tool, oil or bench, a choice (additive=rosin), a range of a
    number ('sample age=1..12', '..12', '12..'), a span of time (period=2026-01-01..2026-02-01) or attempts=3,5,9.
    What was asked is noted in the file, because many comparisons find something by chance; --look-only does not.
    """
    if subjects:
        return _subjects(session, as_json=as_json)
    if not first or not second:
        raise click.UsageError("Give --first and --second, or --subjects to see what there is.")
    document = _open(session, look_only=look_only)
    try:
        asked = _Asked(first, second, Measure(measure), matters)
        return _compare(session, document, asked, look_only=look_only, as_json=as_json)
    finally:
        document.close()


class _Asked:
    """What is compared, as it was typed."""

    def __init__(self, first: str, second: str, measure: Measure, matters: float | None) -> None:
        self.first, self.second, self.measure, self.matters = first, second, measure, matters


def _open(session: Path, *, look_only: bool) -> Document:
    from stirfall.session.document import Document

    return open_to_read(session) if look_only else Document.open(session)


def _compare(session: Path, document: Document, asked: _Asked, *, look_only: bool, as_json: bool) -> int:
    from stirfall.reporting.compare_json import compared_json
    from stirfall.reporting.compare_words import all_lines
    from stirfall.reporting.sentences import sentence
    from stirfall.session.analysis import analyse
    from stirfall.session.commands import NoteComparison
    from stirfall.session.comparing import compare
    from stirfall.session.comparing_text import read_group
    from stirfall.session.planned_findings import checked_comparison

    state = document.state
    first, second = (read_group(state, text) for text in (asked.first, asked.second))
    comparison = checked_comparison(Comparison("", document.now(), first, second, asked.measure), state)
    matters = asked.matters
    if matters is not None and asked.measure in (Measure.CLEAN, Measure.PARTED, Measure.POOLED):
        matters /= 100.0
    found = compare(analyse(state, refined=True), comparison, matters=matters)
    kept = not look_only and not document.read_only
    if kept:
        document.execute(NoteComparison(comparison))
    code = None if kept else "compare.not_kept" if look_only else "compare.not_kept_read_only"
    if as_json:
        say_json({**_head(session, state), "noted": kept, **compared_json(found)})
        return 0
    if state.settings.invented:
        say(f"{INVENTED_NOTICE}.")
    for line in (*all_lines(found), *([] if code is None else [sentence(code)])):
        say(line)
    return 0


def _subjects(session: Path, *, as_json: bool) -> int:
    from stirfall.reporting.compare_json import subjects_json
    from stirfall.session.comparing import subjects

    with open_to_read(session) as document:
        state = document.state
        found = subjects(state)
    if as_json:
        say_json({**_head(session, state), "subjects": subjects_json(found)})
        return 0
    if not found:
        say("Nothing to compare yet: the attempts do not differ in anything that is recorded.")
        return 1
    for subject in found:
        say(_subject_line(subject))
    return 0


def _subject_line(subject: Subject) -> str:
    if subject.kind == "level":
        named = ", ".join(f"{level.value} ({level.attempts})" for level in subject.levels[:_MOST_LEVELS])
        more = len(subject.levels) - _MOST_LEVELS
        return f"{subject.name}=  {named}{f' and {more} more' if more > 0 else ''}"
    if subject.kind == "range":
        assert subject.low is not None, "a number has a range"
        assert subject.high is not None, "a number has a range"
        low, high = (format_quantity(end, subject.unit) for end in (subject.low, subject.high))
        return f"{subject.name}=  from {low} to {high} ({subject.attempts}); write 1..12, 1.. or ..12"
    if subject.kind == "period":
        return f"period=  of {subject.attempts} dated attempts; write 2026-01-01..2026-02-01"
    return f"attempts=  any of {subject.attempts} by number; write 3,5,9 or 3-9"


def _head(session: Path, state: CampaignState) -> dict[str, object]:
    return {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "session": {"path": str(session), "title": state.settings.title, "invented": state.settings.invented},
    }
