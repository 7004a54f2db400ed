"""The factors editor: add, hide, reorder and change ranges; recorded attempts stay as they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.factors import Scale
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.campaign.factor_rows import SCALE_WORDS
from stirfall.desktop.campaign.factor_table import FIELDS, FactorTable
from stirfall.desktop.cell_entry import CellEntry
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_text_role
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import ChangeFactors

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.desktop.workspace import Workspace


class ScaleDelegate(CellEntry):
    """Offers the two scales as a choice."""

    def createEditor(
        self, parent: QWidget, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QWidget:
        """Return the chooser."""
        del option, index
        chooser = QComboBox(parent)
        for scale, words in SCALE_WORDS.items():
            chooser.addItem(words, scale.value)
        name_control(chooser, "Scale")
        return chooser

    def setEditorData(self, editor: QWidget, index: QModelIndex | QPersistentModelIndex) -> None:
        """Show the scale of the row."""
        assert isinstance(editor, QComboBox)
        editor.setCurrentIndex(editor.findData(Scale(index.data(Qt.ItemDataRole.EditRole)).value))

    def setModelData(
        self, editor: QWidget, model: QAbstractItemModel, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Take the chosen scale."""
        assert isinstance(editor, QComboBox)
        model.setData(index, editor.currentData(), Qt.ItemDataRole.EditRole)


class FactorsDialog(FramedDialog):
    """Edits a copy of the factors; one command when the person saves."""

    def __init__(self, workspace: Workspace, state: CampaignState, parent: QWidget | None = None) -> None:
        super().__init__("Factors", parent)
        self._workspace = workspace
        self._before = state.factors
        self.model = FactorTable(state, workspace.theme, workspace.decimal, self)
        self.table = self._make_table()
        self._remove = QPushButton("Re&move")
        self.add_film = QPushButton("Add the &film index")
        self._state = state
        self._note = QLabel(sentence("desktop.factors_note"))
        self._note.setWordWrap(True)
        set_text_role(self._note, "muted")
        self._verb = self.build(self._make_content(), "&Save factors")
        self._verb.setAutoDefault(False)
        self._verb.setDefault(False)
        self._verb.clicked.connect(self._save)
        for signal in (self.model.dataChanged, self.model.rowsInserted, self.model.rowsRemoved):
            signal.connect(self._judge)
        self.table.selectionModel().currentChanged.connect(self._judge)
        self.table.setCurrentIndex(self.model.index(0, 0))
        self._judge()
        self.resize(1080, 560)

    def _make_table(self) -> QTableView:
        table = QTableView()
        table.setObjectName("factors_table")
        table.setModel(self.model)
        name_control(table, "Factors", "One row per factor. Press F2 or type to change a cell.")
        table.setToolTip("")
        table.setItemDelegate(CellEntry(table))
        table.setItemDelegateForColumn(FIELDS.index("scale"), ScaleDelegate(table))
        table.verticalHeader().setVisible(False)
        table.verticalHeader().setDefaultSectionSize(4 * SPACING)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.SelectedClicked
        )
        table.setTabKeyNavigation(False)
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(FIELDS.index("levels"), QHeaderView.ResizeMode.Stretch)
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        return table

    def _make_content(self) -> QWidget:
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING)
        column.addWidget(self._note)
        column.addWidget(self.table, 1)
        row = QHBoxLayout()
        row.setSpacing(SPACING)
        acts = (
            ("Add &number", lambda: self._add(is_choice=False)),
            ("Add &choice", lambda: self._add(is_choice=True)),
            ("Move &up", lambda: self._move(-1)),
            ("Move &down", lambda: self._move(1)),
        )
        for text, act in acts:
            button = QPushButton(text)
            button.setAutoDefault(False)
            name_control(button, text.replace("&", ""))
            button.clicked.connect(act)
            row.addWidget(button)
        self.add_film.setObjectName("factors_add_film")
        self.add_film.setAutoDefault(False)
        name_control(self.add_film, "Add the film index", sentence("campaign.film_factor"))
        self.add_film.clicked.connect(self._add_film_index)
        row.addWidget(self.add_film)
        self._remove.setAutoDefault(False)
        name_control(self._remove, "Remove", "Remove a factor that no attempt uses")
        self._remove.clicked.connect(self._remove_current)
        row.addWidget(self._remove)
        row.addStretch(1)
        column.addLayout(row)
        return content

    def _current_row(self) -> int:
        return self.table.currentIndex().row()

    def _add(self, *, is_choice: bool) -> None:
        row = self.model.add(is_choice=is_choice)
        self.table.setCurrentIndex(self.model.index(row, 0))
        self.table.setFocus()
        self.table.edit(self.model.index(row, 0))

    def _add_film_index(self) -> None:
        from stirfall.session.film import add_film_factor

        row = self.model.add_ready(add_film_factor(self._state))
        self.table.setCurrentIndex(self.model.index(row, 0))
        self.table.setFocus()

    def _move(self, step: int) -> None:
        column = max(self.table.currentIndex().column(), 0)
        self.table.setCurrentIndex(self.model.index(self.model.move(self._current_row(), step), column))
        self._judge()

    def _remove_current(self) -> None:
        self.model.remove(self._current_row())

    def _judge(self) -> None:
        row = self._current_row()
        problems = self.model.problems
        here = problems[row] if 0 <= row < len(problems) else ""
        self.show_problem(here or next((text for text in problems if text), ""))
        self.table.setAccessibleDescription(self.problem.text())
        self._remove.setEnabled(self.model.can_remove(row))
        self.add_film.setVisible(not self.model.has_film_index)
        self._verb.setEnabled(not any(problems))

    def _save(self) -> None:
        factors = self.model.factors()
        if factors is None:
            return
        if factors != self._before and self._workspace.execute(ChangeFactors(factors), origin=self) is None:
            return
        if factors != self._before:
            self._workspace.notifier.info(sentence("desktop.factors_changed"), "Undo", self._workspace.undo)
        self.accept()
