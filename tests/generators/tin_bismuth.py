"""Invented campaign: tin-bismuth dross under hot mineral oil with rosin. The powder floats here."""

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
    typed_age,
    without,
)

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.factors import Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Pooled
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.bench.substances import AdditiveValues, MetalValues, OilValues, SolidsValues, Substances, VesselValues

SEED = 2
LOT_EFFECT = {"L1": 0.0, "L2": 0.35, "L3": -0.30, "L4": 0.10}
DESCRIPTION = (
    "Dross of a tin-bismuth alloy (melts at 138 °C) waits under oil and is then stirred hot with rosin. Too young, "
    "and the powder stays in the metal; too old, and the metal stays in beads. Invented data, for learning the "
    "tool: no value was measured. When the sample is opened, all its dates move so that it seems to end within the "
    "last day."
)


def film(v: Mapping[str, float], lot: str) -> float:
    supply = (v["sample age"] / 12) ** 0.5 * (15 / v["oil depth"]) ** 0.5
    return math.log(supply * (0.6 + 0.8 * v["room humidity"] / 100)) + LOT_EFFECT[lot]


def p_parted(v: Mapping[str, float], lot: str) -> float:
    w, q, t = math.log(v["stirring time"] / 120), (v["stirring speed"] - 90) / 50, (v["temperature"] - 158) / 7
    return logistic(1.6 + 2.4 * film(v, lot) + 0.8 * w + 0.5 * q + 0.4 * t + 0.06 * (v["rosin dose"] - 6))


def p_pooled(v: Mapping[str, float], lot: str) -> float:
    w, q, t = math.log(v["stirring time"] / 120), (v["stirring speed"] - 90) / 50, (v["temperature"] - 158) / 7
    d = v["rosin dose"]
    z = 1.9 - 2.6 * film(v, lot) - 0.5 * max(q, 0) ** 2 + 0.3 * w + 0.4 * t + 0.16 * (d - 6)
    return logistic(z - 0.02 * max(d - 12, 0) ** 2)


PLAN = Plan(
    settings=CampaignSettings(
        title="Invented sample: tin-bismuth dross under hot oil with rosin",
        material=MaterialClass.BASE_METAL,
        metal="tin 42 %, bismuth 58 %, as dross",
        melting_point_c=138.0,
        oil="white mineral oil",
        oil_flash_c=225.0,
        invented=True,
        gates=2,
        plan=PlanSettings(bench_days=(1, 2, 3, 4, 5, 6, 7)),
    ),
    factors=(
        Factor("sample age", "h", 0.5, 96.0, Scale.LOG, role=Role.SAMPLE_AGE, default=12.0),
        Factor("oil exposure time", "h", 0.25, 96.0, Scale.LOG, role=Role.OIL_EXPOSURE, default=8.0),
        Factor("temperature", "C", 145.0, 170.0, step=1.0, role=Role.TEMPERATURE, default=158.0),
        Factor("stirring speed", "1/min", 20.0, 180.0, step=5.0, role=Role.GENERAL, default=90.0),
        Factor("stirring time", "s", 30.0, 300.0, Scale.LOG, step=5.0, role=Role.GENERAL, default=120.0),
        Factor("rosin dose", "mg/g", 0.0, 20.0, step=0.5, role=Role.DOSE, default=8.0),
        Factor("oil depth", "mm", 8.0, 30.0, step=1.0, role=Role.GENERAL, default=15.0),
        Factor("room humidity", "%", 25.0, 75.0, step=1.0, role=Role.GENERAL, default=50.0, hidden=True),
    ),
    lots=(
        Lot("L1", moment("2026-02-05T17:00"), 18.0, "skimmed on the first evening"),
        Lot("L2", moment("2026-02-14T07:30"), 22.0, "skimmed early on a Saturday"),
        Lot("L3", moment("2026-02-20T19:00"), 15.5, "skimmed late, cooled slowly"),
        Lot("L4", moment("2026-02-28T08:00"), 19.0, "same pot as L1"),
        Lot("L5", moment("2026-03-03T17:30"), 20.0, "fresh, still on the shelf"),
    ),
    sessions=(
        Session("2026-02-05T17:45", 4, 44),
        Session("2026-02-06T17:30", 3, 47),
        Session("2026-02-07T09:15", 3, 45),
        Session("2026-02-08T14:00", 3, 52),
        Session("2026-02-14T08:15", 4, 61),
        Session("2026-02-14T16:30", 4, 58),
        Session("2026-02-15T10:00", 3, 55),
        Session("2026-02-16T18:00", 3, 63),
        Session("2026-02-20T19:45", 3, 38),
        Session("2026-02-21T08:30", 4, 35),
        Session("2026-02-21T18:00", 3, 36),
        Session("2026-02-22T11:00", 3, 41),
        Session("2026-02-28T09:00", 3, 49),
        Session("2026-02-28T17:15", 4, 51),
        Session("2026-03-01T10:30", 3, 50),
        Session("2026-03-02T18:15", 3, 56),
        Session("2026-03-03T18:15", 3, 53),
    ),
    truth=Truth(p_parted, p_pooled),
    metal=Metal(density=8.5, dose="rosin dose"),
    good={
        "temperature": (161.0, 3.0),
        "stirring speed": (90.0, 20.0),
        "stirring time": (160.0, 0.3),
        "rosin dose": (10.0, 2.0),
        "oil depth": (15.0, 3.0),
    },
    batch_g=(10.0, 60.0),
    lids=("loose", "open", "loose", "closed"),
    shelf_lot="L5",
    shelf=(
        ("2026-03-03T17:45", 15.0),
        ("2026-03-03T17:45", 12.0),
        ("2026-03-03T18:00", 20.0),
        ("2026-03-03T20:30", 15.0),
        ("2026-03-03T20:45", 15.0),
    ),
)

