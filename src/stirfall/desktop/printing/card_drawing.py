"""The card of acts as a page: two columns of codes, far enough apart that a scanner never takes the neighbour."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt

from stirfall.desktop.printing.canvas import Canvas, Type, height_of, largest_that
from stirfall.desktop.printing.jobs import PrintJob
from stirfall.reporting.act_card import Act
from stirfall.reporting.label_sheet import paper_size
from stirfall.reporting.square_code import square_code

_MARGIN, _COLUMNS, _CODE_MM, _HEAD_MM = 14.0, 2, 34.0, 20.0
_TITLE = "Card of acts for a guided run"
_HOW = "Scan a code instead of pressing a key. Put the card into a clear cover and hang it where it stays clean."


def card_job(acts: Sequence[Act], *, paper: str = "A4") -> PrintJob:
    """Return the card as one page; raises InputError ``labels.paper``."""
    page = paper_size(paper)
    return PrintJob("Card of acts", page, (lambda canvas: _draw(canvas, acts, page),))


def _draw(canvas: Canvas, acts: Sequence[Act], page: tuple[float, float]) -> None:
    width = page[0] - 2 * _MARGIN
    canvas.text(_TITLE, Type(18.0, bold=True), _MARGIN, _MARGIN, width)
    canvas.text(_HOW, Type(10.0), _MARGIN, _MARGIN + 9.0, width)
    rows = -(-len(acts) // _COLUMNS)
    height = (page[1] - 2 * _MARGIN - _HEAD_MM) / rows
    for place, act in enumerate(acts):
        row, column = divmod(place, _COLUMNS)
        left = _MARGIN + column * width / _COLUMNS
        _draw_act(canvas, act, QRectF(left, _MARGIN + _HEAD_MM + row * height, width / _COLUMNS, height))


def _draw_act(canvas: Canvas, act: Act, area: QRectF) -> None:
    """Draw a code in the upper part of its field, its words below; the lower half stays free of codes."""
    canvas.box(area, thickness=0.15, grey=True)
    canvas.square(
        square_code(act.code), QRectF(area.center().x() - _CODE_MM / 2, area.top() + 2.0, _CODE_MM, _CODE_MM)
    )
    inner, top = area.width() - 6.0, area.top() + _CODE_MM + 2.0
    room = area.bottom() - top - 2.0
    centre = Qt.AlignmentFlag.AlignHCenter
    small = Type(9.5, align=centre)

    def fits(size: float) -> bool:
        return height_of(act.words, Type(size, bold=True), inner) + small.line_mm <= room

    large = Type(largest_that(fits, 9.0, 19.0) or 9.0, bold=True, align=centre)
    top += canvas.text(act.words, large, area.left() + 3.0, top, inner)
    if act.same_as:
        canvas.text(f"key {act.same_as}", small, area.left() + 3.0, top, inner)
