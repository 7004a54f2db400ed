"""Pictures for papers and notebooks: title, plot and caption at a fixed size, on the light theme, as PNG or SVG."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QImage, QPainter
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QApplication, QGraphicsView

from stirfall.desktop.theme import LIGHT

PNG_SCALE = 2
_DPI = 96
_INCH_M = 0.0254
_PAD = 16


@dataclass(frozen=True)
class PictureSheet:
    """One picture; ``size`` is that of its plot in points at 96 per inch, the caption comes below it.

    ``make_plot`` makes the plot anew, laid out at ``size``, with lines so much finer as it is told.
    """

    title: str
    caption: str
    size: QSize
    make_plot: Callable[[float], QGraphicsView]

    @property
    def whole(self) -> QSize:
        """The size of title, plot and caption together."""
        return QSize(self.size.width(), self.size.height() + self._head + self._caption_height + 2 * _PAD)

    def image(self, *, scale: int = PNG_SCALE) -> QImage:
        """Return the picture, ``scale`` pixels to the point, whatever the screen."""
        image = QImage(self.whole * scale, QImage.Format.Format_ARGB32)
        painter = QPainter(image)
        painter.scale(scale, scale)
        self._draw(painter, ink=scale)
        painter.end()
        # Only now: fonts would otherwise grow with the resolution on top of the scale.
        image.setDotsPerMeterX(round(_DPI * scale / _INCH_M))
        image.setDotsPerMeterY(round(_DPI * scale / _INCH_M))
        return image

    def save_png(self, path: Path) -> None:
        """Write the picture as PNG; raises OSError."""
        replace_file(path, lambda target: self.image().save(str(target)))

    def save_svg(self, path: Path) -> None:
        """Write the picture as SVG with its title and description; raises OSError."""
        replace_file(path, self._write_svg)

    def _write_svg(self, target: Path) -> bool:
        generator = QSvgGenerator()
        generator.setFileName(str(target))
        generator.setResolution(_DPI)
        generator.setSize(self.whole)
        generator.setViewBox(QRect(0, 0, self.whole.width(), self.whole.height()))
        generator.setTitle(self.title)
        generator.setDescription(self.caption)
        painter = QPainter()
        if not painter.begin(generator):
            return False
        self._draw(painter, ink=1.0)
        return painter.end()

    @property
    def _head(self) -> int:
        title, _ = _fonts()
        return QFontMetrics(title).height() + 2 * _PAD

    @property
    def _caption_height(self) -> int:
        _, body = _fonts()
        box = QRect(0, 0, self.size.width() - 2 * _PAD, 10_000)
        return QFontMetrics(body).boundingRect(box, Qt.TextFlag.TextWordWrap, self.caption).height()

    def _draw(self, painter: QPainter, *, ink: float) -> None:
        title, body = _fonts()
        wide, top = self.size.width() - 2 * _PAD, self._head
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(QRect(0, 0, self.whole.width(), self.whole.height()), QColor(LIGHT.raised))
        painter.setPen(QColor(LIGHT.text))
        painter.setFont(title)
        painter.drawText(QRectF(_PAD, _PAD, wide, top - 2 * _PAD), Qt.AlignmentFlag.AlignLeft, self.title)
        plot = self.make_plot(ink)
        plot.render(painter, QRectF(0, top, self.size.width(), self.size.height()), plot.viewport().rect())
        plot.deleteLater()
        painter.setPen(QColor(LIGHT.text))
        painter.setFont(body)
        below = QRectF(_PAD, top + self.size.height() + _PAD / 2, wide, self._caption_height + _PAD)
        painter.drawText(below, int(Qt.TextFlag.TextWordWrap), self.caption)


def replace_file(path: Path, write: Callable[[Path], bool]) -> None:
    """Write beside the target first, so that a failure leaves an older file as it was; raises OSError."""
    beside = path.with_name(f".{path.name}.part{path.suffix}")
    try:
        if not write(beside):
            raise OSError(f"cannot write {path.name}")
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _fonts() -> tuple[QFont, QFont]:
    body = QFont(QApplication.font())
    title = QFont(body)
    title.setBold(True)
    return title, body
