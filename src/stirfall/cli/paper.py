"""``stirfall paper``: blank records for an evening without a screen, or the card of acts, as PDF."""

from __future__ import annotations

from pathlib import Path

import click

from stirfall.cli.output import say
from stirfall.cli.session_arguments import open_to_read, session_argument


@click.command("paper")
@session_argument
@click.option("--out", metavar="PATH", required=True, type=click.Path(path_type=Path), help="The PDF to write.")
@click.option("--paper", metavar="NAME", default="A4", show_default=True, help="A4 or US Letter.")
@click.option(
    "--copies", metavar="N", type=click.IntRange(1, 200), default=1, show_default=True, help="How many records."
)
@click.option("--card", is_flag=True, help="Write the card of acts, to scan during a guided run, instead.")
def command(session: Path, *, out: Path, paper: str, copies: int, card: bool) -> int:
    """Write blank records of one attempt each, with the campaign's factors and hazards, as PDF."""
    from stirfall.reporting.paper_sheet import make_paper_sheet

    with open_to_read(session) as document:
        sheet = make_paper_sheet(document.state)
    from stirfall.cli.display import draw_unseen

    draw_unseen()
    from stirfall.desktop.printing.card_drawing import card_job
    from stirfall.desktop.printing.jobs import drawing_application, write_pdf
    from stirfall.desktop.printing.paper_drawing import paper_job
    from stirfall.reporting.act_card import act_card

    application = drawing_application()
    job = card_job(act_card(), paper=paper) if card else paper_job(sheet, paper=paper, copies=copies)
    out.parent.mkdir(parents=True, exist_ok=True)
    write_pdf(job, out)
    del application
    say(f"Wrote {out}")
    return 0
