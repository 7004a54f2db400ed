"""Nothing that a person typed runs in a spreadsheet: all files and copies with cells go through one function."""

from __future__ import annotations

import csv
import io
import re
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from house_source import Source

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.open_text import safe_cell
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Lot, Masses
from stirfall.bench.run_facts import RunFacts
from stirfall.desktop.ledger.columns import Source as Columns
from stirfall.desktop.ledger.columns import all_columns
from stirfall.desktop.ledger.csv_rows import csv_steps, table_steps
from stirfall.desktop.odds.table_dialog import PictureTable, as_csv, as_tsv
from stirfall.reporting.import_words import refused_csv
from stirfall.session.ledger_rows import finished
from stirfall.storage.imported import RefusedCell
from stirfall.storage.package import write_package

# The modules that put cells beside one another; whoever adds one makes it safe and adds it to the test below.
EXPORTERS = {
    "desktop/ledger/csv_rows.py": "the ledger: file and copy",
    "desktop/odds/table_dialog.py": "numbers of pictures: odds, proof, course, drift",
    "storage/package_writer.py": "packages, which escape text so that reading undoes it",
    "reporting/import_words.py": "cells that were refused when a table was brought in",
}
STAYS_INSIDE = {"storage/log_workbook.py": "a sheet on its way to the reader of temperature logs"}
WRITES_CELLS = re.compile(r'csv\.(writer|DictWriter)\(|"\\t"\.join\(|\.to_csv\(')
LIVE = ("=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "=HYPERLINK(1)", " =1", "\uff1d1", "-x", "+")
NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def test_every_module_that_writes_cells_is_known_here(sources: list[Source]) -> None:
    found = {source.name for source in sources if WRITES_CELLS.search(source.text)}
    assert found == {*EXPORTERS, *STAYS_INSIDE}
    for source in sources:
        if source.name in EXPORTERS:
            assert re.search(r"safe_cell|column\.kind\.write", source.text), source.name


def live_campaign(text: str) -> CampaignState:
    """Return a campaign in which whatever can be typed is a formula."""
    name = " ".join(text.split())
    factors = (Factor(name, text, -5.0, 5.0), Factor(f"{name} b", levels=(text, "b")))
    attempt = Attempt(
        text,
        1,
        Conditions({factors[0].name: -2.5, factors[1].name: text}),
        NOON,
        NOON,
        text,
        None,
        Parted.YES,
        Pooled.BEADS,
        masses=Masses(10.0, 8.0),
        note=text,
        overrides=(AgeOverride(text, -1.0, text),),
        facts=RunFacts(operator=text, tool=text),
    )
    other = replace(attempt, id=f"{text}2", number=2, aborted=True, abort_reason=text, struck_reason=text)
    settings = CampaignSettings(title=text, metal=text, oil=text, bench_name=text)
    return CampaignState(settings, factors, (Lot(text, NOON, None, text),), attempts=(attempt, other))


def outputs(text: str) -> Iterator[tuple[str, str, str]]:
    """Yield what leaves the program as cells: name, text, delimiter."""
    state = live_campaign(text)
    with tempfile.TemporaryDirectory() as root:
        write_package(state, (), Path(root) / "p", description=text)
        for path in sorted((Path(root) / "p").glob("*.csv")):
            yield path.name, path.read_text(encoding="utf-8"), ","
    yield "ledger file", b"".join(finished(csv_steps(state.attempts, state))).decode("utf-8"), ","
    columns = Columns()
    columns.show(state, frozenset())
    yield "ledger copy", finished(table_steps(state.attempts, all_columns(columns, "."))), "\t"
    table = PictureTable(text, (text,), ((text,),), (text, "b"), ((text, "-0.5"), ("b", text)))
    yield "picture file", as_csv(table), ","
    yield "picture copy", as_tsv(table), "\t"
    refused = RefusedCell(2, text, text, InputError("table.empty", table=text))
    yield "refused cells", refused_csv([refused]), ","


@pytest.mark.parametrize("text", LIVE)
def test_no_cell_of_any_export_runs(text: str) -> None:
    # Common practice, no standard: OWASP, "CSV Injection" names = + - @ tab and carriage return as beginnings.
    names, cells = [], 0
    for name, written, delimiter in outputs(text):
        names.append(name)
        for row in csv.reader(io.StringIO(written, newline=""), delimiter=delimiter):
            for cell in row:
                cells += 1
                begins = cell.lstrip(" \t\r\n")[:1] if cell[:1] in " \t\r\n" else cell[:1]
                is_number = re.fullmatch(r"-[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]+)?", cell)
                assert begins not in ("=", "+", "@", "\uff1d") or not cell, (name, cell)
                assert not cell.startswith(("\t", "\r", "\n")), (name, cell)
                assert begins != "-" or is_number, (name, cell)
    assert {"attempts.csv", "ledger file", "ledger copy", "picture file", "picture copy", "refused cells"} <= set(
        names
    )
    assert cells > 200


def test_numbers_and_plain_words_stay_as_they_are() -> None:
    for plain in ("", "-2.5", "-1,5", "-3e-05", "12", "a=b", "x@y", "\u2212 3"):
        assert safe_cell(plain) == plain
    assert safe_cell("-2+3") == "'-2+3"
    assert safe_cell("'quoted") == "''quoted"
