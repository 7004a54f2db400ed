"""``stirfall demo``: a sample campaign in the window, or the same job as text and files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.factors import Conditions
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.cli.display import draw_unseen, has_display
from stirfall.cli.output import say

if TYPE_CHECKING:
    from stirfall.session.document import Document

SESSION_NAME = "demo.stirfall"
_RECIPES = ("recipe.md", "recipe.json", "recipe.pdf")


@click.command("demo")
@click.option(
    "--out",
    metavar="DIR",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("stirfall_demo"),
    help="Where the sample session and the files go; ./stirfall_demo otherwise.",
)
def command(out: Path) -> int:
    """Open a sample campaign in the window; where no display exists, do the same job as text and files."""
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileTroubleError("demo.folder", path=str(out), why=error.strerror or "") from error
    session = out / SESSION_NAME
    with _sample(session) as document:
        if not has_display():
            _without_a_window(document, out)
            return 0
    from stirfall.desktop.app import run

    say(f"{INVENTED_NOTICE}. The session is {session}.")
    return run([str(session)])


def _sample(session: Path) -> Document:
    """Open the demo session that is there, with whatever was recorded in it, or make it."""
    from stirfall.session.document import Document
    from stirfall.session.samples import open_sample, samples

    if session.exists():
        return Document.open(session)
    return open_sample(samples()[0].key, session)


def _without_a_window(document: Document, out: Path) -> None:
    from stirfall.cli.conditions import choose
    from stirfall.cli.next_attempts import next_lines
    from stirfall.cli.odds_posterior import posterior_lines
    from stirfall.cli.recipe_files import save_recipe
    from stirfall.reporting.cautions import load_cautions
    from stirfall.reporting.recipe import make_recipe
    from stirfall.session.analysis import analyse

    say(f"There is no display here, so the same job is done as text and as files in {out}.")
    say()
    state = document.state
    analysis = analyse(state, refined=True)
    for line in posterior_lines(analysis, choose(analysis, Conditions())):
        say(line)
    say()
    say("Next attempts:")
    for line in next_lines(analysis, analysis.suggest(count=3, goal="reliable", now=document.now())):
        say(line)
    say()
    say(f"Caution: {load_cautions(state.settings.material).headline}")
    say()
    recipe = make_recipe(
        analysis,
        analysis.best().conditions,
        fingerprint=document.fingerprint,
        session_name=document.path.name,
        created_at=document.now(),
    )
    # The picture comes first: the window needs more of Qt than the PDF does, and Qt cannot be given more later.
    draw_unseen()
    from stirfall.desktop.app import grab_window

    grab_window(out / "window.png", document.path)
    for path in (*(save_recipe(recipe, out / name) for name in _RECIPES), out / "window.png"):
        say(f"Wrote {path}")
