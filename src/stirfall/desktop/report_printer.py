"""Draws the PDFs of a report and of its recipe, for the window, the command line and scripts."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.desktop.pdf import write_recipe_pdf
from stirfall.desktop.pdf_bench import write_bench_pdf
from stirfall.desktop.report_pdf import dated, report_pdf
from stirfall.reporting.recipe_sheet import make_bench_sheet

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.reporting.recipe_parts import Recipe
    from stirfall.reporting.report.tree import Report


_PAPERS = {"a4": "A4", "letter": "US Letter"}


class QtPrinter:
    """Draws with Qt; nothing is shown."""

    def report(self, report: Report, *, paper: str, token: CancelToken | None) -> bytes:
        """Draw a report on paper of this size. Raises Cancelled."""
        return report_pdf(report, paper=paper, token=token)

    def recipe(self, recipe: Recipe, *, decimal: str, paper: str) -> Mapping[str, bytes]:
        """Draw the sheet of a recipe for readers and the one for the bench, by the names of their files."""
        with tempfile.TemporaryDirectory() as folder:
            reader, bench = (Path(folder) / name for name in ("recipe.pdf", "recipe-bench.pdf"))
            write_recipe_pdf(recipe, reader, decimal=decimal)
            write_bench_pdf(make_bench_sheet(recipe), bench, paper=_PAPERS[paper])
            return {path.name: dated(path.read_bytes(), recipe.created_at) for path in (reader, bench)}
