"""A recipe as files: Markdown, JSON and PDF of either sheet, each written whole or not at all."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.desktop.recipe_page.sheets import SheetKind
from stirfall.reporting.recipe_parts import Recipe
from stirfall.storage.copies import write_atomic

if TYPE_CHECKING:
    from stirfall.reporting.recipe_compare import ComparedRecipes

FORMATS = {
    "Markdown": ("md", "Markdown (*.md)"),
    "JSON": ("json", "JSON (*.json)"),
    "PDF": ("pdf", "PDF (*.pdf)"),
}


def file_name(recipe: Recipe, suffix: str, kind: SheetKind = SheetKind.READER) -> str:
    """Return a file name for a recipe, made from its title."""
    words = re.sub(r"[^a-z0-9]+", "-", recipe.title.casefold()).strip("-") or "recipe"
    number = "" if recipe.number is None else f"-{recipe.number}"
    what = "recipe" if kind is SheetKind.READER else "bench-sheet"
    return f"{words}-{what}{number}.{suffix}"


def write_recipe(
    recipe: Recipe, path: Path, kind: str, *, decimal: str = ".", sheet: SheetKind = SheetKind.READER
) -> None:
    """Write a recipe in one of ``FORMATS``; raises FileTroubleError or OSError, and then leaves the old file."""
    if sheet is SheetKind.BENCH:
        _write_bench(recipe, path, kind, decimal)
        return
    if kind == "PDF":
        from stirfall.desktop.pdf import write_recipe_pdf

        write_recipe_pdf(recipe, path, decimal=decimal)
        return
    from stirfall.reporting.recipe_text import recipe_text  # loads the analysis, which the window opens without

    text = recipe_text(recipe, ".json" if kind == "JSON" else ".md", decimal=decimal)
    write_atomic(path, text.encode("utf-8"))


def _write_bench(recipe: Recipe, path: Path, kind: str, decimal: str) -> None:
    from stirfall.reporting.recipe_sheet import make_bench_sheet, sheet_json
    from stirfall.reporting.recipe_sheet_markdown import sheet_markdown

    made = make_bench_sheet(recipe, decimal=decimal)
    if kind == "PDF":
        from stirfall.desktop.pdf_bench import write_bench_pdf

        write_bench_pdf(made, path)
        return
    text = json.dumps(sheet_json(made), indent=2, ensure_ascii=False) + "\n"
    write_atomic(path, (text if kind == "JSON" else sheet_markdown(made)).encode("utf-8"))


def comparison_name(compared: ComparedRecipes, suffix: str) -> str:
    """Return a file name for a comparison, made from what is compared."""
    words = re.sub(r"[^a-z0-9]+", "-", f"{compared.first} and {compared.second}".casefold()).strip("-")
    return f"{words}.{suffix}"


def write_comparison(compared: ComparedRecipes, path: Path, kind: str) -> None:
    """Write how two recipes differ as Markdown or JSON; raises FileTroubleError or OSError."""
    from stirfall.reporting.recipe_compare import comparison_json, comparison_markdown

    if kind == "JSON":
        text = json.dumps(comparison_json(compared), indent=2, ensure_ascii=False) + "\n"
    else:
        text = comparison_markdown(compared)
    write_atomic(path, text.encode("utf-8"))
