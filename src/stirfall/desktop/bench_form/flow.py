"""A row of widgets that goes on in the next row where the width ends, so that large text is never cut."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QSizePolicy, QWidget

from stirfall.desktop.bench_form.look import GAP


class FlowLayout(QLayout):
    """Lays widgets out from left to right, as many in a row as fit; those that may grow share what is left."""

    def __init__(self, parent: QWidget | None = None, *, gap: int = GAP) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._gap = gap
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:
        """Take an item at the end."""
        self._items.append(item)

    def count(self) -> int:
        """Return the number of items."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """Return an item, None beyond the last."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Remove and return an item, None beyond the last."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        """The row takes no more height than it needs."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """The height follows from how many rows the width asks for."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height of as many rows as the width asks for."""
        rows = self._rows(width)
        return sum(self._row_height(row) for row in rows) + self._gap * max(0, len(rows) - 1)

    def sizeHint(self) -> QSize:
        """Return the size of one row."""
        shown = self._shown()
        width = sum(item.sizeHint().width() for item in shown) + self._gap * max(0, len(shown) - 1)
        return QSize(width, self._row_height(shown))

    def minimumSize(self) -> QSize:
        """Return the size of the widest item alone."""
        shown = self._shown()
        width = max((item.minimumSize().width() for item in shown), default=0)
        return QSize(width, self._row_height(shown))

    def setGeometry(self, rect: QRect) -> None:
        """Place the items."""
        super().setGeometry(rect)
        top = rect.top()
        for row in self._rows(rect.width()):
            self._place(row, QRect(rect.left(), top, rect.width(), self._row_height(row)))
            top += self._row_height(row) + self._gap

    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _row_height(self, row: list[QLayoutItem]) -> int:
        return max((item.sizeHint().height() for item in row), default=0)

    def _rows(self, width: int) -> list[list[QLayoutItem]]:
        rows: list[list[QLayoutItem]] = []
        left = -1
        for item in self._shown():
            wanted = item.sizeHint().width()
            if rows and wanted + self._gap <= left:
                rows[-1].append(item)
            else:
                rows.append([item])
                left = width + self._gap  # the first in a row has no gap before it
            left -= wanted + self._gap
        return rows

    def _place(self, row: list[QLayoutItem], room: QRect) -> None:
        needed = sum(item.sizeHint().width() for item in row) + self._gap * (len(row) - 1)
        growing = [item for item in row if self._may_grow(item)]
        spare = max(0, room.width() - needed)
        left = room.left()
        for item in row:
            width = min(item.sizeHint().width(), room.width())
            if item in growing:
                width += spare // len(growing)
            item.setGeometry(QRect(QPoint(left, room.top()), QSize(width, room.height())))
            left += width + self._gap

    @staticmethod
    def _may_grow(item: QLayoutItem) -> bool:
        widget = item.widget()
        return widget is not None and widget.sizePolicy().horizontalPolicy() is QSizePolicy.Policy.Expanding
