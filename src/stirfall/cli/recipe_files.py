"""A recipe as a file; its suffix names the form."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.cli.display import draw_unseen

if TYPE_CHECKING:
    from stirfall.reporting.recipe import Recipe

SUFFIXES = (".md", ".json", ".pdf")


def save_recipe(recipe: Recipe, path: Path) -> Path:
    """Write the recipe as Markdown, JSON or PDF and return the path; a file that is there stays until it is whole.

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
            _write_text(recipe, path, suffix)
    except OSError as error:
        raise FileTroubleError("recipe.not_written", path=str(path), why=error.strerror or "") from error
    return path


def _write_text(recipe: Recipe, path: Path, suffix: str) -> None:
    from stirfall.reporting.recipe_text import recipe_text
    from stirfall.storage.copies import write_atomic

    write_atomic(path, recipe_text(recipe, ".json" if suffix == ".json" else ".md").encode("utf-8"))


def _write_pdf(recipe: Recipe, path: Path) -> None:
    draw_unseen()
    from stirfall.desktop.pdf import write_recipe_pdf

    write_recipe_pdf(recipe, path)
