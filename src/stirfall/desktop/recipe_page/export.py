"""A recipe as files: Markdown, JSON and PDF, each written whole or not at all."""

from __future__ import annotations

import json
import re
from pathlib import Path

from stirfall.reporting.recipe_parts import Recipe
from stirfall.storage.copies import put_in_place, temporary_beside, write_atomic

FORMATS = {
    "Markdown": ("md", "Markdown (*.md)"),
    "JSON": ("json", "JSON (*.json)"),
    "PDF": ("pdf", "PDF (*.pdf)"),
}


def file_name(recipe: Recipe, suffix: str) -> str:
    """Return a file name for a recipe, made from its title."""
    words = re.sub(r"[^a-z0-9]+", "-", recipe.title.casefold()).strip("-") or "recipe"
    return f"{words}-recipe.{suffix}"


def write_recipe(recipe: Recipe, path: Path, kind: str, *, decimal: str = ".") -> None:
    """Write a recipe in one of ``FORMATS``; raises FileTroubleError or OSError, and then leaves the old file."""
    if kind == "PDF":
        _write_pdf(recipe, path, decimal)
        return
    write_atomic(path, _text(recipe, kind, decimal).encode("utf-8"))


def _text(recipe: Recipe, kind: str, decimal: str) -> str:
    if kind == "JSON":
        from stirfall.reporting.json_form import recipe_json

        return json.dumps(recipe_json(recipe), indent=2, ensure_ascii=False) + "\n"
    from stirfall.reporting.markdown import render_markdown

    return render_markdown(recipe, decimal=decimal)


def _write_pdf(recipe: Recipe, path: Path, decimal: str) -> None:
    from stirfall.desktop.pdf import write_recipe_pdf

    part = temporary_beside(path)
    try:
        write_recipe_pdf(recipe, part, decimal=decimal)
        put_in_place(part, path)
    finally:
        part.unlink(missing_ok=True)
