"""Figures and photos of a report on pages: figures over the width, photos two beside each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSizeF
from PySide6.QtGui import QImage

from stirfall.desktop.pdf_sheet import MM, Ink
from stirfall.desktop.report_pages import Pages, Picture
from stirfall.reporting.report.plain_text import shown
from stirfall.reporting.report.tree import FigureBlock, PhotoBlock

_CAPTION = Ink(8.0, leading=1.05)
_FIGURE_MM, _FIGURE_SHARE = 165.0, 0.6  # the usual height of a figure as a share of its width
_GUTTER, _PHOTO_HIGH = 6 * MM, 80 * MM
_UNREADABLE = "This picture cannot be read."
BESIDE = 2
"""How many photos stand in a row."""


@dataclass(frozen=True)
class _Shot:
    """One photo that fits its cell; no size where it cannot be read."""

    data: bytes
    size: QSizeF
    lines: list[str]


def usual_height(pages: Pages) -> float:
    """Return the height of a usual figure with its caption."""
    return min(_FIGURE_MM * MM, pages.body.width()) * _FIGURE_SHARE + 18 * MM


def place_figure(pages: Pages, block: FigureBlock) -> None:
    """Place a figure at 300 dots per inch, with its caption."""
    figure = block.figure
    data = figure.png(300)
    caption = f"Figure {block.number}. {shown(figure.title)}. {shown(figure.caption)}"
    kind = pages.type(_CAPTION)
    words = kind.leading * len(kind.lines(caption, pages.body.width())) + 4 * MM
    size = _fitted(data, min(_FIGURE_MM * MM, pages.body.width()), pages.body.height() - words)
    pages.gap(2 * MM)
    pages.need(size.height() + words)
    pages.put(Picture(QRectF(QPointF(pages.body.left(), pages.y), size), data, exact=True))
    pages.y += size.height() + 1 * MM
    pages.text(caption, _CAPTION, after=3 * MM, together=True)


def place_photos(pages: Pages, blocks: Sequence[PhotoBlock]) -> None:
    """Place one row of photos, each with its caption."""
    width = (pages.body.width() - _GUTTER * (BESIDE - 1)) / BESIDE
    kind = pages.type(_CAPTION)
    shots = []
    for block in blocks:
        size = _fitted(block.data, width, _PHOTO_HIGH)
        caption = f"Photo {block.number}. {shown(block.caption)}"
        caption = f"{caption} {_UNREADABLE}" if size.isEmpty() else caption
        shots.append(_Shot(block.data, size, kind.lines(caption, width)))
    high = max(shot.size.height() for shot in shots)
    words = kind.leading * max(len(shot.lines) for shot in shots)
    pages.gap(2 * MM)
    pages.need(high + words + 4 * MM)
    for place, shot in enumerate(shots):
        x, top = pages.body.left() + place * (width + _GUTTER), pages.y
        if not shot.size.isEmpty():
            pages.put(Picture(QRectF(QPointF(x, top), shot.size), shot.data, exact=False))
        for line, text in enumerate(shot.lines):
            pages.line(text, _CAPTION, x, top + shot.size.height() + 1 * MM + line * kind.leading)
    pages.y += high + words + 4 * MM


def _fitted(data: bytes, width: float, height: float) -> QSizeF:
    """Return the largest size of a picture within these bounds, nothing where it cannot be read."""
    image = QImage.fromData(data)
    if image.isNull():
        return QSizeF(0.0, 0.0)
    scale = min(width / image.width(), height / image.height())
    return QSizeF(image.width() * scale, image.height() * scale)
