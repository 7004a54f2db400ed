"""The first part: the columns of the file, one row each, and what the chosen one is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QItemSelectionModel, QSignalBlocker
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QBoxLayout,
    QCheckBox,
    QLineEdit,
    QSizePolicy,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.bench_form.look import GAP, TARGET
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.importing.file_part import FilePart
from stirfall.desktop.importing.grids import COLUMN_HEADER, Grid, column_cells
from stirfall.desktop.importing.state import (
    ImportState,
    asks_decimal,
    has_unit,
    is_new_factor,
    key_of,
    meaning_choices,
)
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.storage.import_plan import ASK, Meaning

if TYPE_CHECKING:
    from stirfall.desktop.importing.model import ImportModel
    from stirfall.storage.import_plan import ColumnPlan

_LEAST_TABLE = 180
_SHARES = (18, 26, 32, 20)
_WIDE, _SIDE = 120, 46  # letters
_SIGNS = ((".", "a point"), (",", "a comma"))
_ORDERS = (("day-first", "day first"), ("month-first", "month first"), ("year-first", "year first"))


class ColumnsPart(QWidget):
    """Shows the columns and changes the one that is chosen."""

    def __init__(self, model: ImportModel) -> None:
        super().__init__()
        self._model = model
        self.file = FilePart(model)
        self.grid = Grid(self)
        self.table = QTableView()
        self.title = wrapped_label("import_column_title", "heading")
        self.about = wrapped_label("import_column_about", "muted")
        self.meaning = CalmCombo()
        self.name, self.unit = QLineEdit(), QLineEdit()
        self.is_choice, self.is_log = QCheckBox("A &choice, not a number"), QCheckBox("On a lo&g scale")
        self.decimal = ChoiceRow("Decimal sign:", "import_decimal")
        self.dates = ChoiceRow("Order of dates:", "import_dates")
        self._groups: dict[str, QWidget] = {}
        self._build()
        self._connect()

    def _build(self) -> None:
        set_up_rows(self.table, self.grid, name="import_columns", title="Columns of the table", row_height=TARGET)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setMinimumHeight(_LEAST_TABLE)
        self.table.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        titles = (
            ("meaning", "What it &is", self.meaning, "What the column says of each attempt"),
            ("name", "&Name", self.name, "What the new factor is called"),
            ("unit", "&Unit", self.unit, "The unit of numbers without one, such as C, h, min, 1/min, mg/g"),
        )
        for key, title, editor, words in titles:
            editor.setObjectName(f"import_{key}")
            editor.setMinimumHeight(TARGET)
            self._groups[key] = _below(labelled(title, editor, description=words), editor)
        self.meaning.setMinimumContentsLength(22)
        self.unit.setMaximumWidth(14 * GAP)
        for box, name in ((self.is_choice, "import_is_choice"), (self.is_log, "import_is_log")):
            box.setObjectName(name)
            name_control(box, box.text().replace("&", ""))
        self._groups["kind"] = _below(self.is_choice, self.is_log)
        for key, choices, title in (
            ("decimal", self.decimal, "Decimal sign"),
            ("dates", self.dates, "Order of its dates"),
        ):
            self._groups[key] = _below(labelled(title, choices), choices)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addWidget(self.file)
        side = QWidget()
        edits = QVBoxLayout(side)
        edits.setContentsMargins(0, 0, 0, 0)
        edits.setSpacing(GAP)
        edits.addWidget(self.title)
        edits.addWidget(self.about)
        for group in self._groups.values():
            edits.addWidget(group)
        edits.addStretch(1)
        self._sides = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._sides.setSpacing(2 * GAP)
        self._sides.addWidget(self.table, 1)
        self._sides.addWidget(side)
        self._side = side
        column.addLayout(self._sides, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place what is edited beside the columns, or below them where it is narrow."""
        super().resizeEvent(event)
        letter = self.fontMetrics().averageCharWidth()
        is_wide = self.width() >= _WIDE * letter
        direction = QBoxLayout.Direction.LeftToRight if is_wide else QBoxLayout.Direction.TopToBottom
        self._sides.setDirection(direction)
        self._side.setMinimumWidth(_SIDE * letter if is_wide else 0)
        self._side.setMaximumWidth(_SIDE * letter if is_wide else 16_777_215)

    def _connect(self) -> None:
        model = self._model
        self.table.selectionModel().currentRowChanged.connect(lambda now, _old: model.select(now.row()))
        self.meaning.activated.connect(lambda _at: model.set_meaning(str(self.meaning.currentData())))
        self.name.editingFinished.connect(lambda: model.set_name(self.name.text()))
        self.unit.editingFinished.connect(self._unit_typed)
        self.is_choice.toggled.connect(lambda _on: self._kind_chosen())
        self.is_log.toggled.connect(lambda _on: self._kind_chosen())
        self.decimal.chosen.connect(model.set_decimal)
        self.dates.chosen.connect(model.set_dates)

    def _unit_typed(self) -> None:
        column = self._model.state.column
        if column is not None and has_unit(column) and not (column.unit == ASK and not self.unit.text().strip()):
            self._model.set_unit(self.unit.text())

    def _kind_chosen(self) -> None:
        self._model.set_kind(self.is_choice.isChecked(), self.is_log.isChecked())

    # -- rendering ---------------------------------------------------------------------------------

    def render_state(self, state: ImportState) -> None:
        """Show a state."""
        self.file.render_state(state)
        plan = state.plan
        columns = () if plan is None else plan.columns
        if self.grid.rowCount() == len(columns) and columns:
            self.grid.rows_changed(lambda row: column_cells(columns[row]))
        else:
            self.grid.show_rows(COLUMN_HEADER, len(columns), lambda row: column_cells(columns[row]))
            self._share_width()
        self.table.setVisible(bool(columns))
        column = state.column
        self.title.setVisible(column is not None)
        self.about.setVisible(column is not None)
        if column is None:
            for group in self._groups.values():
                group.setVisible(False)
            return
        if self.table.currentIndex().row() != state.selected:
            self.table.selectionModel().setCurrentIndex(
                self.grid.index(state.selected, 0),
                QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows,
            )
        self._render_column(state, column)

    def _render_column(self, state: ImportState, column: ColumnPlan) -> None:
        self.title.setText(f"Column “{column.heading}”")
        _, first, _, _, remarks = column_cells(column)
        self.about.setText(f"First cells: {first}. {remarks}")
        is_new = is_new_factor(state, column)
        with QSignalBlocker(self.meaning):
            self.meaning.clear()
            for key, words in meaning_choices(state):
                self.meaning.addItem(words, key)
            self.meaning.setCurrentIndex(max(0, self.meaning.findData(key_of(column))))
        with QSignalBlocker(self.name), QSignalBlocker(self.unit):
            _set_text(self.name, column.factor)
            _set_text(self.unit, "" if column.unit == ASK else column.unit)
        with QSignalBlocker(self.is_choice), QSignalBlocker(self.is_log):
            self.is_choice.setChecked(column.is_choice)
            self.is_log.setChecked(column.is_log)
        self.is_log.setEnabled(not column.is_choice)
        self.decimal.show_choices(_SIGNS, column.decimal)
        self.dates.show_choices(_ORDERS, column.dates)
        self._groups["meaning"].setVisible(True)
        self._groups["name"].setVisible(is_new)
        self._groups["unit"].setVisible(has_unit(column))
        self._groups["kind"].setVisible(is_new)
        self._groups["decimal"].setVisible(asks_decimal(column))
        self._groups["dates"].setVisible(column.meaning in (Meaning.DATE, Meaning.MOMENT))
        # Rows of choices tell less height than they take: without this the fields are cut where the room is short.
        self._side.setMinimumHeight(self._side.sizeHint().height())

    def _share_width(self) -> None:
        letter = self.fontMetrics().averageCharWidth()
        for at, share in enumerate(_SHARES):
            self.table.setColumnWidth(at, share * letter)


def _below(*parts: QWidget) -> QWidget:
    """Return the parts one below the other, none of them lower than it needs to be."""
    holder = QWidget()
    column = QVBoxLayout(holder)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(GAP // 2)
    holder.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
    for part in parts:
        column.addWidget(part)
    return holder


def _set_text(edit: QLineEdit, text: str) -> None:
    if edit.text() != text:
        edit.setText(text)
