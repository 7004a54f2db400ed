"""A recipe as a file, as the sheet for readers or the one for the bench; its suffix names the form."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.cli.display import draw_unseen

if TYPE_CHECKING:
    from stirfall.reporting.recipe import Recipe

SUFFIXES = (".md", ".json", ".pdf")
READER, BENCH = "reader", "bench"
SHEETS = (READER, BENCH)


def check_suffix(path: Path) -> str:
    """Return the suffix of a file that a recipe can be written to; raises InputError ``recipe.suffix``."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise InputError("recipe.suffix", suffix=path.suffix or path.name)
    return suffix


def save_recipe(recipe: Recipe, path: Path, *, sheet: str = READER, paper: str = "A4") -> Path:
    """Write the recipe as Markdown, JSON or PDF and return the path; a file that is there stays until it is whole.

    ``sheet`` is one of ``SHEETS``; ``paper`` is that of the bench sheet. Raises InputError ``recipe.suffix`` or
    ``recipe.sheet``, and FileTroubleError ``recipe.not_written``.
    """
    suffix = check_suffix(path)
    if sheet not in SHEETS:
        raise InputError("recipe.sheet", sheet=sheet, known=", ".join(SHEETS))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if suffix == ".pdf":
            _write_pdf(recipe, path, sheet, paper)
        else:
            _write_text(recipe, path, suffix, sheet)
    except OSError as error:
        raise FileTroubleError("recipe.not_written", path=str(path), why=error.strerror or "") from error
    return path


def _write_text(recipe: Recipe, path: Path, suffix: str, sheet: str) -> None:
    from stirfall.reporting.recipe_text import recipe_text
    from stirfall.storage.copies import write_atomic

    if sheet == READER:
        text = recipe_text(recipe, ".json" if suffix == ".json" else ".md")
    else:
        text = _bench_text(recipe, suffix)
    write_atomic(path, text.encode("utf-8"))


def _bench_text(recipe: Recipe, suffix: str) -> str:
    from stirfall.reporting.recipe_sheet import make_bench_sheet, sheet_json
    from stirfall.reporting.recipe_sheet_markdown import sheet_markdown

    made = make_bench_sheet(recipe)
    if suffix == ".md":
        return sheet_markdown(made)
    return json.dumps(sheet_json(made), indent=2, ensure_ascii=False) + "\n"


def _write_pdf(recipe: Recipe, path: Path, sheet: str, paper: str) -> None:
    draw_unseen()
    if sheet == READER:
        from stirfall.desktop.pdf import write_recipe_pdf

        write_recipe_pdf(recipe, path)
        return
    from stirfall.desktop.pdf_bench import write_bench_pdf
    from stirfall.reporting.recipe_sheet import make_bench_sheet

    write_bench_pdf(make_bench_sheet(recipe), path, paper=paper)
