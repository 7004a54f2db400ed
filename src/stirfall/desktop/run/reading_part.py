"""The thermometer: digits then Enter, the last reading with its time, and what the step wants."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from stirfall.desktop.labelled import plain_text
from stirfall.desktop.run.big_button import BigButton
from stirfall.desktop.run.fields_part import NumberLine
from stirfall.desktop.run.look import GAP, SMALL, WORD, RunLabel
from stirfall.desktop.run.words import clock_time
from stirfall.desktop.shown import Shown
from stirfall.session.run_shown import RunView


class ReadingPart(QWidget):
    """One line for the next reading; the page sends it the digits that are typed anywhere."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_reading_part")
        self.head = RunLabel(WORD, bold=True, name="run_reading_head")
        self.line = NumberLine("run_reading", "Temperature, digits then Enter", letters=6)
        self.unit = RunLabel(WORD, bold=True, wrap=False)
        self.last = RunLabel(SMALL, name="run_last_reading")
        self.cold = BigButton("It is cold, without a thermometer", "run_cold_without", key="C", base=SMALL)
        self.cold.hide()
        row = QHBoxLayout()
        row.setSpacing(GAP)
        row.addWidget(self.line, 1)
        row.addWidget(self.unit)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP // 2)
        column.addWidget(self.head)
        column.addLayout(row)
        column.addWidget(self.last)
        column.addWidget(self.cold)

    @property
    def typed(self) -> str:
        """The number that is being typed, with its unit; "" for none."""
        text = self.line.text().strip()
        return f"{text} {self.unit.text()}" if text and not self.isHidden() else ""

    def show_view(self, view: RunView, shown: Shown) -> None:
        """Show the last reading, and whether the step waits for one."""
        self.unit.say(shown.label("C"))
        target = "" if view.target_c is None else f", set to {shown.text(view.target_c, 'C')}"
        self.head.say(f"Thermometer{target}")
        self.line.setPlaceholderText("digits, Enter" if not view.wants_reading else "read it now")
        self.line.setAccessibleDescription(plain_text(self.head.text()))
        self.cold.setVisible(view.may_lift_without)
        reading = view.reading
        if reading is None:
            self.last.say("not read yet")
            return
        said = f"{shown.text(reading.value_c, 'C', digits=4)} at {clock_time(reading.at)}"
        ago = reading.ago_s // 60
        self.last.say(f"{said}, {ago} min ago" if ago else f"{said}, just now")

    def clear(self) -> None:
        """Empty the line after its number was taken."""
        self.line.clear()
