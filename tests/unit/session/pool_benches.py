"""Small invented benches whose sessions are pooled in the tests."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.pooling import PoolSource

BEGAN = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
MADE = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
FACTORS = (
    Factor("sample age", "h", 1.0, 240.0, Scale.LOG, role=Role.SAMPLE_AGE),
    Factor("temperature", "C", 140.0, 170.0, role=Role.TEMPERATURE),
    Factor("action", levels=("swirl", "fold")),
)
SETTINGS = CampaignSettings(
    title="Trial",
    material=MaterialClass.BASE_METAL,
    metal="dross",
    melting_point_c=138.0,
    oil="white oil",
    oil_flash_c=225.0,
    invented=True,
)


def an_attempt(number: int, place: str, *, clean: bool = True, hours: float = 24.0, day: float = 0.0) -> Attempt:
    """Return one graded attempt of lot L1 and jar J1, its id as the program gives them."""
    at = BEGAN + timedelta(days=day + number)
    return Attempt(
        uuid.uuid5(uuid.NAMESPACE_URL, f"{place}/{number}").hex,
        number,
        Conditions({"sample age": hours, "temperature": 150.0, "action": "swirl"}),
        started_at=at,
        recorded_at=at + timedelta(minutes=30),
        lot_id="L1",
        jar_id="J1",
        parted=Parted.YES if clean else Parted.NO,
        pooled=Pooled.ONE_POOL if clean else Pooled.NOT_OBSERVED,
        invented=True,
    )


def a_bench(
    name: str,
    outcomes: Sequence[bool] = (True, False, True),
    *,
    settings: CampaignSettings = SETTINGS,
    factors: Sequence[Factor] = FACTORS,
    day: float = 0.0,
) -> PoolSource:
    """Return the session of one bench with one lot, one jar and an attempt a day."""
    attempts = tuple(
        an_attempt(number, name, clean=clean, hours=24.0 + number, day=day)
        for number, clean in enumerate(outcomes, 1)
    )
    state = CampaignState(
        replace(settings, bench_name=name),
        tuple(factors),
        (Lot("L1", BEGAN - timedelta(days=1)),),
        (Jar("J1", "L1", BEGAN - timedelta(hours=12)),),
        attempts,
    )
    return PoolSource(f"{name.lower()}.stirfall", state)


def with_conditions(source: PoolSource, conditions: Conditions) -> PoolSource:
    """Return the source with all attempts at these conditions."""
    attempts = tuple(replace(each, conditions=conditions) for each in source.state.attempts)
    return replace(source, state=replace(source.state, attempts=attempts))


def planted(
    effects: Sequence[float], each: int, *, seed: int = 0, slope: float = 1.5, base: float = 0.3
) -> tuple[PoolSource, ...]:
    """Return benches whose log odds of a clean separation differ by ``effects``; the age acts by ``slope``."""
    rng = np.random.default_rng(seed)
    sources = []
    for place, effect in enumerate(effects):
        position = rng.uniform(-1.0, 1.0, each)
        clean = rng.random(each) < 1.0 / (1.0 + np.exp(-(base + slope * position + effect)))
        source = a_bench(f"Bench {place + 1}", [bool(one) for one in clean], day=place / 10)
        hours = [FACTORS[0].from_unit_interval(float(x)) for x in position]
        attempts = tuple(
            replace(attempt, conditions=attempt.conditions.with_value("sample age", age))
            for attempt, age in zip(source.state.attempts, hours, strict=True)
        )
        one_gate = replace(source.state.settings, gates=1)
        sources.append(replace(source, state=replace(source.state, attempts=attempts, settings=one_gate)))
    return tuple(sources)
