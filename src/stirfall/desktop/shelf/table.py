"""The jars on the shelf as table models: those that age, and those of residue."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor

from stirfall.bench.estimates import Estimate
from stirfall.desktop.shelf.state import JarRow, ShelfState, look_text
from stirfall.desktop.theme import LIGHT, Theme
from stirfall.reporting.shares import percent, span

COLUMNS = ("Jar", "Says", "Age", "Look", "Film index", "Clean now", "Lot", "Kept under")
RESIDUE_COLUMNS = ("Jar", "Says", "Waits", "Look", "Lot", "Kept under")
Index = QModelIndex | QPersistentModelIndex
Cell = Callable[[JarRow, ShelfState], str]


def chance_text(estimate: Estimate | None) -> str:
    """Write a chance with its interval, or that there is none yet."""
    if estimate is None:
        return "not known yet"
    return f"{percent(estimate.mean)}, {span(estimate.lower, estimate.upper)}"


def _chance_cell(row: JarRow, _state: ShelfState) -> str:
    return "–" if row.is_blocked else chance_text(row.estimate)


_CELLS: dict[str, Cell] = {
    "Jar": lambda row, _state: row.jar.id,
    "Lot": lambda row, _state: row.jar.lot_id,
    "Age": lambda row, _state: row.age,
    "Waits": lambda row, _state: row.age,
    "Film index": lambda row, _state: row.film_text,
    "Look": lambda row, state: look_text(row, state.now),
    "Clean now": _chance_cell,
    "Says": lambda row, _state: row.mark,
    "Kept under": lambda row, _state: row.kept,
}


class ShelfTable(QAbstractTableModel):
    """Rows are the jars that are ageing now, the oldest first."""

    columns: ClassVar[tuple[str, ...]] = COLUMNS

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[JarRow, ...] = ()
        self._state: ShelfState | None = None
        self._theme = LIGHT

    def set_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme

    def show_state(self, state: ShelfState | None) -> None:
        """Take new rows; the selection survives when the jars are the same."""
        rows = self.rows_of(state) if state else ()
        is_same = [row.jar.id for row in rows] == [row.jar.id for row in self._rows]
        if is_same:
            self._rows, self._state = rows, state
            if rows:
                self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(self.columns) - 1))
            return
        self.beginResetModel()
        self._rows, self._state = rows, state
        self.endResetModel()

    def rows_of(self, state: ShelfState) -> tuple[JarRow, ...]:
        """Return the rows of a state that this table shows."""
        return state.rows

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
        return 0 if parent.isValid() else len(self.columns)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the title of a column."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self.columns[section]
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return the text of a cell."""
        if not index.isValid() or self._state is None:
            return None
        row, column = self._rows[index.row()], self.columns[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return _CELLS[column](row, self._state)
        if role == Qt.ItemDataRole.ToolTipRole:
            return _tip(row, column)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{column}: {_CELLS[column](row, self._state)}"
        if role == Qt.ItemDataRole.ForegroundRole and column == "Says" and row.findings:
            return QColor(self._theme.danger if row.is_blocked else self._theme.caution)
        return None


class ResidueTable(ShelfTable):
    """Rows are the jars of residue that wait for disposal, the longest first."""

    columns: ClassVar[tuple[str, ...]] = RESIDUE_COLUMNS

    def rows_of(self, state: ShelfState) -> tuple[JarRow, ...]:
        """Return the jars of residue."""
        return state.residues


def _tip(row: JarRow, column: str) -> str | None:
    if column == "Film index":
        return row.film_why
    if column == "Says":
        return "\n".join(row.said) or None
    if column == "Kept under":
        return ", ".join(part for part in (row.jar.oil, row.jar.note) if part) or None
    return None
