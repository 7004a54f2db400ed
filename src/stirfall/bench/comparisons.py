"""The words of a comparison: two groups of attempts, and what is compared between them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from stirfall.bench.errors import InputError

BY_WORD = ("lot", "jar", "day", "operator", "tool", "oil", "bench")
"""What a group can be about by a word, beside choice factors (``factor:NAME``)."""


class Measure(StrEnum):
    """What is compared: how often a gate was passed, or a number that attempts have."""

    CLEAN = "clean"
    PARTED = "parted"
    POOLED = "pooled"
    RECOVERY = "recovery"
    PARTING_TIME = "parting time"
    RUN_TIME = "run time"


@dataclass(frozen=True)
class Group:
    """Which attempts belong to one side of a comparison.

    ``what`` is one of ``BY_WORD``, ``factor:NAME``, ``period`` or ``chosen``. A word or a choice has its ``level``
    (a day is ISO 8601, local); a number lies from ``low`` to ``high``, in the factor's unit, both included, None
    being without end. A ``period`` is from ``since`` to before ``until``, UTC. ``chosen`` names attempts by id.
    """

    what: str
    level: str = ""
    low: float | None = None
    high: float | None = None
    since: datetime | None = None
    until: datetime | None = None
    attempts: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Check that the group says something; raises InputError ``compare.group_*``."""
        if self.low is not None and self.high is not None and self.low > self.high:
            raise InputError("compare.group_backwards", low=self.low, high=self.high)
        if self.what == "period" and self.since is not None and self.until is not None and self.since >= self.until:
            raise InputError("compare.group_period")


@dataclass(frozen=True)
class Comparison:
    """A comparison that was asked for; all that were ever asked are kept, so that their number can be said."""

    id: str
    made_at: datetime
    first: Group
    second: Group
    measure: Measure = Measure.CLEAN

    @property
    def question(self) -> tuple[Measure, frozenset[Group]]:
        """What was asked, whichever group stands first: asked twice it is one comparison."""
        return self.measure, frozenset((self.first, self.second))
