"""The curve of a recipe as vector drawing: band, mean, attempts and the recipe's own mark, with titled axes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from stirfall.bench.factors import Factor, Scale
from stirfall.bench.outcomes import Outcome
from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.pdf_sheet import MM, PT, Ink, Sheet
from stirfall.desktop.theme import LIGHT
from stirfall.reporting.axis_ticks import axis_title, ticks
from stirfall.reporting.recipe_parts import RecipeCurve
from stirfall.reporting.shares import percent

_MIDDLE = Qt.AlignmentFlag.AlignHCenter
_SMALL = Ink(7.5, role="muted")
_RIGHT = Ink(7.5, role="muted", align=Qt.AlignmentFlag.AlignRight)
# Attempts stand in lanes of their own above and below the axes, so that they never hide the curve.
_LANE = 5.2 * MM
_LABELS = 12.5 * MM


@dataclass(frozen=True)
class CurvePicture:
    """Draws one curve into a rectangle of a sheet."""

    sheet: Sheet
    curve: RecipeCurve
    area: QRectF
    decimal: str = "."

    def draw(self) -> None:
        """Draw everything, the attempts below and above, the recipe's mark last."""
        painter = self.sheet.painter
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._grid()
        self._untested()
        self._band()
        self._attempts()
        self._mark()
        painter.restore()

    @property
    def plot(self) -> QRectF:
        """The rectangle inside the axes."""
        return self.area.adjusted(14 * MM, 4.6 * MM + _LANE, -1.5 * MM, -10.4 * MM - _LANE)

    def _x(self, value: float) -> float:
        low, high = self.curve.x[0], self.curve.x[-1]
        if self.curve.log:
            low, high, value = math.log(low), math.log(high), math.log(value)
        share = (value - low) / (high - low)
        return self.plot.left() + min(max(share, 0.0), 1.0) * self.plot.width()

    def _y(self, share: float) -> float:
        return self.plot.bottom() - share * self.plot.height()

    def _grid(self) -> None:
        sheet, plot = self.sheet, self.plot
        hair = QPen(sheet.colour("grid"), 0.4 * PT)
        sheet.put("Chance of a clean separation", _SMALL, self.area.left(), self.area.width(), y=self.area.top())
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            y = self._y(share)
            sheet.painter.setPen(hair)
            sheet.painter.drawLine(QPointF(plot.left(), y), QPointF(plot.right(), y))
            label = f"{round(100 * share)}{THIN_SPACE}%"
            sheet.put(label, _RIGHT, self.area.left(), _LABELS, y=y - 4.6 * PT)
        for tick in self._ticks():
            x = self._x(tick[0])
            sheet.painter.setPen(hair)
            sheet.painter.drawLine(QPointF(x, plot.top()), QPointF(x, plot.bottom() + _LANE + 0.6 * MM))
            ink = Ink(7.5, role="muted", align=_MIDDLE)
            sheet.put(tick[1], ink, x - 9 * MM, 18 * MM, y=plot.bottom() + _LANE + 1.2 * MM)
        title = axis_title(self._factor())
        sheet.put(title, Ink(8.0, align=_MIDDLE), plot.left(), plot.width(), y=plot.bottom() + _LANE + 5.2 * MM)
        sheet.painter.setPen(QPen(sheet.colour("line"), 0.7 * PT))
        sheet.painter.setBrush(Qt.BrushStyle.NoBrush)
        sheet.painter.drawLine(plot.bottomLeft(), plot.bottomRight())
        sheet.painter.drawLine(plot.topLeft(), plot.bottomLeft())

    def _factor(self) -> Factor:
        curve = self.curve
        scale = Scale.LOG if curve.log else Scale.LINEAR
        return Factor(curve.factor, curve.unit, curve.x[0], curve.x[-1], scale)

    def _ticks(self) -> Sequence[tuple[float, str]]:
        """Return round ticks whose labels do not touch."""
        most = int(self.plot.width() // (17 * MM))
        found = ticks(self._factor(), self.curve.x[0], self.curve.x[-1], most=most, decimal=self.decimal)
        return [(tick.value, tick.label) for tick in found if tick.label]

    def _untested(self) -> None:
        """Hatch what lies outside the tried range."""
        plot, tried = self.plot, self.curve.tried
        edges = [(plot.left(), plot.right())] if tried is None else [
            (plot.left(), self._x(tried[0])),
            (self._x(tried[1]), plot.right()),
        ]  # fmt: skip
        painter = self.sheet.painter
        for left, right in edges:
            if right - left < 0.3 * MM:
                continue
            painter.save()
            painter.setClipRect(QRectF(left, plot.top(), right - left, plot.height()))
            painter.setPen(QPen(self.sheet.colour("grid"), 0.5 * PT))
            x = left - plot.height()
            while x < right:
                painter.drawLine(QPointF(x, plot.bottom()), QPointF(x + plot.height(), plot.top()))
                x += 1.8 * MM
            painter.restore()
            if right - left > 14 * MM:
                ink = Ink(7.0, role="muted", align=_MIDDLE)
                self.sheet.put("untested", ink, left, right - left, y=plot.top() + 1.0 * MM)

    def _band(self) -> None:
        curve, painter = self.curve, self.sheet.painter
        upper = [QPointF(self._x(x), self._y(p)) for x, p in zip(curve.x, curve.upper, strict=True)]
        lower = [QPointF(self._x(x), self._y(p)) for x, p in zip(curve.x, curve.lower, strict=True)]
        colour = self.sheet.colour("band")
        colour.setAlphaF(0.65)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        painter.drawPolygon(QPolygonF([*upper, *reversed(lower)]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self.sheet.colour("accent"), 1.6 * PT))
        mean = [QPointF(self._x(x), self._y(p)) for x, p in zip(curve.x, curve.mean, strict=True)]
        painter.drawPolyline(QPolygonF(mean))

    def _attempts(self) -> None:
        """Draw attempts above where clean and below where not, by place and shape as well as by colour."""
        painter, size = self.sheet.painter, 0.8 * MM
        if self.curve.marks:
            self.sheet.put("clean", _RIGHT, self.area.left(), _LABELS, y=self.plot.top() - _LANE - 0.1 * MM)
            self.sheet.put("not clean", _RIGHT, self.area.left(), _LABELS, y=self.plot.bottom() + 2.0 * MM)
        for index, mark in enumerate(self.curve.marks):
            x = self._x(mark.x)
            lift = (2.0 + 1.3 * (index % 3)) * MM
            if mark.clean:
                painter.setPen(QPen(self.sheet.colour("raised"), 0.4 * PT))
                painter.setBrush(_mark_colour(Outcome.CLEAN))
                painter.drawEllipse(QPointF(x, self.plot.top() - lift), size, size)
            else:
                y = self.plot.bottom() + lift
                painter.setPen(QPen(_mark_colour(Outcome.NOTHING_PARTED), 0.9 * PT))
                painter.drawLine(QPointF(x - size * 0.8, y - size * 0.8), QPointF(x + size * 0.8, y + size * 0.8))
                painter.drawLine(QPointF(x - size * 0.8, y + size * 0.8), QPointF(x + size * 0.8, y - size * 0.8))

    def _mark(self) -> None:
        """Draw the recipe's own place with its interval and its number."""
        curve, painter = self.curve, self.sheet.painter
        mean, lower, upper = curve.at_place(curve.at)
        x = self._x(curve.at)
        painter.setPen(QPen(self.sheet.colour("text"), 1.2 * PT))
        painter.drawLine(QPointF(x, self._y(lower)), QPointF(x, self._y(upper)))
        for share in (lower, upper):
            painter.drawLine(QPointF(x - 1.2 * MM, self._y(share)), QPointF(x + 1.2 * MM, self._y(share)))
        painter.setPen(QPen(self.sheet.colour("raised"), 0.8 * PT))
        painter.setBrush(self.sheet.colour("text"))
        diamond = [(0.0, -1.7), (1.7, 0.0), (0.0, 1.7), (-1.7, 0.0)]
        painter.drawPolygon(QPolygonF([QPointF(x + dx * MM, self._y(mean) + dy * MM) for dx, dy in diamond]))
        self._label(x, self._y(mean), f"this recipe, {percent(mean)}")

    def _label(self, x: float, y: float, text: str) -> None:
        """Write beside the mark, on the side with more room, on a light ground."""
        ink = Ink(8.0, bold=True)
        width = 34 * MM
        bounds = self.sheet.extent(text, ink)
        on_right = x < self.plot.center().x()
        left = x + 2.8 * MM if on_right else x - 2.8 * MM - bounds.width()
        ground = self.sheet.colour("raised")
        ground.setAlphaF(0.85)
        self.sheet.painter.setPen(Qt.PenStyle.NoPen)
        self.sheet.painter.setBrush(ground)
        box = QRectF(left - 0.6 * MM, y - bounds.height() / 2, bounds.width() + 1.2 * MM, bounds.height())
        self.sheet.painter.drawRect(box)
        self.sheet.put(text, ink, left, max(width, bounds.width() + 1), y=box.top())


def _mark_colour(outcome: Outcome) -> QColor:
    return QColor(LIGHT.mark(outcome).colour)
