"""The list of issued recipes, and the chooser of what the chosen one is laid beside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QAbstractTableModel, QItemSelectionModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, TARGET, text_label
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.labelled import labelled
from stirfall.desktop.recipe_page.issued_model import PRESENT, IssuedState
from stirfall.desktop.row_table import set_up_rows

if TYPE_CHECKING:
    from stirfall.reporting.recipe_issue import IssuedRow

_HEADINGS = ("No.", "Issued", "Chance", "Batch", "Proof", "Note")
_EMPTY = (
    "No recipe was issued yet. “Issue…” keeps the present one with its number and its evidence; then it stands "
    "here, can be shown again exactly as it was, and compared with a later one."
)
_ALONE, _ROW, _ROWS, _OTHER = "nothing", 32, 3, 20 * GAP
_Index = QModelIndex | QPersistentModelIndex


class IssuedTable(QAbstractTableModel):
    """The issued recipes, newest first."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[IssuedRow, ...] = ()

    def show_rows(self, rows: tuple[IssuedRow, ...]) -> None:
        """Show these recipes."""
        newest = tuple(reversed(rows))
        if newest != self.rows:
            self.beginResetModel()
            self.rows = newest
            self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 (Qt's own signature)
        """Return the number of recipes."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 (Qt's own signature)
        """Return the number of columns."""
        return 0 if parent.isValid() else len(_HEADINGS)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return the text of a cell."""
        if role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return None
        row = self.rows[index.row()]
        issued = f"{row.issued_at.astimezone():%Y-%m-%d}"
        chance = row.problem or row.chance
        return (str(row.number), issued, chance, row.batch, row.proof, row.note)[index.column()]

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the heading of a column."""
        wanted = orientation is Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole
        return _HEADINGS[section] if wanted else None


class IssuedPart(QWidget):
    """The list; ``other`` chooses what the chosen recipe is compared with, and stands where the page puts it.

    Signals:
        chosen(int): the number of the recipe to show again.
        other_chosen(object): the number of the recipe to compare with, ``PRESENT``, or None.
    """

    chosen = Signal(int)
    other_chosen = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("issued_part")
        self.table, self.rows, self.other = QTableView(), IssuedTable(), CalmCombo()
        set_up_rows(self.table, self.rows, name="issued_table", title="Issued recipes", row_height=_ROW)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(len(_HEADINGS) - 1, QHeaderView.ResizeMode.Stretch)  # the note has the rest
        self.other.setObjectName("issued_other")
        self.other.setMinimumHeight(TARGET)
        self.empty = text_label(_EMPTY)
        self.empty.setObjectName("issued_empty")
        self.other.setMinimumWidth(_OTHER)
        self.compare_label = labelled("Compare with", self.other)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addWidget(self.empty)
        column.addWidget(self.table)
        self.table.selectionModel().currentRowChanged.connect(self._on_row)
        self.other.activated.connect(lambda _row: self.other_chosen.emit(self.other.currentData()))

    def _on_row(self, current: QModelIndex, _before: QModelIndex) -> None:
        if current.isValid():
            self.chosen.emit(self.rows.rows[current.row()].number)

    def render_state(self, state: IssuedState) -> None:
        """Show the state; showing it twice changes nothing."""
        selection = self.table.selectionModel()
        selection.blockSignals(True)
        self.rows.show_rows(state.rows)
        numbers = [row.number for row in self.rows.rows]
        if state.chosen in numbers:
            flags = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
            selection.setCurrentIndex(self.rows.index(numbers.index(state.chosen), 0), flags)
        selection.blockSignals(False)
        self.table.viewport().update()
        self._fit_rows()
        self._show_others(state, [number for number in numbers if number != state.chosen])
        self.table.setVisible(bool(numbers))
        self.empty.setVisible(not numbers)

    def _fit_rows(self) -> None:
        """Give the rows the height that the text needs, and the table that of a few rows."""
        height = max(_ROW, self.table.fontMetrics().height() + GAP)
        self.table.verticalHeader().setDefaultSectionSize(height)
        head = self.table.horizontalHeader().sizeHint().height()
        self.table.setFixedHeight(head + min(max(len(self.rows.rows), 2), _ROWS) * height + 2 * GAP)

    def _show_others(self, state: IssuedState, numbers: list[int]) -> None:
        wanted: list[tuple[str, int | None]] = [(_ALONE, None), ("the present recipe", PRESENT)]
        wanted += [(f"recipe no. {number}", number) for number in numbers]
        shown = [(self.other.itemText(row), self.other.itemData(row)) for row in range(self.other.count())]
        if wanted != shown:
            self.other.clear()
            for words, number in wanted:
                self.other.addItem(words, number)
        known = [number for _, number in wanted]
        self.other.setCurrentIndex(known.index(state.other) if state.other in known else 0)
