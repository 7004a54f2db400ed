"""What the limits warn of before an attempt is recorded, and the line that says why it is right all the same."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.run.look import GAP, SMALL, WORD, RunLabel
from stirfall.desktop.run.signs_part import Lines


class WhyPart(QWidget):
    """Shown while warnings want a reason.

    Signals:
        typed(str): the reason as typed.
    """

    typed = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_why")
        self.head = RunLabel(WORD, bold=True)
        self.head.setText("Why is it right all the same?")
        self.warned = Lines(SMALL, "run_warned")
        self.line = QLineEdit()
        self.line.setObjectName("run_limit_reason")
        self.line.setProperty("runField", "true")
        self.line.setPlaceholderText("kept with the attempt")
        self.line.setAccessibleName(self.head.text())
        self.line.textEdited.connect(self.typed)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        for part in (self.warned, self.head, self.line):
            column.addWidget(part)
        self.hide()

    def show_state(self, state: FormState, *, is_wanted: bool) -> None:
        """Show the warnings of the form and the reason given."""
        self.warned.show_texts([item.text for item in state.warned] if is_wanted else [])
        if state.reason != self.line.text():
            self.line.setText(state.reason)
        self.setVisible(is_wanted and state.asks_reason)
