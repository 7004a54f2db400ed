"""Two groups as a picture: attempts and means with intervals, and the difference against none and what matters."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.bench.units import format_number
from stirfall.desktop.evidence.compare_state import Picture, Strip
from stirfall.desktop.theme import SPACING, Theme

_LATE = 0.4
_DOT, _GAP, _LEAST_DOT = 9.0, 4.0, 3.0
_BAND = 10.0
_TICK = 4.0
_MOST_TICKS = 6
_JITTER = (0.5, 0.15, 0.85, 0.33, 0.67)
_SIDE = 14.0
_USUAL_HEIGHT = 17.0


@dataclass(frozen=True)
class Ink:
    """What a picture is drawn with: colours, the font of plain text, the decimal sign, and what it stands on."""

    theme: Theme
    font: QFont
    decimal: str = "."
    ground: str = "surface"


class ComparePlot(QWidget):
    """Draws a ``Picture``; as high as its rows need at the present size of text."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("compare_plot")
        self.setAccessibleName("Both groups with their intervals, and the difference")
        self.theme, self.decimal = theme, "."
        self.picture: Picture | None = None
        self._is_stale = False
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self.theme = theme
        self.update()

    def show_picture(self, picture: Picture | None, description: str, *, decimal: str, is_stale: bool) -> None:
        """Draw a picture; ``description`` says it in words, a stale one is drawn faintly."""
        self.setAccessibleDescription(description)
        if (picture, decimal, is_stale) != (self.picture, self.decimal, self._is_stale):
            self.picture, self.decimal, self._is_stale = picture, str(decimal), is_stale
            self.updateGeometry()
            self.update()

    def hasHeightForWidth(self) -> bool:
        """The numbers go below the names where they do not fit beside them."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height of all rows."""
        return 0 if self.picture is None else math.ceil(self._drawn(None, float(width)))

    def sizeHint(self) -> QSize:
        """Ask for a picture that can be read across the bench."""
        return QSize(560, self.heightForWidth(560))

    def minimumSizeHint(self) -> QSize:
        """Return the least width that holds the axes."""
        return QSize(280, self.heightForWidth(280))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw all rows."""
        if self.picture is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setOpacity(_LATE if self._is_stale else 1.0)
        self._drawn(painter, float(self.width()))

    def _drawn(self, painter: QPainter | None, width: float) -> float:
        """Draw, or only measure where there is no painter; return the height."""
        assert self.picture is not None, "only a picture is drawn"
        return draw(painter, self.picture, Ink(self.theme, self.font(), self.decimal), width)


def draw(painter: QPainter | None, picture: Picture, ink: Ink, width: float) -> float:
    """Draw a picture to the width, or only measure it, and return its height."""
    sheet = _Sheet(painter, ink, width)
    sheet.groups(picture)
    sheet.y += 2.0 * SPACING
    sheet.differences(picture)
    return sheet.y + SPACING


class _Sheet:
    """Rows from top to bottom; ``y`` is how far they reach. Without a painter it only measures."""

    def __init__(self, painter: QPainter | None, ink: Ink, width: float) -> None:
        self.painter, self.theme, self.width, self.decimal = painter, ink.theme, width, ink.decimal
        self.ground = ink.ground
        self.plain, self.bold = QFont(ink.font), QFont(ink.font)
        self.bold.setWeight(QFont.Weight.DemiBold)
        self.size = max(1.0, QFontMetricsF(self.plain).height() / _USUAL_HEIGHT)  # marks grow with the text
        self.dot, self.gap, self.band = (self.size * each for each in (_DOT, _GAP, _BAND))
        self.left, self.right = _SIDE, width - _SIDE
        self.y = float(SPACING)

    # -- rows --------------------------------------------------------------------------------------

    def groups(self, picture: Picture) -> None:
        """Draw both groups over their axis."""
        self._text(picture.title, self.plain, "muted", self.left)
        self.y += self._line(self.plain)
        to_x = self._scale(picture.low, picture.high)
        top = self.y
        ticks = [0.0, 0.25, 0.5, 0.75, 1.0] if picture.is_share else _ticks(picture.low, picture.high)
        height = self._measured(lambda: self._strips(picture, to_x))
        self._uprights([to_x(tick) for tick in ticks], top, top + height)
        self._strips(picture, to_x)
        labels = [f"{100.0 * tick:.0f}" if picture.is_share else self._number(tick) for tick in ticks]
        self._axis([to_x(tick) for tick in ticks], labels, picture.unit)

    def differences(self, picture: Picture) -> None:
        """Draw the differences over their axis, with none and what matters."""
        self._wrapped(picture.difference_title, "muted")
        to_x = self._scale(-picture.reach, picture.reach)
        factor = 100.0 if picture.is_share else 1.0
        ticks = _ticks(-picture.reach * factor, picture.reach * factor)
        top = self.y
        height = self._measured(lambda: self._bars(picture, to_x))
        self._uprights([to_x(tick / factor) for tick in ticks if tick], top, top + height)
        self._uprights([to_x(0.0)], top, top + height, role="text")
        self._bars(picture, to_x)
        unit = "points" if picture.is_share or picture.unit == "%" else picture.unit
        self._axis(
            [to_x(tick / factor) for tick in ticks], [self._number(tick, signed=True) for tick in ticks], unit
        )
        self._key(picture)

    def _strips(self, picture: Picture, to_x: Callable[[float], float]) -> None:
        for strip in picture.strips:
            self._heading(strip.name, strip.told)
            if picture.is_share:
                self._marks(strip)
            else:
                self._dots(strip, to_x)
            self._bar(strip.value, strip.lower, strip.upper, to_x)
            self.y += SPACING

    def _bars(self, picture: Picture, to_x: Callable[[float], float]) -> None:
        for bar in picture.bars:
            self._heading(bar.name, bar.told)
            self._matters(picture, to_x)
            self._bar(bar.value, bar.lower, bar.upper, to_x)
            self.y += SPACING

    def _measured(self, rows: Callable[[], None]) -> float:
        """Return the height of rows without drawing them."""
        painter, y = self.painter, self.y
        self.painter = None
        rows()
        height = self.y - y
        self.painter, self.y = painter, y
        return height

    # -- parts of a row ----------------------------------------------------------------------------

    def _heading(self, name: str, told: str) -> None:
        """Write a name and what is told of it, beside each other where both fit."""
        room = self.right - self.left
        wide, told_wide = self._wide(name, self.bold), self._wide(told, self.plain)
        self._text(self._elided(name, self.bold, room), self.bold, "text", self.left, cleared=True)
        if wide + told_wide + 2.0 * SPACING <= room:
            self._text(told, self.plain, "text", self.right - told_wide, cleared=True)
        else:
            self.y += self._line(self.bold)
            self._text(self._elided(told, self.plain, room), self.plain, "text", self.left, cleared=True)
        self.y += self._line(self.bold)

    def _marks(self, strip: Strip) -> None:
        """Draw a mark for each attempt in its order: full where it succeeded, hollow where not."""
        count = len(strip.dots)
        room = self.right - self.left
        pitch = min(self.dot + self.gap, room / max(count, 1))
        size = min(self.dot, pitch - 1.0)
        if size < _LEAST_DOT:
            return
        middle = self.y + 0.5 * self.dot + 1.0
        if self.painter is not None:
            ink = self.theme.colour("text")
            for place, value in enumerate(strip.dots):
                circle = QRectF(self.left + place * pitch, middle - 0.5 * size, size, size)
                self.painter.setPen(QPen(ink, 1.2))
                self.painter.setBrush(Qt.BrushStyle.NoBrush)
                self.painter.drawEllipse(circle)
                if value > 0.0:  # several trials: as full as its share
                    self.painter.setBrush(ink)
                    self.painter.drawPie(circle, 90 * 16, -round(360 * 16 * value))
        self.y += self.dot + self.gap + 2.0

    def _dots(self, strip: Strip, to_x: Callable[[float], float]) -> None:
        """Draw the numbers over the axis, one beside the other by a fixed pattern so that none hides."""
        high = 2.2 * self.dot
        if self.painter is not None:
            self.painter.setPen(QPen(self.theme.colour("text"), 1.2))
            self.painter.setBrush(Qt.BrushStyle.NoBrush)
            for place, value in enumerate(strip.dots):
                at = self.y + 0.4 * self.dot + _JITTER[place % len(_JITTER)] * (high - 0.8 * self.dot)
                self.painter.drawEllipse(QPointF(to_x(value), at), 0.35 * self.dot, 0.35 * self.dot)
        self.y += high

    def _bar(
        self, value: float | None, lower: float | None, upper: float | None, to_x: Callable[[float], float]
    ) -> None:
        middle = self.y + 0.5 * self.band + 2.0
        self.y += self.band + 4.0
        if self.painter is None or value is None:
            return
        accent = self.theme.colour("accent")
        if lower is not None and upper is not None:
            low, high = to_x(lower), to_x(upper)
            self.painter.fillRect(
                QRectF(low, middle - 0.5 * self.band, max(high - low, 1.0), self.band), self.theme.colour("band")
            )
            self.painter.setPen(QPen(accent, 2.0))
            self.painter.drawLine(QPointF(low, middle), QPointF(high, middle))
            for end in (low, high):
                self.painter.drawLine(
                    QPointF(end, middle - 0.5 * self.band), QPointF(end, middle + 0.5 * self.band)
                )
        self.painter.setPen(QPen(self.theme.colour("raised"), 1.5))
        self.painter.setBrush(accent)
        self.painter.drawEllipse(QPointF(to_x(value), middle), 5.5 * self.size, 5.5 * self.size)

    def _matters(self, picture: Picture, to_x: Callable[[float], float]) -> None:
        """Shade in the lane of a bar what is less than what matters, and draw the line of no difference over it."""
        if self.painter is None:
            return
        low, high = to_x(-min(picture.matters, picture.reach)), to_x(min(picture.matters, picture.reach))
        lane = QRectF(low, self.y - 2.0, high - low, self.band + 8.0)
        self.painter.fillRect(lane, self._shade())
        self.painter.setPen(QPen(self.theme.colour("line"), 1.0, Qt.PenStyle.DashLine))
        for x in (low, high):
            self.painter.drawLine(QPointF(x, lane.top()), QPointF(x, lane.bottom()))
        self._uprights([to_x(0.0)], lane.top(), lane.bottom(), role="text")

    def _shade(self) -> QColor:
        fill = QColor(self.theme.colour("grid"))
        fill.setAlphaF(0.45)
        return fill

    def _key(self, picture: Picture) -> None:
        """Say what the shaded part is."""
        if self.painter is not None:
            box = QRectF(self.left, self.y + 0.3 * self._line(self.plain), 18.0, 0.5 * self._line(self.plain))
            self.painter.fillRect(box, self._shade())
            self.painter.setPen(QPen(self.theme.colour("line"), 1.0, Qt.PenStyle.DashLine))
            self.painter.setBrush(Qt.BrushStyle.NoBrush)
            self.painter.drawRect(box)
        self._text(f"less than {picture.matters_word}", self.plain, "muted", self.left + 26.0)
        self.y += self._line(self.plain)

    def _axis(self, places: list[float], labels: list[str], unit: str) -> None:
        """Write the ticks below the rows, the unit after the last; those that would touch are left out."""
        if self.painter is not None:
            self.painter.setPen(QPen(self.theme.colour("line"), 1.0))
            self.painter.drawLine(QPointF(self.left, self.y), QPointF(self.right, self.y))
            for x in places:
                self.painter.drawLine(QPointF(x, self.y), QPointF(x, self.y + _TICK))
        self.y += _TICK
        end = -math.inf
        for place, (x, label) in enumerate(zip(places, labels, strict=True)):
            text = f"{label}\u202f{unit}" if place == len(places) - 1 and unit else label
            wide = self._wide(text, self.plain)
            at = min(max(x - 0.5 * wide, 0.0), self.width - wide)
            if at > end + SPACING:
                self._text(text, self.plain, "muted", at)
                end = at + wide
        self.y += self._line(self.plain)

    def _uprights(self, places: list[float], top: float, bottom: float, role: str = "grid") -> None:
        if self.painter is None:
            return
        self.painter.setPen(QPen(self.theme.colour(role), 1.0 if role == "grid" else 1.6))
        for x in places:
            self.painter.drawLine(QPointF(x, top), QPointF(x, bottom))

    # -- text --------------------------------------------------------------------------------------

    def _text(self, text: str, font: QFont, role: str, x: float, *, cleared: bool = False) -> None:
        """Write a text; ``cleared`` takes away what was drawn behind it."""
        if self.painter is not None:
            if cleared:
                box = QRectF(x - 3.0, self.y, self._wide(text, font) + 6.0, self._line(font) - 1.0)
                self.painter.fillRect(box, self.theme.colour(self.ground))
            self.painter.setFont(font)
            self.painter.setPen(self.theme.colour(role))
            self.painter.drawText(QPointF(x, self.y + QFontMetricsF(font).ascent()), text)

    def _wrapped(self, text: str, role: str) -> None:
        """Write a text in as many lines as it needs."""
        box = QRectF(self.left, self.y, self.right - self.left, 10_000.0)
        flags = Qt.TextFlag.TextWordWrap.value
        high = QFontMetricsF(self.plain).boundingRect(box, flags, text).height()
        if self.painter is not None:
            self.painter.setFont(self.plain)
            self.painter.setPen(self.theme.colour(role))
            self.painter.drawText(box, flags, text)
        self.y += high + 0.5 * SPACING

    def _elided(self, text: str, font: QFont, room: float) -> str:
        return QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, room)

    def _line(self, font: QFont) -> float:
        return QFontMetricsF(font).height() + 2.0

    def _wide(self, text: str, font: QFont) -> float:
        return QFontMetricsF(font).horizontalAdvance(text)

    def _scale(self, low: float, high: float) -> Callable[[float], float]:
        wide = self.right - self.left
        return lambda value: self.left + wide * (min(max(value, low), high) - low) / (high - low)

    def _number(self, value: float, *, signed: bool = False) -> str:
        text = format_number(value, digits=3, decimal=self.decimal)
        return f"+{text}" if signed and value > 0 else text


def _ticks(low: float, high: float) -> list[float]:
    """Return round values within the ends, at steps of 1, 2, 2.5 or 5 times a power of ten."""
    wide = high - low
    power = 10.0 ** math.floor(math.log10(wide / _MOST_TICKS))
    step = next(power * part for part in (1.0, 2.0, 2.5, 5.0, 10.0) if wide / (power * part) <= _MOST_TICKS)
    first = math.ceil(low / step - 1e-9)
    return [round(at * step, 12) for at in range(first, math.floor(high / step + 1e-9) + 1)]
