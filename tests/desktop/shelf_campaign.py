"""A small campaign for the tests of the shelf: its odds are worked out at once."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pathlib import Path

    from stirfall.session.clock import FixedClock


def few_attempts(
    folder: Path, settings: CampaignSettings, factors: tuple[Factor, ...], clock: FixedClock
) -> Document:
    """Return a new document with a lot, two jars and two attempts."""
    now = clock.now()
    attempts = tuple(
        Attempt(f"a{number}", number, Conditions({"sample age": 12.0 * number}), now, now, "L1", successes=1)
        for number in (1, 2)
    )
    jars = tuple(Jar(f"J{days}", "L1", now - timedelta(days=days)) for days in (1, 3))
    lots = (Lot("L1", now - timedelta(days=40)),)
    path = folder / "few.stirfall"
    return Document.create(path, settings, factors, lots=lots, jars=jars, attempts=attempts, clock=clock)
