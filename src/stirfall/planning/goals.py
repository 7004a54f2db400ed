"""What the next attempt is for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from stirfall.bench.errors import InputError

Effort = Literal["usual", "quick"]
"""How hard to look: "quick" is for simulated campaigns, where thousands of choices are made."""


class Goal(StrEnum):
    """What a suggestion is chosen for; FIRST_DESIGN replaces the others while nothing is known."""

    LEARN = "learn"
    RELIABLE = "reliable"
    SOONEST = "soonest"
    MOST = "most"
    FIRST_DESIGN = "first design"


PICKED_BY_PERSON = (Goal.LEARN, Goal.RELIABLE, Goal.SOONEST, Goal.MOST)
"""The goals that a person can pick, in the order in which they are offered."""


@dataclass(frozen=True)
class GoalFigure:
    """What a goal promises at some conditions, with its interval: ``unit`` is "h" or "g/week"."""

    value: float
    lower: float
    upper: float
    unit: str


def read_goal(goal: Goal | str) -> Goal:
    """Return the goal by its word; raises InputError ``plan.goal_unknown``."""
    try:
        return Goal(goal)
    except ValueError:
        raise InputError("plan.goal_unknown", goal=goal, known=", ".join(PICKED_BY_PERSON)) from None
