"""Pages of a sheet one below the other, as wide as their place."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QImage, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QScrollArea, QWidget

from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import LIGHT, SPACING

_WIDEST = 1000


class _Pages(QWidget):
    def __init__(self) -> None:
        super().__init__()
        self.images: tuple[QImage, ...] = ()
        self.is_stale = False

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the pages on paper, which is light in every theme."""
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.setPen(QPen(LIGHT.colour("line"), 1.0))
        y = 0.0
        for image in self.images:
            height = self.width() * image.height() / image.width()
            page = QRectF(0.5, y + 0.5, self.width() - 1.0, height - 1.0)
            painter.setOpacity(0.5 if self.is_stale else 1.0)
            painter.drawImage(page, image)
            painter.setOpacity(1.0)
            painter.drawRect(page)
            y += height + SPACING

    def height_for(self, width: int) -> int:
        """Return the height of all pages at a width."""
        each = [width * image.height() / image.width() + SPACING for image in self.images]
        return max(round(sum(each)), 1)


class PagesView(QScrollArea):
    """Shows pictures of pages; ``words`` say to screen readers what stands on them."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._pages = _Pages()
        self.setWidget(self._pages)
        name_control(self, "The bench sheet")
        self.setToolTip("")

    def show_pages(self, images: Sequence[QImage], words: str, *, is_stale: bool = False) -> None:
        """Show these pages; the place looked at stays."""
        self._pages.images, self._pages.is_stale = tuple(images), is_stale
        self.setAccessibleDescription(words)
        self._fit()
        self._pages.update()

    @property
    def count(self) -> int:
        """The number of pages."""
        return len(self._pages.images)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the pages as wide as their place."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        width = min(self.viewport().width(), _WIDEST)
        self._pages.resize(QSize(width, self._pages.height_for(width)))
