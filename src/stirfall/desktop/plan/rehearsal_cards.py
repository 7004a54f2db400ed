"""One order as a card: its steps as a small picture with the band of chance, and its numbers in words."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from stirfall.bench.units import format_number
from stirfall.desktop.bench_form.look import GAP, HALF_GAP
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.cards import Card
from stirfall.desktop.plan.rehearsal_plot import corners, pen_of
from stirfall.desktop.plan.rehearsal_state import OrderLine
from stirfall.desktop.theme import LIGHT, Theme, set_text_role

_WIDTH, _HEIGHT = 176, 104


class StepPicture(QWidget):
    """The share of campaigns that are done against attempts or weeks, from 0 to 100 % and to what was played."""

    def __init__(self) -> None:
        super().__init__()
        self._line: OrderLine | None = None
        self._most, self._decimal = 1.0, "."
        self._theme, self._is_stale = LIGHT, False
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_line(self, line: OrderLine, most: float, theme: Theme, decimal: str, *, is_stale: bool) -> None:
        """Show an order; ``most`` is the end of the axis, the same for all orders."""
        now = (line, most, theme, decimal, is_stale)
        if now != (self._line, self._most, self._theme, self._decimal, self._is_stale):
            self._line, self._most, self._theme, self._decimal, self._is_stale = now
            self.update()

    def sizeHint(self) -> QSize:
        """Return the size of a picture that can be told apart from its neighbours."""
        return QSize(_WIDTH, _HEIGHT + self.fontMetrics().height())

    def minimumSizeHint(self) -> QSize:
        """Never be smaller."""
        return self.sizeHint()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the frame, the band, the steps, and both ends of the axis."""
        if self._line is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        words = float(self.fontMetrics().height())
        room = QRectF(1.5, 3.5, self.width() - 3.0, self.height() - words - 6.0)
        self._draw_frame(painter, room)
        steps = self._line.steps
        band = QPainterPath()
        x, low = corners(steps.x, steps.lower)
        _, high = corners(steps.x, steps.upper)
        outline = [self._place(room, *each) for each in zip(x, high, strict=True)]
        outline += [self._place(room, *each) for each in zip(x[::-1], low[::-1], strict=True)]
        band.addPolygon(QPolygonF(outline))
        painter.fillPath(band, self._theme.colour("grid" if self._is_stale else "band"))
        x, done = corners(steps.x, steps.done)
        painter.setPen(pen_of(self._line.style, self._theme, is_stale=self._is_stale))
        painter.drawPolyline(QPolygonF([self._place(room, *each) for each in zip(x, done, strict=True)]))

    def _draw_frame(self, painter: QPainter, room: QRectF) -> None:
        painter.setPen(QPen(self._theme.colour("grid"), 1.0))
        for share in (0.5, 1.0):
            painter.drawLine(self._place(room, 0.0, share), self._place(room, self._most, share))
        painter.setPen(QPen(self._theme.colour("line"), 1.0))
        painter.drawLine(room.bottomLeft(), room.bottomRight())
        painter.drawLine(room.bottomLeft(), room.topLeft())
        painter.setPen(self._theme.colour("muted"))
        below = QRectF(0, room.bottom() + 2, self.width(), self.fontMetrics().height() + 1)
        end = format_number(self._most, digits=2, decimal=self._decimal)
        painter.drawText(below, Qt.AlignmentFlag.AlignLeft, "0")
        painter.drawText(below, Qt.AlignmentFlag.AlignRight, end)

    def _place(self, room: QRectF, x: float, share: float) -> QPointF:
        across = min(float(x) / self._most, 1.0)
        return QPointF(room.left() + across * room.width(), room.bottom() - float(share) * room.height())


class OrderCard(Card):
    """One order."""

    def __init__(self, at: int) -> None:
        super().__init__(f"rehearsal_result_{at + 1}")
        self.title, self.large = wrapped_label("", "muted"), wrapped_label("", "heading")
        self.saves, self.middle = wrapped_label(""), wrapped_label("")
        self.rest = wrapped_label("", "muted")
        self.picture = StepPicture()
        words = QVBoxLayout()
        words.setSpacing(HALF_GAP)
        for part in (self.title, self.large, self.middle, self.saves, self.rest):
            words.addWidget(part)
        words.addStretch(1)
        grid = QGridLayout(self)
        grid.setContentsMargins(GAP, GAP, GAP, GAP)
        grid.setHorizontalSpacing(2 * GAP)
        grid.addWidget(self.picture, 0, 0, Qt.AlignmentFlag.AlignTop)
        grid.addLayout(words, 0, 1)
        grid.setColumnStretch(1, 1)

    def render_line(self, line: OrderLine, most: float, decimal: str, *, is_stale: bool) -> None:
        """Show an order."""
        self.picture.show_line(line, most, self.theme, decimal, is_stale=is_stale)
        self.title.setText(line.title)
        self.large.setText(line.large)
        self.middle.setText(f"{line.middle} {line.spread}")
        self.saves.setText(line.saves)
        self.saves.setVisible(bool(line.saves))
        self.rest.setText(f"{line.reached} {line.missed}".strip())
        for label in (self.middle, self.saves):
            set_text_role(label, "muted" if is_stale else "")
        self.tell(line.title, line.in_words)
