"""The choice of what the next attempts are for: one button with a menu of goals, each with its meaning."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtGui import QAction, QActionGroup
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.state import GoalChoice
from stirfall.reporting.sentences import sentence

GOALS: dict[GoalChoice, tuple[str, str]] = {
    "learn": ("Learn most", "goal.learn"),
    "reliable": ("Most reliable", "goal.reliable"),
    "soonest": ("Soonest batch", "goal.soonest"),
    "most": ("Most metal", "goal.most"),
}
"""Each goal with its name and the sentence that says what it is for."""
_BETWEEN = ": "
_PADDING = 14  # above and below a line of text: together as high as a button


def goal_name(goal: GoalChoice) -> str:
    """Return what a goal is called."""
    return GOALS[goal][0]


def goal_meaning(goal: GoalChoice) -> str:
    """Return in one line what a goal is for."""
    return sentence(GOALS[goal][1])


def recipe_goal(goal: GoalChoice) -> str:
    """Return in lower case what the recommended recipe is the best for: who learns aims at reliability."""
    return goal_name("reliable" if goal == "learn" else goal).lower()


class GoalButton(QToolButton):
    """Shows the goal in force; its menu offers all goals with one line about each.

    Signals:
        chosen(str): the goal that the person wants.
    """

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("odds_goal")
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.setMinimumHeight(TARGET)
        menu = QMenu(self)
        menu.setStyleSheet(f"QMenu::item {{ padding: {_PADDING}px 24px; }}")
        group = QActionGroup(self)
        self.goal_actions: dict[GoalChoice, QAction] = {}
        for goal in GOALS:
            action = menu.addAction(f"{goal_name(goal)}{_BETWEEN}{goal_meaning(goal)}")
            action.setObjectName(f"odds_goal_{goal}")
            action.setCheckable(True)
            action.triggered.connect(partial(self._choose, goal))
            group.addAction(action)
            self.goal_actions[goal] = action
        self.setMenu(menu)
        self.show_goal("learn")

    def _choose(self, goal: GoalChoice) -> None:
        self.chosen.emit(goal)

    def show_goal(self, goal: GoalChoice) -> None:
        """Show the goal in force."""
        self.goal_actions[goal].setChecked(True)
        if self.text() != goal_name(goal):
            self.setText(goal_name(goal))
            name_control(self, f"Goal: {goal_name(goal)}", goal_meaning(goal))
