"""The small curve of a jar: its chance over the times to come, with its band, the window and the best time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.bench.units import human_time
from stirfall.desktop.theme import LIGHT, Theme

if TYPE_CHECKING:
    from stirfall.session.forecast import JarForecast

_BEND_H = 6.0  # nearly even within some hours from now, then closer and closer together
_TICKS_H = (6.0, 24.0, 72.0, 168.0, 336.0)
_USUAL_LINES = 5.5
_SHARES = (0.0, 0.5, 1.0)
_SHADE = 110  # of 255: in high contrast the lines of a grid are as bright as text


def has_curve(forecast: JarForecast | None) -> bool:
    """Whether there is a curve to draw."""
    return forecast is not None and len(forecast.times_h) > 1 and float(forecast.times_h[-1]) > 0.0


@dataclass(frozen=True)
class Axes:
    """Turns hours from the forecast's moment and shares into points of a rectangle."""

    rect: QRectF
    end_h: float

    def x(self, hours: float) -> float:
        """Return the place of a time; what lies outside stands at the edge."""
        within = min(max(hours, 0.0), self.end_h)
        share = math.log1p(within / _BEND_H) / math.log1p(self.end_h / _BEND_H)
        return self.rect.left() + share * self.rect.width()

    def y(self, share: float) -> float:
        """Return the height of a share."""
        return self.rect.bottom() - share * self.rect.height()


def draw_curve(
    painter: QPainter, rect: QRectF, forecast: JarForecast, theme: Theme, now: datetime, *, is_stale: bool = False
) -> Axes:
    """Draw the curve into ``rect``; a stale one is grey. The readiness window is shaded and has a bar below it."""
    axes = Axes(rect.adjusted(4, 3, -4, -5), float(forecast.times_h[-1]))
    ink = theme.colour("muted" if is_stale else "accent")
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(rect, theme.colour("raised"))
    _draw_window(painter, axes, forecast, theme, ink)
    _draw_band(painter, axes, forecast, theme)
    painter.setPen(QPen(ink, 2.0))
    points = zip(forecast.times_h, forecast.means, strict=True)
    painter.drawPolyline(QPolygonF([QPointF(axes.x(float(h)), axes.y(float(p))) for h, p in points]))
    _draw_now(painter, axes, forecast, theme.colour("text"), now)
    _draw_best(painter, axes, forecast, QPen(ink, 1.5), theme.colour("raised"))
    painter.restore()
    return axes


