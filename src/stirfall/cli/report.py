"""``stirfall report``: everything that was done and found as a lab report, or with the data as one bundle."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.ages import stamp
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument

if TYPE_CHECKING:
    from stirfall.reporting.report.tree import Report
    from stirfall.reporting.report.writing import WrittenReport

SCHEMA = "stirfall.report/1"


@click.command("report")
@session_argument
@click.option(
    "--out",
    metavar="PATH",
    multiple=True,
    required=True,
    type=click.Path(path_type=Path),
    help="Where to write: .pdf, .html or .md, or .zip for the bundle with the data. Repeat for several.",
)
@click.option(
    "--photos",
    metavar="all|none|NUMBERS",
    default="none",
    help="Photos to show: all, none (otherwise), or those of attempts by number: 3,7,12.",
)
@click.option("--with-names", is_flag=True, help="Name the operators; otherwise they are A, B and so on.")
@click.option("--paper", metavar="a4|letter", default="a4", help="The paper of a PDF; A4 otherwise.")
@json_option
def command(
    session: Path, out: tuple[Path, ...], photos: str, *, with_names: bool, paper: str, as_json: bool
) -> int:
    """Write everything that was done and found in the session FILE as a lab report.

    Clean, failed, aborted and struck-out attempts are all in it, with the limits and cautions in full. A bundle
    (.zip) holds the report in all forms, figures, recipe, chosen photos and the data, which import again.
    """
    from stirfall.cli.report_files import write_reports
    from stirfall.reporting.report.source import photo_numbers
    from stirfall.reporting.report.writing import Order

    chosen = photo_numbers(photos)
    orders = [Order(path, paper.strip().casefold()) for path in out]
    with open_to_read(session) as document:
        report, written = write_reports(document, orders, photos=chosen, with_names=with_names)
    if as_json:
        say_json(report_json(report, written))
        return 0
    if report.invented:
        say(f"{INVENTED_NOTICE}.")
    for each in written:
        say(f"Wrote {each.path}")
    return 0


def report_json(report: Report, written: list[WrittenReport]) -> dict[str, object]:
    """Return what was written, with the SHA-256 of each file."""
    return {
        "schema": SCHEMA,
        "program_version": __version__,
        "title": report.title,
        "invented": report.invented,
        "fingerprint": report.fingerprint,
        "made": stamp(report.created_at),
        "recommends": report.recipe is not None,
        "parts": [heading.text for heading in report.headings if heading.level == 2],
        "tables": len(report.tables),
        "figures": len(report.figures),
        "photos": len(report.photos),
        "written": [{"path": str(each.path), "files": dict(each.files)} for each in written],
    }
