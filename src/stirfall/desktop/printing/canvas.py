"""A page to draw on in millimetres, on paper or in a picture; it keeps what was placed where."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QTextLayout,
    QTextOption,
)

from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.theme import LIGHT
from stirfall.reporting.square_code import QUIET, SquareCode

UNITS_PER_MM = 100.0
DOTS_PER_INCH = 2540
"""The resolution at which one unit of the painter is a hundredth of a millimetre."""

MM_PER_PT = 25.4 / 72.0
_FAMILIES = ["Noto Sans", "Nimbus Sans", "Helvetica Neue", "Segoe UI", "Liberation Sans", "DejaVu Sans"]
_STEP_PT = 0.2
_ELLIPSIS = "\u2026"
# On one line, with each number held to its unit.
_BREAKS = {**dict.fromkeys(map(ord, "\n\r\t\v\f\u2028\u2029"), " "), ord(THIN_SPACE): "\u202f"}


@dataclass(frozen=True)
class Type:
    """How text is set: points, weight, whether it is a grey hint, and alignment."""

    size: float
    bold: bool = False
    grey: bool = False
    align: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft
    leading: float = 1.0

    def font(self) -> QFont:
        """Return the font in units of the page, so that no screen is asked."""
        font = QFont()
        font.setFamilies(_FAMILIES)
        font.setPixelSize(max(1, round(self.size * MM_PER_PT * UNITS_PER_MM)))
        font.setBold(self.bold)
        font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
        return font

    @property
    def line_mm(self) -> float:
        """The height of one line in mm."""
        return QFontMetricsF(self.font()).height() * self.leading / UNITS_PER_MM

    @property
    def cap_mm(self) -> float:
        """The height of a capital letter in mm."""
        return QFontMetricsF(self.font()).capHeight() / UNITS_PER_MM

    def width_mm(self, text: str) -> float:
        """Return the width of a text on one line in mm."""
        return QFontMetricsF(self.font()).horizontalAdvance(text.translate(_BREAKS)) / UNITS_PER_MM


@dataclass(frozen=True)
class Placed:
    """One text where it stands, in mm from the corner of the page; ``size`` in points."""

    rect: QRectF
    text: str
    size: float


@dataclass
class Canvas:
    """Draws with a painter whose unit is a hundredth of a millimetre; all lengths here are in mm."""

    painter: QPainter
    placed: list[Placed] = field(default_factory=list)

    def text(self, text: str, kind: Type, x: float, y: float, width: float, *, most_mm: float = 1e6) -> float:
        """Draw wrapped text and return its height; what is higher than ``most_mm`` ends with an ellipsis."""
        shown = elided(text, kind, width, most_mm)
        layout, height, widest = _laid_out(shown, kind, width)
        self.painter.setPen(LIGHT.colour("muted") if kind.grey else QColor(Qt.GlobalColor.black))
        layout.draw(self.painter, QPointF(x * UNITS_PER_MM, y * UNITS_PER_MM))
        left = {Qt.AlignmentFlag.AlignRight: width - widest, Qt.AlignmentFlag.AlignHCenter: (width - widest) / 2}
        self.placed.append(Placed(QRectF(x + left.get(kind.align, 0.0), y, widest, height), text, kind.size))
        return height

    def rule(self, x: float, y: float, width: float, *, thickness: float = 0.2, grey: bool = False) -> None:
        """Draw a line to write on, or one that parts."""
        self._pen(thickness, grey)
        self.painter.drawLine(QPointF(x, y) * UNITS_PER_MM, QPointF(x + width, y) * UNITS_PER_MM)

    def box(self, rect: QRectF, *, thickness: float = 0.25, grey: bool = False) -> None:
        """Draw an empty box."""
        self._pen(thickness, grey)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.drawRect(_units(rect))

    def square(self, code: SquareCode, rect: QRectF) -> None:
        """Draw a square code with its light margin into a square."""
        module = rect.width() / code.modules
        path = QPainterPath()
        path.setFillRule(Qt.FillRule.WindingFill)
        for row, line in enumerate(code.rows):
            for start, length in _runs(line):
                at = QPointF(rect.left() + (QUIET + start) * module, rect.top() + (QUIET + row) * module)
                path.addRect(_units(QRectF(at.x(), at.y(), length * module, module)))
        self.painter.fillRect(_units(rect), Qt.GlobalColor.white)
        self.painter.fillPath(path, Qt.GlobalColor.black)

    def warning_sign(self, x: float, y: float, side: float) -> None:
        """Draw a triangle with an exclamation mark, as warning signs have it, ``side`` mm high and wide."""
        corners = [(0.5, 0.06), (0.97, 0.92), (0.03, 0.92)]
        self._pen(side * 0.09, False)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        points = [QPointF(x + side * across, y + side * down) * UNITS_PER_MM for across, down in corners]
        self.painter.drawPolygon(QPolygonF(points))
        self.painter.fillRect(
            _units(QRectF(x + side * 0.455, y + side * 0.36, side * 0.09, side * 0.28)), Qt.GlobalColor.black
        )
        self.painter.fillRect(
            _units(QRectF(x + side * 0.455, y + side * 0.71, side * 0.09, side * 0.09)), Qt.GlobalColor.black
        )

    @contextmanager
    def clipped(self, rect: QRectF) -> Iterator[None]:
        """Keep whatever is drawn inside ``rect``."""
        self.painter.save()
        self.painter.setClipRect(_units(rect))
        try:
            yield
        finally:
            self.painter.restore()

    def _pen(self, thickness: float, grey: bool) -> None:
        colour = LIGHT.colour("line") if grey else QColor(Qt.GlobalColor.black)
        pen = QPen(colour, thickness * UNITS_PER_MM)
        pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
        self.painter.setPen(pen)


def largest_that(fits: Callable[[float], bool], least: float, most: float) -> float | None:
    """Return the largest size in steps of 0.2 points for which ``fits`` says yes, None where the least does not.

    Halving: a size between two that fit is taken to fit as well.
    """
    if not fits(least):
        return None
    low, high = 0, round((most - least) / _STEP_PT) + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(least + middle * _STEP_PT) else (low, middle)
    return least + low * _STEP_PT


@lru_cache(maxsize=4096)
def height_of(text: str, kind: Type, width: float) -> float:
    """Return the height of wrapped text in mm; a word that is longer than a line is broken."""
    return _laid_out(text, kind, width)[1]


def elided(text: str, kind: Type, width: float, most_mm: float) -> str:
    """Return as much of a text as fits into ``most_mm``, with an ellipsis where something is left out."""
    if height_of(text, kind, width) <= most_mm + 0.01:
        return text
    fits, too_long = 0, len(text)
    while too_long - fits > 1:
        middle = (fits + too_long) // 2
        if height_of(text[:middle].rstrip() + _ELLIPSIS, kind, width) <= most_mm + 0.01:
            fits = middle
        else:
            too_long = middle
    return text[:fits].rstrip() + _ELLIPSIS


def _laid_out(text: str, kind: Type, width: float) -> tuple[QTextLayout, float, float]:
    """Return the lines of a text, their height and the width of the widest, both in mm."""
    option = QTextOption(kind.align)
    option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
    layout = QTextLayout(text.translate(_BREAKS), kind.font())
    layout.setTextOption(option)
    layout.beginLayout()
    y, widest = 0.0, 0.0
    while (line := layout.createLine()).isValid():
        line.setLineWidth(max(width, 0.1) * UNITS_PER_MM)
        line.setPosition(QPointF(0.0, y))
        y += line.height() * kind.leading
        widest = max(widest, line.naturalTextWidth())
    layout.endLayout()
    return layout, y / UNITS_PER_MM, widest / UNITS_PER_MM


def _runs(line: tuple[bool, ...]) -> Iterator[tuple[int, int]]:
    """Yield start and length of each dark stretch of a row."""
    start = None
    for place, dark in enumerate((*line, False)):
        if dark and start is None:
            start = place
        elif not dark and start is not None:
            yield start, place - start
            start = None


def _units(rect: QRectF) -> QRectF:
    return QRectF(
        rect.x() * UNITS_PER_MM, rect.y() * UNITS_PER_MM, rect.width() * UNITS_PER_MM, rect.height() * UNITS_PER_MM
    )
