"""Pages of sheets recorded as pictures, so that the same drawing serves preview and printer as well as the PDF."""

from __future__ import annotations

from PySide6.QtGui import QPainter, QPicture

from stirfall.desktop.pdf_sheet import DOTS
from stirfall.desktop.printing.canvas import UNITS_PER_MM, Canvas
from stirfall.desktop.printing.jobs import PageDrawer

_A4_MM = (210.0, 297.0)
_UNITS_PER_DOT = UNITS_PER_MM * 25.4 / DOTS


class RecordedPages:
    """Takes the place of a PDF writer: ``painter`` draws onto the picture of the page that is open."""

    def __init__(self) -> None:
        self._pictures = [QPicture()]
        self.painter = QPainter(self._pictures[0])

    def newPage(self) -> bool:
        """Begin another picture with the same painter."""
        self.painter.end()
        self._pictures.append(QPicture())
        return self.painter.begin(self._pictures[-1])

    def finished(self) -> tuple[QPicture, ...]:
        """End the last page and return all."""
        self.painter.end()
        return tuple(self._pictures)


def page_drawer(picture: QPicture, page_mm: tuple[float, float]) -> PageDrawer:
    """Return the function that draws a recorded A4 page into the middle of a page of another size."""
    scale = min(page_mm[0] / _A4_MM[0], page_mm[1] / _A4_MM[1], 1.0)
    left, top = ((whole - part * scale) / 2 for whole, part in zip(page_mm, _A4_MM, strict=True))

    def draw(canvas: Canvas) -> None:
        painter = canvas.painter
        painter.save()
        painter.translate(left * UNITS_PER_MM, top * UNITS_PER_MM)
        painter.scale(scale * _UNITS_PER_DOT, scale * _UNITS_PER_DOT)
        painter.drawPicture(0, 0, picture)
        painter.restore()

    return draw