def _draw_window(painter: QPainter, axes: Axes, forecast: JarForecast, theme: Theme, ink: QColor) -> None:
    if not forecast.has_window or forecast.at is None:
        return
    ends = [
        None if at is None else (at - forecast.at).total_seconds() / 3600.0
        for at in (forecast.opens_at, forecast.closes_at)
    ]
    if ends[1] is not None and ends[1] <= 0.0:
        return
    left = axes.rect.left() if ends[0] is None else axes.x(ends[0])
    right = axes.rect.right() if ends[1] is None else axes.x(ends[1])
    shade = theme.colour("grid")
    shade.setAlpha(_SHADE)
    painter.fillRect(QRectF(left, axes.rect.top(), right - left, axes.rect.height()), shade)
    painter.setPen(QPen(ink, 3.0, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    base = axes.rect.bottom() + 3.0
    painter.drawLine(QPointF(left, base), QPointF(right, base))


def _draw_band(painter: QPainter, axes: Axes, forecast: JarForecast, theme: Theme) -> None:
    hours = [axes.x(float(each)) for each in forecast.times_h]
    upper = [QPointF(x, axes.y(float(share))) for x, share in zip(hours, forecast.upper, strict=True)]
    lower = [QPointF(x, axes.y(float(share))) for x, share in zip(hours, forecast.lower, strict=True)]
    colour = theme.colour("band")
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    painter.drawPolygon(QPolygonF([*upper, *reversed(lower)]))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _draw_now(painter: QPainter, axes: Axes, forecast: JarForecast, ink: QColor, now: datetime) -> None:
    """Mark the present moment with a line and a dot."""
    since = 0.0 if forecast.at is None else (now - forecast.at).total_seconds() / 3600.0
    here = axes.x(since)
    painter.setPen(QPen(ink, 1.5))
    painter.drawLine(QPointF(here, axes.rect.top()), QPointF(here, axes.rect.bottom()))
    if forecast.now is not None:
        painter.setBrush(ink)
        painter.drawEllipse(QPointF(here, axes.y(forecast.now.mean)), 2.5, 2.5)


def _draw_best(painter: QPainter, axes: Axes, forecast: JarForecast, pen: QPen, fill: QColor) -> None:
    """Mark the best time with a diamond."""
    if forecast.best is None or forecast.best_at is None or forecast.at is None:
        return
    x, y = axes.x((forecast.best_at - forecast.at).total_seconds() / 3600.0), axes.y(forecast.best.mean)
    painter.setPen(pen)
    painter.setBrush(fill)
    size = 4.5
    painter.drawPolygon(
        QPolygonF([QPointF(x, y - size), QPointF(x + size, y), QPointF(x, y + size), QPointF(x - size, y)])
    )


class CurvePicture(QWidget):
    """The curve of the chosen jar, large, with its axes."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("shelf_curve")
        self.setAccessibleName("Chance of a clean separation over the times to come")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._forecast: JarForecast | None = None
        self._now: datetime | None = None
        self._theme = LIGHT
        self._is_stale = False
        self._lines = _USUAL_LINES

    def set_lines(self, lines: float) -> None:
        """Be as high as so many lines of text."""
        if lines != self._lines:
            self._lines = lines
            self.updateGeometry()

    def set_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme
        self.update()

    def show_forecast(self, forecast: JarForecast | None, now: datetime, *, is_stale: bool, words: str) -> None:
        """Show a curve, or nothing; ``words`` say the same to screen readers."""
        self._forecast, self._now, self._is_stale = forecast, now, is_stale
        self.setAccessibleDescription(words)
        self.setVisible(has_curve(forecast))
        self.update()

    def sizeHint(self) -> QSize:
        """Return room for some lines of text: the height follows the text, the width what is there."""
        return QSize(240, round(self.fontMetrics().height() * self._lines))

    def minimumSizeHint(self) -> QSize:
        """Return the least size that still shows a curve."""
        return QSize(160, self.sizeHint().height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the curve with shares at the left and times below."""
        forecast, now = self._forecast, self._now
        if forecast is None or now is None or not has_curve(forecast):
            return
        painter = QPainter(self)
        metrics = self.fontMetrics()
        left = metrics.horizontalAdvance("100 %") + 6
        below = metrics.height() + 2
        rect = QRectF(
            left, metrics.height() / 2.0, self.width() - left - 2, self.height() - below - metrics.height() / 2
        )
        axes = draw_curve(painter, rect, forecast, self._theme, now, is_stale=self._is_stale)
        painter.setPen(self._theme.colour("muted"))
        for share in _SHARES:
            text = f"{round(100 * share)}\u2009%"
            place = QRectF(0, axes.y(share) - metrics.height() / 2.0, left - 4, metrics.height())
            painter.drawText(place, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)
        self._draw_times(painter, axes, rect.bottom())

    def _draw_times(self, painter: QPainter, axes: Axes, top: float) -> None:
        metrics = self.fontMetrics()
        used = 0.0
        for hours in (0.0, *_TICKS_H):
            if hours > axes.end_h:
                break
            text = "now" if hours == 0.0 else human_time(hours, "h")
            width = metrics.horizontalAdvance(text)
            x = axes.x(hours)
            start = min(max(x - width / 2.0, axes.rect.left()), self.width() - width)
            if start < used:
                continue
            used = start + width + 8.0
            painter.drawLine(QPointF(x, top), QPointF(x, top + 3.0))
            painter.drawText(QPointF(start, top + metrics.ascent() + 3.0), text)
