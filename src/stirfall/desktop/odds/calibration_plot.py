"""What was said against what happened: bins of attempts with their intervals beside the diagonal."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.odds.trust_state import CalibrationPoint, CalibrationShown
from stirfall.desktop.theme import SPACING, Theme

_TICKS = (0, 25, 50, 75, 100)
_LINES_HIGH, _MOST_WIDE = 15.0, 36.0  # in heights of a line
_CAP = 5.0
_AS_SAID = "just as said ↙"


class CalibrationPlot(QWidget):
    """Draws a CalibrationShown; the same numbers stand in the details of the check."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("odds_trust_calibration")
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._shown = CalibrationShown()
        self._theme: Theme | None = None
        self._is_stale = False

    def sizeHint(self) -> QSize:
        """As high as a dozen lines of text."""
        return QSize(240, round(_LINES_HIGH * self.fontMetrics().height()))

    def show_picture(self, shown: CalibrationShown, *, theme: Theme, is_stale: bool) -> None:
        """Draw another picture."""
        self._shown, self._theme, self._is_stale = shown, theme, is_stale
        self.setAccessibleName("What was said against what happened")
        self.setAccessibleDescription(shown.sentence)
        self.update()

    def frame(self) -> QRectF:
        """Return the square-ish area of the axes, in pixels."""
        metrics = QFontMetricsF(self.font())
        left = metrics.horizontalAdvance(f"100{THIN_SPACE}%") + 1.6 * metrics.height() + SPACING
        bottom = 2.4 * metrics.height() + SPACING / 2
        width = min(self.width() - left - 3 * SPACING, _MOST_WIDE * metrics.height())
        top = SPACING + metrics.height()
        return QRectF(left, top, max(width, 20.0), max(self.height() - bottom - top, 20.0))

    def place_of(self, said: float, share: float) -> QPointF:
        """Return where a pair of probabilities stands, in pixels."""
        frame = self.frame()
        return QPointF(frame.left() + said * frame.width(), frame.bottom() - share * frame.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw axes, diagonal and bins."""
        del event
        if self._theme is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._draw_axes(painter, self._theme)
        self._draw_diagonal(painter, self._theme)
        for point in self._shown.points:
            self._draw_point(painter, self._theme, point)
        self._label_points(painter, self._theme)
        painter.end()

    def _draw_axes(self, painter: QPainter, theme: Theme) -> None:
        frame, metrics = self.frame(), QFontMetricsF(self.font())
        painter.fillRect(frame, QColor(theme.raised))
        for tick in _TICKS:
            across, up = self.place_of(tick / 100, 0.0), self.place_of(0.0, tick / 100)
            painter.setPen(QPen(QColor(theme.grid), 1.0))
            painter.drawLine(QPointF(across.x(), frame.top()), across)
            painter.drawLine(up, QPointF(frame.right(), up.y()))
            painter.setPen(QColor(theme.muted))
            text = f"{tick}{THIN_SPACE}%" if tick == _TICKS[-1] else str(tick)
            width = metrics.horizontalAdvance(text)
            painter.drawText(QPointF(across.x() - width / 2, frame.bottom() + metrics.height()), text)
            painter.drawText(QPointF(frame.left() - width - SPACING / 2, up.y() + metrics.capHeight() / 2), text)
        painter.setPen(QColor(theme.text))
        below = QRectF(frame.left(), frame.bottom() + 1.25 * metrics.height(), frame.width(), metrics.height())
        painter.drawText(below, int(Qt.AlignmentFlag.AlignCenter), "chance said beforehand")
        painter.save()
        painter.translate(metrics.height() * 0.2, frame.center().y())
        painter.rotate(-90)
        beside = QRectF(-frame.height() / 2 - SPACING, 0, frame.height() + 2 * SPACING, metrics.height())
        painter.drawText(beside, int(Qt.AlignmentFlag.AlignCenter), "came out clean")
        painter.restore()

    def _draw_diagonal(self, painter: QPainter, theme: Theme) -> None:
        frame, metrics = self.frame(), QFontMetricsF(self.font())
        painter.setPen(QPen(QColor(theme.line), 1.4, Qt.PenStyle.DashLine))
        painter.drawLine(self.place_of(0, 0), self.place_of(1, 1))
        painter.setPen(QColor(theme.muted))
        end = QRectF(frame.left(), frame.top() - 1.1 * metrics.height(), frame.width(), metrics.height())
        painter.drawText(end, int(Qt.AlignmentFlag.AlignRight), _AS_SAID)

    def _draw_point(self, painter: QPainter, theme: Theme, point: CalibrationPoint) -> None:
        colour = QColor(theme.line if self._is_stale else theme.accent)
        low, high = self.place_of(point.said, point.lower), self.place_of(point.said, point.upper)
        painter.setPen(QPen(colour, 2.0))
        painter.drawLine(low, high)
        for end in (low, high):
            painter.drawLine(QPointF(end.x() - _CAP, end.y()), QPointF(end.x() + _CAP, end.y()))
        painter.setBrush(colour)
        painter.drawEllipse(self.place_of(point.said, point.share), _CAP, _CAP)

    def _label_points(self, painter: QPainter, theme: Theme) -> None:
        """Write the number of attempts beside each bin, on the side that has room."""
        frame, metrics = self.frame(), QFontMetricsF(self.font())
        painter.setPen(QColor(theme.muted if self._is_stale else theme.text))
        taken: list[QRectF] = []
        for point in self._shown.points:
            place = self.place_of(point.said, point.share)
            text = str(point.n)
            width = metrics.horizontalAdvance(text)
            for x in (place.x() + 9.0, place.x() - 9.0 - width):
                box = QRectF(x, place.y() - metrics.height() / 2, width, metrics.height())
                inside = frame.left() <= box.left() and box.right() <= frame.right()
                if inside and not any(box.intersects(other) for other in taken):
                    taken.append(box)
                    painter.fillRect(box, QColor(theme.raised))
                    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), text)
                    break
