"""``stirfall recipe``: the conditions, tolerances, evidence and cautions as a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.cli.output import complain, say
from stirfall.cli.recipe_files import SUFFIXES, save_recipe
from stirfall.cli.session_arguments import at_option, conditions_at, open_to_read, session_argument

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis


@click.command("recipe")
@session_argument
@at_option
@click.option(
    "--out",
    metavar="PATH",
    multiple=True,
    required=True,
    type=click.Path(path_type=Path),
    help="Where to write: .md, .json or .pdf. Repeat for several.",
)
def command(session: Path, at: tuple[str, ...], out: tuple[Path, ...]) -> int:
    """Write the recipe for the conditions given, or for the best condition now."""
    for path in out:
        if path.suffix.lower() not in SUFFIXES:
            raise InputError("recipe.suffix", suffix=path.suffix or path.name)
    from stirfall.reporting.recipe import make_recipe
    from stirfall.session.analysis import analyse

    with open_to_read(session) as document:
        analysis = analyse(document.state, refined=True)
        conditions = _conditions(analysis, conditions_at(document.state.factors, at))
        recipe = make_recipe(
            analysis,
            conditions,
            fingerprint=document.fingerprint,
            session_name=document.path.name,
            created_at=document.now(),
            corrections=document.corrections(),
        )
    for path in out:
        say(f"Wrote {save_recipe(recipe, path)}")
    return _say_findings(analysis, conditions)


def _conditions(analysis: Analysis, given: Conditions) -> Conditions:
    if not given:
        return analysis.best().conditions
    return given


def _say_findings(analysis: Analysis, conditions: Conditions) -> int:
    """Print what the limits say about the conditions; return 1 when they would never be suggested."""
    from stirfall.reporting.sentences import sentence

    for finding in analysis.limits.check(conditions):
        complain(sentence(finding.code, finding.params))
    return 0 if analysis.limits.allows(conditions) else 1
