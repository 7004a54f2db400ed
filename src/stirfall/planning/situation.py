"""What is at hand before or after an attempt: everything that the operating limits look at beside the campaign."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from stirfall.bench.factors import Conditions
from stirfall.bench.records import Attempt, Jar, Lot, Masses
from stirfall.bench.run_facts import NO_FACTS, RunFacts


@dataclass(frozen=True)
class Situation:
    """Conditions with the jar, the lot, what was seen and weighed, and the start of the attempt.

    ``at`` None: no time is known, so ages of jars and hot runs of the day say nothing. ``planned`` says that the
    conditions were suggested by this program, so that leaving the tried range needs no other reason.
    """

    conditions: Conditions = field(default_factory=Conditions)
    jar: Jar | None = None
    lot: Lot | None = None
    facts: RunFacts = NO_FACTS
    masses: Masses = field(default_factory=Masses)
    at: datetime | None = None
    planned: bool = False

    @classmethod
    def of_attempt(cls, attempt: Attempt, *, jar: Jar | None, lot: Lot | None) -> Situation:
        """Return the situation that an attempt was made in."""
        at = attempt.started_at or attempt.recorded_at
        return cls(attempt.conditions, jar, lot, attempt.facts, attempt.masses, at)
