"""The picture of the benches: one line each on a scale from 0 to 100 per cent, and one for a bench not seen yet."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET
from stirfall.desktop.evidence.benches_state import BenchLine, Interval
from stirfall.desktop.theme import LIGHT, Theme

_TICKS = (0.0, 0.25, 0.5, 0.75, 1.0)
_DOT, _RING = 5.0, 4.0
_ROW_LINES = 2.7
_NAME_SHARE, _TOLD_SHARE = 0.30, 0.34
_USUAL_HEIGHT = 17.0  # of a line of text at its usual size
_ROOM_FOR_WORDS = 62  # letters of width from which on the words stand at the right
_ARROWS = {"": "", "fewer": "▼ ", "more": "▲ "}


class BenchesPlot(QWidget):
    """Draws lines of benches. Up and down, or a click, picks one out.

    Signals:
        picked(int): the place of the line that was clicked.
        stepped(int): down (1) or up (-1) was pressed.
    """

    picked = Signal(int)
    stepped = Signal(int)

    def __init__(self, theme: Theme = LIGHT, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("benches_plot")
        self.setAccessibleName("Benches, one line each")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._lines: tuple[BenchLine, ...] = ()
        self._picked, self._is_stale, self._theme = -1, False, theme

    def show_lines(self, lines: Sequence[BenchLine], picked: int, theme: Theme, *, is_stale: bool) -> None:
        """Draw these lines with one picked out, greyed while they are late."""
        new = (tuple(lines), picked, is_stale, theme)
        if new != (self._lines, self._picked, self._is_stale, self._theme):
            self._lines, self._picked, self._is_stale, self._theme = new
            words = self._lines[picked].text if 0 <= picked < len(self._lines) else ""
            self.setAccessibleDescription(words)
            self.updateGeometry()
            self.update()

    # -- sizes -----------------------------------------------------------------------------------------

    @property
    def _row(self) -> float:
        return max(float(TARGET), _ROW_LINES * QFontMetricsF(self.font()).height())

    @property
    def _grown(self) -> float:
        """How much larger marks are drawn: as the text grows."""
        return max(1.0, QFontMetricsF(self.font()).height() / _USUAL_HEIGHT)

    @property
    def _head(self) -> float:
        return 1.4 * QFontMetricsF(self.font()).height()

    def sizeHint(self) -> QSize:
        """Return a row for each line under the scale."""
        return QSize(560, round(self._head + self._row * max(1, len(self._lines)) + HALF_GAP))

    def minimumSizeHint(self) -> QSize:
        """Return the least picture that can be read."""
        return QSize(240, self.sizeHint().height())

    @property
    def has_words(self) -> bool:
        """Whether there is room for the words at the right."""
        return self.width() > _ROOM_FOR_WORDS * QFontMetricsF(self.font()).averageCharWidth()

    def _spans(self) -> tuple[float, float, float]:
        """Return where names end, and where the scale begins and ends."""
        metrics = QFontMetricsF(self.font())
        bold = QFontMetricsF(self._bold())
        widths = [
            max(bold.horizontalAdvance(each.name), metrics.horizontalAdvance(each.aside)) for each in self._lines
        ]
        longest = max(widths, default=0.0)
        names = min(longest + 3 * GAP, _NAME_SHARE * self.width())
        right = _TOLD_SHARE * self.width() if self.has_words else 0.0
        edge = metrics.horizontalAdvance("100") / 2 + 2
        return names, names + edge, self.width() - right - edge - GAP

    def _bold(self) -> QFont:
        font = QFont(self.font())
        font.setBold(True)
        return font

    def row_at(self, y: float) -> int:
        """Return the place of the line at a height, -1 where there is none."""
        place = int((y - self._head) // self._row)
        return place if 0 <= place < len(self._lines) and y >= self._head else -1

    # -- drawing ---------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the scale and the lines."""
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        names, left, right = self._spans()
        self._draw_scale(painter, left, right)
        for place, line in enumerate(self._lines):
            top = self._head + place * self._row
            if place == self._picked:
                painter.fillRect(QRectF(0, top, self.width(), self._row), self._theme.colour("raised"))
            self._draw_grid(painter, left, right, top)
            if line.is_new:
                painter.setPen(QPen(self._theme.colour("line"), 1.0))
                painter.drawLine(QPointF(0, top), QPointF(self.width(), top))
            self._draw_line(painter, line, left, right, top)
            self._write(painter, line, names, right, top)
            if place == self._picked:
                self._draw_picked(painter, top)
        painter.end()

    def _draw_picked(self, painter: QPainter, top: float) -> None:
        """Mark the line by a bar at its left; the ring around it says that the keys go here."""
        painter.fillRect(QRectF(0, top, 4, self._row), self._theme.colour("accent"))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self._theme.colour("focus"), 2.0))
            painter.drawRect(QRectF(1, top + 1, self.width() - 2, self._row - 2))

    def _draw_scale(self, painter: QPainter, left: float, right: float) -> None:
        metrics = QFontMetricsF(self.font())
        painter.setPen(self._theme.colour("text"))
        for share in _TICKS:
            text = f"{round(100 * share)}" + (f"{THIN_SPACE}%" if share == 1.0 else "")
            x = left + share * (right - left)
            wide = metrics.horizontalAdvance(f"{round(100 * share)}")
            painter.drawText(QPointF(x - wide / 2, metrics.ascent()), text)

    def _draw_grid(self, painter: QPainter, left: float, right: float, top: float) -> None:
        painter.setPen(QPen(self._theme.colour("grid"), 1.0))
        for share in _TICKS:
            x = left + share * (right - left)
            painter.drawLine(QPointF(x, top), QPointF(x, top + self._row))

    def _draw_line(self, painter: QPainter, line: BenchLine, left: float, right: float, top: float) -> None:
        wide, theme = right - left, self._theme
        if line.foretold is not None:
            low, high = (left + share * wide for share in line.foretold[1:])
            box = QRectF(low, top + 0.12 * self._row, max(high - low, 2.0), 0.76 * self._row)
            painter.fillRect(box, theme.colour("band"))
            painter.setPen(QPen(theme.colour("muted"), 1.2, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box)
        if line.clean is not None:
            self._draw_interval(painter, line.clean, (left, wide), top + 0.33 * self._row, "clean")
        if line.recipe is not None:
            middle = 0.5 if line.is_new else 0.67
            kind = "new" if line.is_new else "recipe"
            self._draw_interval(painter, line.recipe, (left, wide), top + middle * self._row, kind)

    def _draw_interval(
        self, painter: QPainter, interval: Interval, scale: tuple[float, float], y: float, kind: str
    ) -> None:
        """Draw an interval with its middle: a ring (clean attempts), a dot (the chance), a diamond (a new one)."""
        middle, low, high = (scale[0] + min(max(share, 0.0), 1.0) * scale[1] for share in interval)
        is_seen = kind == "clean"
        grown = self._grown
        ink = self._theme.colour("muted" if self._is_stale else "text" if is_seen else "accent")
        painter.setPen(QPen(ink, grown * (1.6 if is_seen else 3.0), Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
        painter.drawLine(QPointF(low, y), QPointF(high, y))
        for end in (low, high):
            painter.drawLine(QPointF(end, y - 4 * grown), QPointF(end, y + 4 * grown))
        painter.setPen(QPen(ink, 2.0))
        painter.setBrush(self._theme.colour("surface") if is_seen else ink)
        if kind == "new":
            size = grown * (_DOT + 3.0)
            ends = ((0, -size), (size, 0), (0, size), (-size, 0))
            painter.drawPolygon(QPolygonF([QPointF(middle + x, y + up) for x, up in ends]))
        else:
            radius = grown * (_RING if is_seen else _DOT)
            painter.drawEllipse(QPointF(middle, y), radius, radius)

    def _write(self, painter: QPainter, line: BenchLine, names: float, right: float, top: float) -> None:
        room = names - 2 * GAP
        self._write_pair(
            painter, (line.name, line.aside), QRectF(GAP + 4, top, room, self._row), is_first_bold=True
        )
        if not self.has_words:
            return
        start = right + 2 * GAP + QFontMetricsF(self.font()).horizontalAdvance("100") / 2
        words = f"{_ARROWS[line.way]}{line.judged}"
        self._write_pair(painter, (line.told, words), QRectF(start, top, self.width() - start, self._row))

    def _write_pair(
        self, painter: QPainter, pair: tuple[str, str], box: QRectF, *, is_first_bold: bool = False
    ) -> None:
        """Write two lines, the second one smaller in weight, each shortened where it is too long."""
        bold = self._bold() if is_first_bold else self.font()
        height = QFontMetricsF(self.font()).height()
        texts = [(text, role) for text, role in zip(pair, ("text", "muted"), strict=True) if text]
        y = box.center().y() - 0.5 * height * len(texts)
        for text, role in texts:
            font = bold if role == "text" else self.font()
            painter.setFont(font)
            painter.setPen(self._theme.colour("muted" if self._is_stale else role))
            shown = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, box.width())
            painter.drawText(QPointF(box.left(), y + QFontMetricsF(font).ascent()), shown)
            y += height
        painter.setFont(self.font())

    # -- mouse and keys --------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick out the line under the pointer."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            if (place := self.row_at(event.position().y())) >= 0:
                self.picked.emit(place)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and down go from line to line, as long as there is another one."""
        steps = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
        step = steps.get(Qt.Key(event.key()))
        if step is not None and 0 <= self._picked + step < len(self._lines):
            self.stepped.emit(step)
            event.accept()
        else:
            event.ignore()
