"""When the computer slept or its clock was set: what one tick of a timer tells against the one before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from stirfall.bench.running import Moment, seconds_between

LEAST_S = 5.0
"""A gap shorter than this is nothing."""
WORTH_SAYING_S = 60.0
"""A shorter one, of a busy computer, is told of only where something fell due in it. Our proposal, no source."""


@dataclass(frozen=True)
class Pause:
    """A gap in the ticks of ``seconds``: the computer ``slept``, or its clock was put ``forward`` or ``back``.

    Where the counter stands still in sleep the two cannot be told apart, and ``forward`` may mean either.
    """

    kind: Literal["slept", "forward", "back"]
    began_at: datetime
    ended_at: datetime
    seconds: float


def pause_between(before: Moment, after: Moment, expected_s: float) -> Pause | None:
    """Return what happened between two ticks that should be ``expected_s`` seconds apart, None for nothing.

    More went by than expected by the counter: the computer slept, or the program was held up. The clock jumped
    against the counter: it was set. Less than five seconds is nothing.
    """
    counted = seconds_between(before, after)
    jumped = (after.at - before.at).total_seconds() - counted
    if counted - expected_s > LEAST_S:
        return Pause("slept", before.at, after.at, counted)
    if abs(jumped) > LEAST_S:
        return Pause("forward" if jumped > 0 else "back", before.at, after.at, abs(jumped))
    return None
