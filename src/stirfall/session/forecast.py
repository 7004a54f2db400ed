"""What the attempts say of each jar on the shelf: its chance now, in the evening, tomorrow, and its best time.

Ages run on together, everything else stays as the shelf has it now. Nothing is foretold beyond the use-by date, the
limits or two weeks, and for a superoxide former nothing beyond now: its exposure must never be lengthened.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.records import Jar

FloatArray = NDArray[np.float64]


def _nothing() -> FloatArray:
    return np.zeros(0)


@dataclass(frozen=True, eq=False)
class JarForecast:
    """The chance of a clean separation of one jar over the times to come.

    ``now``, ``tonight`` (at ``tonight_at``), ``tomorrow`` (at ``tomorrow_at``) and ``best`` (at ``best_at``, never
    before now) are estimates, None where nothing may be said. The readiness window runs from ``opens_at`` to
    ``closes_at``; either may lie in the past, and None at an end says that the chance is as good there up to the
    first or last moment that was looked at. ``has_window`` is False where no time stands out. ``times_h`` are hours
    from now with ``means``, ``lower`` and ``upper`` for a small curve. ``reason`` says why there is no forecast, or
    no window.
    """

    jar_id: str
    now: Estimate | None = None
    tonight: Estimate | None = None
    tomorrow: Estimate | None = None
    best: Estimate | None = None
    best_at: datetime | None = None
    opens_at: datetime | None = None
    closes_at: datetime | None = None
    times_h: FloatArray = field(default_factory=_nothing)
    means: FloatArray = field(default_factory=_nothing)
    lower: FloatArray = field(default_factory=_nothing)
    upper: FloatArray = field(default_factory=_nothing)
    use_by: datetime | None = None
    reason: Reason | None = None
    tonight_at: datetime | None = None
    tomorrow_at: datetime | None = None
    has_window: bool = False
    at: datetime | None = None

    def is_open(self, moment: datetime) -> bool:
        """Whether ``moment`` lies in the readiness window."""
        opened = self.opens_at is None or self.opens_at <= moment
        return self.has_window and opened and (self.closes_at is None or moment < self.closes_at)


class RowLike(Protocol):
    """What ``open_first`` asks of a row of the shelf."""

    @property
    def jar(self) -> Jar:
        """The jar of the row."""
        ...

    @property
    def is_blocked(self) -> bool:
        """Whether the jar must stay closed."""
        ...
