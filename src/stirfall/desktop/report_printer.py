"""Draws the PDFs of a report and of its recipe, for the window, the command line and scripts."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.desktop.pdf import write_recipe_pdf
from stirfall.desktop.report_pdf import report_pdf

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.reporting.recipe_parts import Recipe
    from stirfall.reporting.report.tree import Report


class QtPrinter:
    """Draws with Qt; nothing is shown."""

    def report(self, report: Report, *, paper: str, token: CancelToken | None) -> bytes:
        """Draw a report on paper of this size. Raises Cancelled."""
        return report_pdf(report, paper=paper, token=token)

    def recipe(self, recipe: Recipe, *, decimal: str) -> Mapping[str, bytes]:
        """Draw the sheets of a recipe, by the names of their files."""
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "recipe.pdf"
            write_recipe_pdf(recipe, path, decimal=decimal)
            return {path.name: path.read_bytes()}
