"""What can be chosen about a rehearsal: numbers with steppers, orders as boxes, and a stated guess."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, QSize, Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, set_flag, titled
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.cards import fixed_label
from stirfall.desktop.plan.parts import Stepper
from stirfall.desktop.plan.rehearsal_state import GUESS, PRESENT, GuessLine, OrderChoice, RehearsalState
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from collections.abc import Callable

    from stirfall.desktop.plan.rehearsal_model import RehearsalModel

_SOURCES = ((PRESENT, "What the attempts say"), (GUESS, "A guess of mine"))


class LargeBox(QCheckBox):
    """A box to tick with its words, as high as a finger in a glove."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setMinimumHeight(TARGET)

    def sizeHint(self) -> QSize:
        """Ask for at least the height that is pressed on the bench."""
        hint = super().sizeHint()
        return QSize(hint.width(), max(hint.height(), TARGET))


class OrderBoxes(QWidget):
    """The orders as boxes with what they mean, in as many columns as fit.

    Signals:
        ticked(str, bool): an order was ticked or unticked.
    """

    ticked = Signal(str, bool)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("rehearsal_orders")
        self.setAccessibleName("Orders to rehearse")
        self.boxes: dict[str, LargeBox] = {}
        self._row = FlowLayout(self)

    def show_orders(self, orders: tuple[OrderChoice, ...], *, may_change: bool) -> None:
        """Show which orders are wanted."""
        for each in orders:
            box = self.boxes.get(each.order) or self._made(each)
            with QSignalBlocker(box):
                box.setChecked(each.is_wanted)
            box.setEnabled(may_change)
        wide = max(box.sizeHint().width() for box in self.boxes.values())
        for box in self.boxes.values():  # as wide as each other, so that they stand in columns
            box.setMinimumWidth(wide)

    def _made(self, choice: OrderChoice) -> LargeBox:
        box = LargeBox(f"rehearsal_order_{choice.order}")
        box.setText(choice.title)
        name_control(box, choice.title, choice.meaning)
        box.toggled.connect(lambda on, order=choice.order: self.ticked.emit(order, on))
        self.boxes[choice.order] = box
        self._row.addWidget(box)
        return box


class GuessTable(QWidget):
    """A stated guess: per factor a box, the best place and the width.

    Signals:
        mattered(str, bool), placed(str, str), widened(str, str): what was said of a factor.
    """

    mattered = Signal(str, bool)
    placed = Signal(str, str)
    widened = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("rehearsal_guess")
        self.setAccessibleName("Your guess")
        self.rows: dict[str, _GuessRow] = {}
        self._key: tuple[tuple[str, tuple[str, ...]], ...] = ()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(HALF_GAP)

    def show_lines(self, lines: tuple[GuessLine, ...], *, may_change: bool) -> None:
        """Show the guess; rows are kept while the factors stay the same."""
        self.setVisible(bool(lines))
        key = tuple((line.name, line.levels) for line in lines)
        if lines and key != self._key:
            self._build(lines, key)
        for line in lines:
            self.rows[line.name].show_line(line, may_change=may_change)

    def _build(self, lines: tuple[GuessLine, ...], key: tuple[tuple[str, tuple[str, ...]], ...]) -> None:
        for old in self.rows.values():
            old.hide()
            old.deleteLater()
        self._key, self.rows = key, {}
        for line in lines:
            row = _GuessRow(line, self)
            self.rows[line.name] = row
            self._column.addWidget(row)


