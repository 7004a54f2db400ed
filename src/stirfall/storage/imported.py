"""What a table became under a plan: attempts, what is new with them, and every cell that could not be used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor
from stirfall.bench.records import Attempt, Lot


@dataclass(frozen=True)
class RefusedCell:
    """A cell that cannot be used: where it stands, what it says, and why; its whole row is left out."""

    row: int
    column: str
    text: str
    why: StirfallError


@dataclass(frozen=True)
class Twin:
    """A row that says what an attempt of the session says already, by its number."""

    row: int
    number: int


@dataclass(frozen=True)
class Imported:
    """What would come into the session; nothing of it is written yet.

    ``attempts`` have no ids, and numbers only where the table numbers the attempts of a session without any;
    ``rows`` are the rows of the table that they came from. ``factors`` is the whole list as it would be, None where
    it stays. ``news`` say what changes besides, ``unclear`` what must be settled first. ``outside`` counts, by
    factor, the attempts beyond its range.
    """

    name: str
    attempts: tuple[Attempt, ...] = field(repr=False, default=())
    rows: tuple[int, ...] = field(repr=False, default=())
    lots: tuple[Lot, ...] = ()
    factors: tuple[Factor, ...] | None = None
    news: tuple[Reason, ...] = ()
    refused: tuple[RefusedCell, ...] = field(repr=False, default=())
    twins: tuple[Twin, ...] = field(repr=False, default=())
    unclear: tuple[Reason, ...] = ()
    rows_read: int = 0
    outside: Mapping[str, int] = field(default_factory=dict)

    @property
    def refused_rows(self) -> int:
        """How many rows are left out because of a cell."""
        return len({each.row for each in self.refused})

    @property
    def is_ready(self) -> bool:
        """Whether there is something to take in and nothing is left to settle, but for refused rows."""
        return bool(self.attempts) and not self.unclear
