"""What a command is judged against, and what it comes to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.records import Attempt
from stirfall.bench.running import Moment
from stirfall.storage.edits import Edit, FieldChange


@dataclass(frozen=True)
class Surroundings:
    """What a command is judged against: the state, the time, and what the file has given out before."""

    state: CampaignState
    now: datetime
    last_number: int
    last_recorded_at: datetime | None
    attempt: Callable[[str], Attempt]
    is_taken: Callable[[str, int], bool]
    moment: Moment


@dataclass(frozen=True)
class Planned:
    """The edits of one command, with its undo name and what the history keeps about it.

    ``belongs_to`` names the record that the program notes something about without being asked: that is no step of
    its own to undo, and goes with the making of the record.
    """

    name: str
    edits: tuple[Edit, ...]
    reason: str = ""
    notes: tuple[FieldChange, ...] = ()
    clears_draft: bool = False
    new_attempt_id: str | None = None
    belongs_to: str | None = None
