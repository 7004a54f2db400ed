"""Small parts that the sections of the plan share: a row, a label that comes and goes, a number with steppers."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import HALF_GAP, button
from stirfall.desktop.labelled import name_control
from stirfall.desktop.plan.cards import fixed_label

_MINUS, _PLUS = "\u2212", "+"


def row_of(*parts: QWidget) -> QWidget:
    """Return the parts beside each other, in further rows where the width ends."""
    holder = QWidget()
    row = FlowLayout(holder)
    for part in parts:
        row.addWidget(part)
    return holder


def show_text(label: QLabel, text: str) -> None:
    """Show a text; a label without one is gone."""
    label.setText(text)
    label.setVisible(bool(text))


class Stepper(QWidget):
    """A number with its word and two large steppers."""

    def __init__(self, word: str, name: str, step: str) -> None:
        super().__init__()
        self.less, self.more = button(_MINUS, f"{name}_less"), button(_PLUS, f"{name}_more")
        self.value, title = fixed_label(name, "heading"), fixed_label(role="muted")
        title.setText(word)
        for made, what in ((self.less, "less"), (self.more, "more")):
            made.setProperty("kind", "stepper")
            name_control(made, f"{word}: {what}", f"{step} {what}")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(HALF_GAP)
        for part in (title, self.less, self.value, self.more):
            row.addWidget(part)

    def show_value(self, text: str, *, may_change: bool) -> None:
        """Show the number."""
        self.value.setText(text)
        for made in (self.less, self.more):
            made.setEnabled(may_change)
            made.setAccessibleDescription(f"now {text}")
