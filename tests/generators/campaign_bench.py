"""What the invented campaigns know beyond grades: substances, jars, what was seen, and how it was weighed.

Drawn with dice of their own, so that the outcomes of a campaign stay the same whatever is added here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

from campaign_frame import Dice

from stirfall.bench.campaign import CampaignState
from stirfall.bench.records import RESIDUE, Attempt, Jar, Lot
from stirfall.bench.run_facts import RunFacts, WeighingSheet
from stirfall.bench.substances import Substances
from stirfall.reporting.cautions import load_cautions


@dataclass(frozen=True)
class Bench:
    """One invented bench: substances, what jars are like (no diameter: nothing ages under oil), and habits."""

    substances: Substances
    diameters_mm: tuple[float, ...] = ()
    pieces: tuple[int, int] = (1, 1)
    density_g_cm3: float = 8.5
    removals: tuple[str, ...] = ("drained", "drained", "wiped", "not removed")
    bead_mm: float = 2.0
    oil_ml: float = 60.0
    hidden_after_h: float = 72.0
    residue: Jar | None = None


def with_bench(state: CampaignState, bench: Bench, dice: Dice) -> CampaignState:
    """Return the campaign with everything that this bench notes."""
    jars = tuple(_jar(jar, bench, dice) for jar in state.jars)
    by_id = {jar.id: jar for jar in jars}
    ticked = tuple(item.key for item in load_cautions(state.settings.material).checklist)
    attempts = tuple(
        attempt
        if attempt.aborted
        else replace(
            attempt,
            facts=_facts(attempt, by_id[str(attempt.jar_id)], bench, ticked, dice),
            sheet=_sheet(attempt, bench, dice),
        )
        for attempt in state.attempts
    )
    return replace(
        state,
        settings=replace(state.settings, substances=bench.substances),
        lots=tuple(_lot(lot, dice) for lot in state.lots),
        jars=(*jars, *((bench.residue,) if bench.residue else ())),
        attempts=attempts,
    )


def residue_jar(name: str, lot: str, jar: Jar, days: float) -> Jar:
    """Return a jar of residue that has waited for some days before ``jar`` was started."""
    return Jar(name, lot, jar.started_at - timedelta(days=days), oil=jar.oil, lid="closed", contents=RESIDUE)


def _lot(lot: Lot, dice: Dice) -> Lot:
    solids = lot.solids_percent or 0.0
    metal = round(100.0 - solids + dice.normal(0, 0.6), 1)
    return replace(lot, metal_percent=metal, metal_u_percent=0.6, assays=3)


def _jar(jar: Jar, bench: Bench, dice: Dice) -> Jar:
    if not bench.diameters_mm or jar.charge_g is None:
        return jar
    low, high = bench.pieces
    count = low + int(dice.source.random() * (high - low + 1))
    volume_mm3 = 1000.0 * jar.charge_g / bench.density_g_cm3 / count
    diameter = dice.pick(bench.diameters_mm)
    assert isinstance(diameter, float)
    return replace(
        jar,
        inner_diameter_mm=diameter,
        headspace_mm=round(dice.between(15, 40, 5), 0),
        piece_count=count,
        piece_mm=round((6 * volume_mm3 / 3.14159265) ** (1 / 3), 1),
        material="glass",
        oil_history="new" if dice.chance(0.7) else "reused",
        storage_c=round(dice.normal(20, 1), 0),
        room_rh_percent=round(dice.normal(50, 6), 0),
    )


def _facts(attempt: Attempt, jar: Jar, bench: Bench, ticked: tuple[str, ...], dice: Dice) -> RunFacts:
    assert attempt.started_at is not None
    aged_h = (attempt.started_at - jar.started_at) / timedelta(hours=1)
    look = "bright" if aged_h < 4 else "hidden" if aged_h > bench.hidden_after_h else "grey"
    set_c = attempt.conditions.number("temperature")
    humidity = attempt.conditions.number("room humidity")
    return RunFacts(
        look=look,
        room_rh_percent=humidity if humidity is not None else round(dice.normal(50, 5), 0),
        oil_ml=bench.oil_ml,
        peak_c=None if set_c is None else set_c + round(abs(dice.normal(0, 2)), 0),
        ticked=ticked,
    )


def _sheet(attempt: Attempt, bench: Bench, dice: Dice) -> WeighingSheet:
    beads = attempt.masses.beads_g or 0.0
    return WeighingSheet(
        step_g=0.01,
        oil_removed=str(dice.pick(bench.removals)),
        bead_mm=bench.bead_mm if beads > 0.5 else None,
    )