BENCH = Bench(
    substances=Substances(
        metal=MetalValues(key="tin-bismuth", tension_mn_m=400.0),
        solids=SolidsValues("tin oxides", "tin-dioxide", size_low_um=2.0, size_high_um=20.0),
        oil=OilValues(
            bottle="3",
            history="new",
            density_kg_m3=862.0,
            density_at_c=20.0,
            viscosity_1_mm2_s=46.0,
            viscosity_1_at_c=40.0,
            viscosity_2_mm2_s=6.9,
            viscosity_2_at_c=100.0,
            autoignition_c=330.0,
            stated_max_c=180.0,
        ),
        additives=(AdditiveValues("rosin", "rosin", dose_cap_mg_g=20.0, molar_mass_g_mol=302.5, hydrogens=1.0),),
        vessel=VesselValues(volume_ml=150.0, diameter_mm=55.0, stirrer_mm=35.0),
    ),
    diameters_mm=(40.0, 40.0, 45.0),
    pieces=(1, 6),
    residue=residue_jar("R1", "L1", Jar("", "L1", moment("2026-02-28T08:00"), PLAN.settings.oil), 9.0),
)


def generate() -> tuple[CampaignState, tuple[Correction, ...], str]:
    state = with_bench(run_campaign(PLAN, Dice(SEED)), BENCH, Dice(SEED + 1000))
    first = {attempt.number: attempt for attempt in state.attempts}
    state = edited(
        state,
        {
            5: without(first[5], "room humidity", "humidity meter had no battery"),
            9: aborted(
                "oil began to smoke at the wall, heat off at once", "thermometer had slipped out of the oil"
            ),
            16: {"note": "first powder seen after about a minute"},
            20: typed_age(first[20], "oil exposure time", 6.0, "label washed off; start taken from the notebook"),
            27: {"struck_reason": "wrong jar opened: label read as J21, contents were another lot"},
            33: without(first[33], "room humidity", "meter left at home"),
            38: aborted("second person was called away, stopped before stirring"),
        },
    )
    now = {attempt.number: attempt for attempt in state.attempts}
    state, regraded = _regrade(state)
    struck = now[27].struck_reason
    temperature = now[13].conditions.number("temperature")
    corrections = (
        correction(now[13], "conditions.temperature", 184.0, temperature, "digits swapped while typing", 14.5),
        correction(now[27], "struck_reason", None, struck, struck or "", 20.0, "Strike out"),
        regraded,
    )
    return state, tuple(sorted(corrections, key=lambda item: item.at)), DESCRIPTION


def _regrade(state: CampaignState) -> tuple[CampaignState, Correction]:
    """A bead attempt was first graded as one pool; the photo said otherwise."""
    beads = next(a for a in state.attempts if a.pooled is Pooled.FEW_PIECES and a.number > 20 and not a.is_struck)
    return state, correction(beads, "pooled", "one pool", "few pieces", "graded again from the photo", 44.0)
