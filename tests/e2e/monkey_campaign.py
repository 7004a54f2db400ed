"""The small invented campaign that the monkey of the ten thousand events plays with."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from stirfall.bench.factors import Conditions, Factor, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pathlib import Path

    from stirfall.session.clock import FixedClock

NOW = datetime(2026, 11, 24, 18, 0, tzinfo=UTC)


def make_session(path: Path, clock: FixedClock) -> None:
    """Make a small invented campaign: with few attempts little is computed, and the events take the time."""
    start = NOW - timedelta(days=4)
    factors = (
        *(each for each in standard_factors() if each.name in ("sample age", "temperature", "stirring time")),
        Factor("stirring action", levels=("swirl", "fold")),
    )
    grades = ((Parted.NO, None), (Parted.YES, Pooled.BEADS), (Parted.YES, Pooled.ONE_POOL), (Parted.PARTLY, None))
    attempts = [
        Attempt(
            "",
            0,
            Conditions(
                {
                    "sample age": 4.0 + 9.0 * turn,
                    "temperature": 150.0 + turn,
                    "stirring time": 60.0 + 10.0 * turn,
                    "stirring action": "fold",
                }
            ),
            started_at=start + timedelta(hours=turn),
            lot_id="L1",
            parted=grades[turn % 4][0],
            pooled=grades[turn % 4][1],
        )
        for turn in range(8)
    ]
    settings = CampaignSettings(
        "Monkey", MaterialClass.BASE_METAL, "tin alloy", 138.0, "white oil", 230.0, invented=True
    )
    jars = [Jar(f"J{number}", "L1", start + timedelta(hours=9 * number), charge_g=10.0) for number in range(1, 5)]
    planned = [
        Jar(f"P{number}", "L2", NOW + timedelta(hours=number), charge_g=10.0, planned=True) for number in (1, 2)
    ]
    lots = [Lot("L1", start), Lot("L2", NOW - timedelta(hours=2))]
    Document.create(path, settings, factors, lots=lots, jars=jars + planned, attempts=attempts, clock=clock).close()
