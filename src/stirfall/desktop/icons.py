"""Icons of our own: SVG line drawings that take the colour of the theme."""

from __future__ import annotations

from PySide6.QtCore import QByteArray, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from stirfall.storage.shipped import shipped


def icon(name: str, colour: str, *, on_colour: str | None = None, size: int = 24) -> QIcon:
    """Return the icon ``name`` in one colour, and in ``on_colour`` while its button is checked."""
    made = QIcon()
    for ratio in (1, 2, 3):
        made.addPixmap(_drawn(name, colour, size, ratio))
        if on_colour is not None:
            made.addPixmap(_drawn(name, on_colour, size, ratio), QIcon.Mode.Normal, QIcon.State.On)
    return made


def app_icon() -> QIcon:
    """Return the program's own icon, in its own colours."""
    return icon("stirfall", "", size=64)


def _drawn(name: str, colour: str, size: int, ratio: int) -> QPixmap:
    source = shipped(f"resources/icons/{name}.svg").read_text(encoding="utf-8")
    renderer = QSvgRenderer(QByteArray(source.replace("currentColor", colour or "black").encode()))
    pixmap = QPixmap(QSize(size, size) * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    renderer.render(painter, QRectF(0, 0, size, size))
    painter.end()
    return pixmap
