"""What a correction can be of, and how it is entered; pure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """How the new value is entered."""

    NUMBER = "number"
    CHOICE = "choice"
    TEXT = "text"
    OUTCOME = "outcome"


@dataclass(frozen=True)
class Correctable:
    """One thing that can be corrected: key, label, how it is entered, and what stands there now."""

    key: str
    label: str
    kind: Kind
    now: str
    raw: str = ""
    levels: tuple[str, ...] = ()
