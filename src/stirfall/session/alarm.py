"""One alarm, and the order in which alarms are told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

Rank = Literal["info", "due", "danger"]
RANKS: tuple[Rank, ...] = ("danger", "due", "info")
SHELF, RUN = "shelf", "run"


@dataclass(frozen=True)
class Alarm:
    """One thing that calls for the person since ``due_at``; ``code`` with ``params`` is its sentence.

    ``info`` is said once, ``due`` again and again until it is seen, ``danger`` all the time, and its sentence says
    what to do. ``page`` and ``target`` say where it is to be seen (a jar on the shelf, a run). ``identity`` stays
    the same while new attempts move a window. ``is_changed`` says that the forecast has moved since it was shown,
    ``until`` how long there is still time.
    """

    key: str
    rank: Rank
    due_at: datetime
    code: str
    params: Mapping[str, object] = field(default_factory=dict)
    page: str = SHELF
    target: str = ""
    identity: str = ""
    is_changed: bool = False
    until: datetime | None = None

    @property
    def about(self) -> str:
        """What it is about, whatever its moment: the identity, or the key where there is none."""
        return self.identity or self.key


def most_urgent_first(found: Iterable[Alarm]) -> tuple[Alarm, ...]:
    """Return alarms in the order in which they are told."""
    return tuple(sorted(found, key=lambda each: (RANKS.index(each.rank), each.due_at, each.key)))
