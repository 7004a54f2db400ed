"""What can be said of a proof."""

from __future__ import annotations

from enum import StrEnum


class Verdict(StrEnum):
    """Whether a proof is still open, and how it ended."""

    OPEN = "open"
    SHOWN = "shown"
    NOT_SHOWN = "not shown"
    GIVEN_UP = "given up"
