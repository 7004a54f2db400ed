"""The section "Rival explanations": what the attempts say of each explanation, and the pair that would tell."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from stirfall.desktop.bench_form.look import button, heading, rule
from stirfall.desktop.evidence.rivals_cards import RivalCard, SideCard
from stirfall.desktop.evidence.rivals_model import RivalsModel
from stirfall.desktop.evidence.rivals_state import RivalsState
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.plan.cards import CardColumn
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.theme import set_text_role
from stirfall.desktop.workspace import Workspace


class RivalsSection(ScrolledView):
    """One column: the explanations in short, then the one that stands open, with its numbers and its pair."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_rivals", "Rival explanations", parent)
        self.workspace = workspace
        self.model = RivalsModel(workspace, self)
        self.hypothesis = wrapped_label("rivals_hypothesis", "muted")
        self.cards = CardColumn(RivalCard, "The explanations", "rivals_cards")
        self.title = wrapped_label("rivals_title", "heading")
        self.foretells = wrapped_label("rivals_foretells")
        self.verdict = wrapped_label("rivals_verdict")
        self.evidence = wrapped_label("rivals_evidence")
        self.doubts_title, self.doubts = heading("What this leans on"), wrapped_label("rivals_doubts", "muted")
        self.pair_title = wrapped_label("rivals_pair_title", "heading")
        self.sides = CardColumn(SideCard, "The pair", "rivals_sides")
        self.told = wrapped_label("rivals_told")
        self.rules = wrapped_label("rivals_rules", "muted")
        self.no_pair = wrapped_label("rivals_no_pair")
        self.first = button("Put the first into the form", "rivals_first")
        self.second = button("Put the second into the form", "rivals_second")
        self._lay_out()
        self._connect()
        self.follow(self.model, workspace)

    def _lay_out(self) -> None:
        for act, what in ((self.first, "first"), (self.second, "second")):
            name_control(act, act.text(), f"The {what} attempt of the pair, with its jar where one fits")
        self._acts = row_of(self.first, self.second)
        self._rule = rule()
        for part in (
            self.hypothesis,
            self.cards,
            self._rule,
            self.title,
            self.foretells,
            self.verdict,
            self.evidence,
            self.doubts_title,
            self.doubts,
            self.pair_title,
            self.sides,
            self.told,
            self._acts,
            self.rules,
            self.no_pair,
        ):
            self.column.addWidget(part)
        self.column.addStretch(1)

    def _connect(self) -> None:
        self.cards.pressed.connect(self._open)
        self.first.clicked.connect(lambda: self.model.fill_in(0))
        self.second.clicked.connect(lambda: self.model.fill_in(1))

    def _open(self, place: int) -> None:
        self.model.choose(place)
        self.column.activate()
        self.area.ensureWidgetVisible(self.evidence)

    # -- showing -----------------------------------------------------------------------------------------

    def render(self, state: RivalsState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        self.show_message(state.message)
        show_text(self.hypothesis, state.hypothesis)
        cards = self.cards.cards_for(len(state.lines), self.workspace.theme)
        for line, card in zip(state.lines, cards, strict=True):
            card.render_line(line, is_chosen=line.key == state.chosen, is_stale=state.is_stale)
        self._rule.setVisible(bool(state.lines))
        self._render_detail(state)
        said = "; ".join(f"{line.title}: {line.told}" for line in state.lines)
        self.describe(state.message or said)

    def _render_detail(self, state: RivalsState) -> None:
        detail = state.detail
        for label, text in (
            (self.title, detail.title),
            (self.foretells, detail.foretells),
            (self.verdict, detail.verdict),
            (self.evidence, "\n\n".join(detail.evidence)),
            (self.doubts, "\n".join(detail.doubts)),
            (self.pair_title, detail.pair_title),
            (self.told, " ".join(detail.told)),
            (self.rules, " ".join(detail.rules)),
            (self.no_pair, detail.no_pair),
        ):
            show_text(label, text)
        self.doubts_title.setVisible(bool(detail.doubts))
        for label in (self.verdict, self.evidence):
            set_text_role(label, "muted" if state.is_stale else "")
        cards = self.sides.cards_for(len(detail.sides), self.workspace.theme)
        for side, card in zip(detail.sides, cards, strict=True):
            card.render_side(side)
        self._acts.setVisible(bool(detail.sides))
        for act in (self.first, self.second):
            act.setEnabled(state.can_fill)
