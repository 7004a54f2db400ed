"""The clock of the open document; tests bring one that stands still."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Protocol

from stirfall.bench.ages import as_utc


class Clock(Protocol):
    """Anything that tells the time in UTC."""

    def now(self) -> datetime:
        """Return the present moment in UTC."""
        ...


class SystemClock:
    """The clock of the computer."""

    def now(self) -> datetime:
        """Return the present moment in UTC."""
        return datetime.now(UTC)


class FixedClock:
    """A clock that moves only when told; it may also be set back, as real clocks sometimes are."""

    def __init__(self, moment: datetime) -> None:
        self._moment = as_utc(moment)

    def now(self) -> datetime:
        """Return the moment the clock was set to, in UTC."""
        return self._moment

    def set(self, moment: datetime) -> None:
        """Set the clock to a moment, earlier or later."""
        self._moment = as_utc(moment)

    def advance(self, *, hours: float = 0.0, seconds: float = 0.0) -> None:
        """Move the clock by real elapsed time; negative values move it back."""
        self._moment += timedelta(hours=hours, seconds=seconds)
