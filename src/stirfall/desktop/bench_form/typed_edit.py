"""Lines for quantities beside the factors, two in a row, with what was understood and what is wrong."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, set_flag, text_label
from stirfall.desktop.bench_form.typed import Quantity, Typed
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.labelled import labelled
from stirfall.reporting.sentences import sentence


class TypedGrid(QWidget):
    """A grid of quantities.

    Signals:
        typed(str, str): name of the field and its raw text.
        left(): a line was left.
    """

    typed = Signal(str, str)
    left = Signal()

    def __init__(self, quantities: tuple[Quantity, ...], *, empty: str) -> None:
        super().__init__()
        self.edits: dict[str, ValueEdit] = {}
        self._labels: dict[str, QLabel] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(3, 1)
        for index, quantity in enumerate(quantities):
            edit = ValueEdit(quantity.name)
            edit.setPlaceholderText(empty)
            edit.textEdited.connect(lambda text, name=quantity.name: self.typed.emit(name, text))
            edit.editingFinished.connect(self.left)
            label = labelled(quantity.title, edit)
            label.setWordWrap(True)
            row, column = divmod(index, 2)
            grid.addWidget(label, row, 2 * column)
            grid.addWidget(edit, row, 2 * column + 1)
            self.edits[quantity.name], self._labels[quantity.name] = edit, label
        self.said = text_label(role="muted")
        self.said.hide()
        self.problem = text_label(role="error")
        self.problem.hide()
        last = grid.rowCount()
        grid.addWidget(self.said, last, 0, 1, 4)
        grid.addWidget(self.problem, last + 1, 0, 1, 4)

    def show_state(self, items: tuple[Typed, ...], shown: tuple[str, ...], decimal: str) -> None:
        """Show the quantities; those not in ``shown`` are not asked."""
        echoes, problems = [], []
        for item in items:
            edit, is_shown = self.edits[item.name], item.name in shown
            self._name(item, decimal)
            edit.setVisible(is_shown)
            self._labels[item.name].setVisible(is_shown)
            edit.show_text(item.text)
            told = sentence(item.problem.code, item.problem.params, decimal=decimal) if item.problem else ""
            set_flag(edit, "problem", item.problem is not None)
            edit.setAccessibleDescription(told or item.echo)
            if is_shown:
                problems += [told] if told else []
                echoes += [f"{item.quantity.label} {item.echo}"] if item.echo else []
        self.said.setText("; ".join(echoes))
        self.said.setVisible(bool(echoes))
        self.problem.setText("\n".join(problems))
        self.problem.setVisible(bool(problems))

    def _name(self, item: Typed, decimal: str) -> None:
        """Say the unit that holds now."""
        title, label = item.quantity.titled(decimal), self._labels[item.name]
        if label.text() != title:
            label.setText(title)
            self.edits[item.name].setAccessibleName(title)
