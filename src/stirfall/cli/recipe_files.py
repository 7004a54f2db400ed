"""A recipe as a file; its suffix names the form."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.cli.display import draw_unseen

if TYPE_CHECKING:
    from stirfall.reporting.recipe import Recipe

SUFFIXES = (".md", ".json", ".pdf")


def save_recipe(recipe: Recipe, path: Path) -> Path:
    """Write the recipe as Markdown, JSON or PDF and return the path.

    Raises InputError ``recipe.suffix`` and FileTroubleError ``recipe.not_written``.
    """
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError("recipe.suffix", suffix=path.suffix or path.name)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if suffix == ".pdf":
            _write_pdf(recipe, path)
        else:
            path.write_text(_text(recipe, suffix), encoding="utf-8")
    except OSError as error:
        raise FileTroubleError("recipe.not_written", path=str(path), why=error.strerror or "") from error
    return path


def _text(recipe: Recipe, suffix: str) -> str:
    if suffix == ".md":
        from stirfall.reporting.markdown import render_markdown

        return render_markdown(recipe)
    from stirfall.reporting.json_form import recipe_json

    return json.dumps(recipe_json(recipe), indent=2, ensure_ascii=False) + "\n"


def _write_pdf(recipe: Recipe, path: Path) -> None:
    draw_unseen()
    from stirfall.desktop.pdf import write_recipe_pdf

    write_recipe_pdf(recipe, path)
