"""The section "Rehearsal": what is asked, how far it is, and what to expect under each order."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QProgressBar, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import button
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.plan.cards import CardColumn
from stirfall.desktop.plan.parts import show_text
from stirfall.desktop.plan.rehearsal_cards import OrderCard
from stirfall.desktop.plan.rehearsal_controls import RehearsalControls
from stirfall.desktop.plan.rehearsal_model import RehearsalModel
from stirfall.desktop.plan.rehearsal_plot import RehearsalPlot
from stirfall.desktop.plan.rehearsal_state import ATTEMPTS, WEEKS, RehearsalState
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.desktop.theme import set_primary, set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence

_PLOT_HEIGHT, _PLOT_LINES = 320, 13
_MEASURES = ((ATTEMPTS, "Attempts"), (WEEKS, "Weeks"))


class RehearsalSection(ScrolledView):
    """One column: the choices, the acts with their progress, the picture of all orders, and a card for each."""

    def __init__(
        self, workspace: Workspace, parent: QWidget | None = None, *, model: RehearsalModel | None = None
    ) -> None:
        super().__init__("plan_rehearsal", "Rehearsal", parent)
        self.workspace = workspace
        self.model = model or RehearsalModel(workspace, self)
        self.teaches = wrapped_label("rehearsal_teaches")
        self.asked = wrapped_label("rehearsal_asked")
        self.choices = button("Change what is asked", "rehearsal_change")
        self.controls = RehearsalControls(self.model)
        self.said = wrapped_label("rehearsal_said")
        self.start = button("Rehearse", "rehearsal_start")
        self.stop = button("Stop", "rehearsal_stop")
        self.anew = button("Begin anew", "rehearsal_anew")
        self.progress = wrapped_label("rehearsal_progress")
        self.bar = QProgressBar()
        self.stale = wrapped_label("rehearsal_stale", "caution")
        self.measure = ChoiceRow("Count", "rehearsal_measure")
        self.plot = RehearsalPlot(workspace.theme)
        self.facts = wrapped_label("rehearsal_facts")
        self.cards = CardColumn(OrderCard, "What to expect under each order", "rehearsal_results")
        self.assumed = wrapped_label("rehearsal_assumed", "muted")
        self._lay_out()
        self._connect()
        self.follow(self.model, workspace)

    def _lay_out(self) -> None:
        set_primary(self.start)
        name_control(self.stop, "Stop", "Stop soon; what is done is kept")
        name_control(self.anew, "Begin anew", "Forget what is kept of this rehearsal and play it again from now on")
        self.bar.setObjectName("rehearsal_bar")
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(10)
        name_control(self.bar, "Campaigns that are played")
        acts = QWidget()
        row = FlowLayout(acts)
        in_a_row: tuple[QWidget, ...] = (self.start, self.stop, self.anew, self.choices, self.measure)
        for act in in_a_row:
            row.addWidget(act)
        parts: tuple[QWidget, ...] = (
            self.teaches,
            self.asked,
            acts,
            self.progress,
            self.bar,
            self.said,
            self.controls,
            self.stale,
            self.plot,
            self.facts,
            self.cards,
            self.assumed,
        )
        for part in parts:
            self.column.addWidget(part)
        self.column.addStretch(1)

    def _connect(self) -> None:
        model = self.model
        self.start.clicked.connect(model.rehearse)
        self.stop.clicked.connect(model.stop)
        self.anew.clicked.connect(model.begin_anew)
        self.choices.clicked.connect(model.toggle_choices)
        for act in (self.start, self.stop, self.anew, self.choices):  # they may be pressed from the menu
            act.clicked.connect(model.front_wanted)
        self.measure.chosen.connect(model.choose_measure)
        self.workspace.theme_changed.connect(self.plot.apply_theme)

    # -- showing -----------------------------------------------------------------------------------

    def render(self, state: RehearsalState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        if self.workspace.document is None:
            self.show_message(sentence("rehearsal_page.no_session"))
            return
        self.show_message("")
        is_empty = state.results is None
        show_text(self.teaches, sentence("rehearsal_page.teaches") if is_empty and not state.is_running else "")
        self.controls.show_state(state)
        self.controls.setVisible(state.is_open)
        show_text(self.said, state.message)
        self._render_acts(state)
        self._render_results(state)
        self.describe(_in_words(state))

    def _render_acts(self, state: RehearsalState) -> None:
        acts = (self.stop, self.start, self.anew, self.choices)
        held = next((act for act in acts if act.hasFocus()), None)
        self.start.setVisible(not state.is_running and (state.done < state.of or not state.of))
        self.start.setText("Go on" if state.done and state.done < state.of else "Rehearse")
        self.start.setAccessibleName(self.start.text())
        self.start.setEnabled(state.can_rehearse)
        self.stop.setVisible(state.is_running)
        self.stop.setEnabled(state.is_running and not state.is_stopping)
        self.anew.setVisible(not state.is_running and state.done > 0)
        self.anew.setEnabled(state.can_begin_anew)
        self.choices.setText("Hide the choices" if state.is_open else "Change what is asked")
        self.choices.setAccessibleName(self.choices.text())
        self.choices.setVisible(state.results is not None or state.is_running)
        self.choices.setEnabled(not self.choices.isHidden())
        if held is not None and (held.isHidden() or not held.isEnabled()):
            # The keyboard stays among the acts when the one that was pressed gives way to another.
            heir = next((act for act in acts if not act.isHidden() and act.isEnabled()), self.area)
            heir.setFocus(Qt.FocusReason.OtherFocusReason)
        show_text(self.progress, state.progress)
        self.bar.setVisible(state.is_running)
        self.bar.setRange(0, max(state.of, 1))
        self.bar.setValue(state.done)
        self.bar.setAccessibleDescription(state.progress)

    def _render_results(self, state: RehearsalState) -> None:
        results, theme = state.results, self.workspace.theme
        has_results = results is not None
        self.measure.setVisible(has_results)
        self.measure.show_choices(_MEASURES, state.measure)
        self.plot.setVisible(has_results)
        lines = () if results is None else results.lines
        cards = self.cards.cards_for(len(lines), theme)
        show_text(self.asked, "" if results is None else results.asked)
        show_text(self.stale, state.stale)
        show_text(self.assumed, "" if results is None else "\n".join(results.assumed))
        if results is None:
            show_text(self.facts, "")
            return
        for line, card in zip(lines, cards, strict=True):
            card.render_line(line, results.most, self.workspace.decimal, is_stale=state.is_stale)
        self.plot.setFixedHeight(max(_PLOT_HEIGHT, _PLOT_LINES * self.fontMetrics().height()))
        self.plot.show_results(results, state.measure, is_stale=state.is_stale)
        facts = (results.already, results.reachable, *((results.begun,) if state.measure == WEEKS else ()))
        show_text(self.facts, " ".join(facts))
        for label in (self.asked, self.facts):
            set_text_role(label, "muted" if state.is_stale else "")


def _in_words(state: RehearsalState) -> str:
    """Say the whole section in a few sentences, for people who cannot see it."""
    results = state.results
    if results is None:
        return " ".join(part for part in (state.message, state.progress) if part)
    told = "; ".join(f"{line.title}: {line.large}" for line in results.lines)
    return " ".join(part for part in (state.progress, state.stale, results.asked, f"{told}.") if part)
