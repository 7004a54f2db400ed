"""A clearly visible ring around whatever has the keyboard."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QApplication, QFocusFrame, QStyle, QWidget

from stirfall.desktop.theme import Theme

_WIDTH = 2.0


class FocusRing(QFocusFrame):
    """Follows the focus inside one window and draws a ring in the theme's focus colour."""

    def __init__(self, window: QWidget, theme: Theme) -> None:
        super().__init__(window)
        self.setObjectName("focus_ring")
        self._window = window
        self._theme = theme
        self.hide()
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._follow)

    def set_theme(self, theme: Theme) -> None:
        """Draw in the focus colour of another theme."""
        self._theme = theme
        self.update()

    def _follow(self, _old: QWidget | None, now: QWidget | None) -> None:
        inside = now is not None and now is not self._window and self._window.isAncestorOf(now)
        self.setWidget(now if inside else None)  # type: ignore[arg-type]

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the ring."""
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self._theme.colour("focus"), _WIDTH))
        # A widget flush with its parent would have an outer ring cut off, so the ring lies on the widget's edge.
        inset = self.style().pixelMetric(QStyle.PixelMetric.PM_FocusFrameHMargin) + _WIDTH / 2
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(inset, inset, -inset, -inset), 4, 4)
        painter.end()
