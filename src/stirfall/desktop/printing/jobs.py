"""A print job: pages that draw themselves, written as PDF, as pictures for the preview, or sent to a printer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QCoreApplication, QIODevice, QMarginsF, QSizeF, Qt
from PySide6.QtGui import QImage, QPagedPaintDevice, QPageLayout, QPageSize, QPaintDevice, QPainter, QPdfWriter

from stirfall import __version__
from stirfall.bench.errors import FileTroubleError
from stirfall.desktop.printing.canvas import DOTS_PER_INCH, UNITS_PER_MM, Canvas, Placed
from stirfall.storage.copies import write_atomic

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

PageDrawer = Callable[[Canvas], None]


@dataclass(frozen=True)
class PrintJob:
    """Pages of one size with a title; each is drawn by its function."""

    title: str
    page_mm: tuple[float, float]
    pages: tuple[PageDrawer, ...]


def write_pdf(job: PrintJob, path: Path) -> tuple[tuple[Placed, ...], ...]:
    """Write a job as PDF and return what stands where on each page.

    Raises FileTroubleError ``printing.not_written``, and then leaves what was there.
    """
    data, placed = pdf_of(job)
    try:
        write_atomic(Path(path), data)
    except OSError as error:
        raise FileTroubleError("printing.not_written", path=str(path), why=error.strerror or "") from error
    return placed


def pdf_of(job: PrintJob) -> tuple[bytes, tuple[tuple[Placed, ...], ...]]:
    """Return a job as PDF, with what stands where on each page; works without a screen."""
    application = drawing_application()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(DOTS_PER_INCH)
    writer.setPageLayout(page_layout(job))
    writer.setTitle(job.title)
    writer.setCreator(f"Stirfall {__version__}")
    with painting(writer) as painter:
        placed = _draw(job, painter, writer)
    buffer.close()
    del application
    return bytes(buffer.data().data()), placed


def picture(job: PrintJob, page: int, dots_per_mm: float) -> QImage:
    """Return one page (from 0) as a picture, drawn by the same functions as the PDF."""
    width, height = (max(1, round(length * dots_per_mm)) for length in job.page_mm)
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    with painting(image) as painter:
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
        scale = dots_per_mm / UNITS_PER_MM
        painter.scale(scale, scale)
        job.pages[page](Canvas(painter))
    return image


def print_on(job: PrintJob, printer: QPrinter) -> bool:
    """Send a job to a printer; false when the printer cannot begin."""
    printer.setDocName(job.title)
    printer.setFullPage(True)
    printer.setPageLayout(page_layout(job))
    with painting(printer) as painter:
        if not painter.isActive():
            return False
        scale = printer.resolution() / DOTS_PER_INCH
        painter.scale(scale, scale)
        _draw(job, painter, printer)
    return True


@contextmanager
def painting(device: QPaintDevice) -> Iterator[QPainter]:
    """Yield a painter that is ended whatever happens: Qt aborts when a device dies while it is painted on."""
    painter = QPainter()
    painter.begin(device)
    try:
        yield painter
    finally:
        if painter.isActive():
            painter.end()


def page_layout(job: PrintJob) -> QPageLayout:
    """Return the paper of a job, without margins: the pages keep their own."""
    size = QPageSize(QSizeF(*job.page_mm), QPageSize.Unit.Millimeter, "", QPageSize.SizeMatchPolicy.FuzzyMatch)
    none = QMarginsF(0, 0, 0, 0)
    return QPageLayout(size, QPageLayout.Orientation.Portrait, none, QPageLayout.Unit.Millimeter, none)


def _draw(job: PrintJob, painter: QPainter, device: QPagedPaintDevice) -> tuple[tuple[Placed, ...], ...]:
    placed = []
    for number, page in enumerate(job.pages):
        if number:
            device.newPage()
        canvas = Canvas(painter)
        page(canvas)
        placed.append(tuple(canvas.placed))
    return tuple(placed)


def drawing_application() -> QCoreApplication:
    """Return the application, made where there is none: without one Qt knows no fonts. Hold on to it while drawing.

    The full application, though drawing needs less of it: Qt has one per process, and a window may come later.
    """
    from PySide6.QtWidgets import QApplication

    return QApplication.instance() or QApplication([])
