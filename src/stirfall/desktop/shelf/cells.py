"""How a row of the board is drawn: two or three lines in a cell, and the small curve beside the best time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPalette
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from stirfall.desktop.bench_form.look import GAP, TARGET
from stirfall.desktop.shelf.curve import draw_curve, has_curve
from stirfall.desktop.theme import LIGHT, Theme

if TYPE_CHECKING:
    from stirfall.desktop.shelf.table import CellContent

Index = QModelIndex | QPersistentModelIndex
CONTENT_ROLE = Qt.ItemDataRole.UserRole + 1
"""The role under which a table hands the content of a cell to this delegate."""
LEAST_CURVE, USUAL_CURVE = 56, 120
_LINES_IN_ROW = 2
_MARGINS = 2 * GAP + 3  # widths of text are rounded, and a dot too little cuts a word


class Ruler:
    """Measures lines in one font; what was measured is kept in ``known``, by text and weight."""

    def __init__(self, font: QFont, known: dict[tuple[str, bool], int]) -> None:
        self._usual, self._strong = QFontMetrics(font), QFontMetrics(_bold(font))
        self._known = known

    def width(self, content: CellContent, lines: tuple[str, ...]) -> int:
        """Return the width of the widest line with its margins."""
        return max((self._of(line, is_strong=content.is_strong) for line in lines), default=0) + _MARGINS

    def _of(self, line: str, *, is_strong: bool) -> int:
        key = line, is_strong
        if key not in self._known:
            metrics = self._strong if is_strong else self._usual
            self._known[key] = metrics.horizontalAdvance(line)
        return self._known[key]


class BoardCells(QStyledItemDelegate):
    """Draws cells from their ``CellContent``; with ``is_narrow`` a long line is broken."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.theme: Theme = LIGHT
        self.is_narrow = False

    def lines(self, content: CellContent) -> tuple[str, ...]:
        """Return the lines of a cell as they are drawn."""
        return content.narrow_lines if self.is_narrow else content.lines

    def row_height(self, metrics: QFontMetrics) -> int:
        """Return the height of all rows: two lines, three where it is narrow, and at least what a finger needs."""
        lines = _LINES_IN_ROW + self.is_narrow
        return max(TARGET, lines * metrics.height() + GAP)

    def text_width(self, content: CellContent, font: QFont) -> int:
        """Return the width of the widest line with its margins."""
        return Ruler(font, {}).width(content, self.lines(content))

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return what the text needs, and for a curve its least width."""
        content = index.data(CONTENT_ROLE)
        if content is None:
            return super().sizeHint(option, index)
        curve = LEAST_CURVE + GAP if content.has_curve_column else 0
        return QSize(self.text_width(content, option.font) + curve, self.row_height(option.fontMetrics))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw the background as the style has it, then lines and curve."""
        content = index.data(CONTENT_ROLE)
        if content is None:
            super().paint(painter, option, index)
            return
        shown = QStyleOptionViewItem(option)
        self.initStyleOption(shown, index)
        shown.text = ""
        style = shown.widget.style()
        style.drawControl(QStyle.ControlElement.CE_ItemViewItem, shown, painter, shown.widget)
        room = QRect(option.rect).adjusted(GAP, 0, -GAP, 0)
        if content.has_curve_column:
            room = self._draw_curve(painter, room, content, option.font)
        self._draw_lines(painter, room, content, shown)

    def _draw_curve(self, painter: QPainter, room: QRect, content: CellContent, font: QFont) -> QRect:
        """Draw the curve at the right, as wide as the widest text of the column leaves; return what is left."""
        text = content.text_room if content.text_room else self.text_width(content, font) - 2 * GAP
        place = QRectF(room.adjusted(text + GAP, 3, 0, -3))
        if place.width() >= LEAST_CURVE - GAP and content.forecast is not None and has_curve(content.forecast):
            draw_curve(painter, place, content.forecast, self.theme, content.now, is_stale=content.is_stale)
        return QRect(room.left(), room.top(), text, room.height())

    def _draw_lines(
        self, painter: QPainter, room: QRect, content: CellContent, option: QStyleOptionViewItem
    ) -> None:
        is_selected = bool(option.state & QStyle.StateFlag.State_Selected)
        lines = self.lines(content)
        painter.save()
        height = option.fontMetrics.height()
        top = room.top() + (room.height() - height * len(lines)) // 2
        for at, line in enumerate(lines):
            painter.setFont(_bold(option.font) if content.is_strong and at == 0 else option.font)
            if is_selected:
                painter.setPen(option.palette.color(QPalette.ColorRole.HighlightedText))
            else:
                role = (
                    "muted"
                    if content.is_stale
                    else content.role or ("muted" if at and content.is_strong else "text")
                )
                painter.setPen(self.theme.colour(role))
            place = QRect(room.left(), top + at * height, room.width(), height)
            shown = painter.fontMetrics().elidedText(line, Qt.TextElideMode.ElideRight, room.width())
            painter.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, shown)
        painter.restore()


def _bold(font: QFont) -> QFont:
    bold = QFont(font)
    bold.setWeight(QFont.Weight.DemiBold)
    return bold
