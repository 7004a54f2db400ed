"""Where the recipe comes from, how far it may stray, and the size of its batch."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QSpinBox, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, guard_from_wheel
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.recipe_page.batch_form import SIZE, BatchField, BatchForm
from stirfall.desktop.recipe_page.state import DROPS, RecipeState, Source

_DROP_WORDS = {f"{100 * drop:.0f} points": drop for drop in DROPS}


class MakePart(QWidget):
    """The source and the attempt that it may be.

    Signals:
        source_chosen(Source), attempt_chosen(int)
    """

    source_chosen = Signal(object)
    attempt_chosen = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self.source = Segments("Recipe from", tuple(item.value for item in Source), columns=3, may_be_empty=False)
        self.source.setObjectName("recipe_source")
        self.attempt = QSpinBox()
        self.attempt.setObjectName("recipe_attempt")
        self.attempt.setKeyboardTracking(False)
        guard_from_wheel(self.attempt)
        self.attempt.setMinimumHeight(TARGET)
        self.attempt.setPrefix("no. ")
        self.attempt.setMaximumWidth(12 * GAP)
        name_control(self.attempt, "Number of the attempt")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(GAP)
        row.addWidget(labelled("From", self.source))
        row.addWidget(self.source, 1)
        row.addWidget(self.attempt)
        self.source.chosen.connect(lambda value: self.source_chosen.emit(Source(value)))
        self.attempt.valueChanged.connect(self.attempt_chosen)

    def render_state(self, state: RecipeState | None) -> None:
        """Show the state; showing it twice changes nothing."""
        for editor in (self.source, self.attempt):
            editor.setEnabled(state is not None)
        if state is None:
            return
        self.source.set_value(state.source.value)
        with QSignalBlocker(self.attempt):
            self.attempt.setRange(min(1, state.last_number), state.last_number)
            self.attempt.setValue(state.attempt_number)
        self.attempt.setVisible(state.source is Source.ATTEMPT)


class MorePart(QScrollArea):
    """What is seldom changed: the drop that ends the ranges, and what the batch is made in.

    Signals:
        drop_chosen(float), batch_settled(str, object)
    """

    drop_chosen = Signal(float)
    batch_settled = Signal(str, object)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("recipe_more_part")
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.drop = Segments("Tolerances keep the chance within", tuple(_DROP_WORDS), columns=3, may_be_empty=False)
        self.drop.setObjectName("recipe_drop")
        self.form = BatchForm()
        label = labelled("The chance may drop inside the ranges by", self.drop)
        label.setToolTip("The lower end of the interval may fall by this much inside the ranges of the recipe")
        holder = QWidget()
        column = QVBoxLayout(holder)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        for part in (label, self.drop, self.form):
            column.addWidget(part)
        column.addStretch(1)
        self.setWidget(holder)
        name_control(self, "Ranges and batch")
        self.setToolTip("")
        self.drop.chosen.connect(lambda word: self.drop_chosen.emit(_DROP_WORDS[word]))
        for field in self.form.fields.values():
            field.settled.connect(self.batch_settled)

    def render_state(self, state: RecipeState | None) -> None:
        """Show the state; showing it twice changes nothing."""
        self.drop.setEnabled(state is not None)
        self.form.setEnabled(state is not None)
        if state is not None:
            self.drop.set_value(next(word for word, drop in _DROP_WORDS.items() if drop == state.drop))
            made = state.recipe.batch if state.recipe is not None else None
            self.form.show_order(state.batch, str(state.decimal), made)


class SizeField(BatchField):
    """The batch size; empty means the proven one, which it names."""

    def __init__(self) -> None:
        super().__init__(SIZE, "Batch size", "g")
        self.setMaximumWidth(14 * GAP)

    def render_state(self, state: RecipeState | None) -> None:
        """Show the size that was asked for, and the proven one where none was."""
        self.setEnabled(state is not None)
        if state is None:
            return
        self.decimal = state.decimal
        batch = state.recipe.batch if state.recipe is not None else None
        line = batch.line("charge") if batch is not None else None
        self.show_value(state.batch.charge_g, "" if line is None else line.shown_before)
