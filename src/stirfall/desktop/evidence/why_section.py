"""The section "Why": the attempts that surprised, and why one attempt came out as it did."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import TARGET, button
from stirfall.desktop.evidence.why_cards import CompareTable, GateCard
from stirfall.desktop.evidence.why_model import WhyModel
from stirfall.desktop.evidence.why_state import WhyState
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.plan.cards import fixed_label
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.desktop.theme import set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence

_NUMBER_LETTERS = 8
_MOST_GATES = 2


class WhySection(ScrolledView):
    """One column: the surprises, any attempt by its number, and the answer for one of them."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_why", "Why", parent)
        self.workspace = workspace
        self.model = WhyModel(workspace, self)
        self.count = wrapped_label("why_count")
        self.listed = ChoiceRow("Why of attempt", "why_listed")
        self.number_word = fixed_label("why_number_word", "muted")
        self.number = QLineEdit()
        self.act = button("Say why", "why_act")
        self.ledger = button("Show it in the ledger", "why_ledger")
        self.problem = wrapped_label("why_problem")
        self.title = wrapped_label("why_title", "heading")
        self.verdict = wrapped_label("why_verdict")
        self.gates = tuple(GateCard(at) for at in range(_MOST_GATES))
        self.surprise = wrapped_label("why_surprise")
        self.direction = wrapped_label("why_direction")
        self.finding = wrapped_label("why_finding")
        self.known_already = wrapped_label("why_known")
        self.table = CompareTable()
        self.whole, self.unknown = wrapped_label("why_whole"), wrapped_label("why_unknown", "muted")
        self.near, self.waits = wrapped_label("why_near", "muted"), wrapped_label("why_waits", "muted")
        self._lay_out()
        self._connect()
        self.follow(self.model, workspace)

    def _lay_out(self) -> None:
        self.number.setObjectName("why_number")
        self.number.setProperty("kind", "value")
        self.number.setMinimumHeight(TARGET)
        self.number.setMaxLength(_NUMBER_LETTERS)
        self.number.setFixedWidth(_NUMBER_LETTERS * 2 * self.number.fontMetrics().averageCharWidth())
        self.number.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.number_word.setText(sentence("why.choose"))
        name_control(self.number, sentence("why.choose"), "Enter answers for this attempt")
        self._gate_row = QWidget()
        gates = FlowLayout(self._gate_row)
        for card in self.gates:
            gates.addWidget(card)
        self._choice = row_of(self.number_word, self.number, self.act, self.ledger)
        for part in (
            self.count,
            self.listed,
            self._choice,
            self.problem,
            self.title,
            self.verdict,
            self._gate_row,
            self.surprise,
            self.direction,
            self.finding,
            self.known_already,
            self.table,
            self.whole,
            self.unknown,
            self.near,
            self.waits,
        ):
            self.column.addWidget(part)
        self.column.addStretch(1)

    def _connect(self) -> None:
        model = self.model
        self.listed.chosen.connect(model.choose)
        self.number.textEdited.connect(model.type_number)
        self.number.returnPressed.connect(model.enter_number)
        self.act.clicked.connect(model.enter_number)
        self.ledger.clicked.connect(model.show_in_ledger)

    # -- showing -----------------------------------------------------------------------------------------

    def render(self, state: WhyState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        self.show_message(state.message)
        show_text(self.count, state.count)
        self.listed.show_choices(state.listed, state.chosen)
        self.listed.setVisible(bool(state.listed))
        with QSignalBlocker(self.number):
            if self.number.text() != state.number:
                self.number.setText(state.number)
        show_text(self.problem, state.problem)
        self.ledger.setEnabled(bool(state.chosen))
        self._render_answer(state)
        show_text(self.waits, state.waits)
        self.describe(state.message or state.in_words or state.count)

    def _render_answer(self, state: WhyState) -> None:
        for label, text in (
            (self.title, state.title),
            (self.verdict, state.verdict),
            (self.surprise, state.surprise),
            (self.direction, state.direction),
            (self.finding, state.finding),
            (self.known_already, state.known_already),
            (self.whole, state.whole),
            (self.unknown, state.unknown),
            (self.near, "\n".join(state.near)),
        ):
            show_text(label, text)
        for label in (self.surprise, self.direction, self.known_already, self.whole):
            set_text_role(label, "muted" if state.is_stale else "")
        for at, card in enumerate(self.gates):
            card.setVisible(at < len(state.gates))
            card.theme = self.workspace.theme
            if at < len(state.gates):
                card.render_gate(state.gates[at], is_stale=state.is_stale)
        self._gate_row.setVisible(bool(state.gates))
        self.table.setVisible(bool(state.lines))
        self.table.show_lines(state.here, state.there, state.lines, is_stale=state.is_stale)
