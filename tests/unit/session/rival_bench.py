"""Invented campaigns in which one explanation is true by construction, with jars that tell their film."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.film import film_of_attempt

BEGUN = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
FACTORS = (
    Factor("oil exposure time", "h", 1.0, 200.0, "log", role=Role.OIL_EXPOSURE, default=24.0),
    Factor("temperature", "C", 140.0, 180.0, default=160.0),
)


@dataclass(frozen=True)
class Told:
    """What one attempt of the invented campaign is: logarithms centred, humidity in tens of per cent, places."""

    film: float
    time: float
    humidity: float
    practice: float
    lot: int


Truth = Callable[[Told], tuple[float, float]]
"""The log odds of both gates."""


def campaign(
    truth: Truth,
    *,
    count: int = 160,
    seed: int = 3,
    depths: tuple[float, float] = (6.0, 40.0),
    lids: tuple[str, ...] = ("open", "loose", "closed"),
    areas: tuple[float, float] = (4.0, 80.0),
    material: MaterialClass = MaterialClass.BASE_METAL,
) -> CampaignState:
    """Return a campaign of graded attempts, one jar each, of four lots, and two jars more on the shelf."""
    rng = np.random.default_rng(seed)
    settings = CampaignSettings(title="Planted", material=material, melting_point_c=138.0, oil_flash_c=240.0)
    lots = tuple(Lot(f"L{place}", BEGUN) for place in range(1, 5))
    jars, attempts = [], []
    for number in range(1, count + 1):
        hours = float(np.exp(rng.uniform(math.log(2.0), math.log(150.0))))
        opened = BEGUN + timedelta(hours=200.0 + 6.0 * number)
        depth = float(np.exp(rng.uniform(*np.log(depths))))
        jar = Jar(
            f"J{number}",
            f"L{1 + number % 4}",
            opened - timedelta(hours=hours),
            oil="white oil",
            oil_depth_mm=round(depth, 1),
            lid=lids[int(rng.integers(len(lids)))],
            inner_diameter_mm=40.0,
            metal_area_cm2=round(float(np.exp(rng.uniform(*np.log(areas)))), 2),
            oil_history=("new", "reused")[int(rng.integers(2))],
            storage_c=20.0,
            headspace_mm=30.0,
            room_rh_percent=float(rng.integers(25, 75)),
            emptied_at=opened,
        )
        jars.append(jar)
        values = {"oil exposure time": round(hours, 2), "temperature": float(rng.integers(150, 171))}
        attempts.append(Attempt(f"a{number}", number, Conditions(values), opened, opened, jar.lot_id, jar.id))
    state = CampaignState(settings, FACTORS, lots, tuple(jars), tuple(attempts))
    return _graded(_with_shelf(state), truth, rng)


def _with_shelf(state: CampaignState) -> CampaignState:
    """Add two jars of one lot and one age, under thin and thick oil."""
    start = state.jars[-1].emptied_at
    assert start is not None
    thin, thick = (
        replace(
            state.jars[0], id=name, lot_id="L1", started_at=start, emptied_at=None, oil_depth_mm=depth, lid="open"
        )
        for name, depth in (("thin", 6.0), ("thick", 40.0))
    )
    return replace(state, jars=(*state.jars, thin, thick))


def _graded(state: CampaignState, truth: Truth, rng: np.random.Generator) -> CampaignState:
    told = [_told(state, attempt) for attempt in state.attempts]
    graded = []
    for attempt, each in zip(state.attempts, told, strict=True):
        part, pool = (1.0 / (1.0 + math.exp(-value)) for value in truth(each))
        if rng.random() > part:
            graded.append(replace(attempt, parted=Parted.NO))
        else:
            pooled = Pooled.ONE_POOL if rng.random() < pool else Pooled.BEADS
            graded.append(replace(attempt, parted=Parted.YES, pooled=pooled))
    return replace(state, attempts=tuple(graded))


def _told(state: CampaignState, attempt: Attempt) -> Told:
    jar = state.jar(attempt.jar_id)
    film = film_of_attempt(state, attempt)
    assert jar is not None
    assert film is not None
    assert jar.room_rh_percent is not None
    hours = attempt.conditions.number("oil exposure time")
    assert hours is not None
    return Told(
        math.log(film.index / 12.0),
        math.log(hours / 17.0),
        (jar.room_rh_percent - 50.0) / 10.0,
        math.log(attempt.number / 60.0),
        int(attempt.lot_id[1:]) if attempt.lot_id else 0,
    )
