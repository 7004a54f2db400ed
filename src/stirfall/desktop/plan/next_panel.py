"""The attempt of a kept plan whose turn it is, large, with what to do about it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button
from stirfall.desktop.plan.cards import fixed_label, rich_label, values_html
from stirfall.desktop.plan.tonight_cards import ChanceView
from stirfall.desktop.plan.tonight_state import PURPOSES, TonightState
from stirfall.desktop.theme import Theme, set_primary, set_surface_role


class NextPanel(QFrame):
    """Jar and clock time in large letters, conditions, chance, and the two ways to begin."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("plan_next")
        self.setAccessibleName("The next attempt of the plan")
        set_surface_role(self, "note")
        self.jar = fixed_label("plan_next_jar", "large")
        self.when = fixed_label("plan_next_when", "heading")
        self.values = rich_label("plan_next_values")
        self.chance = ChanceView()
        self.fill_in = button("Fill in the form", "plan_fill_in")
        self.begin = button("Begin the run", "plan_begin")
        set_primary(self.fill_in)
        acts = QWidget()
        row = FlowLayout(acts)
        row.addWidget(self.fill_in)
        row.addWidget(self.begin)
        grid = QGridLayout(self)
        grid.setContentsMargins(2 * GAP, GAP, GAP, GAP)
        grid.setHorizontalSpacing(2 * GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.addWidget(self.jar, 0, 0, 2, 1, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(self.when, 0, 1)
        grid.addWidget(self.values, 1, 1, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(self.chance, 0, 2, 2, 1, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(acts, 2, 0, 1, 3)
        grid.setColumnStretch(1, 1)

    def show_state(self, state: TonightState, theme: Theme) -> None:
        """Show the line in turn; without one the panel is gone."""
        line = state.next_up
        self.setVisible(line is not None)
        for act in (self.fill_in, self.begin):
            act.setEnabled(line is not None and state.can_change)
        if line is None:
            return
        glyph, word = PURPOSES[line.purpose]
        self.jar.setText(line.jar)
        self.when.setText(f"{line.clock}   {glyph} {word}, {line.place} of {len(state.lines)}")
        self.values.setText(values_html(line.values))
        self.chance.setVisible(line.chance is not None)
        self.chance.show_chance(line.chance, theme, is_stale=state.is_stale)
        chance = f" {line.chance.in_full}." if line.chance else ""
        self.setAccessibleDescription(f"Jar {line.jar} at {line.clock}, {word}.{chance}")
