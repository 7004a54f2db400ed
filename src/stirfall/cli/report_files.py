"""Lab reports as files, for the command line and for scripts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.cli.display import draw_unseen

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.reporting.recipe_parts import Recipe
    from stirfall.reporting.report.source import ReportSource
    from stirfall.reporting.report.tree import Report
    from stirfall.reporting.report.writing import Order, WrittenReport
    from stirfall.session.document import Document


class LazyPrinter:
    """Draws PDFs with Qt, which is loaded only when one is asked for."""

    def report(self, report: Report, *, paper: str, token: CancelToken | None) -> bytes:
        """Draw a report."""
        draw_unseen()
        from stirfall.desktop.report_printer import QtPrinter

        return QtPrinter().report(report, paper=paper, token=token)

    def recipe(self, recipe: Recipe, *, decimal: str, paper: str) -> Mapping[str, bytes]:
        """Draw the sheets of a recipe."""
        draw_unseen()
        from stirfall.desktop.report_printer import QtPrinter

        return QtPrinter().recipe(recipe, decimal=decimal, paper=paper)


def write_reports(
    document: Document,
    orders: Sequence[Order],
    *,
    photos: str | Iterable[int] = "none",
    with_names: bool = False,
) -> tuple[Report, list[WrittenReport]]:
    """Write one report in every form that is ordered, and return it with what was written.

    Raises InputError ``report.*`` and FileTroubleError ``report.not_written``.
    """
    from stirfall.reporting.report.lab_report import lab_report
    from stirfall.reporting.report.source import source_of
    from stirfall.session.analysis import analyse

    source = source_of(document, photos=photos, with_names=with_names)
    report = lab_report(source, analyse(document.state, refined=True))
    return report, [_written(report, source, document, order) for order in orders]


def save_report(
    report: Report, source: ReportSource, document: Document, path: Path, paper: str = "a4"
) -> WrittenReport:
    """Write a report that was made of an open session; raises what ``write_reports`` raises."""
    from stirfall.reporting.report.writing import Order

    return _written(report, source, document, Order(path, paper))


def _written(report: Report, source: ReportSource, document: Document, order: Order) -> WrittenReport:
    from stirfall.reporting.report.source import data_of
    from stirfall.reporting.report.writing import write_report

    if order.path.suffix.lower() == ".zip":
        ids = tuple(photo.id for photo in source.photos)
        order = replace(order, content=data_of(document, source), photo_ids=ids)
    return write_report(report, order, LazyPrinter())