class _GuessRow(QWidget):
    def __init__(self, line: GuessLine, table: GuessTable) -> None:
        super().__init__()
        name = line.name
        self.matters = LargeBox(f"rehearsal_guess {name}")
        self.matters.setText(f"{titled(name)} matters".replace("&", "&&"))
        self.matters.setAccessibleName(f"{titled(name)} matters")
        self.matters.toggled.connect(lambda on: table.mattered.emit(name, on))
        self.place: ValueEdit | CalmCombo = self._choice(line) if line.levels else self._edit(line, "best at")
        if isinstance(self.place, CalmCombo):
            combo = self.place
            combo.activated.connect(lambda _at: table.placed.emit(name, combo.currentData()))
        else:
            self.place.setPlaceholderText("anywhere")
            self.place.textEdited.connect(lambda text: table.placed.emit(name, text))
        self.width_edit = self._edit(line, "share kept elsewhere" if line.levels else "width")
        self.width_edit.setPlaceholderText("half" if line.levels else "usual")
        self.width_edit.textEdited.connect(lambda text: table.widened.emit(name, text))
        self._words = tuple(fixed_label(role="muted") for _ in range(4))
        self.problem = wrapped_label("", "error")
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self._fields())
        whole.addWidget(self.problem)

    def _fields(self) -> QWidget:
        holder = QWidget()
        row = FlowLayout(holder)
        before_place, after_place, before_width, after_width = self._words
        self._details = (
            _held(before_place, self.place, after_place),
            _held(before_width, self.width_edit, after_width),
        )
        for part in (self.matters, *self._details):
            row.addWidget(part)
        return holder

    def _edit(self, line: GuessLine, what: str) -> ValueEdit:
        made = ValueEdit(f"rehearsal_guess {line.name} {what}")
        made.setMinimumHeight(TARGET)
        made.setFixedWidth(170)
        name_control(made, f"{titled(line.name)}: {what}")
        return made

    def _choice(self, line: GuessLine) -> CalmCombo:
        made = CalmCombo()
        made.setObjectName(f"rehearsal_guess {line.name} best")
        made.setMinimumHeight(TARGET)
        made.addItem("any", "")
        for level in line.levels:
            made.addItem(level, level)
        name_control(made, f"{titled(line.name)}: best")
        return made

    def show_line(self, line: GuessLine, *, may_change: bool) -> None:
        with QSignalBlocker(self.matters):
            self.matters.setChecked(line.matters)
        self.matters.setEnabled(may_change)
        if isinstance(self.place, CalmCombo):
            with QSignalBlocker(self.place):
                self.place.setCurrentIndex(max(self.place.findData(line.place), 0))
        else:
            self.place.show_text(line.place)
            set_flag(self.place, "problem", bool(line.place_problem))
            self.place.setAccessibleDescription(line.place_problem)
        self.width_edit.show_text(line.width)
        set_flag(self.width_edit, "problem", bool(line.width_problem))
        words = ("best at", line.unit, "others keep" if line.levels else "width", line.width_unit)
        for label, text in zip(self._words, words, strict=True):
            label.setText(text)
            label.setVisible(bool(text))
        for part in (self.place, self.width_edit):
            part.setEnabled(may_change)
        for held in self._details:
            held.setVisible(line.matters)
        self.problem.setText(line.problem)
        self.problem.setVisible(bool(line.problem))
        self.width_edit.setAccessibleDescription(line.width_problem)


def _held(*parts: QWidget) -> QWidget:
    holder = QWidget()
    row = QHBoxLayout(holder)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(HALF_GAP)
    for part in parts:
        row.addWidget(part)
    return holder


class RehearsalControls(QWidget):
    """All choices, from the numbers to the guess."""

    def __init__(self, model: RehearsalModel) -> None:
        super().__init__()
        self._model = model
        self.setObjectName("rehearsal_choices")
        self.target = Stepper("Target", "rehearsal_target", "One per cent")
        self.campaigns = Stepper("Campaigns", "rehearsal_campaigns", "A step")
        self.most = Stepper("At most", "rehearsal_most", "A step")
        self.seed = Stepper("Seed", "rehearsal_seed", "One")
        self.orders = OrderBoxes()
        self.source = ChoiceRow("Rehearse from", "rehearsal_source")
        self.best = Stepper("Best probability", "rehearsal_best", "One per cent")
        self.guess_teaches = wrapped_label("rehearsal_guess_teaches", "muted")
        self.guess = GuessTable()
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        numbers = QWidget()
        row = FlowLayout(numbers, gap=2 * GAP)
        for part in (self.target, self.campaigns, self.most, self.seed):
            row.addWidget(part)
        self.guess_teaches.setText(sentence("rehearsal_page.guess_teaches"))
        whole: tuple[QWidget, ...] = (
            numbers,
            self.orders,
            self.source,
            self.guess_teaches,
            self.best,
            self.guess,
        )
        for each in whole:
            column.addWidget(each)
        self.best.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)

    def _connect(self) -> None:
        model = self._model
        steppers: tuple[tuple[Stepper, Callable[[int], None]], ...] = (
            (self.target, model.step_target),
            (self.campaigns, model.step_campaigns),
            (self.most, model.step_most),
            (self.seed, model.step_seed),
            (self.best, model.step_best),
        )
        for stepper, step in steppers:
            stepper.less.clicked.connect(lambda _=False, way=step: way(-1))
            stepper.more.clicked.connect(lambda _=False, way=step: way(1))
        self.orders.ticked.connect(model.want_order)
        self.source.chosen.connect(model.choose_source)
        self.guess.mattered.connect(lambda name, on: model.guess(name, matters=on))
        self.guess.placed.connect(lambda name, text: model.guess(name, place=text))
        self.guess.widened.connect(lambda name, text: model.guess(name, width=text))

    def show_state(self, state: RehearsalState) -> None:
        """Show what is chosen; while campaigns are played nothing can be."""
        may = not state.is_running
        target = f"{state.target}\u202f%"
        self.target.show_value(target, may_change=may)
        self.campaigns.show_value(f"{state.campaigns} of each", may_change=may)
        self.most.show_value(f"{state.most} attempts", may_change=may)
        self.seed.show_value(str(state.seed), may_change=may)
        self.orders.show_orders(state.orders, may_change=may)
        self.source.show_choices(_SOURCES, state.source)
        self.source.setEnabled(may)
        is_guess = state.source == GUESS
        self.guess_teaches.setVisible(is_guess)
        self.best.setVisible(is_guess)
        self.best.show_value(f"{state.best}\u202f%", may_change=may)
        self.guess.show_lines(state.guess, may_change=may)
