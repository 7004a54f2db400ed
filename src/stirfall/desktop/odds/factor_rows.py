"""Sentences about effects with their picture beside them, row by row on one axis: table and picture are one."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.odds.factor_axis import FactorRow, is_beyond, place_on, tick_text, ticks_of
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.theme import SPACING, Theme, set_text_role

_WORDS, _PICTURE = 11, 8  # shares of the width
_EDGE = 22.0  # half of the widest label of the axis
_DOT, _LINE, _ARROW = 4.5, 2.5, 6.0
_APART = 4.0
_ENDS = (("← odds fall", "odds rise →"), ("← fall", "rise →"), ("←", "→"))


class FactorStrip(QWidget):
    """The interval of one row, between the lines of the axis that run through all rows."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._row = FactorRow("", "")
        self._reach, self._is_stale = 10.0, False
        self._theme: Theme | None = None

    def show_row(self, row: FactorRow, *, reach: float, is_stale: bool, theme: Theme) -> None:
        """Draw another interval."""
        self._row, self._reach, self._is_stale, self._theme = row, reach, is_stale, theme
        self.update()

    def x_of(self, value: float) -> float:
        """Return where an odds factor stands, in pixels from the left."""
        return x_on_strip(value, self._reach, float(self.width()))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the lines of the axis, the interval and its middle."""
        del event
        if self._theme is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw_lines(painter, self._theme, self._reach, self.size())
        self._draw_interval(painter, self._theme)
        painter.end()

    def _draw_interval(self, painter: QPainter, theme: Theme) -> None:
        row = self._row
        if row.mean is None or row.lower is None or row.upper is None:
            return
        stands_out = row.is_sure and not self._is_stale
        colour = QColor(theme.accent if stands_out else theme.line)
        y = self.height() / 2
        left, right, middle = self.x_of(row.lower), self.x_of(row.upper), self.x_of(row.mean)
        pen = QPen(colour, _LINE if stands_out else _LINE * 0.7)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(pen)
        painter.drawLine(QPointF(left, y), QPointF(right, y))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        for value, x in ((row.lower, left), (row.upper, right)):
            if is_beyond(value, self._reach):
                way = 1.0 if value > 1.0 else -1.0  # both ends may lie beyond the same end of the axis
                tip = QPointF(x + way * _ARROW, y)
                painter.drawPolygon(QPolygonF([tip, QPointF(x, y - _ARROW * 0.7), QPointF(x, y + _ARROW * 0.7)]))
            else:
                painter.drawRect(QRectF(x - 0.75, y - 4.0, 1.5, 8.0))
        if is_beyond(row.mean, self._reach):
            return  # the point would stand where it is not
        painter.setPen(QPen(colour, 2.0))
        painter.setBrush(colour if stands_out else QColor(theme.surface))
        painter.drawEllipse(QPointF(middle, y), _DOT, _DOT)


class FactorAxis(QWidget):
    """The head of the picture: what each line stands for, and which way the odds rise."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._reach = 10.0
        self._theme: Theme | None = None

    def sizeHint(self) -> QSize:
        """Room for two lines of text."""
        return QSize(160, round(2.4 * self.fontMetrics().height()))

    def show_reach(self, reach: float, theme: Theme) -> None:
        """Label another axis."""
        self._reach, self._theme = reach, theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the labels of the lines, those that fit, and the words at both ends."""
        del event
        if self._theme is None:
            return
        painter = QPainter(self)
        metrics = QFontMetricsF(self.font())
        width, line = float(self.width()), metrics.height()
        painter.setPen(QColor(self._theme.muted))
        fall, rise = end_words(width, metrics)
        painter.drawText(QRectF(0, 0, width / 2, line), int(Qt.AlignmentFlag.AlignLeft), fall)
        painter.drawText(QRectF(width / 2, 0, width / 2, line), int(Qt.AlignmentFlag.AlignRight), rise)
        painter.setPen(QColor(self._theme.text))
        for value in shown_ticks(self._reach, width, metrics):
            text, x = tick_text(value), x_on_strip(value, self._reach, width)
            painter.drawText(QPointF(x - metrics.horizontalAdvance(text) / 2, 1.15 * line + metrics.ascent()), text)
        painter.end()


class FactorRowWidget(QFrame):
    """One row: words at the left, its interval at the right.

    Signals:
        stepped(int): up (-1) or down (1) was pressed.
    """

    stepped = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words, self.aside, self.strip = wrapped_label(""), wrapped_label("", "muted"), FactorStrip()
        column = QVBoxLayout()
        column.setContentsMargins(0, SPACING // 2, 0, SPACING // 2)
        column.setSpacing(0)
        column.addStretch(1)
        column.addWidget(self.words)
        column.addWidget(self.aside)
        column.addStretch(1)
        whole = QHBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(SPACING)
        whole.addLayout(column, _WORDS)
        whole.addWidget(self.strip, _PICTURE)

    def render(self, row: FactorRow, *, reach: float, is_stale: bool, theme: Theme) -> None:  # type: ignore[override]
        """Show a row."""
        self.words.setText(row.text)
        self.aside.setText(row.aside)
        self.aside.setVisible(bool(row.aside))
        set_text_role(self.words, "muted" if is_stale or not row.is_sure else "")
        self.strip.show_row(row, reach=reach, is_stale=is_stale, theme=theme)
        self.setAccessibleName(row.text)
        self.setAccessibleDescription(row.aside)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and down go to the neighbours."""
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.stepped.emit(1 if event.key() == Qt.Key.Key_Down else -1)
        else:
            super().keyPressEvent(event)


