"""``stirfall import``: the attempts of a table into a session, written only when nothing is unclear."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.cli.log import zone_named
from stirfall.cli.output import complain, say, say_json
from stirfall.cli.session_arguments import json_option, session_argument

if TYPE_CHECKING:
    from collections.abc import Mapping

    from stirfall.planning.findings import Finding
    from stirfall.storage.import_plan import ImportPlan
    from stirfall.storage.import_source import SourceTable
    from stirfall.storage.imported import Imported

SCHEMA = "stirfall.import/1"
_MOST_CELLS = 50


@click.command("import")
@session_argument
@click.argument("table_file", metavar="TABLE", type=click.Path(path_type=Path))
@click.option("--sheet", metavar="NAME", default="", help="The sheet of a workbook; its first one otherwise.")
@click.option("--heading", metavar="ROW", type=int, help="The row of the headings, where it is not found.")
@click.option(
    "--map", "maps", metavar="COL=ROLE", multiple=True, help="What a column is, such as 'T=temperature [F]'."
)
@click.option("--word", "words", metavar="WORD=RESULT", multiple=True, help="What a word of the outcome means.")
@click.option("--decimal", type=click.Choice([".", ","]), help="The decimal sign, where the table does not tell.")
@click.option(
    "--dates",
    type=click.Choice(["day-first", "month-first", "year-first"]),
    help="The order of its dates, where the table does not tell.",
)
@click.option("--zone", metavar="ZONE", default="", help="The zone of its times: utc, an offset or a name.")
@click.option("--stored-values", is_flag=True, help="Take the values stored with the formulas of a workbook.")
@click.option("--widen", is_flag=True, help="Let the ranges of factors grow to hold what the table holds.")
@click.option("--take-duplicates", is_flag=True, help="Take in rows that the session seems to have already.")
@click.option("--without-results", is_flag=True, help="The table tells no outcome, and that is right.")
@click.option("--leave-out-refused", is_flag=True, help="Write, and leave out the rows with refused cells.")
@click.option("--dry-run", is_flag=True, help="Say what would come in; change nothing.")
@json_option
def command(
    session: Path,
    table_file: Path,
    *,
    sheet: str,
    heading: int | None,
    maps: tuple[str, ...],
    words: tuple[str, ...],
    decimal: str | None,
    dates: str | None,
    zone: str,
    stored_values: bool,
    widen: bool,
    take_duplicates: bool,
    without_results: bool,
    leave_out_refused: bool,
    dry_run: bool,
    as_json: bool,
) -> int:
    """Bring the attempts of TABLE (CSV, TSV or XLSX) into the session FILE.

    What each column is, its unit and the words of the outcome are guessed and shown; --map and --word say
    otherwise.
    A cell that cannot be used is refused, and nothing is written until all is settled. Exit code 1: nothing was
    written, and why is said.
    """
    from stirfall.reporting.import_words import import_json
    from stirfall.session.document import Document
    from stirfall.session.importing import beyond_limits, take_in
    from stirfall.storage.import_guess import guess
    from stirfall.storage.import_mapping import with_mapping, with_signs, with_word_texts
    from stirfall.storage.import_read import read_with
    from stirfall.storage.import_source import ReadingChoices, sources

    table = sources(table_file).table(sheet, ReadingChoices(heading=heading, stored=stored_values))
    with Document.open(session, read_only=dry_run) as document:
        if document.read_only_reason is not None and not dry_run:
            raise document.read_only_reason
        state = document.state
        plan = with_signs(guess(table, state), decimal=decimal or "", dates=dates or "")
        plan = with_word_texts(with_mapping(plan, table, state, maps), words)
        plan = replace(
            with_signs(plan, decimal=decimal or "", dates=dates or ""),
            widens=widen,
            takes_twins=take_duplicates,
            without_result=without_results,
        )
        imported = read_with(plan, table, state, zone=zone_named(zone))
        beyond = beyond_limits(state, imported)
        stops = bool(imported.unclear or not imported.attempts or (imported.refused and not leave_out_refused))
        written = not (stops or dry_run)
        if written:
            take_in(document, imported)
        if as_json:
            about = {"schema": SCHEMA, "program": {"name": "stirfall", "version": __version__}, "written": written}
            say_json({**about, **import_json(table, plan, imported, beyond)})
        else:
            _tell(table, plan, imported, beyond)
            _tell_end(session, imported, written=written, dry_run=dry_run)
    return 1 if stops else 0


def _tell(table: SourceTable, plan: ImportPlan, imported: Imported, beyond: Mapping[int, Finding]) -> None:
    from stirfall.reporting.import_words import (
        column_line,
        reading_text,
        reason_text,
        refused_line,
        summary_lines,
        word_text,
    )

    say(f"{table.name}: {reading_text(table)}")
    for remark in table.remarks:
        say(f"  {reason_text(remark)}")
    say("Columns:")
    for column in plan.columns:
        say(f"  {column_line(column)}")
    if plan.words:
        say("Words of the outcome:")
        for word in plan.words:
            say(f"  “{word.word}” ({word.count}): {word_text(word.result)}")
    for line in summary_lines(imported, beyond):
        say(line)
    for cell in imported.refused[:_MOST_CELLS]:
        complain(f"  {refused_line(cell)}")
    if len(imported.refused) > _MOST_CELLS:
        complain(f"  and {len(imported.refused) - _MOST_CELLS} more; --json lists them all.")
    for reason in imported.unclear:
        complain(reason_text(reason))


def _tell_end(session: Path, imported: Imported, *, written: bool, dry_run: bool) -> None:
    from stirfall.reporting.sentences import sentence

    if written:
        say(sentence("import.written", {"name": session.name, "count": len(imported.attempts)}))
    elif imported.unclear:
        complain(sentence("import.cli_unclear"))
    elif imported.refused and not dry_run:
        complain(sentence("import.cli_refused"))
    else:
        say(sentence("import.cli_dry"))
