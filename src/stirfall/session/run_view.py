"""A run at one moment: which step, how long, what was seen, what blocks the way; pure."""

from __future__ import annotations

from stirfall.session.run_shown import (
    ClosingLine,
    Done,
    Mark,
    Question,
    ReachedValue,
    Reading,
    RunView,
)

__all__ = ["ClosingLine", "Done", "Mark", "Question", "ReachedValue", "Reading", "RunView"]
