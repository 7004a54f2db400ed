"""The additives of a campaign as a short list of rows: name, class, dose cap and what releases hydrogen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.campaign.entries import AdditiveEntry, plain_name
from stirfall.desktop.labelled import name_control, show_problem
from stirfall.desktop.theme import SPACING, set_text_role

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_NUMBERS = (("cap", "Dose cap, mg/g"), ("molar", "Molar mass, g/mol"), ("hydrogens", "Hydrogens"))
_HINTS = {
    "cap": "Most additive in mg per g of crude; no dose above it is ever suggested or may be used",
    "molar": "Molar mass, for the hydrogen that a dose can release",
    "hydrogens": "Hydrogen atoms per molecule that react with a reactive metal: one per OH or acid group",
}
_UNKNOWN = "unknown"
Entries = tuple[AdditiveEntry, ...]


class AdditiveRows(QWidget):
    """Shows one row per additive.

    Signals:
        changed(tuple of AdditiveEntry): an entry was typed, or a row was added or removed.
    """

    changed = Signal(object)

    def __init__(self, levels: Sequence[str], kinds: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        self._levels, self._kinds = tuple(levels), tuple(kinds)
        self.entries: Entries = ()
        self.rows: list[_Row] = []
        self.add = QPushButton("Add an additive")
        self.add.setObjectName("campaign_add_additive")
        self.add.setAutoDefault(False)
        name_control(self.add, "Add an additive")
        self.add.clicked.connect(self._add)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(SPACING)
        self._grid.setVerticalSpacing(SPACING // 2)
        for column, stretch in ((0, 4), (1, 5), (2, 2), (3, 2), (4, 2)):
            self._grid.setColumnStretch(column, stretch)
        self._heads = [QLabel(text) for text in ("Name", "Class", *(words for _, words in _NUMBERS))]
        for column, head in enumerate(self._heads):
            set_text_role(head, "muted")
            self._grid.addWidget(head, 0, column)
        acts = QHBoxLayout()
        acts.addWidget(self.add)
        acts.addStretch(1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(SPACING)
        whole.addLayout(self._grid)
        whole.addLayout(acts)
        self.setFocusProxy(self.add)
        self._show_heads()

    def show_entries(self, entries: Entries, problems: Mapping[str, str]) -> None:
        """Show these additives with what is wrong with each."""
        while len(self.rows) < len(entries):
            self.rows.append(self._make_row(len(self.rows)))
        while len(self.rows) > len(entries):
            self.rows.pop().drop()
        self.entries = entries
        for at, (row, entry) in enumerate(zip(self.rows, entries, strict=True)):
            row.show_entry(entry, problems.get(f"additive_{at}", ""))
        self._show_heads()

    def target(self, name: str) -> QWidget | None:
        """Return what takes the keyboard for the problem of a row."""
        at = name.removeprefix("additive_")
        return self.rows[int(at)].name if at.isdigit() and int(at) < len(self.rows) else None

    def _make_row(self, at: int) -> _Row:
        return _Row(self._grid, at, self, self._levels, self._kinds)

    def _show_heads(self) -> None:
        for head in self._heads:
            head.setVisible(bool(self.rows))

    def take(self, row: _Row, field: str, value: str) -> None:
        """Take what was typed into a row."""
        at = self.rows.index(row)
        changed = replace(self.entries[at], **{field: value})
        self._tell((*self.entries[:at], changed, *self.entries[at + 1 :]))

    def _add(self) -> None:
        taken = {plain_name(entry.name) for entry in self.entries}
        name = next((level for level in self._levels if plain_name(level) not in taken), "")
        self._tell((*self.entries, AdditiveEntry(name)))
        if self.rows:
            self.rows[-1].name.setFocus()

    def remove_row(self, row: _Row) -> None:
        """Take a row out."""
        at = self.rows.index(row)
        self.add.setFocus(Qt.FocusReason.OtherFocusReason)
        self._tell((*self.entries[:at], *self.entries[at + 1 :]))

    def _tell(self, entries: Entries) -> None:
        self.show_entries(entries, {})
        self.changed.emit(entries)


class _Row:
    """The editors of one additive, in two rows of the grid: entries, and what is wrong with them."""

    def __init__(
        self,
        grid: QGridLayout,
        at: int,
        owner: AdditiveRows,
        levels: Sequence[str],
        kinds: Sequence[tuple[str, str]],
    ) -> None:
        self._owner = owner
        number = at + 1
        self.name = _name_chooser(levels, number)
        self.name.editTextChanged.connect(lambda text: owner.take(self, "name", text))
        self.kind = CalmCombo()
        for key, words in (("", "unknown"), *kinds):
            self.kind.addItem(words, key)
        name_control(self.kind, f"Class of additive {number}")
        self.kind.setMinimumContentsLength(12)
        self.kind.currentIndexChanged.connect(
            lambda _index: owner.take(self, "kind", self.kind.currentData() or "")
        )
        self.numbers = {field: self._number(field, words, number) for field, words in _NUMBERS}
        self.remove = QPushButton("Remove")
        self.remove.setAutoDefault(False)
        name_control(self.remove, f"Remove additive {number}")
        self.remove.clicked.connect(lambda: owner.remove_row(self))
        self.problem = QLabel()
        self.problem.setWordWrap(True)
        set_text_role(self.problem, "error")
        self.problem.hide()
        self._widgets = (self.name, self.kind, *self.numbers.values(), self.remove)
        for column, widget in enumerate(self._widgets):
            grid.addWidget(widget, 2 * at + 1, column)
        grid.addWidget(self.problem, 2 * at + 2, 0, 1, len(self._widgets))

    def show_entry(self, entry: AdditiveEntry, problem: str) -> None:
        """Show an additive; what already reads the same is left alone."""
        if self.name.currentText() != entry.name:
            with QSignalBlocker(self.name):
                self.name.setEditText(entry.name)
        with QSignalBlocker(self.kind):
            self.kind.setCurrentIndex(max(self.kind.findData(entry.kind), 0))
        for field, edit in self.numbers.items():
            if edit.text() != getattr(entry, field):
                with QSignalBlocker(edit):
                    edit.setText(getattr(entry, field))
        show_problem(self.name, self.problem, problem)

    def drop(self) -> None:
        """Take the editors out of the grid."""
        for widget in (*self._widgets, self.problem):
            widget.hide()
            widget.deleteLater()

    def _tell_kind(self) -> None:
        self._owner.take(self, "kind", self.kind.currentData() or "")

    def _number(self, field: str, words: str, number: int) -> QLineEdit:
        edit = QLineEdit()
        edit.setPlaceholderText(_UNKNOWN)
        edit.setMinimumWidth(edit.fontMetrics().horizontalAdvance(_UNKNOWN) + 3 * SPACING)
        name_control(edit, f"{words}, additive {number}", _HINTS[field])
        edit.textEdited.connect(lambda text: self._owner.take(self, field, text))
        return edit


def _name_chooser(levels: Sequence[str], number: int) -> QComboBox:
    chooser = CalmCombo()
    chooser.setEditable(True)
    chooser.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
    chooser.addItems(list(levels))
    chooser.setEditText("")
    line = chooser.lineEdit()
    assert line is not None
    name_control(line, f"Name of additive {number}")
    name_control(chooser, f"Name of additive {number}", "As the level of the factor names it")
    return chooser
