"""The head of the run page: the other pages at the left, you are here in the middle, giving up far at the right."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QWidget

from stirfall.desktop.run.big_button import BigButton
from stirfall.desktop.run.look import PRESS, SMALL, WIDE_GAP
from stirfall.desktop.run.steps_part import Here, StepsLine
from stirfall.desktop.run.words import step_name
from stirfall.desktop.theme import Theme
from stirfall.session.run_shown import RunView


class Head(QWidget):
    """One row; nothing that ends the run stands near what goes on with it."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_head")
        self.pages = BigButton("Other pages", "run_other_pages", base=SMALL)
        self.steps = StepsLine()
        self.give_up = BigButton("Give up…", "run_give_up", kind="danger", base=SMALL)
        self.give_up.setAccessibleName("Give up this run")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * WIDE_GAP)
        row.addWidget(self.pages)
        row.addWidget(self.steps, 1)
        row.addWidget(self.give_up)

    def show_view(self, view: RunView) -> None:
        """Show where the run is."""
        self.steps.show_here(Here(tuple(step_name(step) for step in view.steps), view.number - 1))
        self.give_up.setVisible(not view.given_up)

    def dress(self, theme: Theme) -> None:
        """Give the words two lines, so that the steps have the width."""
        del theme
        for button in (self.pages, self.give_up):
            button.setFixedWidth(max(button.least_width(), PRESS) + WIDE_GAP)
