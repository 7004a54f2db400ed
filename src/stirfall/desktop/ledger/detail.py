"""What stands below the table: the conditions of the attempt in hand, and what can be done with it."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QMenu, QVBoxLayout, QWidget

from stirfall.bench.factors import Factor
from stirfall.bench.records import Attempt
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, text_label, titled, unbroken
from stirfall.desktop.labelled import name_control
from stirfall.desktop.ledger.view_model import LedgerState
from stirfall.desktop.odds.phrases import conditions_text
from stirfall.desktop.theme import set_surface_role


class Detail(QFrame):
    """The attempt in hand in one sentence, and its acts.

    Signals:
        same_but(str): repeat it, but change this factor.
    """

    same_but = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        set_surface_role(self, "raised")
        self.facts = text_label()
        self.facts.setObjectName("ledger_facts")
        self.repeat = button("Repeat", "ledger_repeat")
        name_control(self.repeat, "Repeat this", "Put the conditions of this attempt into the bench form")
        self.same = button("Same but…", "ledger_same_but")
        self.same.setAccessibleDescription("Repeat this attempt, but change one condition")
        self.same_menu = QMenu(self.same)
        self.same.setMenu(self.same_menu)
        self.more = button("Facts", "ledger_facts_open")
        name_control(self.more, "All facts", "What the attempt keeps beside its conditions")
        self.why = button("Why?", "ledger_why")
        name_control(self.why, "Why?", "What the other attempts foretold of this one, and what differed")
        self.history = button("History", "ledger_history")
        self.correct = button("Correct", "ledger_correct")
        self.strike = button("Strike out", "ledger_strike")
        self._factors: tuple[Factor, ...] = ()
        column = QVBoxLayout(self)
        column.setContentsMargins(GAP, GAP, GAP, GAP)
        column.setSpacing(HALF_GAP)
        column.addWidget(self.facts)
        row = QWidget()
        acts = FlowLayout(row, gap=HALF_GAP)
        for act in (self.repeat, self.same, self.more, self.why, self.history, self.correct, self.strike):
            act.setProperty("kind", "close")
            acts.addWidget(act)
        column.addWidget(row)
        self.same_menu.aboutToShow.connect(self._fill_menu)

    def show_state(self, state: LedgerState | None) -> None:
        """Show the attempt in hand."""
        selected = state.selected if state else None
        for act in (self.repeat, self.same, self.history, self.why, self.more):
            act.setEnabled(selected is not None)
        can_change = selected is not None and state is not None and state.can_change
        self.correct.setEnabled(can_change)
        self.strike.setEnabled(can_change)
        is_struck = selected is not None and selected.is_struck
        self.strike.setText("Restore" if is_struck else "Strike out")
        self.strike.setAccessibleName(self.strike.text())
        self._factors = state.campaign.visible_factors if state else ()
        if state is None or selected is None:
            self.facts.setText("Choose an attempt: the odds at the right then answer for its conditions.")
            return
        self.facts.setText(_sentence(selected, state))

    def _fill_menu(self) -> None:
        self.same_menu.clear()
        for factor in self._factors:
            action = self.same_menu.addAction(titled(factor.name).replace("&", "&&"))
            action.triggered.connect(partial(self._choose, factor.name))

    def _choose(self, name: str, _checked: bool = False) -> None:
        self.same_but.emit(name)


def _sentence(attempt: Attempt, state: LedgerState) -> str:
    pairs = conditions_text(state.campaign.factors, attempt.conditions, decimal=state.decimal)
    conditions = ", ".join(f"{name} {value}" for name, value in pairs) or "no condition known"
    overrides = "".join(f" {item.factor} typed by hand: {item.reason}." for item in attempt.overrides)
    several = ""
    if state.picked > 1:
        several = " The odds answer for this one, the last that was chosen."
    return f"<b>Attempt {attempt.number}</b>: {_escaped(conditions)}.{_escaped(overrides)}{several}"


def _escaped(text: str) -> str:
    return unbroken(text.replace("&", "&amp;").replace("<", "&lt;"))
