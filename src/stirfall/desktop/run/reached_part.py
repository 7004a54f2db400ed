"""What was really reached against the plan: each condition as planned, as measured, and a line to put it right."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from stirfall.bench.factors import Value
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.run.fields_part import NumberLine
from stirfall.desktop.run.look import APART, GAP, SMALL, WORD, RunLabel
from stirfall.desktop.run.words import said
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import LIGHT, Theme
from stirfall.session.run_shown import ReachedValue


class ReachedPart(QWidget):
    """One row per condition of the run; the line holds what will be recorded.

    Signals:
        typed(str, str): name of the factor and the raw text.
    """

    typed = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_reached")
        self._theme = LIGHT
        self._shown: tuple[ReachedValue, ...] = ()
        self.head = RunLabel(WORD, bold=True)
        self.head.setText("Was it so? What stands in the line is recorded.")
        self.lines: dict[str, NumberLine] = {}
        self._words: dict[str, RunLabel] = {}
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, GAP)
        self._grid.setHorizontalSpacing(APART)
        self._grid.setVerticalSpacing(APART)
        self._grid.setColumnStretch(0, 3)
        self._grid.setColumnStretch(1, 2)
        self._grid.addWidget(self.head, 0, 0, 1, 2)
        self.hide()

    def dress(self, theme: Theme) -> None:
        """Remember the theme for rows to come."""
        self._theme = theme

    def show_reached(self, reached: tuple[ReachedValue, ...], state: FormState | None, shown: Shown) -> None:
        """Show the rows, each with what the form holds for it."""
        for value in reached:
            if value.factor not in self.lines:
                self._add_row(value.factor)
        if reached != self._shown:
            self._shown = reached
            known = {value.factor for value in reached}
            for name, line in self.lines.items():
                line.setVisible(name in known)
                self._words[name].setVisible(name in known)
            for value in reached:
                self._words[value.factor].say(_row_words(value, shown))
            self.setVisible(bool(reached))
        for value in reached if state is not None else ():
            self._show_entry(value.factor, state, shown)

    def _show_entry(self, name: str, state: FormState | None, shown: Shown) -> None:
        field = next((item for item in state.fields if item.factor.name == name), None) if state else None
        line = self.lines[name]
        if field is None:
            return
        line.show_text(field.entry.text)
        line.show_problem(said(field.problem, shown.style))

    def _add_row(self, name: str) -> None:
        row = len(self.lines) + 1
        words, line = RunLabel(SMALL, name=f"run_reached_{row}"), NumberLine(f"run_reached_{name}", titled(name))
        line.setPlaceholderText("unknown")
        line.textEdited.connect(lambda text: self.typed.emit(name, text))
        line.dress(self._theme)
        words.dress(self._theme)
        self._grid.addWidget(words, row, 0)
        self._grid.addWidget(line, row, 1)
        self.lines[name], self._words[name] = line, words


def _row_words(value: ReachedValue, shown: Shown) -> str:
    planned = _value(value.planned, value.unit, shown) or "not planned"
    measured = _value(value.measured, value.unit, shown) or "not measured"
    how = said(value.how, shown.style)
    return f"{titled(value.factor)}: planned {planned}, measured {measured}. {how}".strip()


def _value(value: Value | None, unit: str, shown: Shown) -> str:
    if value is None:
        return ""
    return value if isinstance(value, str) else shown.text(value, unit, digits=4)
