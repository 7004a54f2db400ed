"""Invented campaign: dusty gallium beads that are swirled together in warm dilute acid."""

from __future__ import annotations

import math
from collections.abc import Mapping

from campaign_bench import Bench, with_bench
from campaign_frame import (
    Dice,
    Metal,
    Plan,
    Session,
    Truth,
    aborted,
    correction,
    edited,
    logistic,
    moment,
    run_campaign,
    without,
)

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.factors import Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings, Lot
from stirfall.bench.substances import MetalValues, OilValues, SolidsValues, Substances, VesselValues

SEED = 8
DESCRIPTION = (
    "Dusty gallium beads (melt at 29.8 °C) wait in air and are then swirled in warm dilute acid under a thin cover "
    "of oil. No flame and no hot oil are needed. Invented data, for learning the tool: no value was measured. When "
    "the sample is opened, all its dates move so that it seems to end within the last day."
)


def skin(v: Mapping[str, float]) -> float:
    return math.log(math.log(1 + v["time in air"] / 6) + 0.15)


def p_parted(v: Mapping[str, float], _lot: str) -> float:
    z = 0.3 + 0.9 * skin(v) + 0.5 * math.log(v["swirling time"] / 60) + 0.4 * math.log(v["acid strength"] / 0.1)
    return logistic(z)


def p_pooled(v: Mapping[str, float], _lot: str) -> float:
    z = 1.2 - 1.3 * skin(v) + 1.1 * math.log(v["acid strength"] / 0.1) + 0.5 * math.log(v["swirling time"] / 60)
    return logistic(z + 0.35 * (v["bead size"] - 3) + 0.03 * (v["temperature"] - 40))


PLAN = Plan(
    settings=CampaignSettings(
        title="Invented sample: gallium beads in warm dilute acid",
        material=MaterialClass.BASE_METAL,
        metal="gallium beads with dust",
        melting_point_c=29.8,
        oil="thin cover of white oil over the acid",
        oil_flash_c=180.0,
        invented=True,
        gates=2,
    ),
    factors=(
        Factor("time in air", "h", 0.2, 200.0, Scale.LOG, role=Role.SAMPLE_AGE, default=10.0),
        Factor("temperature", "C", 32.0, 60.0, step=1.0, role=Role.TEMPERATURE, default=40.0),
        Factor("acid strength", "mol/L", 0.01, 1.0, Scale.LOG, step=0.01, role=Role.GENERAL, default=0.1),
        Factor("swirling time", "s", 10.0, 300.0, Scale.LOG, step=5.0, role=Role.GENERAL, default=60.0),
        Factor("bead size", "mm", 1.0, 6.0, step=0.5, role=Role.GENERAL, default=3.0),
        Factor("swirling action", levels=("swirl", "rock"), default="swirl"),
    ),
    lots=(
        Lot("B1", moment("2026-06-01T17:00"), 2.0, "cast on a tile"),
        Lot("B2", moment("2026-06-06T08:00"), 3.0, "cast on paper, dusty"),
        Lot("B3", moment("2026-06-12T18:00"), 2.5, "cast on a tile"),
        Lot("B4", moment("2026-06-16T17:30"), 2.5, "fresh, still on the shelf"),
    ),
    sessions=(
        Session("2026-06-01T17:15", 4, minutes_apart=30),
        Session("2026-06-02T18:00", 3, minutes_apart=30),
        Session("2026-06-04T18:15", 3, minutes_apart=30),
        Session("2026-06-06T08:15", 5, minutes_apart=30),
        Session("2026-06-06T17:00", 4, minutes_apart=30),
        Session("2026-06-07T10:00", 4, minutes_apart=30),
        Session("2026-06-09T18:00", 3, minutes_apart=30),
        Session("2026-06-12T18:30", 4, minutes_apart=30),
        Session("2026-06-13T09:00", 5, minutes_apart=30),
        Session("2026-06-14T15:00", 4, minutes_apart=30),
        Session("2026-06-16T18:00", 5, minutes_apart=30),
    ),
    truth=Truth(p_parted, p_pooled),
    metal=Metal(density=5.9),
    good={
        "temperature": (46.0, 5.0),
        "acid strength": (0.4, 0.5),
        "swirling time": (150.0, 0.4),
        "bead size": (4.0, 0.8),
    },
    batch_g=(2.0, 20.0),
    lids=("open dish",),
    shelf_lot="B4",
    shelf=(("2026-06-16T18:00", 0.0), ("2026-06-16T18:00", 0.0), ("2026-06-16T20:00", 0.0)),
    jar_word="D",
)

BENCH = Bench(
    substances=Substances(
        metal=MetalValues(key="gallium"),
        solids=SolidsValues("dust", "quartz", size_low_um=5.0, size_high_um=60.0),
        oil=OilValues(bottle="5", history="new", autoignition_c=280.0, stated_max_c=120.0),
        vessel=VesselValues(volume_ml=50.0, diameter_mm=40.0, stirrer_mm=25.0),
    ),
    removals=("no oil",),
    oil_ml=8.0,
    hidden_after_h=1e9,
)


def generate() -> tuple[CampaignState, tuple[Correction, ...], str]:
    state = with_bench(run_campaign(PLAN, Dice(SEED)), BENCH, Dice(SEED + 1000))
    first = {attempt.number: attempt for attempt in state.attempts}
    state = edited(
        state,
        {
            8: without(first[8], "bead size", "beads were of all sizes"),
            15: aborted("dish tipped over; wiped up with gloves on"),
            23: {"struck_reason": "acid of unknown strength, bottle not labelled"},
            31: aborted("gas bubbled strongly, stopped and aired the room"),
        },
    )
    now = {attempt.number: attempt for attempt in state.attempts}
    struck, strength = now[23].struck_reason, now[11].conditions.number("acid strength")
    assert strength is not None
    corrections = (
        correction(now[11], "conditions.acid strength", 10 * strength, strength, "decimal point slipped", 0.5),
        correction(now[23], "struck_reason", None, struck, struck or "", 3.0, "Strike out"),
    )
    return state, tuple(sorted(corrections, key=lambda item: item.at)), DESCRIPTION
