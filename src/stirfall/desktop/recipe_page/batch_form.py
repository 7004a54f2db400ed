"""The batch of the recipe: its size, and what it is made in; empty fields are as the campaign has them."""

from __future__ import annotations

from dataclasses import replace
from html import escape

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFormLayout, QLineEdit, QVBoxLayout, QWidget

from stirfall.bench.errors import InputError
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, set_flag, text_label
from stirfall.desktop.labelled import labelled, name_control, show_problem
from stirfall.desktop.shown import Shown
from stirfall.reporting.recipe_batch import USUAL_BATCH, BatchOrder, BatchSize
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
_WORDS = {"block": "⛔ Stop", "warn": "⚠ Warning", "note": "Note"}
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
            label = labelled(f"{words}, {unit}", field)
            label.setMinimumHeight(TARGET)
            form.addRow(label, field)
            form.addRow(field.problem)
        self.answer = text_label()
        self.answer.setObjectName("recipe_batch_answer")
        self.answer.setTextFormat(Qt.TextFormat.RichText)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, GAP, GAP, 0)
        column.addWidget(self.answer)
        column.addWidget(text_label("What is left empty is as the campaign has it; what is unknown is asked for."))
        column.addLayout(form)
        column.addStretch(1)

    def show_order(self, order: BatchOrder, decimal: str, made: BatchSize | None) -> None:
        """Show the values of an order, and what follows for the batch that was made of it."""
        self.answer.setText("" if made is None else answer_html(made))
        self.answer.setVisible(bool(self.answer.text()))
        for name, field in self.fields.items():
            field.decimal = decimal
            field.show_value(getattr(order, name), _USUAL)


def answer_html(batch: BatchSize) -> str:
    """Return every quantity before and after, what must be heeded, and what is asked for."""
    rows = "".join(
        f"<tr><td>{escape(line.name)}</td><td>{escape(line.shown_before)}</td><td>→</td>"
        f"<td><b>{escape(line.shown_after)}</b></td></tr>"
        for line in batch.lines
    )
    heed = [f"{_WORDS[each.level]}: {each.text}" for each in batch.warnings]
    asked = [f"Not known: {text}" for text in batch.asked]
    below = "".join(f"<p style='margin:4px 0'>{escape(text)}</p>" for text in (*heed, *asked))
    return f"<table cellpadding='3'>{rows}</table>{below}" if rows or below else ""
