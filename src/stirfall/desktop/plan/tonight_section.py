"""The section "Tonight": the timetable of the evening, open now or wait, and what to start today."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QWidget

from stirfall.desktop.bench_form.look import button, heading
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.plan.cards import CardColumn, fixed_label
from stirfall.desktop.plan.next_panel import NextPanel
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.plan.tonight_cards import DecisionCard, LineCard, StartCard
from stirfall.desktop.plan.tonight_controls import TonightControls
from stirfall.desktop.plan.tonight_model import TonightModel
from stirfall.desktop.plan.tonight_state import TonightState
from stirfall.desktop.theme import set_primary, set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted

_MINUS, _PLUS = "\u2212", "+"


class TonightSection(ScrolledView):
    """Choices, the attempt in turn, the timetable with its total, then what else the shelf asks for."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("plan_tonight", "Tonight", parent)
        self.workspace = workspace
        self.model = TonightModel(workspace, self)
        self.title = heading("")
        self.title.setObjectName("plan_title")
        self.seed = fixed_label("plan_seed", "muted")
        self.controls = TonightControls(self.model)
        self.next = NextPanel()
        self.said = wrapped_label("plan_said")
        self.timetable = CardColumn(LineCard, "Timetable of the evening", "plan_timetable")
        self.total = wrapped_label("plan_total")
        self.keep = button("Keep this plan", "plan_keep")
        self.drop = button("Drop the plan", "plan_drop")
        self.paper = button("Print it…", "plan_print")
        name_control(self.paper, "Print it", "The timetable on paper, with all cautions")
        self.notes = wrapped_label("plan_notes", "muted")
        self.decisions = CardColumn(DecisionCard, "Open now or wait", "plan_decisions")
        self.starts = CardColumn(StartCard, "Jars to start", "plan_starts")
        self.starts_due = wrapped_label("plan_starts_due", "muted")
        self.starts_notes = wrapped_label("plan_starts_notes", "muted")
        self.fewer = button(_MINUS, "plan_start less")
        self.count = fixed_label("plan_start_count", "heading")
        self.further = button(_PLUS, "plan_start more")
        self.start = button("Start these jars", "plan_start_jars")
        self._decisions_title, self._starts_title = heading("Open now or wait?"), heading("Start today")
        self.dialog: QDialog | None = None
        self._lay_out()
        self._connect()
        self.follow(self.model, workspace)

    # -- building ----------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        set_primary(self.keep)
        for made, word in ((self.fewer, "less"), (self.further, "more")):
            made.setProperty("kind", "stepper")
            name_control(made, f"Jars to start: {word}", f"One jar {word}")
        self._acts = row_of(self.keep, self.drop, self.paper)
        self._start_acts = row_of(self.fewer, self.count, self.further, self.start)
        parts: tuple[QWidget, ...] = (
            row_of(self.title, self.seed),
            self.controls,
            self.next,
            self.said,
            self.timetable,
            self.total,
            self._acts,
            self.notes,
            self._decisions_title,
            self.decisions,
            self._starts_title,
            self.starts_due,
            self.starts,
            self.starts_notes,
            self._start_acts,
        )
        for part in parts:
            self.column.addWidget(part)
        self.column.addStretch(1)

    def _connect(self) -> None:
        model = self.model
        self.timetable.pressed.connect(lambda at: model.look_at(at + 1))
        self.decisions.pressed.connect(model.look_at_jar)
        self.keep.clicked.connect(model.keep)
        self.drop.clicked.connect(model.drop)
        self.paper.clicked.connect(self._print)
        self.next.fill_in.clicked.connect(model.fill_in)
        self.next.begin.clicked.connect(model.begin)
        self.fewer.clicked.connect(lambda: model.choose_count(model.state.start_count - 1))
        self.further.clicked.connect(lambda: model.choose_count(model.state.start_count + 1))
        self.start.clicked.connect(model.start_jars)
        model.labels_wanted.connect(self._print_labels)

    def _print(self) -> None:
        from stirfall.desktop.plan.evening_paper import evening_sheet
        from stirfall.desktop.printing import open_evening_dialog

        if (document := self.workspace.document) is not None:
            sheet = evening_sheet(self.model.state, document.state, decimal=self.workspace.decimal)
            self.dialog = open_evening_dialog(self.workspace, sheet, self.window())

    def _print_labels(self, jar_ids: tuple[str, ...]) -> None:
        from stirfall.desktop.printing import open_labels_dialog

        self.dialog = open_labels_dialog(self.workspace, jar_ids, self.window())

    # -- showing -----------------------------------------------------------------------------------

    def render(self, state: TonightState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        if self.workspace.document is None:
            self.show_message(sentence("plan_page.no_session"))
            return
        self.show_message("")
        theme = self.workspace.theme
        show_text(self.title, state.title)
        show_text(self.seed, "" if state.seed is None or not state.lines else f"seed {state.seed}")
        self.controls.setVisible(not state.is_kept)
        self.controls.show_state(state)
        self.next.show_state(state, theme)
        show_text(self.said, state.message or (sentence("plan_page.finished") if state.is_finished else ""))
        for line, card in zip(state.lines, self.timetable.cards_for(len(state.lines), theme), strict=True):
            card.render_line(line, is_stale=state.is_stale)
        show_text(self.total, state.total)
        set_text_role(self.total, "muted" if state.is_stale else "")
        had_keyboard = next((act for act in (self.keep, self.drop) if act.hasFocus()), None)
        self.keep.setVisible(not state.is_kept)
        self.keep.setEnabled(state.can_keep)
        self.drop.setVisible(state.is_kept)
        self.drop.setEnabled(state.is_kept and state.can_change)
        self.paper.setEnabled(not state.is_stale and not state.is_finished)
        self.drop.setText("Plan anew" if state.is_finished else "Drop the plan")
        self._acts.setVisible(bool(state.lines))
        if had_keyboard is not None and had_keyboard.isHidden():  # its counterpart takes the keyboard over
            (self.drop if state.is_kept else self.keep).setFocus(Qt.FocusReason.OtherFocusReason)
        show_text(self.notes, "\n".join(state.notes))
        for jar, told in zip(state.decisions, self.decisions.cards_for(len(state.decisions), theme), strict=True):
            told.render_line(jar, is_stale=state.is_stale)
        self._decisions_title.setVisible(bool(state.decisions))
        self._render_starts(state)
        self.describe(_in_words(state))

    def _render_starts(self, state: TonightState) -> None:
        theme = self.workspace.theme
        for jar, card in zip(state.starts, self.starts.cards_for(len(state.starts), theme), strict=True):
            card.render_line(jar, is_stale=state.is_stale)
        has_starts = bool(state.starts)
        self._starts_title.setVisible(has_starts or bool(state.starts_notes))
        show_text(self.starts_notes, "\n".join(state.starts_notes))
        show_text(self.starts_due, state.starts_title)
        self._start_acts.setVisible(has_starts)
        self.count.setText(str(state.start_count))
        self.fewer.setEnabled(state.start_count > 1)
        self.further.setEnabled(state.start_count < state.start_most)
        self.start.setEnabled(state.can_start)
        verb = f"Start these {counted(state.start_count, 'jar')}" if state.start_count > 1 else "Start this jar"
        self.start.setText(verb)
        self.start.setAccessibleName(verb)


def _in_words(state: TonightState) -> str:
    """Say the whole section in a sentence or two, for people who cannot see it."""
    if state.message:
        return state.message
    turn = state.next_up
    told = f" Next is jar {turn.jar} at {turn.clock}." if turn is not None else ""
    return f"{state.title}: {state.total}{told}"
