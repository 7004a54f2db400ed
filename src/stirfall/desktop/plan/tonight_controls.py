"""What can be chosen about the evening: which one, how many hours, what for, and another order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QHBoxLayout, QWidget

from stirfall.bench.errors import InputError
from stirfall.bench.units import parse_quantity
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import HALF_GAP, TARGET, button
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.plan.tonight_state import BENCH_DAY, GOAL_WORDS, TODAY, TonightState
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.desktop.plan.tonight_model import TonightModel

_MINUS, _PLUS = "\u2212", "+"
_EVENINGS = ((BENCH_DAY, "Next bench day"), (TODAY, "Today"))


class TonightControls(QWidget):
    """A row of choices that goes on in the next row where the width ends."""

    def __init__(self, model: TonightModel) -> None:
        super().__init__()
        self._model = model
        self.evening = ChoiceRow("Evening", "plan_evening")
        self.hours = ValueEdit("plan_hours")
        self.hours.setFixedWidth(80)
        self.less = button(_MINUS, "plan_hours less")
        self.more = button(_PLUS, "plan_hours more")
        for made, word in ((self.less, "less"), (self.more, "more")):
            made.setProperty("kind", "stepper")
            name_control(made, f"Hours free: {word}", f"Half an hour {word}")
        self.goal = CalmCombo()
        self.goal.setObjectName("plan_goal")
        self.goal.setMinimumHeight(TARGET)
        self.goal.setSizeAdjustPolicy(CalmCombo.SizeAdjustPolicy.AdjustToContents)
        for goal, words in GOAL_WORDS.items():
            self.goal.addItem(words, goal)
            meaning = sentence(f"goal.{goal.value}")
            self.goal.setItemData(self.goal.count() - 1, meaning, Qt.ItemDataRole.ToolTipRole)
        self.draw = button("Draw the order anew", "plan_draw")
        self.keep_hours = button("Make these hours usual", "plan_keep_hours")
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        stepper = QWidget()
        line = QHBoxLayout(stepper)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(HALF_GAP)
        for part in (labelled("Hours free", self.hours), self.less, self.hours, self.more):
            line.addWidget(part)
        picker = QWidget()
        row = QHBoxLayout(picker)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(HALF_GAP)
        row.addWidget(labelled("For", self.goal))
        row.addWidget(self.goal)
        name_control(self.goal, "Goal of the evening", "What the attempts of the evening are chosen for")
        whole = FlowLayout(self)
        choices: tuple[QWidget, ...] = (self.evening, stepper, self.keep_hours, picker, self.draw)
        for choice in choices:
            whole.addWidget(choice)

    def _connect(self) -> None:
        model = self._model
        self.evening.chosen.connect(model.choose_evening)
        self.less.clicked.connect(lambda: model.step_hours(-1))
        self.more.clicked.connect(lambda: model.step_hours(1))
        self.hours.stepped.connect(model.step_hours)
        self.hours.editingFinished.connect(self._take_hours)
        self.keep_hours.clicked.connect(model.keep_hours)
        self.goal.activated.connect(lambda _at: model.choose_goal(self.goal.currentData()))
        self.draw.clicked.connect(model.draw_anew)

    def _take_hours(self) -> None:
        text = self.hours.text()
        if text == self._model.state.hours_text:
            return
        try:
            self._model.set_hours(parse_quantity(text, "h", decimal=self._model.workspace.decimal))
        except InputError:
            self.hours.show_text(self._model.state.hours_text)

    def show_state(self, state: TonightState) -> None:
        """Show what is chosen; a kept plan leaves nothing to choose."""
        self.evening.show_choices(_EVENINGS, state.evening)
        self.evening.setVisible(state.has_evenings)
        self.hours.show_text(state.hours_text)
        self.keep_hours.setVisible(state.can_change and state.hours != state.usual_hours)
        with QSignalBlocker(self.goal):
            self.goal.setCurrentIndex(self.goal.findData(state.goal))
        self.draw.setEnabled(len(state.lines) > 1 and not state.is_stale and not state.is_kept)
        seed = "" if state.seed is None else f" The order shown was drawn with seed {state.seed}."
        self.draw.setToolTip(f"Draw another random order of the same attempts.{seed}")
