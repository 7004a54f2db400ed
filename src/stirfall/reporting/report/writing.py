"""A report as a file: its suffix names the form; a file that is there stays until the new one is whole."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol
from urllib.parse import quote

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.reporting.report.bundle import Printed, bundle_files, write_bundle
from stirfall.reporting.report.html import report_html
from stirfall.reporting.report.markdown import picture_files, report_markdown
from stirfall.reporting.report.tree import Report
from stirfall.storage.copies import write_atomic

if TYPE_CHECKING:
    from stirfall.reporting.recipe_parts import Recipe
    from stirfall.storage.package_content import PackageContent

SUFFIXES = (".pdf", ".html", ".md", ".zip")
PAPERS = ("a4", "letter")


class Printer(Protocol):
    """What draws PDFs; it stands on a floor above this one."""

    def report(self, report: Report, *, paper: str, token: CancelToken | None) -> bytes:
        """Draw a report."""

    def recipe(self, recipe: Recipe, *, decimal: str, paper: str) -> Mapping[str, bytes]:
        """Draw the sheets of a recipe, by the names of their files."""


@dataclass(frozen=True)
class Order:
    """What is wanted: where, on which paper; a bundle holds the data ``content`` and the photos with these ids."""

    path: Path
    paper: str = "a4"
    content: PackageContent | None = None
    photo_ids: tuple[str, ...] = ()
    decimal: str = "."

    def __post_init__(self) -> None:
        """Check form and paper; raises InputError ``report.suffix`` or ``report.paper``."""
        if self.path.suffix.lower() not in SUFFIXES:
            raise InputError("report.suffix", suffix=self.path.suffix or self.path.name)
        if self.paper not in PAPERS:
            raise InputError("report.paper", text=self.paper, known=", ".join(PAPERS))


@dataclass(frozen=True)
class WrittenReport:
    """What was written: the file, and the SHA-256 of everything by its name (in a bundle, of everything in it)."""

    path: Path
    files: Mapping[str, str]


def write_report(
    report: Report, order: Order, printer: Printer, *, token: CancelToken | None = None
) -> WrittenReport:
    """Write a report in the form that the suffix names.

    Raises FileTroubleError ``report.not_written``, Cancelled, and for a bundle what writing a package raises.
    """
    suffix = order.path.suffix.lower()
    try:
        order.path.parent.mkdir(parents=True, exist_ok=True)
        if suffix == ".zip":
            return _bundle(report, order, printer, token)
        files = _files(report, order, printer, suffix, token)
        for name, data in files.items():
            place = order.path.parent / name
            place.parent.mkdir(parents=True, exist_ok=True)
            write_atomic(place, data)
    except OSError as error:
        raise FileTroubleError("report.not_written", path=str(order.path), why=error.strerror or "") from error
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    return WrittenReport(order.path, sums)


def _files(
    report: Report, order: Order, printer: Printer, suffix: str, token: CancelToken | None
) -> dict[str, bytes]:
    """Return the file, and before it those that it shows."""
    name = order.path.name
    if suffix == ".pdf":
        return {name: printer.report(report, paper=order.paper, token=token)}
    if suffix == ".html":
        return {name: report_html(report, token=token).encode()}
    beside = f"{order.path.stem}-files"
    pictures = {f"{beside}/{path}": data for path, data in picture_files(report, token=token).items()}
    return {**pictures, name: report_markdown(report, folder=quote(beside), token=token).encode()}


def _bundle(report: Report, order: Order, printer: Printer, token: CancelToken | None) -> WrittenReport:
    assert order.content is not None, "a bundle holds the data"
    sheets = (
        {} if report.recipe is None else printer.recipe(report.recipe, decimal=order.decimal, paper=order.paper)
    )
    printed = Printed(printer.report(report, paper=order.paper, token=token), sheets)
    files = bundle_files(report, printed, decimal=order.decimal, token=token)
    sums = write_bundle(order.path, order.content, files, photos=order.photo_ids, token=token)
    return WrittenReport(order.path, sums)