class FactorRows(QWidget):
    """All rows of one block under one axis. One row takes the Tab key; up and down walk over the others.

    Signals:
        walked(FactorRowWidget): a key moved the focus to this row, which should come into view.
    """

    walked = Signal(object)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName(name)
        self.axis = FactorAxis()
        self.rows: list[FactorRowWidget] = []
        self._current = 0
        head = QHBoxLayout()
        head.setSpacing(SPACING)
        head.addWidget(_blank(), _WORDS)
        head.addWidget(self.axis, _PICTURE)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self._column.addLayout(head)

    def render(self, rows: tuple[FactorRow, ...], *, reach: float, is_stale: bool, theme: Theme) -> None:  # type: ignore[override]
        """Show rows; showing them twice changes nothing."""
        while len(self.rows) < len(rows):
            self._add_row()
        self.axis.show_reach(reach, theme)
        for index, widget in enumerate(self.rows):
            there = index < len(rows)
            if there:
                widget.render(rows[index], reach=reach, is_stale=is_stale, theme=theme)
            widget.setVisible(there)
        self._give_tab(min(self._current, max(len(rows) - 1, 0)))

    def _add_row(self) -> None:
        widget, index = FactorRowWidget(), len(self.rows)
        widget.setObjectName(f"{self.objectName()}_{index + 1}")
        widget.stepped.connect(lambda step: self._go(index + step))
        self.rows.append(widget)
        self._column.addWidget(widget)

    def _go(self, index: int) -> None:
        if 0 <= index < len(self.rows) and not self.rows[index].isHidden():
            self._give_tab(index)
            self.rows[index].setFocus(Qt.FocusReason.TabFocusReason)
            self.walked.emit(self.rows[index])

    def _give_tab(self, index: int) -> None:
        self._current = index
        for place, widget in enumerate(self.rows):
            policy = Qt.FocusPolicy.StrongFocus if place == index else Qt.FocusPolicy.ClickFocus
            widget.setFocusPolicy(policy)


def _blank() -> QWidget:
    """Return what holds the place of the words above them; a plain stretch would be shared out differently."""
    blank = QWidget()
    blank.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
    return blank


def x_on_strip(value: float, reach: float, width: float) -> float:
    """Return where an odds factor stands on a strip, in pixels from its left edge."""
    half = width / 2
    return half + place_on(value, reach) * max(half - _EDGE, 1.0)


def end_words(width: float, metrics: QFontMetricsF) -> tuple[str, str]:
    """Return what stands at both ends of the axis, as long as there is room for."""
    for ends in _ENDS:
        if max(map(metrics.horizontalAdvance, ends)) < 0.46 * width:
            return ends
    return _ENDS[-1]


def shown_ticks(reach: float, width: float, metrics: QFontMetricsF) -> tuple[float, ...]:
    """Return the ticks whose labels fit side by side: 1, the ends, then tens, then what else has room."""
    above = [value for value in ticks_of(reach) if value > 1.0]
    shown = [1.0]
    for value in sorted(above, key=lambda one: (one != reach, one != 10.0, one)):
        wanted = sorted([*shown, value, 1.0 / value])
        spans = [_label_span(one, reach, width, metrics) for one in wanted]
        if all(left[1] + _APART < right[0] for left, right in pairwise(spans)):
            shown = wanted
    return tuple(shown)


def _label_span(value: float, reach: float, width: float, metrics: QFontMetricsF) -> tuple[float, float]:
    middle, half = x_on_strip(value, reach, width), metrics.horizontalAdvance(tick_text(value)) / 2
    return middle - half, middle + half


def draw_lines(painter: QPainter, theme: Theme, reach: float, size: QSize) -> None:
    """Draw the lines of the axis through a strip; the one at 1 is stronger."""
    for value in ticks_of(reach):
        x = x_on_strip(value, reach, float(size.width()))
        painter.setPen(QPen(QColor(theme.line if value == 1.0 else theme.grid), 1.2 if value == 1.0 else 1.0))
        painter.drawLine(QPointF(x, 0.0), QPointF(x, float(size.height())))
