"""Small campaigns for the tests of the window: where the odds do not matter, nothing waits for a long fit."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from stirfall.bench.factors import Conditions, Factor, standard_factors
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.desktop.bench_form.checks import day_of
from stirfall.reporting.cautions import load_cautions
from stirfall.session.commands import TickChecklist
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


def two_attempts(
    folder: Path, settings: CampaignSettings, factors: tuple[Factor, ...], clock: FixedClock
) -> Document:
    """Return a new document with two clean attempts of five days ago, each recorded 20 min after its start."""
    start = clock.now() - timedelta(days=5)
    attempts = [
        Attempt(
            f"a{number}",
            number,
            Conditions({"temperature": 150.0}),
            started_at=start,
            recorded_at=start + timedelta(minutes=20),
            parted=Parted.YES,
            pooled=Pooled.ONE_POOL,
        )
        for number in (1, 2)
    ]
    return Document.create(folder / "two attempts.stirfall", settings, factors, attempts=attempts, clock=clock)


def one_jar(folder: Path, settings: CampaignSettings, clock: FixedClock) -> Document:
    """Return a new document with the standard factors, a lot, a jar, and the checklist of today ticked."""
    now = clock.now()
    lot, jar = Lot("L1", now - timedelta(days=10)), Jar("J1", "L1", now - timedelta(days=2), charge_g=10.0)
    path = folder / "run.stirfall"
    document = Document.create(path, settings, standard_factors(), lots=[lot], jars=[jar], clock=clock)
    items = load_cautions(settings.material).checklist
    document.execute(TickChecklist(day_of(now), tuple(item.key for item in items)))
    return document


def an_evening(folder: Path, settings: CampaignSettings, clock: FixedClock) -> Document:
    """Return a new document with a young lot, two jars of it, and four attempts: an evening can be planned."""
    now = clock.now()
    by_name = {factor.name: factor for factor in standard_factors()}
    factors = tuple(by_name[name] for name in ("oil exposure time", "temperature", "stirring action"))
    attempts = tuple(
        Attempt(
            f"a{number}",
            number,
            Conditions({"oil exposure time": 6.0 * number, "temperature": 150.0, "stirring action": "fold"}),
            now - timedelta(days=9 - number),
            now - timedelta(days=9 - number),
            "L0",
            parted=Parted.YES,
            pooled=Pooled.ONE_POOL if number % 2 else Pooled.BEADS,
        )
        for number in (1, 2, 3, 4)
    )
    lots = (Lot("L0", now - timedelta(days=20)), Lot("L1", now - timedelta(hours=30)))
    jars = tuple(Jar(f"J{hours}", "L1", now - timedelta(hours=hours), charge_g=10.0) for hours in (10, 20))
    path = folder / "evening.stirfall"
    return Document.create(path, settings, factors, lots=lots, jars=jars, attempts=attempts, clock=clock)
