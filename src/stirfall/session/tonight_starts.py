"""Which jars to start, so that several ages come due on one bench evening."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.estimates import Reason
from stirfall.session.tonight_parts import JarToStart


@dataclass(frozen=True)
class Starts:
    """The jars to start, the evening they come due on, and what there is to say."""

    starts: tuple[JarToStart, ...] = ()
    due_at: datetime | None = None
    notes: tuple[Reason, ...] = ()


def plan_starts(hands, choice, asked, closed, opened):
    return Starts()
