"""The clock of the open document; tests bring one that stands still."""

from __future__ import annotations

import time
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol

from stirfall.bench.ages import as_utc
from stirfall.bench.running import Moment

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


class Clock(Protocol):
    """Anything that tells the time in UTC, and counts seconds that nobody can set."""

    def now(self) -> datetime:
        """Return the present moment in UTC."""
        ...

    def moment(self) -> Moment:
        """Return the present moment by clock and counter."""
        ...


class SystemClock:
    """The clock of the computer, and its counter of seconds since it was started.

    On Linux the counter is that of the kernel, so it goes on over sleep and over a restart of the program;
    elsewhere it holds within one process, and between two of them the clock counts.
    """

    def __init__(self) -> None:
        self._boot = ""
        self._count = time.monotonic
        if hasattr(time, "CLOCK_BOOTTIME"):
            try:
                self._boot = _BOOT_ID.read_bytes().strip().decode()
            except (OSError, ValueError):
                self._boot = ""
            self._count = lambda: time.clock_gettime(time.CLOCK_BOOTTIME)
        self._boot = self._boot or uuid.uuid4().hex

    def now(self) -> datetime:
        """Return the present moment in UTC."""
        return datetime.now(UTC)

    def moment(self) -> Moment:
        """Return the present moment by clock and counter."""
        return Moment(self.now(), self._count(), self._boot)


class FixedClock:
    """A clock that moves only when told; it may also be set back, as real clocks sometimes are."""

    def __init__(self, moment: datetime) -> None:
        self._moment = as_utc(moment)
        self._ticks_s = 0.0
        self._boot = "fixed"

    def now(self) -> datetime:
        """Return the moment the clock was set to, in UTC."""
        return self._moment

    def moment(self) -> Moment:
        """Return the moment by the clock, and the seconds by which it was advanced."""
        return Moment(self._moment, self._ticks_s, self._boot)

    def restart(self) -> None:
        """Start the counter anew, as after a restart of the computer."""
        self._ticks_s, self._boot = 0.0, f"{self._boot}+"

    def set(self, moment: datetime) -> None:
        """Set the clock to a moment, earlier or later; the counter does not move."""
        self._moment = as_utc(moment)

    def advance(self, *, hours: float = 0.0, seconds: float = 0.0) -> None:
        """Move the clock by real elapsed time; negative values move it back."""
        self._moment += timedelta(hours=hours, seconds=seconds)
        self._ticks_s += hours * 3600.0 + seconds
