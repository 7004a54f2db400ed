"""The two sheets of a recipe as pages: for the preview on the page, for printer and PDF."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from stirfall.bench.number_style import without_units

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from stirfall.bench.cancel import CancelToken
    from stirfall.desktop.printing.jobs import PrintJob
    from stirfall.reporting.recipe_parts import Recipe

_DOTS_PER_MM = 5.0


class SheetKind(StrEnum):
    """For whom a sheet is."""

    READER = "for readers"
    BENCH = "for the bench"


def sheet_job(recipe: Recipe, kind: SheetKind, *, decimal: str, paper: str = "A4") -> PrintJob:
    """Return the pages of a sheet; raises InputError ``labels.paper``."""
    plain = without_units(decimal)
    if kind is SheetKind.READER:
        from stirfall.desktop.pdf import reader_job

        return reader_job(recipe, decimal=plain, paper=paper)
    from stirfall.desktop.pdf_bench import bench_job
    from stirfall.reporting.recipe_sheet import make_bench_sheet

    return bench_job(make_bench_sheet(recipe, decimal=plain), paper=paper)


def bench_pictures(recipe: Recipe, decimal: str, token: CancelToken) -> tuple[QImage, ...]:
    """Return the pages of the bench sheet as pictures; runs on any thread."""
    from stirfall.desktop.printing.jobs import picture

    job = sheet_job(recipe, SheetKind.BENCH, decimal=decimal)
    pages = []
    for place in range(len(job.pages)):
        token.raise_if_cancelled()
        pages.append(picture(job, place, _DOTS_PER_MM))
    return tuple(pages)
