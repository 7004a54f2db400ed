"""The weighing sheet: one line per mass, tares where they are wanted, and what the weighings add up to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from stirfall.bench.run_facts import OIL_REMOVALS
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, set_flag, text_label, titled, unbroken
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.bench_form.typed_edit import TypedGrid
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.bench_form.weighing import MASS_LABELS, MASS_NAMES, SHEET, MassState, WeighingState
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.theme import set_text_role
from stirfall.reporting.sentences import sentence
from stirfall.session.weighing import Flag


class MassLine(NamedTuple):
    """The widgets of one mass."""

    label: QWidget
    line: QWidget
    tare: QWidget
    net: QWidget


def place_masses(
    grid: QGridLayout, masses: Sequence[MassLine], heads: Sequence[QWidget], *, with_tares: bool
) -> None:
    """Lay out masses anew: two in a row, or with tares each in its own row below the heads, with its net mass."""
    while grid.takeAt(0) is not None:
        pass
    for part in (*heads, *(mass.tare for mass in masses), *(mass.net for mass in masses)):
        part.setParent(grid.parentWidget())
        part.setVisible(with_tares)
    for index, mass in enumerate(masses):
        row, column = (index + 1, 0) if with_tares else divmod(index, 2)
        grid.addWidget(mass.label, row, 2 * column)
        grid.addWidget(mass.line, row, 2 * column + 1)
        if with_tares:
            grid.addWidget(mass.tare, row, 2)
            grid.addWidget(mass.net, row, 3)
    for column, head in enumerate(heads if with_tares else (), start=1):
        grid.addWidget(head, 0, column)


class MassGrid(QWidget):
    """The masses in grams, two in a row; with tares one in a row, and the net mass beside it.

    Signals:
        mass_typed(str, str), tare_typed(str, str): name of the mass and the raw text.
    """

    mass_typed = Signal(str, str)
    tare_typed = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        self.edits: dict[str, ValueEdit] = {}
        self.tares: dict[str, ValueEdit] = {}
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(GAP)
        self._grid.setVerticalSpacing(HALF_GAP)
        self._labels = {}
        self._nets = {}
        self._heads = tuple(text_label(text, "muted") for text in ("on the balance, g", "tare, g", "net"))
        for name in MASS_NAMES:
            edit, tare = ValueEdit(name), ValueEdit(f"tare_{name}")
            edit.textEdited.connect(lambda text, mass=name: self.mass_typed.emit(mass, text))
            tare.textEdited.connect(lambda text, mass=name: self.tare_typed.emit(mass, text))
            tare.setPlaceholderText("none")
            label = labelled(f"{titled(MASS_LABELS[name])}, g", edit)
            name_control(tare, f"Tare of {MASS_LABELS[name]}, g")
            self.edits[name], self.tares[name], self._labels[name] = edit, tare, label
            self._nets[name] = text_label(role="muted")
        self.toggle = button("With tares", "with_tares")
        self.toggle.setCheckable(True)
        name_control(self.toggle, "With tares: the vessel's weight is taken off")
        self._has_tares: bool | None = None
        self.show_tares(False)

    def show_tares(self, shown: bool) -> None:
        """Show or hide the tares; with them a line is what stood on the balance."""
        if shown == self._has_tares:
            return
        self._has_tares = shown
        masses = [
            MassLine(self._labels[name], self.edits[name], self.tares[name], self._nets[name])
            for name in MASS_NAMES
        ]
        place_masses(self._grid, masses, self._heads, with_tares=shown)
        place = (len(MASS_NAMES) + 1, 1, 1, 1) if shown else (2, 2, 1, 2)  # the sixth place, where it is free
        self._grid.addWidget(self.toggle, *place)
        self._grid.setColumnStretch(1, 1)
        self._grid.setColumnStretch(2, int(shown))
        self._grid.setColumnStretch(3, 1)

    def show_masses(self, masses: tuple[MassState, ...], decimal: str) -> list[str]:
        """Show the masses and return what is wrong with them."""
        problems = []
        for mass in masses:
            edit, tare = self.edits[mass.name], self.tares[mass.name]
            edit.show_text(mass.text)
            tare.show_text(mass.tare_text)
            edit.setPlaceholderText("not weighed")
            text = sentence(mass.problem.code, mass.problem.params, decimal=decimal) if mass.problem else ""
            for line in (edit, tare):
                set_flag(line, "problem", mass.problem is not None)
            edit.setAccessibleDescription(text or mass.echo)
            self._nets[mass.name].setText(mass.echo)
            problems += [text] if text else []
        return problems


class WeighingEdit(QWidget):
    """The whole sheet; what it does not ask stays out of sight.

    Signals:
        mass_typed(str, str), tare_typed(str, str), sheet_typed(str, str): name and raw text.
        left(): a line was left.
    """

    mass_typed = Signal(str, str)
    tare_typed = Signal(str, str)
    sheet_typed = Signal(str, str)
    left = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.masses = MassGrid()
        self.tares = self.masses.toggle
        self.sheet = TypedGrid(SHEET, empty="unknown")
        self.removal = Segments("How was the oil removed?", OIL_REMOVALS, columns=5)
        self.removal.setObjectName("oil_removed")
        self._removal_label = labelled(self.removal.question, self.removal, target=self.removal)
        self.problem = text_label(role="error")
        self.problem.setObjectName("mass_problem")
        self.line = text_label(role="muted")
        self.line.setObjectName("weighing_line")
        self.flags = text_label(role="muted")
        self.flags.setObjectName("weighing_flags")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        for part in (
            self.masses,
            self.problem,
            self._removal_label,
            self.removal,
            self.sheet,
            self.line,
            self.flags,
        ):
            column.addWidget(part)
        self.masses.mass_typed.connect(self.mass_typed)
        self.masses.tare_typed.connect(self.tare_typed)
        self.sheet.typed.connect(self.sheet_typed)
        self.sheet.left.connect(self.left)
        self.tares.toggled.connect(self.masses.show_tares)
        self.removal.chosen.connect(lambda level: self.sheet_typed.emit("oil_removed", level or ""))

    def show_state(self, state: FormState) -> None:
        """Show the sheet and what it adds up to."""
        sheet = state.weighing
        if any(mass.tare_text for mass in sheet.masses):
            self.tares.setChecked(True)
        problems = self.masses.show_masses(sheet.masses, state.decimal)
        self.problem.setText("\n".join(problems))
        self.problem.setVisible(bool(problems))
        self.sheet.show_state(sheet.sheet_lines, sheet.asked, state.decimal)
        self.removal.set_value(sheet.oil_removed or None)
        for part in (self.removal, self._removal_label):
            part.setVisible(sheet.asks_removal)
        self._show_result(sheet, state.decimal)

    def _show_result(self, sheet: WeighingState, decimal: str) -> None:
        result = sheet.result
        self.line.setVisible(result is not None)
        flags = () if result is None else result.flags
        self.flags.setText("\n".join(_flag_words(flag, decimal) for flag in flags))
        self.flags.setVisible(bool(flags))
        if result is not None:
            self.line.setText(unbroken(sentence(result.line.code, result.line.params, decimal=decimal)))
            set_text_role(self.flags, "caution" if result.is_doubtful else "muted")


def _flag_words(flag: Flag, decimal: str) -> str:
    sign = "⚠" if flag.level == "warn" else "•"
    return unbroken(f"{sign} {sentence(flag.code, flag.params, decimal=decimal)}")
