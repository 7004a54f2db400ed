"""A form of labelled rows over a FormModel, each row with a line of its own for a problem or a note."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QComboBox, QGridLayout, QLabel, QLayout, QLineEdit, QWidget

from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.campaign.form_model import FormModel, FormState
from stirfall.desktop.labelled import labelled, show_problem
from stirfall.desktop.theme import SPACING, set_text_role

_WIDE = 3


class FormGrid(QWidget):
    """Rows of a label and an editor, or of two side by side; below some stands a sentence about the entry."""

    def __init__(self, model: FormModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._lines: dict[str, QLineEdit] = {}
        self._choosers: dict[str, QComboBox] = {}
        self._messages: dict[str, QLabel] = {}
        self._targets: dict[str, QWidget] = {}
        self._spot, self._span = (0, 0), _WIDE
        self._open_half: int | None = None
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(2 * SPACING)
        self._grid.setVerticalSpacing(3 * SPACING // 4)
        self._grid.setColumnStretch(1, 1)

    def line(self, name: str) -> QLineEdit:
        """Return the line editor of a field."""
        return self._lines[name]

    def chooser(self, name: str) -> QComboBox:
        """Return the chooser of a field."""
        return self._choosers[name]

    def message(self, name: str) -> QLabel:
        """Return the label under a field."""
        return self._messages[name]

    def target(self, name: str) -> QWidget | None:
        """Return what takes the keyboard for a field, or None where this form does not show it."""
        return self._targets.get(name)

    def focus_first_problem(self) -> bool:
        """Put the keyboard on the first field of this form with a problem; return whether there is one."""
        for name in self._model.state.problems:
            if (target := self.target(name)) is not None:
                target.setFocus()
                return True
        return False

    def show_state(self, state: FormState) -> None:
        """Show a state; what already reads the same is left alone."""
        for name, edit in self._lines.items():
            text = str(getattr(state.form, name))
            if edit.text() != text:
                with QSignalBlocker(edit):
                    edit.setText(text)
        for name, chooser in self._choosers.items():
            with QSignalBlocker(chooser):
                chooser.setCurrentIndex(chooser.findData(getattr(state.form, name)))
        for name, label in self._messages.items():
            problem = state.problems.get(name, "")
            set_text_role(label, "error" if problem else "muted")
            show_problem(self._targets[name], label, problem or state.notes.get(name, ""))

    def add_heading(self, text: str) -> None:
        """Add a line of text over the rows that follow."""
        self._open_half = None
        label = QLabel(text)
        set_text_role(label, "heading")
        row = self._grid.rowCount()
        self._grid.setRowMinimumHeight(row, SPACING if row > 1 else 0)
        self._grid.addWidget(label, row + 1, 0, 1, 1 + _WIDE)

    def add_text(self, text: str) -> QLabel:
        """Add a muted sentence that holds for the rows that follow."""
        self._open_half = None
        label = QLabel(text)
        label.setWordWrap(True)
        set_text_role(label, "muted")
        self._grid.addWidget(label, self._grid.rowCount(), 0, 1, 1 + _WIDE)
        return label

    def add_wide(self, editor: QWidget) -> None:
        """Add a widget over the whole width."""
        self._open_half = None
        self._spot, self._span = (self._grid.rowCount(), -1), 1 + _WIDE
        self._grid.addWidget(editor, self._spot[0], 0, 1, 1 + _WIDE)

    def add_row(self, label: str, editor: QWidget, layout: QLayout | None = None, *, half: bool = False) -> None:
        """Add a row whose ``editor`` the label names; ``layout`` stands in for it where it has company.

        Two rows in a run that are ``half`` stand side by side.
        """
        row, column = self._place(half)
        is_tall = layout is not None or editor.focusProxy() is not None
        side = Qt.AlignmentFlag.AlignTop if is_tall else Qt.AlignmentFlag(0)
        self._grid.addWidget(labelled(label, editor), row, column, side)
        if layout is None:
            self._grid.addWidget(editor, row, column + 1, 1, self._span)
        else:
            self._grid.addLayout(layout, row, column + 1, 1, self._span)

    def add_line(self, name: str, label: str, hint: str, *, half: bool = False) -> None:
        """Add a field to type into, with its message."""
        edit = QLineEdit()
        edit.setObjectName(f"campaign_{name}")
        edit.setPlaceholderText(hint)
        edit.textEdited.connect(lambda text: self._model.set_field(name, text))
        self._lines[name] = edit
        self.add_row(label, edit, half=half)
        self.add_message(name, edit)

    def add_chooser(
        self, name: str, label: str, choices: Sequence[tuple[object, str]], *, half: bool = False
    ) -> QComboBox:
        """Add a choice among values with their words, with its message."""
        chooser = CalmCombo()
        chooser.setObjectName(f"campaign_{name}")
        for value, words in choices:
            chooser.addItem(words, value)
        chooser.currentIndexChanged.connect(lambda _index: self._model.set_field(name, chooser.currentData()))
        self._choosers[name] = chooser
        self.add_row(label, chooser, half=half)
        self.add_message(name, chooser)
        return chooser

    def add_message(self, name: str, target: QWidget) -> None:
        """Add the line under the last row; screen readers find its sentence at ``target``."""
        label = QLabel()
        label.setObjectName(f"campaign_{name}_message")
        label.setWordWrap(True)
        label.hide()
        self._messages[name] = label
        self._targets[name] = target
        row, column = self._spot
        self._grid.addWidget(label, row + 1, column + 1, 1, self._span, Qt.AlignmentFlag.AlignTop)

    def _place(self, half: bool) -> tuple[int, int]:
        """Return row and column where the next label goes: beside an open half, or in a new row."""
        self._span = 1 if half else _WIDE
        if half and self._open_half is not None:
            self._spot, self._open_half = (self._open_half, 2), None
            self._grid.setColumnStretch(3, 1)
            return self._spot
        self._spot = (self._grid.rowCount(), 0)
        self._open_half = self._spot[0] if half else None
        return self._spot
