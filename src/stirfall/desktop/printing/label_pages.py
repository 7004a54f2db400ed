"""Labels on sheets: a print job from labels, a kind of sheet and the first free position."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QRectF

from stirfall.desktop.printing.canvas import Canvas
from stirfall.desktop.printing.jobs import PrintJob
from stirfall.desktop.printing.label_drawing import draw_label
from stirfall.reporting.label_sheet import LabelSheet
from stirfall.reporting.labels import Label


def label_job(
    labels: Sequence[Label], sheet: LabelSheet, *, start_at: int = 1, cut_lines: bool = False, title: str = "Labels"
) -> PrintJob:
    """Return the pages of labels, the first at position ``start_at``, counted from 1.

    Raises InputError ``labels.start``.
    """
    pages, rest = [], list(labels)
    for places in sheet.pages(len(rest), start_at):
        here, rest = rest[: len(places)], rest[len(places) :]
        placed = tuple(zip(places, here, strict=True))
        pages.append(partial(_draw_page, sheet=sheet, placed=placed, cut_lines=cut_lines))
    return PrintJob(title, sheet.page_mm, tuple(pages))


def place_of(sheet: LabelSheet, position: int) -> QRectF:
    """Return where a position (from 0) lies, in mm."""
    return QRectF(*sheet.place(position))


def _draw_page(
    canvas: Canvas, *, sheet: LabelSheet, placed: tuple[tuple[int, Label], ...], cut_lines: bool
) -> None:
    left, top, right, bottom = sheet.printable()
    printable = QRectF(left, top, right - left, bottom - top)
    for position, label in placed:
        area = place_of(sheet, position)
        draw_label(canvas, label, area, printable)
        if cut_lines:
            canvas.box(area, thickness=0.1, grey=True)
