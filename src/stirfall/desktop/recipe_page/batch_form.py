"""The batch of the recipe: its size, and what it is made in; empty fields are as the campaign has them."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from stirfall.bench.errors import InputError
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, set_flag, text_label
from stirfall.desktop.labelled import labelled, name_control, show_problem
from stirfall.desktop.shown import Shown
from stirfall.reporting.recipe_batch import USUAL_BATCH, BatchOrder
from stirfall.reporting.sentences import error_sentence

SIZE = "charge_g"
_FIELDS = {
    "from_g": ("Scale from the proven batch", "g"),
    "vessel_ml": ("Volume of the vessel", "mL"),
    "vessel_mm": ("Inner diameter of the vessel", "mm"),
    "stirrer_mm": ("Stirring circle", "mm"),
    "jar_mm": ("Inner diameter of the jar", "mm"),
    "oil_ml": ("Hot oil of the proven batch", "mL"),
    "heat_up_s": ("Its time to heat up", "s"),
}
_USUAL = "as the campaign has it"


class BatchField(QLineEdit):
    """One quantity of the batch; empty means as usual.

    Signals:
        settled(str, object): the name of the field, and its value or None.
    """

    settled = Signal(str, object)

    def __init__(self, name: str, words: str, unit: str) -> None:
        super().__init__()
        self.setObjectName(f"recipe_batch_{name}")
        self.setProperty("kind", "value")
        self.setMinimumHeight(TARGET)
        self.name, self.unit = name, unit
        self.decimal = "."
        name_control(self, f"{words}, {unit}")
        self.problem = text_label(role="error")
        self.problem.setVisible(False)
        self._told: float | None = None
        self.editingFinished.connect(self._settle)

    def show_value(self, value: float | None, usual: str) -> None:
        """Show a value, unless the person is typing another one."""
        self._told = value
        self.setPlaceholderText(usual)
        if not self.hasFocus() and self.property("problem") is not True:
            self.setText("" if value is None else Shown.of(self.decimal).number(value, self.unit))

    def _settle(self) -> None:
        text, problem, value = self.text().strip(), "", None
        try:
            value = Shown.of(self.decimal).read(text, self.unit) if text else None
            replace(USUAL_BATCH, **{self.name: value})  # checks that it is positive
        except InputError as error:
            problem = error_sentence(error, decimal=self.decimal)
        set_flag(self, "problem", bool(problem))
        show_problem(self, self.problem, problem)
        if not problem and value != self._told:
            self._told = value
            self.settled.emit(self.name, value)


class BatchForm(QWidget):
    """What the batch is made in, field below field."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("recipe_batch_form")
        self.fields = {name: BatchField(name, *words) for name, words in _FIELDS.items()}
        form = QFormLayout()
        form.setHorizontalSpacing(2 * GAP)
        form.setVerticalSpacing(HALF_GAP)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        for name, (words, unit) in _FIELDS.items():
            field = self.fields[name]
            form.addRow(labelled(f"{words}, {unit}", field), field)
            form.addRow(field.problem)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, GAP, GAP, 0)
        column.addWidget(text_label("What is left empty is as the campaign has it; what is unknown is asked for."))
        column.addLayout(form)
        column.addStretch(1)

    def show_order(self, order: BatchOrder, decimal: str) -> None:
        """Show the values of an order."""
        for name, field in self.fields.items():
            field.decimal = decimal
            field.show_value(getattr(order, name), _USUAL)


def asked_label() -> QLabel:
    """Return the label that says what is not known of the batch."""
    label = text_label(role="muted")
    label.setObjectName("recipe_batch_asked")
    return label
