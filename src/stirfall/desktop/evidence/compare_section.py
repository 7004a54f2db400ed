"""The section "Is it chance?": two groups of attempts, and whether they differ by more than chance."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, heading
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.evidence.compare_cards import CardGrid, KeptCard
from stirfall.desktop.evidence.compare_editor import GroupEdit, fill_combo
from stirfall.desktop.evidence.compare_export import CompareExport
from stirfall.desktop.evidence.compare_model import CompareModel
from stirfall.desktop.evidence.compare_plot import ComparePlot
from stirfall.desktop.evidence.compare_state import SIGNS, VERDICTS, CompareState, Picture
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.plan.cards import CardColumn, fixed_label
from stirfall.desktop.plan.parts import Stepper, row_of, show_text
from stirfall.desktop.theme import set_primary, set_surface_role, set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence


class CompareSection(ScrolledView):
    """One column: the two groups, the answer in one sentence, its picture, its parts, and what was asked before.

    Signals:
        front_wanted(): an act from the menus has its answer here.
    """

    front_wanted = Signal()

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_compare", "Is it chance?", parent)
        self.workspace = workspace
        self.model = CompareModel(workspace, self)
        self.subject, self.measure = CalmCombo(), CalmCombo()
        self.groups = GroupEdit("First group", "compare_first"), GroupEdit("Second group", "compare_second")
        self.matters = Stepper("Difference that matters", "compare_matters", "One step")
        self.compare, self.swap = button("Compare", "compare_start"), button("Swap the groups", "compare_swap")
        self.problem, self.teaches = (
            wrapped_label("compare_problem", "error"),
            wrapped_label("compare_teaches", "muted"),
        )
        self.said = wrapped_label("compare_said")
        self.verdict = wrapped_label("compare_verdict", "muted")
        self.headline = wrapped_label("compare_headline", "heading")
        self.danger, self.caution = _Panel("danger", "error"), _Panel("caution", "caution")
        self.plot = ComparePlot(workspace.theme)
        self.picture = CompareExport(workspace, self._told)
        self.cards = CardGrid("compare_cards")
        self.kept_title, self.kept_words = heading("Comparisons made"), wrapped_label("compare_many")
        self.kept = CardColumn(KeptCard, "Comparisons made", "compare_kept")
        self._lay_out()
        self._connect()
        self.follow(self.model, workspace)

    def _lay_out(self) -> None:
        for combo, name, words, tip in (
            (self.subject, "compare_subject", "Groups by", "What the two groups are about"),
            (self.measure, "compare_measure", "What is compared", "What the groups are compared by"),
        ):
            combo.setObjectName(name)
            combo.setMinimumHeight(TARGET)
            name_control(combo, words, tip)
        set_primary(self.compare)
        self.compare.setToolTip("Compares the two groups; the session keeps that this was asked")
        self._what = row_of(_titled("Groups by", self.subject), _titled("What is compared", self.measure))
        self._who = row_of(*self.groups)
        self._picture_row = row_of(self.picture)
        self._acts = row_of(self.compare, self.swap, self.matters)
        parts: tuple[QWidget, ...] = (
            self._what,
            self._who,
            self.problem,
            self._acts,
            self.teaches,
            self.said,
            self.danger,
            self.verdict,
            self.headline,
            self.caution,
            self.plot,
            self._picture_row,
            self.cards,
            self.kept_title,
            self.kept_words,
            self.kept,
        )
        for part in parts:
            self.column.addWidget(part)
        self.column.addStretch(1)

    def _connect(self) -> None:
        model = self.model
        self.subject.activated.connect(lambda at: model.choose_subject(str(self.subject.itemData(at))))
        self.measure.activated.connect(lambda at: model.choose_measure(str(self.measure.itemData(at))))
        for side, group in enumerate(self.groups):
            group.level_chosen.connect(lambda level, at=side: model.choose_level(at, level))
            group.end_typed.connect(lambda end, text, at=side: model.type_end(at, end, text))
            group.text_typed.connect(lambda text, at=side: model.type_text(at, text))
        self.matters.less.clicked.connect(lambda: model.step_matters(-1))
        self.matters.more.clicked.connect(lambda: model.step_matters(1))
        self.compare.clicked.connect(self._compare)
        self.swap.clicked.connect(self._swap)
        self.kept.pressed.connect(model.show_again)
        self.workspace.theme_changed.connect(self.plot.apply_theme)

    def _compare(self) -> None:
        self.front_wanted.emit()
        self.model.compare()

    def _swap(self) -> None:
        self.front_wanted.emit()
        self.model.swap()

    def _told(self) -> tuple[Picture, str] | None:
        state = self.model.state
        return None if state.picture is None else (state.picture, state.headline)

    # -- showing -----------------------------------------------------------------------------------

    def render(self, state: CompareState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        self.show_message(state.message)
        if state.message:
            return
        fill_combo(self.subject, state.subjects, state.subject)
        fill_combo(self.measure, state.measures, state.measure)
        for edit, group in zip(self.groups, state.groups, strict=True):
            edit.show_group(group, state.kind, state.levels, state.unit)
        self.matters.show_value(state.matters, may_change=bool(state.subjects))
        self.compare.setEnabled(state.can_compare)
        self.swap.setEnabled(bool(state.subjects))
        show_text(self.problem, "\n".join(group.problem for group in state.groups if group.problem))
        has_answer = bool(state.headline)
        show_text(self.teaches, "" if has_answer else state.teaches)
        self._render_answer(state)
        self.describe(" ".join((state.headline, *state.dangers, *state.warnings)) if has_answer else state.teaches)

    def _render_answer(self, state: CompareState) -> None:
        working = sentence("compare_page.working") if state.is_working and not state.headline else ""
        show_text(self.said, state.problem or state.note or working)
        set_text_role(self.said, "error" if state.problem else "muted")
        word = VERDICTS.get(state.verdict, "")
        show_text(self.verdict, f"{SIGNS[state.verdict]} {word}" if word else "")
        show_text(self.headline, state.headline)
        set_text_role(self.headline, "heading")
        self.danger.show_lines(state.dangers)
        self.caution.show_lines(state.warnings)
        self.plot.setVisible(state.picture is not None)
        self._picture_row.setVisible(state.picture is not None)
        words = " ".join(line for card in state.cards[:1] for line in card.lines)
        self.plot.show_picture(state.picture, words, decimal=self.workspace.decimal, is_stale=state.is_stale)
        self.cards.show_cards(tuple(card for card in state.cards if card.key != "many"), is_stale=state.is_stale)
        many = next((card for card in state.cards if card.key == "many"), None)
        self.kept_title.setVisible(many is not None)
        show_text(self.kept_words, "" if many is None else "\n".join(many.lines))
        for card, line in zip(self.kept.cards_for(len(state.kept), self.workspace.theme), state.kept, strict=True):
            card.show_line(line)


class _Panel(QFrame):
    """Lines on a surface of their own; gone where there are none."""

    def __init__(self, surface: str, role: str) -> None:
        super().__init__()
        self.setObjectName(f"compare_{surface}")
        set_surface_role(self, surface)
        self.words = wrapped_label(f"compare_{surface}_words", role)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GAP, GAP, GAP, GAP)
        column.addWidget(self.words)

    def show_lines(self, lines: tuple[str, ...]) -> None:
        """Show the lines, each on its own."""
        self.words.setText("\n".join(lines))
        self.setVisible(bool(lines))


def _titled(title: str, control: QWidget) -> QWidget:
    """Return a control with its word above it."""
    holder = QWidget()
    column = QVBoxLayout(holder)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(HALF_GAP)
    word = fixed_label(role="muted")
    word.setText(title)
    column.addWidget(word)
    column.addWidget(control)
    return holder
