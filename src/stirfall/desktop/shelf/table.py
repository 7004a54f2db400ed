"""The jars on the shelf as a table model."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from stirfall.bench.estimates import Estimate
from stirfall.desktop.shelf.state import JarRow, ShelfState
from stirfall.reporting.shares import percent, span

COLUMNS = ("Jar", "Lot", "Age", "Clean now", "Kept under")
Index = QModelIndex | QPersistentModelIndex


def chance_text(estimate: Estimate | None) -> str:
    """Write a chance with its interval, or that there is none yet."""
    if estimate is None:
        return "not known yet"
    return f"{percent(estimate.mean)}, {span(estimate.lower, estimate.upper)}"


_CELLS: tuple[Callable[[JarRow], str], ...] = (
    lambda row: f"⚠ {row.jar.id}" if row.warning else row.jar.id,
    lambda row: row.jar.lot_id,
    lambda row: row.age,
    lambda row: chance_text(row.estimate),
    lambda row: row.kept,
)


class ShelfTable(QAbstractTableModel):
    """Rows are the jars that are ageing now, the oldest first."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[JarRow, ...] = ()
        self._is_stale = False

    def show_state(self, state: ShelfState | None) -> None:
        """Take new rows; the selection survives when the jars are the same."""
        rows = state.rows if state else ()
        self._is_stale = bool(state and state.is_stale)
        if [row.jar.id for row in rows] == [row.jar.id for row in self._rows]:
            self._rows = rows
            if rows:
                self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(COLUMNS) - 1))
            return
        self.beginResetModel()
        self._rows = rows
        self.endResetModel()

    def jar_id(self, row: int) -> str | None:
        """Return the jar of a row."""
        return self._rows[row].jar.id if 0 <= row < len(self._rows) else None

    def row_of(self, jar_id: str | None) -> int | None:
        """Return the row of a jar."""
        return next((at for at, row in enumerate(self._rows) if row.jar.id == jar_id), None)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of jars."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the title of a column."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return COLUMNS[section]
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return the text of a cell."""
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return _CELLS[index.column()](row)
        if role == Qt.ItemDataRole.ToolTipRole and index.column() == len(COLUMNS) - 1:
            return ", ".join(part for part in (row.jar.oil, row.jar.note) if part) or None
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{COLUMNS[index.column()]}: {_CELLS[index.column()](row)}"
        return None
