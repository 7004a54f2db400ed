"""A form of labelled rows over a FormModel, each row with a line of its own for a problem or a note."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QLayout, QLineEdit, QWidget

from stirfall.desktop.campaign.form_model import FormModel, FormState
from stirfall.desktop.labelled import labelled, show_problem
from stirfall.desktop.theme import SPACING, set_text_role


class FormGrid(QWidget):
    """Rows of a label and an editor; below some of them stands a sentence, muted or as a problem."""

    def __init__(self, model: FormModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._lines: dict[str, QLineEdit] = {}
        self._messages: dict[str, QLabel] = {}
        self._targets: dict[str, QWidget] = {}
        self._spot = (0, 0)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(2 * SPACING)
        self._grid.setVerticalSpacing(3 * SPACING // 4)
        self._grid.setColumnStretch(1, 1)

    def line(self, name: str) -> QLineEdit:
        """Return the line editor of a field."""
        return self._lines[name]

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
        """Show a state; lines that already read the same are left alone."""
        for name, edit in self._lines.items():
            text = str(getattr(state.form, name))
            if edit.text() != text:
                with QSignalBlocker(edit):
                    edit.setText(text)
        for name, label in self._messages.items():
            problem = state.problems.get(name, "")
            set_text_role(label, "error" if problem else "muted")
            show_problem(self._targets[name], label, problem or state.notes.get(name, ""))

    def place_next(self) -> tuple[int, int]:
        """Return row and column where the next label goes."""
        return self._grid.rowCount(), 0

    def add_row(self, label: str, editor: QWidget, layout: QLayout | None = None) -> None:
        """Add a row whose ``editor`` the label names; ``layout`` stands in for it where it has company."""
        row, column = self._spot = self.place_next()
        is_tall = layout is not None or editor.focusProxy() is not None
        side = Qt.AlignmentFlag.AlignTop if is_tall else Qt.AlignmentFlag(0)
        self._grid.addWidget(labelled(label, editor), row, column, side)
        if layout is None:
            self._grid.addWidget(editor, row, column + 1)
        else:
            self._grid.addLayout(layout, row, column + 1)

    def add_line(self, name: str, label: str, hint: str) -> None:
        """Add a field to type into, with its message."""
        edit = QLineEdit()
        edit.setObjectName(f"campaign_{name}")
        edit.setPlaceholderText(hint)
        edit.textEdited.connect(lambda text: self._model.set_field(name, text))
        self._lines[name] = edit
        self.add_row(label, edit)
        self.add_message(name, edit)

    def add_message(self, name: str, target: QWidget) -> None:
        """Add the line under the last row; screen readers find its sentence at ``target``."""
        label = QLabel()
        label.setObjectName(f"campaign_{name}_message")
        label.setWordWrap(True)
        self._messages[name] = label
        self._targets[name] = target
        row, column = self._spot
        self._grid.addWidget(label, row + 1, column + 1)
