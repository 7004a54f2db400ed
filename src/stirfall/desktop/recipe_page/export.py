"""A recipe as files: Markdown, JSON and PDF, each written whole or not at all."""

from __future__ import annotations

import re
from pathlib import Path

from stirfall.reporting.recipe_parts import Recipe
from stirfall.reporting.recipe_text import recipe_text
from stirfall.storage.copies import write_atomic

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
        from stirfall.desktop.pdf import write_recipe_pdf

        write_recipe_pdf(recipe, path, decimal=decimal)
        return
    text = recipe_text(recipe, ".json" if kind == "JSON" else ".md", decimal=decimal)
    write_atomic(path, text.encode("utf-8"))
