"""Sheets of A4 for the recipe: places text and lines from the top down, begins a new sheet when one is full.

Units are tenths of a point. Everything that is placed is also kept as a rectangle, so that tests can prove that
nothing is cut and nothing overlaps.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from stirfall.desktop.theme import LIGHT

DOTS = 720
PT = DOTS / 72.0
MM = DOTS / 25.4
LEFT, TOP, RIGHT, BOTTOM = 18 * MM, 15 * MM, 192 * MM, 281 * MM
FOOT = 286 * MM
WIDTH = RIGHT - LEFT
GUTTER = 8 * MM
HALF = (WIDTH - GUTTER) / 2
_FAMILIES = ["Noto Sans", "Nimbus Sans", "Helvetica Neue", "Segoe UI", "Liberation Sans", "DejaVu Sans"]
_WRAP = Qt.TextFlag.TextWordWrap


class NewPages(Protocol):
    """Whatever can begin another page."""

    def newPage(self) -> bool:
        """Begin another page."""
        ...


@dataclass(frozen=True)
class Ink:
    """How text is set: size in points, weight, role of its colour in the light theme, and alignment."""

    size: float = 9.0
    bold: bool = False
    role: str = "text"
    align: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft
    leading: float = 1.0

    def font(self) -> QFont:
        """Return the font in device pixels, so that no screen is asked."""
        font = QFont()
        font.setFamilies(_FAMILIES)
        font.setPixelSize(round(self.size * PT))
        font.setBold(self.bold)
        font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
        return font


@dataclass(frozen=True)
class Placed:
    """One text on one sheet."""

    page: int
    rect: QRectF
    text: str


@dataclass
class Sheet:
    """The place where the next thing goes: ``y`` on page ``page``; ``at_end`` draws the foot of a page."""

    writer: NewPages
    painter: QPainter
    foot: Callable[[Sheet], None]
    y: float = TOP
    page: int = 1
    placed: list[Placed] = field(default_factory=list)

    def room(self) -> float:
        """Return the height that is left on this page."""
        return BOTTOM - self.y

    def need(self, height: float) -> None:
        """Begin a new page unless there is room for ``height``."""
        if height > self.room() and self.y > TOP:
            self.turn()

    def turn(self) -> None:
        """Finish the page and begin the next."""
        self.foot(self)
        self.writer.newPage()
        self.page += 1
        self.y = TOP

    def height(self, text: str, ink: Ink, width: float) -> float:
        """Return the height of wrapped text."""
        return self._bounds(text, ink, width).height()

    def extent(self, text: str, ink: Ink) -> QRectF:
        """Return the size of text on one line."""
        return self._bounds(text, ink, 1e6)

    def _bounds(self, text: str, ink: Ink, width: float) -> QRectF:
        metrics = QFontMetricsF(ink.font(), self.painter.device())
        return metrics.boundingRect(QRectF(0, 0, width, 1e6), int(_WRAP | ink.align), text)

    def put(self, text: str, ink: Ink, x: float, width: float, *, y: float | None = None) -> float:
        """Draw wrapped text at ``x`` and at ``y`` (else where the sheet stands); return its height."""
        top = self.y if y is None else y
        bounds = self._bounds(text, ink, width)
        self.painter.setFont(ink.font())
        self.painter.setPen(self.colour(ink.role))
        rect = QRectF(x, top, width, bounds.height())
        self.painter.drawText(rect, int(_WRAP | ink.align), text)
        self.placed.append(Placed(self.page, bounds.translated(x, top), text))
        return bounds.height()

    def line(self, text: str, ink: Ink, *, after: float = 0.0) -> None:
        """Draw text over the whole width and move on."""
        self.need(self.height(text, ink, WIDTH))
        self.y += self.put(text, ink, LEFT, WIDTH) + after

    def rule(self, *, role: str = "grid", thickness: float = 0.5, y: float | None = None) -> None:
        """Draw a hairline over the whole width."""
        top = self.y if y is None else y
        self.painter.setPen(QPen(self.colour(role), thickness * PT))
        self.painter.drawLine(QPointF(LEFT, top), QPointF(RIGHT, top))

    def heading(self, text: str, *, keep: float = 0.0) -> None:
        """Draw a heading that stays with at least ``keep`` of what follows."""
        ink = Ink(11.0, bold=True, role="accent")
        height = self.height(text, ink, WIDTH)
        self.need(height + 6 * MM + keep)
        if self.y > TOP:
            self.y += 4.0 * MM
        self.put(text, ink, LEFT, WIDTH)
        self.y += height + 1.6 * MM

    def check_box(self, x: float, y: float, size: float) -> None:
        """Draw an empty box to tick by hand."""
        self.painter.setPen(QPen(self.colour("text"), 0.7 * PT))
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.drawRect(QRectF(x, y, size, size))

    def bullet(self, x: float, y: float, size: float) -> None:
        """Draw a small dot in the middle of a square."""
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(self.colour("muted"))
        self.painter.drawEllipse(QPointF(x + size / 2, y + size / 2), 0.9 * PT, 0.9 * PT)

    def band(self, x: float, y: float, width: float, height: float, role: str, *, edge: str) -> None:
        """Fill a strip and mark its left edge, so that it also shows in black and white."""
        self.painter.setPen(Qt.PenStyle.NoPen)
        self.painter.setBrush(self.colour(role))
        self.painter.drawRect(QRectF(x, y, width, height))
        self.painter.setBrush(self.colour(edge))
        self.painter.drawRect(QRectF(x, y, 1.2 * MM, height))

    def notice(self, lines: list[tuple[str, bool]], *, edge: str = "caution") -> None:
        """Draw a strip with lines (text, bold) over the whole width; ``edge`` is the role of its left edge."""
        inner, pad = WIDTH - 8 * MM, 1.8 * MM
        inks = [(text, Ink(9.0, bold=bold, role="text")) for text, bold in lines]
        heights = [self.height(text, ink, inner) for text, ink in inks]
        total = sum(heights) + 2 * pad + 0.8 * MM * (len(lines) - 1)
        self.need(total)
        self.band(LEFT, self.y, WIDTH, total, "caution_surface", edge=edge)
        y = self.y + pad
        for (text, ink), height in zip(inks, heights, strict=True):
            self.put(text, ink, LEFT + 4 * MM, inner, y=y)
            y += height + 0.8 * MM
        self.y += total + 2.0 * MM

    @staticmethod
    def colour(role: str) -> QColor:
        """Return a colour of the light theme: paper is light."""
        return LIGHT.colour(role)
