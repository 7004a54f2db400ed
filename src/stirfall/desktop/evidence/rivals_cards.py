"""Parts of the section "Rival explanations": one in short, and one side of a pair."""

from __future__ import annotations

from PySide6.QtWidgets import QGridLayout, QVBoxLayout

from stirfall.desktop.bench_form.look import GAP, HALF_GAP
from stirfall.desktop.evidence.rivals_state import RivalLine, SideLines
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.cards import Card, rich_label, values_html, values_text
from stirfall.desktop.theme import set_text_role

_CHOSEN, _OPEN = "●", "○"


class RivalCard(Card):
    """One explanation: its name, what the attempts say of it, and whether it stands open."""

    def __init__(self, at: int) -> None:
        super().__init__(f"rivals_card_{at + 1}")
        self.title, self.verdict = rich_label(""), wrapped_label("")
        self.number = wrapped_label("", "muted")
        grid = QGridLayout(self)
        grid.setContentsMargins(GAP, HALF_GAP, GAP, HALF_GAP)
        grid.setHorizontalSpacing(2 * GAP)
        grid.setVerticalSpacing(0)
        grid.addWidget(self.title, 0, 0)
        grid.addWidget(self.verdict, 0, 1)
        grid.addWidget(self.number, 1, 0, 1, 2)
        grid.setColumnStretch(0, 3)
        grid.setColumnStretch(1, 2)

    def render_line(self, line: RivalLine, *, is_chosen: bool, is_stale: bool) -> None:
        """Show an explanation."""
        self.title.setText(f"{_CHOSEN if is_chosen else _OPEN} <b>{line.title}</b>")
        self.verdict.setText(f"{line.glyph} {line.word}")
        self.number.setText(line.number)
        self.number.setVisible(bool(line.number))
        set_text_role(self.verdict, "muted" if is_stale else "")
        state = "open" if is_chosen else "not open"
        self.tell(line.title, f"{line.told}. {state}")
        self.setToolTip("Enter opens it")


class SideCard(Card):
    """One attempt of the pair: its conditions in full, and its jar."""

    def __init__(self, at: int) -> None:
        super().__init__(f"rivals_side_{at + 1}")
        self.place, self.values, self.jar = wrapped_label("", "heading"), rich_label(""), wrapped_label("")
        column = QVBoxLayout(self)
        column.setContentsMargins(GAP, HALF_GAP, GAP, HALF_GAP)
        column.setSpacing(HALF_GAP)
        for part in (self.place, self.values, self.jar):
            column.addWidget(part)

    def render_side(self, side: SideLines) -> None:
        """Show an attempt of the pair."""
        self.place.setText(side.place)
        self.values.setText(values_html(side.values))
        self.jar.setText(side.jar)
        self.tell(side.place, f"{values_text(side.values)}. {side.jar}")
