"""Invented campaign: a work-holding alloy that carries dense grinding grit. The powder falls here."""

from __future__ import annotations

import math
from collections.abc import Mapping

from campaign_bench import Bench, residue_jar, with_bench
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
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.bench.substances import AdditiveValues, MetalValues, OilValues, SolidsValues, Substances, VesselValues

SEED = 8
DESCRIPTION = (
    "A fusible alloy of indium, bismuth and tin (melts near 60 °C) has picked up heavy grinding grit and "
    "waits under mineral oil with a fatty acid. The grit falls to the bottom when it lets go. Invented data, "
    "for learning the tool: no value was measured. When the sample is opened, all its dates move so that it "
    "seems to end within the last day."
)


def film(v: Mapping[str, float]) -> float:
    return math.log(math.sqrt(v["sample age"] / 24 * 12 / v["oil depth"]))


def p_parted(v: Mapping[str, float], _lot: str) -> float:
    z = 1.0 + 2.2 * film(v) + 0.9 * math.log(v["stirring time"] / 120) + 0.02 * (v["temperature"] - 90)
    z += 0.08 * (v["fatty acid dose"] - 5) - 0.05 * (v["grit share"] - 10) + 0.4 * (v["stirring speed"] - 70) / 40
    return logistic(z)


def p_pooled(v: Mapping[str, float], _lot: str) -> float:
    z = 1.7 - 2.4 * film(v) + 0.14 * (v["fatty acid dose"] - 5) + 0.025 * (v["temperature"] - 90)
    z += -0.45 * max((v["stirring speed"] - 90) / 40, 0) ** 2 - 0.04 * (v["grit share"] - 10)
    return logistic(z)


PLAN = Plan(
    settings=CampaignSettings(
        title="Invented sample: work-holding alloy with grinding grit",
        material=MaterialClass.BASE_METAL,
        metal="indium 51 %, bismuth 32.5 %, tin 16.5 %, with grit",
        melting_point_c=60.0,
        oil="white mineral oil with a fatty acid",
        oil_flash_c=195.0,
        invented=True,
        gates=2,
    ),
    factors=(
        Factor("sample age", "h", 1.0, 240.0, Scale.LOG, role=Role.SAMPLE_AGE, default=24.0),
        Factor("temperature", "C", 72.0, 110.0, step=1.0, role=Role.TEMPERATURE, default=90.0),
        Factor("stirring speed", "1/min", 20.0, 150.0, step=5.0, role=Role.GENERAL, default=80.0),
        Factor("stirring time", "s", 20.0, 400.0, Scale.LOG, step=5.0, role=Role.GENERAL, default=120.0),
        Factor("fatty acid dose", "mg/g", 0.0, 15.0, step=0.5, role=Role.DOSE, default=5.0),
        Factor("oil depth", "mm", 5.0, 30.0, step=1.0, role=Role.GENERAL, default=12.0),
        Factor("grit share", "%", 2.0, 25.0, step=0.5, role=Role.GENERAL, default=10.0),
    ),
    lots=(
        Lot("K1", moment("2026-04-06T17:00"), 9.0, "chips from the first fixture"),
        Lot("K2", moment("2026-04-11T08:00"), 14.0, "chips from the second fixture"),
        Lot("K3", moment("2026-04-17T18:00"), 11.0, "scrapings of the bench"),
        Lot("K4", moment("2026-04-25T08:30"), 12.0, "chips from both fixtures"),
        Lot("K5", moment("2026-04-28T17:00"), 10.0, "fresh, still on the shelf"),
    ),
    sessions=(
        Session("2026-04-06T18:15", 3),
        Session("2026-04-07T18:00", 3),
        Session("2026-04-09T18:30", 3),
        Session("2026-04-11T09:15", 4),
        Session("2026-04-12T14:00", 3),
        Session("2026-04-14T18:15", 3),
        Session("2026-04-17T19:15", 3),
        Session("2026-04-18T09:00", 4),
        Session("2026-04-19T15:30", 3),
        Session("2026-04-22T18:00", 3),
        Session("2026-04-25T10:00", 4),
        Session("2026-04-26T09:30", 4),
        Session("2026-04-27T18:15", 3),
        Session("2026-04-28T18:15", 3),
    ),
    truth=Truth(p_parted, p_pooled),
    metal=Metal(density=8.0, dose="fatty acid dose"),
    good={
        "temperature": (98.0, 5.0),
        "stirring speed": (85.0, 15.0),
        "stirring time": (200.0, 0.35),
        "fatty acid dose": (10.0, 2.0),
        "oil depth": (12.0, 3.0),
    },
    batch_g=(10.0, 50.0),
    lids=("closed", "loose", "closed"),
    shelf_lot="K5",
    shelf=(
        ("2026-04-28T17:15", 12.0),
        ("2026-04-28T17:15", 18.0),
        ("2026-04-28T20:30", 12.0),
        ("2026-04-28T20:30", 8.0),
    ),
    jar_word="G",
)

BENCH = Bench(
    substances=Substances(
        metal=MetalValues(key="indium-bismuth-tin", density_kg_m3=8000.0, tension_mn_m=420.0),
        solids=SolidsValues("grinding grit", "tungsten-carbide", size_low_um=3.0, size_high_um=40.0),
        oil=OilValues(
            bottle="7",
            history="new",
            density_kg_m3=848.0,
            density_at_c=20.0,
            viscosity_1_mm2_s=22.0,
            viscosity_1_at_c=40.0,
            viscosity_2_mm2_s=4.3,
            viscosity_2_at_c=100.0,
            autoignition_c=290.0,
            stated_max_c=150.0,
        ),
        additives=(AdditiveValues("fatty acid", "fatty acid", 15.0, molar_mass_g_mol=282.5, hydrogens=1.0),),
        vessel=VesselValues(volume_ml=100.0, diameter_mm=45.0, stirrer_mm=30.0),
    ),
    diameters_mm=(35.0, 40.0),
    pieces=(2, 12),
    density_g_cm3=8.0,
    oil_ml=45.0,
    residue=residue_jar("R1", "K1", Jar("", "K1", moment("2026-04-27T08:00"), PLAN.settings.oil), 12.0),
)


def generate() -> tuple[CampaignState, tuple[Correction, ...], str]:
    state = with_bench(run_campaign(PLAN, Dice(SEED)), BENCH, Dice(SEED + 1000))
    first = {attempt.number: attempt for attempt in state.attempts}
    state = edited(
        state,
        {
            7: aborted("stirrer shaft came loose"),
            12: without(first[12], "grit share", "no assay of this jar"),
            21: {"struck_reason": "stirred twice with a break between; not one attempt"},
            30: {"note": "cold spot at the rim, metal froze there"},
            36: aborted("oil splashed when a tool was not dry; stopped", "dry and warm the tools first"),
        },
    )
    now = {attempt.number: attempt for attempt in state.attempts}
    struck = now[21].struck_reason
    speed = now[18].conditions.number("stirring speed")
    assert speed is not None
    corrections = (
        correction(now[18], "conditions.stirring speed", speed / 10, speed, "a zero was missing", 2.0),
        correction(now[21], "struck_reason", None, struck, struck or "", 1.0, "Strike out"),
    )
    return state, tuple(sorted(corrections, key=lambda item: item.at)), DESCRIPTION
