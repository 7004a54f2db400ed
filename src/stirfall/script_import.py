"""Tables for scripts: the attempts of a CSV, TSV or XLSX come into a session, or say why they do not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from stirfall.session.document import Document
    from stirfall.storage.import_plan import ImportPlan
    from stirfall.storage.imported import Imported


class ImportValues(TypedDict, total=False):
    """What a script may say of a table beyond its columns and words."""

    sheet: str
    heading: int | None
    decimal: str
    dates: str
    zone: str
    stored_values: bool
    widen: bool
    take_duplicates: bool
    without_results: bool


@dataclass(frozen=True)
class ImportReport:
    """How a table was read: ``text`` in finished sentences, ``plan`` and ``found`` with all of it.

    ``written`` says whether the attempts came into the session.
    """

    plan: ImportPlan
    found: Imported
    text: tuple[str, ...]
    written: bool


def import_into(
    document: Document,
    table: str | Path,
    columns: Mapping[str, str],
    words: Mapping[str, str],
    *,
    dry_run: bool,
    leave_out_refused: bool,
    given: ImportValues,
) -> ImportReport:
    """Read a table, and write it where nothing is unclear or refused; the verb ``import_table`` says the rest."""
    from stirfall.bench.errors import InputError
    from stirfall.cli.log import zone_named
    from stirfall.reporting.import_words import reason_text, refused_line, summary_lines
    from stirfall.session.importing import beyond_limits, take_in
    from stirfall.storage.import_guess import guess
    from stirfall.storage.import_mapping import with_mapping, with_signs, with_word_texts
    from stirfall.storage.import_read import read_with
    from stirfall.storage.import_source import ReadingChoices, sources

    choices = ReadingChoices(heading=given.get("heading"), stored=given.get("stored_values", False))
    source = sources(table).table(given.get("sheet", ""), choices)
    state = document.state
    plan = with_mapping(guess(source, state), source, state, [f"{name}={role}" for name, role in columns.items()])
    plan = with_word_texts(plan, [f"{word}={result}" for word, result in words.items()])
    plan = replace(
        with_signs(plan, decimal=given.get("decimal", ""), dates=given.get("dates", "")),
        widens=given.get("widen", False),
        takes_twins=given.get("take_duplicates", False),
        without_result=given.get("without_results", False),
    )
    found = read_with(plan, source, state, zone=zone_named(given.get("zone", "")))
    beyond = beyond_limits(state, found)
    if not dry_run:
        if found.refused and not leave_out_refused:
            params = {"count": len(found.refused), "first": refused_line(found.refused[0])}
            raise InputError("import.cells_refused", **params)
        take_in(document, found)
    text = (
        *summary_lines(found, beyond),
        *map(refused_line, found.refused),
        *map(reason_text, found.unclear),
    )
    return ImportReport(plan, found, text, not dry_run)
