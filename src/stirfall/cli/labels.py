"""``stirfall labels``: labels for jars as PDF, on sheets or one by one."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.errors import InputError
from stirfall.cli.output import say
from stirfall.cli.session_arguments import open_to_read, session_argument

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.records import Jar
    from stirfall.reporting.label_sheet import LabelSheet
    from stirfall.reporting.labels import Label

_PAIR = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*[x\u00d7*]\s*(\d+(?:[.,]\d+)?)\s*$", re.IGNORECASE)
_GRID = "3x8"


@click.command("labels")
@session_argument
@click.option(
    "--jars",
    metavar="ID",
    multiple=True,
    help="A jar, or shelf (the usual), planned, residue or all. Repeat for several, or part them with commas.",
)
@click.option(
    "--attempts", metavar="N", multiple=True, help="Instead: the product of this attempt. Repeat, or use commas."
)
@click.option("--out", metavar="PATH", required=True, type=click.Path(path_type=Path), help="The PDF to write.")
@click.option("--paper", metavar="NAME", default="A4", show_default=True, help="A4 or US Letter.")
@click.option("--grid", metavar="CxR", help=f"Columns by rows that fill the page; {_GRID} unless --size is given.")
@click.option("--size", metavar="WxH", help="Size of a label in mm, such as 70x37; as many as the page holds.")
@click.option("--gap", metavar="XxY", default="0x0", show_default=True, help="Gap between labels in mm.")
@click.option("--single", is_flag=True, help="One label on each page, which is as large as the label.")
@click.option("--start-at", metavar="N", type=int, default=1, show_default=True, help="The first free position.")
@click.option(
    "--copies", metavar="N", type=click.IntRange(1, 100), default=1, show_default=True, help="Of each label."
)
@click.option("--cut-lines", is_flag=True, help="Draw thin lines to cut along, for plain paper.")
def command(
    session: Path,
    *,
    jars: tuple[str, ...],
    attempts: tuple[str, ...],
    out: Path,
    paper: str,
    grid: str | None,
    size: str | None,
    gap: str,
    single: bool,
    start_at: int,
    copies: int,
    cut_lines: bool,
) -> int:
    """Write labels as PDF: scannable code, large id, contents, hazard words, start and use-by."""
    sheet = _sheet(paper, grid, size, gap, single=single)
    with open_to_read(session) as document:
        state = document.state
        labels = [label for label in _labels(state, jars, attempts) for _ in range(copies)]
        title = f"Labels: {state.settings.title}"
    sheet.pages(len(labels), start_at)
    from stirfall.cli.display import draw_unseen

    draw_unseen()
    from stirfall.desktop.printing.jobs import write_pdf
    from stirfall.desktop.printing.label_pages import label_job

    out.parent.mkdir(parents=True, exist_ok=True)
    job = label_job(labels, sheet, start_at=start_at, cut_lines=cut_lines, title=title)
    write_pdf(job, out)
    say(f"Wrote {out}: {_counted(len(labels), 'label')} on {_counted(len(job.pages), 'page')}")
    return 0


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _sheet(paper: str, grid: str | None, size: str | None, gap: str, *, single: bool) -> LabelSheet:
    from stirfall.reporting.label_sheet import one_by_one, sheet_by_grid, sheet_by_size

    if grid is not None and (single or size is not None):
        raise InputError("labels.grid_and_size")
    if single:
        return one_by_one(_pair(size, "labels.size")) if size is not None else one_by_one()
    gaps = _pair(gap, "labels.size")
    if size is not None:
        return sheet_by_size(paper, _pair(size, "labels.size"), gaps)
    text = grid if grid is not None else _GRID
    columns, rows = _pair(text, "labels.grid")
    if columns != int(columns) or rows != int(rows):
        raise InputError("labels.grid", text=text)
    return sheet_by_grid(paper, int(columns), int(rows), gaps)


def _pair(text: str, code: str) -> tuple[float, float]:
    match = _PAIR.match(text)
    if match is None:
        raise InputError(code, text=text)
    first, second = (float(part.replace(",", ".")) for part in match.groups())
    return first, second


def _labels(state: CampaignState, jars: tuple[str, ...], attempts: tuple[str, ...]) -> list[Label]:
    """Make the labels asked for: of jars, unless only products of attempts are."""
    from stirfall.reporting.labels import choose_attempts, make_label, make_product_label

    made = [make_label(state, jar) for jar in _jars(state, jars)] if jars or not attempts else []
    numbers = [part.strip() for text in attempts for part in text.split(",") if part.strip()]
    for number in numbers:
        if not number.isdecimal():
            raise InputError("labels.no_attempt", number=number)
    return [*made, *(make_product_label(state, each) for each in choose_attempts(state, [int(n) for n in numbers]))]


def _jars(state: CampaignState, texts: tuple[str, ...]) -> tuple[Jar, ...]:
    """Find the jars; a comma parts ids, unless a jar has one in its own."""
    from stirfall.reporting.labels import SHELF, choose_jars

    words: list[str] = []
    for text in texts or (SHELF,):
        whole = state.jar(text.strip()) is not None or "," not in text
        words += [text.strip()] if whole else [part.strip() for part in text.split(",") if part.strip()]
    return choose_jars(state, words)
