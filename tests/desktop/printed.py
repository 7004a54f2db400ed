"""What stands where on printed pages, for the tests of printing."""

from __future__ import annotations

from PySide6.QtGui import QImage

from stirfall.desktop.printing.canvas import Canvas, Placed
from stirfall.desktop.printing.jobs import PrintJob, painting


def placed_on(job: PrintJob) -> list[list[Placed]]:
    """Return what stands where on each page, drawn by the same functions onto a picture that nobody looks at."""
    pages = []
    image = QImage(1, 1, QImage.Format.Format_RGB32)
    with painting(image) as painter:
        for page in job.pages:
            canvas = Canvas(painter)
            page(canvas)
            pages.append(canvas.placed)
    return pages
