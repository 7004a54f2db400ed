"""Small shapes that carry a meaning beside its word, drawn by hand so that no font has to know them."""

from __future__ import annotations

import math
from enum import Enum

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.desktop.run.look import pixels
from stirfall.desktop.theme import Theme


class Shape(Enum):
    """What is drawn: done, now, still to come, not ticked, take care, danger."""

    DONE = "done"
    NOW = "now"
    TO_COME = "to come"
    BOX = "box"
    CAUTION = "caution"
    DANGER = "danger"


def draw_shape(painter: QPainter, shape: Shape, box: QRectF, ink: QColor, ground: QColor) -> None:
    """Draw a shape into a square; ``ground`` is the colour of a mark cut out of a filled shape."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(ink, max(box.width() / 9, 2.0))
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    inner = box.adjusted(2, 2, -2, -2)
    match shape:
        case Shape.DONE:
            painter.drawPath(_tick(inner))
        case Shape.NOW:
            painter.setBrush(ink)
            painter.drawPolygon(_arrow(inner))
        case Shape.TO_COME:
            painter.drawEllipse(inner.adjusted(2, 2, -2, -2))
        case Shape.BOX:
            painter.drawRoundedRect(inner, 3, 3)
        case Shape.CAUTION | Shape.DANGER:
            painter.setBrush(ink)
            painter.drawPolygon(_triangle(inner) if shape is Shape.CAUTION else _octagon(inner))
            _exclaim(painter, inner, ground, low=shape is Shape.CAUTION)
    painter.restore()


def draw_ticked(painter: QPainter, box: QRectF, ink: QColor) -> None:
    """Draw a box with a tick in it."""
    draw_shape(painter, Shape.BOX, box, ink, ink)
    inset = box.width() * 0.18
    draw_shape(painter, Shape.DONE, box.adjusted(inset, inset, -inset, -inset), ink, ink)


def _tick(box: QRectF) -> QPainterPath:
    path = QPainterPath(QPointF(box.left(), box.top() + 0.55 * box.height()))
    path.lineTo(box.left() + 0.36 * box.width(), box.bottom() - 0.08 * box.height())
    path.lineTo(box.right(), box.top() + 0.1 * box.height())
    return path


def _arrow(box: QRectF) -> QPolygonF:
    return QPolygonF([box.topLeft(), QPointF(box.right(), box.center().y()), box.bottomLeft()])


def _triangle(box: QRectF) -> QPolygonF:
    return QPolygonF([QPointF(box.center().x(), box.top()), box.bottomRight(), box.bottomLeft()])


def _octagon(box: QRectF) -> QPolygonF:
    radius = box.width() / 2
    corners = [math.radians(22.5 + 45 * corner) for corner in range(8)]
    return QPolygonF([box.center() + QPointF(radius * math.cos(turn), radius * math.sin(turn)) for turn in corners])


def _exclaim(painter: QPainter, box: QRectF, ground: QColor, *, low: bool) -> None:
    """Draw the bar and dot inside a triangle (``low``) or an octagon."""
    width = box.width() / 8
    top = box.top() + (0.36 if low else 0.2) * box.height()
    bottom = box.top() + (0.66 if low else 0.58) * box.height()
    middle = box.center().x()
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ground)
    painter.drawRoundedRect(QRectF(middle - width / 2, top, width, bottom - top), width / 2, width / 2)
    painter.drawEllipse(QPointF(middle, bottom + 1.2 * width), 0.62 * width, 0.62 * width)


class ShapeSign(QWidget):
    """One shape as a widget of its own, beside the words that say the same."""

    def __init__(self, shape: Shape, role: str, base: int = 44) -> None:
        super().__init__()
        self.shape, self._role, self._base = shape, role, base
        self._ink, self._ground = QColor(), QColor()
        self.setAccessibleName(shape.value)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def rebase(self, base: int) -> None:
        """Draw at another size."""
        self._base = base
        self.setFixedSize(pixels(base), pixels(base))

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._ink, self._ground = theme.colour(self._role), theme.colour("raised")
        side = pixels(self._base)
        self.setFixedSize(side, side)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the shape."""
        del event
        painter = QPainter(self)
        draw_shape(painter, self.shape, QRectF(self.rect()), self._ink, self._ground)
        painter.end()
