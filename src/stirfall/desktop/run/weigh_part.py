"""Weighing in a run: one large line per mass, tares where they are wanted; what is not weighed stays unknown."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from stirfall.bench.run_facts import OIL_REMOVALS
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.bench_form.weighing import MASS_LABELS, MASS_NAMES, MassState
from stirfall.desktop.bench_form.weighing_edit import MassLine, place_masses
from stirfall.desktop.run.big_button import BigButton, ButtonGrid
from stirfall.desktop.run.fields_part import NumberLine
from stirfall.desktop.run.look import APART, GAP, SMALL, WORD, RunLabel
from stirfall.desktop.run.words import said
from stirfall.desktop.theme import LIGHT, Theme


class WeighPart(QWidget):
    """The masses in grams; Enter goes to the next.

    Signals:
        mass_typed(str, str), tare_typed(str, str): name of the mass and the raw text.
        removal_chosen(str): how the oil was removed, "" for not known.
    """

    mass_typed = Signal(str, str)
    tare_typed = Signal(str, str)
    removal_chosen = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_weigh")
        self.lines: dict[str, NumberLine] = {}
        self.tares: dict[str, NumberLine] = {}
        self._nets: dict[str, RunLabel] = {}
        self._labels: dict[str, RunLabel] = {}
        self._theme = LIGHT
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(APART)
        self._grid.setVerticalSpacing(APART)
        self._heads = tuple(RunLabel(SMALL) for _ in range(3))
        for head, text in zip(self._heads, ("on the balance, g", "tare, g", "net"), strict=True):
            head.setText(text)
        self._build()
        self.with_tares = BigButton("With tares", "run_with_tares", key="T")
        self.with_tares.setCheckable(True)
        self.with_tares.toggled.connect(self.show_tares)
        self.problem = RunLabel(SMALL, bold=True, name="run_weigh_problem")
        self.result = RunLabel(SMALL, name="run_weigh_result")
        self.removal_head = RunLabel(WORD, bold=True)
        self.removal_head.setText("How was the oil removed?")
        self.removals = tuple(
            BigButton(titled(word), f"run_oil_{place}") for place, word in enumerate(OIL_REMOVALS)
        )
        for word, button in zip(OIL_REMOVALS, self.removals, strict=True):
            button.setCheckable(True)
            button.clicked.connect(lambda on, chosen=word: self.removal_chosen.emit(chosen if on else ""))
        self.removal = ButtonGrid(self.removals, most=5)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addLayout(self._grid)
        column.addWidget(self.problem)
        column.addWidget(self.result)
        column.addWidget(self.removal_head)
        column.addWidget(self.removal)
        self.show_tares(False)
        self.hide()

    def _build(self) -> None:
        for name in MASS_NAMES:
            label = RunLabel(WORD, bold=True, wrap=False)
            label.setText(f"{titled(MASS_LABELS[name])}, g")
            line = NumberLine(f"run_{name}", f"{titled(MASS_LABELS[name])} in grams")
            line.setPlaceholderText("not weighed")
            tare = NumberLine(f"run_tare_{name}", f"Tare of {MASS_LABELS[name]} in grams", letters=6)
            tare.setPlaceholderText("none")
            net = RunLabel(SMALL)
            line.textEdited.connect(lambda text, mass=name: self.mass_typed.emit(mass, text))
            tare.textEdited.connect(lambda text, mass=name: self.tare_typed.emit(mass, text))
            label.setBuddy(line)
            self.lines[name], self.tares[name], self._nets[name] = line, tare, net
            self._labels[name] = label

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme
        self.problem.dress(theme, role="danger")

    def show_tares(self, shown: bool) -> None:
        """Show or hide the tares; with them a line is what stood on the balance, one to a row."""
        masses = [
            MassLine(self._labels[name], self.lines[name], self.tares[name], self._nets[name])
            for name in MASS_NAMES
        ]
        place_masses(self._grid, masses, self._heads, with_tares=shown)
        place = (len(MASS_NAMES) + 1, 1) if shown else (2, 3)
        self._grid.addWidget(self.with_tares, *place)
        self._grid.setColumnStretch(1, 2)
        self._grid.setColumnStretch(2, int(shown))
        self._grid.setColumnStretch(3, 1 if shown else 2)

    def show_state(self, state: FormState) -> None:
        """Show the masses, what is wrong with them, and what they add up to."""
        sheet = state.weighing
        if any(mass.tare_text for mass in sheet.masses) and not self.with_tares.isChecked():
            self.with_tares.setChecked(True)
        problems = [self._show_mass(mass, state.decimal) for mass in sheet.masses]
        self.problem.say(" ".join(problem for problem in problems if problem))
        for part in (self.removal_head, self.removal):
            part.setVisible(sheet.asks_removal)
        for word, button in zip(OIL_REMOVALS, self.removals, strict=True):
            button.setChecked(word == sheet.oil_removed)
        line = sheet.result.line if sheet.result is not None else None
        self.result.say(said(line, state.decimal))

    def _show_mass(self, mass: MassState, decimal: str) -> str:
        problem = said(mass.problem, decimal)
        self.lines[mass.name].show_text(mass.text)
        self.tares[mass.name].show_text(mass.tare_text)
        for line in (self.lines[mass.name], self.tares[mass.name]):
            line.show_problem(problem)
        if mass.echo != self._nets[mass.name].text():
            self._nets[mass.name].setText(mass.echo)
        return problem

    @property
    def names(self) -> frozenset[str]:
        """The object names of all lines."""
        return frozenset(line.objectName() for line in (*self.lines.values(), *self.tares.values()))

    def next_line(self, after: QWidget | None) -> NumberLine | None:
        """Return the line that Enter goes to, None after the last; with tares each tare follows its mass."""
        order: list[NumberLine] = []
        for name in MASS_NAMES:
            order.append(self.lines[name])
            if self.with_tares.isChecked():
                order.append(self.tares[name])
        place = next((at for at, line in enumerate(order) if line is after), -1)
        return order[place + 1] if place + 1 < len(order) else None
