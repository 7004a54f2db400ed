"""``stirfall recipe``: the recipe of any batch size, for readers or the bench; issued, shown again, compared."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.units import parse_quantity
from stirfall.cli.output import complain, say
from stirfall.cli.recipe_files import READER, SHEETS, check_suffix, save_recipe
from stirfall.cli.session_arguments import (
    at_option,
    conditions_at,
    json_option,
    open_to_read,
    session_argument,
)

if TYPE_CHECKING:
    from stirfall.reporting.recipe import Recipe
    from stirfall.reporting.recipe_batch import BatchOrder, BatchSize
    from stirfall.session.analysis import Analysis
    from stirfall.session.document import Document

# What the batch is made in: option, unit of a bare number, field of the order.
_BATCH = {
    "batch": ("g", "charge_g"),
    "from_batch": ("g", "from_g"),
    "vessel": ("mL", "vessel_ml"),
    "vessel_width": ("mm", "vessel_mm"),
    "stirrer": ("mm", "stirrer_mm"),
    "jar_width": ("mm", "jar_mm"),
    "oil": ("mL", "oil_ml"),
    "heat_up": ("s", "heat_up_s"),
}


@dataclass(frozen=True)
class _Wish:
    """What is to be done with the recipe."""

    at: tuple[str, ...]
    out: tuple[Path, ...]
    sheet: str
    paper: str
    issue: bool
    note: str
    issued: bool
    show: int | None
    compare: tuple[str, str] | None
    as_json: bool


@click.command("recipe")
@session_argument
@at_option
@click.option(
    "--out",
    metavar="PATH",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Where to write: .md, .json or .pdf. Repeat for several.",
)
@click.option(
    "--sheet", type=click.Choice(SHEETS), default=READER, help="The sheet for readers, or the bench sheet."
)
@click.option("--paper", default="A4", help="Paper of the bench sheet as PDF: A4 or Letter.")
@click.option("--batch", metavar="MASS", help="The batch size, such as 30g; amounts and settings follow.")
@click.option("--from-batch", metavar="MASS", help="The proven batch to scale from; a middle one otherwise.")
@click.option("--vessel", metavar="VOLUME", help="Volume of the vessel for this size, to the brim, in mL.")
@click.option("--vessel-width", metavar="LENGTH", help="Inner diameter of that vessel, in mm.")
@click.option("--stirrer", metavar="LENGTH", help="Diameter of its stirring circle, in mm.")
@click.option("--jar-width", metavar="LENGTH", help="Inner diameter of the jar for this size, in mm.")
@click.option("--oil", metavar="VOLUME", help="Hot oil that the proven batch had, in mL.")
@click.option("--heat-up", metavar="TIME", help="How long the proven batch took to heat up, such as 20min.")
@click.option("--issue", is_flag=True, help="Keep the recipe in the session as issued, with its evidence.")
@click.option("--note", default="", help="Why it is issued.")
@click.option("--issued", is_flag=True, help="List the recipes that were issued.")
@click.option("--show", type=int, metavar="N", help="Show issued recipe N again, exactly as it was issued.")
@click.option(
    "--compare",
    nargs=2,
    metavar="N M",
    help="Compare two issued recipes; 'now' stands for the present one.",
)
@json_option
def command(session: Path, **options: object) -> int:
    """Write the recipe for the conditions given, or for the best condition now.

    With --batch the steps and amounts are those of another size, with warnings beyond what was proven. --issue
    keeps the recipe in the session FILE; --issued, --show and --compare look at those that were kept.
    """
    batch = read_batch({name: options.pop(name) for name in _BATCH})
    wish = _Wish(**options)  # type: ignore[arg-type]  # click has checked each kind
    for path in wish.out:
        check_suffix(path)
    if wish.issued or wish.show is not None or wish.compare:
        from stirfall.cli.recipe_issued import look_back

        return look_back(
            session,
            listed=wish.issued,
            show=wish.show,
            compare=wish.compare,
            present=lambda document: present_recipe(document, wish.at, batch)[1],
            write=lambda recipe: _write(recipe, wish),
            out=wish.out,
            as_json=wish.as_json,
        )
    return _make(session, wish, batch)


def read_batch(given: dict[str, object]) -> BatchOrder:
    """Return the order of a batch as typed; raises InputError of the units and ``batch.not_positive``."""
    from stirfall.reporting.recipe_batch import BatchOrder

    fields = {}
    for name, text in given.items():
        unit, field = _BATCH[name]
        if text is not None:
            fields[field] = parse_quantity(str(text), unit)
    return BatchOrder(**fields)


def present_recipe(
    document: Document, at: tuple[str, ...], batch: BatchOrder
) -> tuple[Analysis, Recipe, Conditions]:
    """Return the recipe as the session stands now, with the analysis and the conditions that it answers for."""
    from stirfall.reporting.recipe import make_recipe
    from stirfall.session.analysis import analyse

    analysis = analyse(document.state, refined=True)
    given = conditions_at(document.state.factors, at)
    conditions = given or analysis.best().conditions
    recipe = make_recipe(
        analysis,
        conditions,
        fingerprint=document.fingerprint,
        session_name=document.path.name,
        created_at=document.now(),
        corrections=document.corrections(),
        batch=batch,
    )
    return analysis, recipe, conditions


def _make(session: Path, wish: _Wish, batch: BatchOrder) -> int:
    if not (wish.out or wish.issue or wish.as_json or batch.charge_g):
        raise InputError("recipe.nothing_asked")
    with _opened(session, to_write=wish.issue) as document:
        analysis, recipe, conditions = present_recipe(document, wish.at, batch)
        if wish.issue:
            recipe = _issue(document, recipe, wish)
    _write(recipe, wish)
    if batch.charge_g and not wish.as_json:
        _say_batch(recipe.batch)
    return _say_findings(analysis, conditions, blocked=recipe.blocked)


def _opened(session: Path, *, to_write: bool) -> Document:
    from stirfall.session.document import Document

    return Document.open(session) if to_write else open_to_read(session)


def _issue(document: Document, recipe: Recipe, wish: _Wish) -> Recipe:
    """Keep the recipe in the session; returns it as it is shown from then on."""
    from stirfall.reporting.recipe_issue import issued_of, shown_again
    from stirfall.session.commands import IssueRecipe

    document.execute(IssueRecipe(issued_of(recipe, note=wish.note)))
    kept = max(document.state.recipes, key=lambda each: each.number)
    if not wish.as_json:
        say(f"Issued as recipe no. {kept.number}")
    return shown_again(kept)


def _write(recipe: Recipe, wish: _Wish) -> None:
    for path in wish.out:
        saved = save_recipe(recipe, path, sheet=wish.sheet, paper=wish.paper)
        if not wish.as_json:
            say(f"Wrote {saved}")
    if wish.as_json:
        _say_json(recipe, wish.sheet)


def _say_json(recipe: Recipe, sheet: str) -> None:
    from stirfall.cli.output import say_json
    from stirfall.reporting.json_form import recipe_json
    from stirfall.reporting.recipe_sheet import make_bench_sheet, sheet_json

    say_json(recipe_json(recipe) if sheet == READER else sheet_json(make_bench_sheet(recipe)))


def _say_batch(batch: BatchSize | None) -> None:
    """Print what goes in and what is set, before and after, with how it was got."""
    if batch is None:
        return
    for line in batch.lines:
        say(f"{line.name}: {line.shown_before} -> {line.shown_after} ({line.how})")
    for text in batch.asked:
        say(f"Not known: {text}")
    for each in batch.warnings:
        if each.level == "note":
            say(f"Note: {each.text}")
        else:
            complain(each.text)


def _say_findings(analysis: Analysis, conditions: Conditions, *, blocked: bool) -> int:
    """Print what the limits say about the conditions; return 1 when they would never be suggested."""
    from stirfall.reporting.sentences import sentence

    for finding in analysis.limits.check(conditions):
        complain(sentence(finding.code, finding.params))
    return 0 if analysis.limits.allows(conditions) and not blocked else 1
