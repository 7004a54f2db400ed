"""A probability as a small bar: the interval as a band, the mean as a dot, on a scale from 0 to 100 per cent."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.desktop.theme import LIGHT, Theme

_DOT = 4.0


class ChanceBar(QWidget):
    """Draws lower end, mean and upper end; its words stand in the row that holds it."""

    def __init__(self) -> None:
        super().__init__()
        self._shares: tuple[float, float, float] | None = None
        self._theme = LIGHT
        self._is_stale = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_chance(self, shares: tuple[float, float, float] | None, theme: Theme, *, is_stale: bool) -> None:
        """Show a chance, None draws the bare scale."""
        if (shares, theme, is_stale) != (self._shares, self._theme, self._is_stale):
            self._shares, self._theme, self._is_stale = shares, theme, is_stale
            self.update()

    def sizeHint(self) -> QSize:
        """Return a bar as high as its dot, with room around it."""
        return QSize(96, 14)

    def minimumSizeHint(self) -> QSize:
        """Return the least bar that can be read."""
        return QSize(64, 14)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the scale, the band and the dot."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle, left, wide = self.height() / 2.0, _DOT, self.width() - 2 * _DOT
        painter.setPen(QPen(self._theme.colour("line"), 1.0))
        painter.drawLine(QPointF(left, middle), QPointF(left + wide, middle))
        for share in (0.0, 0.5, 1.0):
            x = left + share * wide
            painter.drawLine(QPointF(x, middle - 3.0), QPointF(x, middle + 3.0))
        if self._shares is None:
            return
        low, mean, high = (left + min(max(share, 0.0), 1.0) * wide for share in self._shares)
        ink = self._theme.colour("muted" if self._is_stale else "accent")
        painter.fillRect(QRectF(low, middle - 3.0, max(high - low, 1.0), 6.0), self._theme.colour("band"))
        painter.setPen(QPen(ink, 2.0))
        painter.drawLine(QPointF(low, middle), QPointF(high, middle))
        painter.setBrush(ink)
        painter.drawEllipse(QPointF(mean, middle), _DOT - 0.5, _DOT - 0.5)
