"""The section "Proof": a plan to choose and start; then how it stands, attempt by attempt, to its end in words."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, TARGET, button, heading
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.plan.cards import CardColumn, fixed_label, rich_label, values_html
from stirfall.desktop.plan.parts import Stepper, row_of, show_text
from stirfall.desktop.plan.proof_cards import AttemptCard, PlanCard, RecipeTable
from stirfall.desktop.plan.proof_model import ProofModel
from stirfall.desktop.plan.proof_picture import ProofPicture
from stirfall.desktop.plan.proof_plot import ProofPlot, in_words
from stirfall.desktop.plan.proof_state import OVER, PLANNING, RUNNING, ProofState, Steps
from stirfall.desktop.plan.tonight_cards import ChanceView
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.desktop.theme import set_primary, set_surface_role, set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence

_PLOT_HEIGHT = 280


class Percent(Stepper):
    """A share in whole per cent with two large steppers."""

    def __init__(self, word: str, name: str) -> None:
        super().__init__(word, name, "One per cent")

    def show_percent(self, value: int, *, may_change: bool) -> None:
        """Show a share."""
        self.value.setText(f"{value}\u202f%")
        for made in (self.less, self.more):
            made.setEnabled(may_change)


class AskPanel(QFrame):
    """What follows from an act, with the two ways to go on; in place, never a window of its own."""

    def __init__(self, name: str, act: str) -> None:
        super().__init__()
        self.setObjectName(name)
        set_surface_role(self, "caution")
        self.words = wrapped_label(f"{name}_words")
        self.act, self.leave = button(act, f"{name}_act"), button("Leave it", f"{name}_leave")
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(2 * GAP, GAP, GAP, GAP)
        self.column.setSpacing(GAP)
        self.column.addWidget(self.words)
        acts = QWidget()
        row = FlowLayout(acts)
        row.addWidget(self.act)
        row.addWidget(self.leave)
        self.column.addWidget(acts)


class ProofSection(ScrolledView):
    """One column: what is to be proved, the plans or the standing, the attempts, and the earlier proofs.

    Signals:
        front_wanted(): an act from the menus has its next step here.
    """

    front_wanted = Signal()

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("plan_proof", "Proof", parent)
        self.workspace = workspace
        self.model = ProofModel(workspace, self)
        self._awaited: QWidget | None = None
        self.title = fixed_label("proof_title", "muted")
        self.large = wrapped_label("proof_large", "large")
        self.verdict, self.interval = wrapped_label("proof_verdict"), wrapped_label("proof_interval", "muted")
        self.teaches = wrapped_label("proof_teaches", "muted")
        self.source = ChoiceRow("What is proved", "proof_source")
        self.claim, self.confidence = (
            Percent("Reliability", "proof_claim"),
            Percent("Confidence", "proof_confidence"),
        )
        self.recipe_title, self.recipe = heading("The recipe"), RecipeTable(self.model.type_width)
        self.values = rich_label("proof_values")
        self.warning = wrapped_label("proof_warning", "caution")
        self.filled, self.said = wrapped_label("proof_filled", "muted"), wrapped_label("proof_said")
        self.plans_title = heading("The plan")
        self.plans = CardColumn(PlanCard, "Plans of the proof", "proof_plans")
        self.risks = wrapped_label("proof_risks", "muted")
        self.start = button("Start this proof", "proof_start")
        self.asks = AskPanel("proof_asks", "Start it now")
        self.fill_in = button("Fill in the form for the next attempt", "proof_fill_in")
        self.give_up = button("Give the proof up…", "proof_give_up")
        self.another = button("Plan another proof", "proof_another")
        self.giving = AskPanel("proof_giving", "Give it up")
        self.chance, self.chance_words = ChanceView(), wrapped_label("proof_chance_words")
        self.rule = wrapped_label("proof_rule")
        self.marks = wrapped_label("proof_marks", "heading")
        self.plot = ProofPlot(workspace.theme)
        self.picture = ProofPicture(workspace, self._picture_told)
        self.attempts_title = heading("Its attempts")
        self.attempts = CardColumn(AttemptCard, "Attempts of the proof", "proof_attempts")
        self.remarks = wrapped_label("proof_remarks")
        self.earlier_title, self.earlier = heading("Earlier proofs"), wrapped_label("proof_earlier")
        self._lay_out()
        self._connect()
        self.follow(self.model, workspace)

    # -- building ----------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        from stirfall.desktop.bench_form.value_edit import ValueEdit

        set_primary(self.start)
        set_primary(self.fill_in)
        self.plot.setFixedHeight(_PLOT_HEIGHT)
        font = QFont(self.marks.font())
        font.setStyleHint(QFont.StyleHint.Monospace)
        self.marks.setFont(font)
        self.reason = ValueEdit("proof_reason")
        self.reason.setMinimumHeight(TARGET)
        self.reason.setAccessibleName("Why the proof is given up")
        self.giving.column.insertWidget(1, self.reason)
        self._wanted = row_of(self.source, self.claim, self.confidence)
        self._acts = row_of(self.start, self.fill_in, self.give_up, self.another)
        self._picture_row = row_of(self.picture)
        self._outlook = QWidget()
        beside = QHBoxLayout(self._outlook)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.setSpacing(2 * GAP)
        beside.addWidget(self.chance)
        beside.addWidget(self.chance_words, 1)
        parts: tuple[QWidget, ...] = (
            self.title,
            self.large,
            self.verdict,
            self.interval,
            self.teaches,
            self._wanted,
            self.said,
            self.values,
            self.filled,
            self.plans_title,
            self.plans,
            self.warning,
            self.risks,
            self._acts,
            self.asks,
            self.giving,
            self._outlook,
            self.marks,
            self.plot,
            self._picture_row,
            self.rule,
            self.recipe_title,
            self.recipe,
            self.attempts_title,
            self.attempts,
            self.remarks,
            self.earlier_title,
            self.earlier,
        )
        for part in parts:
            self.column.addWidget(part)
        self.column.addStretch(1)

    def _connect(self) -> None:
        model = self.model
        self.source.chosen.connect(model.choose_source)
        for share, change in ((self.claim, model.set_claim), (self.confidence, model.set_confidence)):
            share.less.clicked.connect(lambda _=False, way=change, of=share: way(self._percent(of) - 1))
            share.more.clicked.connect(lambda _=False, way=change, of=share: way(self._percent(of) + 1))
        self.plans.pressed.connect(lambda at: model.choose_plan(model.state.choices[at].key))
        self.start.clicked.connect(self._ask_to_start)
        self.asks.act.clicked.connect(self._start)
        self.giving.act.clicked.connect(self._give_up)
        self.asks.leave.clicked.connect(lambda: self._leave(self.start))
        self.giving.leave.clicked.connect(lambda: self._leave(self.give_up))
        self.fill_in.clicked.connect(model.fill_in)
        self.give_up.clicked.connect(self._ask_to_give_up)
        self.reason.textEdited.connect(model.type_reason)
        self.another.clicked.connect(self._plan_another)
        self.attempts.pressed.connect(model.look_at)
        self.workspace.theme_changed.connect(self.plot.apply_theme)

    def _percent(self, share: Percent) -> int:
        return self.model.state.claim if share is self.claim else self.model.state.confidence

    # The keyboard stays where the work goes on when what was pressed gives way to something else.

    def _ask_to_start(self) -> None:
        self.model.ask_to_start()
        self._go_to(self.asks.act)

    def _start(self) -> None:
        if self.model.start():
            self._go_to(self.fill_in)

    def _ask_to_give_up(self) -> None:
        self.model.ask_to_give_up()
        self._go_to(self.reason)

    def _give_up(self) -> None:
        if self.model.give_up():
            self._go_to(self.another)

    def _plan_another(self) -> None:
        self.model.plan_another()
        self._go_to(self.start)

    def _leave(self, back_to: QWidget) -> None:
        self.model.leave_it()
        self._go_to(back_to)

    def _go_to(self, part: QWidget) -> None:
        self.front_wanted.emit()
        self._awaited = part
        self._give_keyboard()

    def _give_keyboard(self) -> None:
        """Give the keyboard to what awaits it; what a command changed is shown only a moment later."""
        if self._awaited is not None and self._awaited.isVisible():
            self._awaited.setFocus(Qt.FocusReason.OtherFocusReason)
            self.area.ensureWidgetVisible(self._awaited)
            self._awaited = None

    def _picture_told(self) -> tuple[Steps, str] | None:
        steps = self.model.state.steps
        return None if steps is None else (steps, f"{self.model.state.rule} {in_words(steps)}")

    # -- showing -----------------------------------------------------------------------------------

    def render(self, state: ProofState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        if self.workspace.document is None:
            self.show_message(sentence("proof_page.no_session"))
            return
        self.show_message("")
        is_planning = state.stage == PLANNING
        show_text(self.title, state.title)
        show_text(self.large, state.large)
        show_text(self.verdict, state.verdict)
        show_text(self.interval, state.interval)
        show_text(self.teaches, sentence("proof_page.teaches") if is_planning else "")
        show_text(self.said, state.message)
        self._render_planning(state, is_planning=is_planning)
        self._render_standing(state, is_planning=is_planning)
        self.values.setText(values_html([(line.name, line.value) for line in state.recipe]))
        self.values.setVisible(is_planning and bool(state.recipe))
        self.recipe_title.setText("How far an attempt may lie from it" if is_planning else "The recipe")
        self.recipe_title.setVisible(bool(state.recipe))
        self.recipe.show_lines(state.recipe, may_type=is_planning and state.can_change)
        show_text(self.filled, state.filled)
        self.earlier_title.setVisible(bool(state.earlier))
        show_text(self.earlier, "\n".join(state.earlier))
        self.describe(" ".join(part for part in (state.large, state.verdict, state.message) if part))
        self._give_keyboard()

    def _render_planning(self, state: ProofState, *, is_planning: bool) -> None:
        self._wanted.setVisible(is_planning)
        self.source.show_choices(state.sources, state.source)
        self.claim.show_percent(state.claim, may_change=state.can_change)
        self.confidence.show_percent(state.confidence, may_change=state.can_change)
        choices = state.choices if is_planning else ()
        self.plans_title.setVisible(bool(choices))
        for plan, card in zip(choices, self.plans.cards_for(len(choices), self.workspace.theme), strict=True):
            card.render_plan(plan, is_chosen=plan.key == state.chosen, is_stale=state.is_stale)
        show_text(self.warning, state.choice.warning if state.choice is not None and is_planning else "")
        show_text(self.risks, " ".join(state.risks) if is_planning else "")
        self.start.setVisible(bool(choices) and not state.asks)
        self.start.setEnabled(state.can_start)
        self.asks.setVisible(state.asks)
        self.asks.words.setText(sentence("proof_page.consequence"))
        self.asks.act.setEnabled(state.can_start)

    def _render_standing(self, state: ProofState, *, is_planning: bool) -> None:
        is_running = state.stage == RUNNING
        for act in (self.fill_in, self.give_up):
            act.setVisible(is_running and not state.gives_up)
            act.setEnabled(is_running and state.can_change)
        self.another.setVisible(state.stage == OVER)
        self.another.setEnabled(state.stage == OVER)
        self.giving.setVisible(state.gives_up)
        self.giving.words.setText(sentence("proof_page.why"))
        self.giving.act.setEnabled(bool(state.reason.strip()))
        with QSignalBlocker(self.reason):
            if self.reason.text() != state.reason:
                self.reason.setText(state.reason)
        self._outlook.setVisible(is_running and state.chance is not None)
        self.chance.show_chance(state.chance, self.workspace.theme, is_stale=state.is_stale)
        self.chance_words.setText(" ".join(state.chance_words))
        set_text_role(self.chance_words, "muted" if state.is_stale else "")
        show_text(self.rule, state.rule)
        show_text(self.marks, state.marks)
        self.plot.setVisible(state.steps is not None)
        self._picture_row.setVisible(state.steps is not None)
        if state.steps is not None:
            self.plot.show_steps(state.steps, in_words(state.steps))
        self.attempts_title.setVisible(bool(state.lines))
        lines = () if is_planning else state.lines
        for line, card in zip(lines, self.attempts.cards_for(len(lines), self.workspace.theme), strict=True):
            card.render_line(line)
        show_text(self.remarks, " ".join(state.remarks))
