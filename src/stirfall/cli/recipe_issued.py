"""``stirfall recipe --issued``, ``--show`` and ``--compare``: recipes that were kept, and how two differ."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.bench.ages import as_utc
from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.cli.output import complain, say, say_json
from stirfall.cli.session_arguments import open_to_read

if TYPE_CHECKING:
    from stirfall.bench.issued import IssuedRecipe
    from stirfall.reporting.recipe_compare import ComparedRecipes
    from stirfall.reporting.recipe_issue import IssuedRow
    from stirfall.reporting.recipe_parts import Recipe
    from stirfall.session.document import Document

NOW = "now"


def look_back(
    session: Path,
    *,
    listed: bool,
    show: int | None,
    compare: tuple[str, str] | None,
    present: Callable[[Document], Recipe],
    write: Callable[[Recipe], None],
    out: tuple[Path, ...],
    as_json: bool,
) -> int:
    """List, show or compare issued recipes; returns 0. Raises InputError ``recipe.one_at_a_time`` and others."""
    if sum((listed, show is not None, compare is not None)) > 1:
        raise InputError("recipe.one_at_a_time")
    if listed and out:
        raise InputError("recipe.list_not_written")
    if compare is not None and any(path.suffix.lower() == ".pdf" for path in out):
        raise InputError("recipe.comparison_no_sheet")
    with open_to_read(session) as document:
        if listed:
            _list(document.state.recipes, as_json=as_json)
        elif show is not None:
            _show(document.state.recipes, show, write, as_json=as_json)
        elif compare is not None:
            first, second = (_named(document, each, present) for each in compare)
            _compare(first, second, out, as_json=as_json)
    return 0


def _list(recipes: Sequence[IssuedRecipe], *, as_json: bool) -> None:
    from stirfall.reporting.recipe_issue import issued_json, issued_rows

    rows = issued_rows(recipes)
    if as_json:
        say_json(issued_json(rows))
        return
    if not rows:
        say("No recipe was issued yet. --issue keeps one.")
    for row in rows:
        _say_row(row)


def _say_row(row: IssuedRow) -> None:
    issued = as_utc(row.issued_at).strftime("%Y-%m-%d %H:%M UTC")
    if row.problem:
        complain(row.problem)
        return
    note = f", {row.note}" if row.note else ""
    batch = f", batch {row.batch}" if row.batch else ""
    say(f"No. {row.number}, {issued}: {row.chance}{batch}, proof: {row.proof}{note}")


def _show(recipes: Sequence[IssuedRecipe], number: int, write: Callable[[Recipe], None], *, as_json: bool) -> None:
    from stirfall.reporting.markdown import render_markdown
    from stirfall.reporting.recipe_issue import issued_recipe, shown_again

    recipe = shown_again(issued_recipe(recipes, number))
    write(recipe)
    if not as_json:
        say(render_markdown(recipe).rstrip())


def _named(document: Document, text: str, present: Callable[[Document], Recipe]) -> Recipe:
    from stirfall.reporting.recipe_issue import issued_recipe, shown_again

    if text.strip().casefold() == NOW:
        return present(document)
    try:
        number = int(text)
    except ValueError:
        raise InputError("recipe.number_unreadable", text=text) from None
    return shown_again(issued_recipe(document.state.recipes, number))


def _compare(first: Recipe, second: Recipe, out: Sequence[Path], *, as_json: bool) -> None:
    from stirfall.reporting.recipe_compare import compare_recipes, comparison_json

    compared = compare_recipes(first, second)
    for path in out:
        _write_comparison(compared, path)
        if not as_json:
            say(f"Wrote {path}")
    if as_json:
        say_json(comparison_json(compared))
        return
    say(f"{compared.second} against {compared.first}")
    for text in compared.sentences:
        say(text)
    for row in compared.rows:
        moved = f"  ({row.moved})" if row.moved else ""
        say(f"{row.name}: {row.first} -> {row.second}{moved}")


def _write_comparison(compared: ComparedRecipes, path: Path) -> None:
    from stirfall.reporting.recipe_compare import comparison_json, comparison_markdown
    from stirfall.storage.copies import write_atomic

    if path.suffix.lower() == ".json":
        text = json.dumps(comparison_json(compared), indent=2, ensure_ascii=False) + "\n"
    else:
        text = comparison_markdown(compared)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(path, text.encode("utf-8"))
    except OSError as error:
        raise FileTroubleError("recipe.not_written", path=str(path), why=error.strerror or "") from error
