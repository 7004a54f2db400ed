"""The attempts as a table model that stays fast with a hundred thousand rows: cells are written when shown."""

from __future__ import annotations

from functools import cache

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QIcon, QPainter, QPixmap

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.desktop.ledger.cells import Column, columns_of
from stirfall.desktop.theme import Theme

Index = QModelIndex | QPersistentModelIndex
OUTCOME_COLUMN = 1
_GLYPH_SIZE = 16


class LedgerTable(QAbstractTableModel):
    """Rows are attempts, the newest first until another order is asked for."""

    def __init__(self, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._decimal = "."
        self._attempts: tuple[Attempt, ...] = ()
        self._factors: tuple[Factor, ...] = ()
        self._columns: tuple[Column, ...] = columns_of(())
        self._order: list[int] | None = None
        self._sorted_by: tuple[int, Qt.SortOrder] | None = None
        self._struck_font = QFont()
        self._struck_font.setStrikeOut(True)

    # -- content -----------------------------------------------------------------------------------

    @property
    def factors(self) -> tuple[Factor, ...]:
        """The factors that have a column."""
        return self._factors

    def set_look(self, theme: Theme, decimal: str) -> None:
        """Write numbers and draw marks in another way."""
        self._theme, self._decimal = theme, decimal
        if self._attempts:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._attempts) - 1, len(self._columns) - 1))

    def show_campaign(self, campaign: CampaignState | None) -> bool:
        """Show the attempts of a campaign; return whether the whole table was replaced."""
        attempts = campaign.attempts if campaign else ()
        factors = campaign.visible_factors if campaign else ()
        if attempts is self._attempts and factors == self._factors:
            return False
        same_factors = factors == self._factors
        if same_factors and self._order is None and self._is_grown(attempts):
            self._append(attempts)
            return False
        if same_factors and len(attempts) == len(self._attempts) and self._order is None:
            self._replace(attempts)
            return False
        self.beginResetModel()
        self._attempts, self._factors = attempts, factors
        self._columns = columns_of(factors)
        self._order = self._sorted()
        self.endResetModel()
        return True

    def _is_grown(self, attempts: tuple[Attempt, ...]) -> bool:
        old = self._attempts
        return bool(old) and len(attempts) > len(old) and attempts[: len(old)] == old

    def _append(self, attempts: tuple[Attempt, ...]) -> None:
        self.beginInsertRows(QModelIndex(), 0, len(attempts) - len(self._attempts) - 1)
        self._attempts = attempts
        self.endInsertRows()

    def _replace(self, attempts: tuple[Attempt, ...]) -> None:
        old, self._attempts = self._attempts, attempts
        count = len(attempts)
        for place, (before, after) in enumerate(zip(old, attempts, strict=True)):
            if before is not after:
                row = count - 1 - place
                self.dataChanged.emit(self.index(row, 0), self.index(row, len(self._columns) - 1))

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column; below zero is the order of the file, the newest first."""
        self._sorted_by = None if column < 0 else (column, order)
        self.layoutAboutToBeChanged.emit()
        old_ids = {row: self._place(row) for row in {index.row() for index in self.persistentIndexList()}}
        self._order = self._sorted()
        rows = {place: row for row, place in enumerate(self._places())}
        for index in self.persistentIndexList():
            self.changePersistentIndex(index, self.index(rows[old_ids[index.row()]], index.column()))
        self.layoutChanged.emit()

    def _sorted(self) -> list[int] | None:
        if self._sorted_by is None or self._sorted_by[0] >= len(self._columns):
            return None
        column, order = self._sorted_by
        if column == 0 and order == Qt.SortOrder.DescendingOrder:
            return None  # the order of the file is by number
        key = self._columns[column].key
        attempts = self._attempts
        return sorted(
            range(len(attempts)),
            key=lambda place: key(attempts[place]),
            reverse=order == Qt.SortOrder.DescendingOrder,
        )

    def _places(self) -> list[int]:
        return self._order if self._order is not None else list(range(len(self._attempts) - 1, -1, -1))

    def _place(self, row: int) -> int:
        return self._order[row] if self._order is not None else len(self._attempts) - 1 - row

    def attempt(self, row: int) -> Attempt | None:
        """Return the attempt of a row."""
        return self._attempts[self._place(row)] if 0 <= row < len(self._attempts) else None

    def row_of(self, attempt_id: str | None) -> int | None:
        """Return the row of an attempt."""
        if attempt_id is None:
            return None
        for row in range(len(self._attempts)):
            if self._attempts[self._place(row)].id == attempt_id:
                return row
        return None

    def shown_attempts(self) -> list[Attempt]:
        """Return all attempts in the order shown."""
        return [self._attempts[place] for place in self._places()]

    # -- Qt ----------------------------------------------------------------------------------------

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of attempts."""
        return 0 if parent.isValid() else len(self._attempts)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of columns."""
        return 0 if parent.isValid() else len(self._columns)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the title of a column."""
        if orientation != Qt.Orientation.Horizontal or not 0 <= section < len(self._columns):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._columns[section].title
        if role == Qt.ItemDataRole.TextAlignmentRole and self._columns[section].is_number:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return text, mark, alignment or font of a cell."""
        if not index.isValid():
            return None
        attempt = self._attempts[self._place(index.row())]
        column = self._columns[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return column.text(attempt, self._decimal)
        if role == Qt.ItemDataRole.DecorationRole and index.column() == OUTCOME_COLUMN:
            return mark_picture(self._theme, attempt.outcome)
        if role == Qt.ItemDataRole.TextAlignmentRole and column.is_number:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.FontRole and attempt.is_struck and index.column() != OUTCOME_COLUMN:
            return self._struck_font
        if role == Qt.ItemDataRole.ForegroundRole and attempt.is_struck:
            return QColor(self._theme.muted)
        if role == Qt.ItemDataRole.ToolTipRole:
            return column.text(attempt, self._decimal) or None
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{column.title}: {column.text(attempt, self._decimal)}"
        return None


@cache
def mark_picture(theme: Theme, outcome: Outcome) -> QIcon:
    """Return the mark of an outcome in the shape and colour of the plots; in a selected row it takes the text's."""
    mark = theme.mark(outcome)
    icon = QIcon(_drawn(mark.glyph, mark.colour))
    icon.addPixmap(_drawn(mark.glyph, theme.on_accent), QIcon.Mode.Selected)
    return icon


def _drawn(glyph: str, colour: str) -> QPixmap:
    pixmap = QPixmap(2 * _GLYPH_SIZE, 2 * _GLYPH_SIZE)
    pixmap.setDevicePixelRatio(2)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setPen(QColor(colour))
    painter.drawText(QRectF(0, 0, _GLYPH_SIZE, _GLYPH_SIZE), Qt.AlignmentFlag.AlignCenter, glyph)
    painter.end()
    return pixmap
