"""Issuing a recipe: what is kept of it, the list of those issued, and how one is shown again."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.issued import IssuedRecipe
from stirfall.reporting.json_form import recipe_json
from stirfall.reporting.recipe_parts import Recipe
from stirfall.reporting.recipe_read import recipe_from_text
from stirfall.reporting.shares import in_full

SCHEMA = "stirfall.issued-recipes/1"
HEADINGS = ("No.", "Issued", "Chance of a clean separation", "Attempts", "Batch", "Proof", "Note")


@dataclass(frozen=True)
class IssuedRow:
    """One issued recipe as a list shows it; ``problem`` says why its document cannot be read, "" where it can."""

    number: int
    issued_at: datetime
    chance: str
    attempts: int
    batch: str
    proof: str
    note: str
    problem: str = ""


def issued_of(recipe: Recipe, *, note: str = "") -> IssuedRecipe:
    """Return the recipe as a session keeps it; its number, time and id are given when it is written.

    Raises InputError ``recipe.blocked``: what the limits forbid is not issued.
    """
    if recipe.blocked:
        raise InputError("recipe.blocked")
    return IssuedRecipe(
        id="",
        number=0,
        issued_at=recipe.created_at,
        title=recipe.title,
        conditions=Conditions({value.name: value.value for value in recipe.values}),
        document=json.dumps(recipe_json(recipe), ensure_ascii=False, separators=(",", ":")),
        fingerprint=recipe.fingerprint,
        program_version=recipe.program_version,
        note=note.strip(),
    )


def issued_recipe(recipes: Iterable[IssuedRecipe], number: int) -> IssuedRecipe:
    """Return the issued recipe with this number; raises InputError ``recipe.no_number``."""
    known = list(recipes)
    for each in known:
        if each.number == number:
            return each
    raise InputError(
        "recipe.no_number", number=number, known=", ".join(str(each.number) for each in known) or "none"
    )


def shown_again(issued: IssuedRecipe) -> Recipe:
    """Return an issued recipe as it was issued; raises InputError ``recipe.not_readable``."""
    return recipe_from_text(issued.document, number=issued.number)


def issued_rows(recipes: Iterable[IssuedRecipe]) -> tuple[IssuedRow, ...]:
    """Return every issued recipe as the list shows it, in the order of their numbers."""
    return tuple(_row(each) for each in sorted(recipes, key=lambda each: each.number))


def _row(issued: IssuedRecipe) -> IssuedRow:
    from stirfall.reporting.sentences import error_sentence

    try:
        recipe = shown_again(issued)
    except InputError as error:
        return IssuedRow(issued.number, issued.issued_at, "", 0, "", "", issued.note, error_sentence(error))
    charge = recipe.batch.line("charge") if recipe.batch is not None else None
    return IssuedRow(
        number=issued.number,
        issued_at=issued.issued_at,
        chance=in_full(recipe.probability),
        attempts=recipe.evidence.used,
        batch=charge.shown_after if charge is not None else "",
        proof="; ".join(f"{each.verdict} ({each.made - each.failures} of {each.made})" for each in recipe.proofs)
        or "none",
        note=issued.note,
    )


def issued_json(rows: Iterable[IssuedRow]) -> dict[str, object]:
    """Return the list as a JSON document."""
    return {
        "schema": SCHEMA,
        "recipes": [{**vars(row), "issued_at": row.issued_at.isoformat()} for row in rows],
    }
