"""What the next attempt is for."""

from __future__ import annotations

from enum import StrEnum


class Goal(StrEnum):
    """What a suggestion is chosen for; FIRST_DESIGN replaces the other two while nothing is known."""

    LEARN = "learn"
    RELIABLE = "reliable"
    FIRST_DESIGN = "first design"
