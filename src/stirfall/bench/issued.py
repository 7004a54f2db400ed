"""A recipe that was issued, and a mark of a change at the bench: both are kept as they were."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions


@dataclass(frozen=True)
class IssuedRecipe:
    """A recipe as it left the program, with its evidence; it never changes.

    ``number`` counts the recipes of the session from 1. ``document`` is the whole recipe as JSON text
    (``stirfall.recipe/...``), ``fingerprint`` that of the session when it was issued, ``note`` why it was issued.
    """

    id: str
    number: int
    issued_at: datetime
    title: str
    conditions: Conditions
    document: str
    fingerprint: str
    program_version: str
    note: str = ""


class MarkKind(StrEnum):
    """What was changed at the bench."""

    OIL = "oil"
    TOOL = "tool"
    LOT = "lot"
    OPERATOR = "operator"
    OTHER = "other"


@dataclass(frozen=True)
class ChangeMark:
    """A moment from which something at the bench was different, in the person's words."""

    id: str
    at: datetime
    kind: MarkKind
    text: str

    def __post_init__(self) -> None:
        """Check that it says something; raises InputError ``mark.no_text``."""
        if not self.text.strip():
            raise InputError("mark.no_text")
