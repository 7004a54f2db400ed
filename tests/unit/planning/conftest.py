"""Campaigns for the planning tests: small, invented, seeded."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

# The import mode of the tests adds no folder to the path; what tests of the limits share is put there by hand.
sys.path.insert(0, str(Path(__file__).parent))

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.odds import OddsModel, fit_odds
from stirfall.inference.table import build_table

AGE = Factor("age", "h", 0.5, 96.0, Scale.LOG)
HEAT = Factor("temperature", "C", 120.0, 200.0, step=1.0)
TIME = Factor("stirring time", "s", 30.0, 300.0, Scale.LOG, step=5.0)
ADDITIVE = Factor("additive", levels=("none", "rosin"))
DOSE = Factor("dose", "mg/g", 0.0, 20.0, step=0.5)
FACTORS = (AGE, HEAT, TIME, ADDITIVE, DOSE)


def invented_attempts(count: int, seed: int = 0) -> tuple[Attempt, ...]:
    """Attempts whose two gates follow age in opposite ways."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(1, count + 1):
        additive = ADDITIVE.levels[int(rng.integers(2))]
        conditions = Conditions(
            {
                "age": AGE.snap(math.exp(rng.uniform(math.log(0.5), math.log(96.0)))),
                "temperature": HEAT.snap(rng.uniform(143.0, 170.0)),
                "stirring time": TIME.snap(rng.uniform(30.0, 300.0)),
                "additive": additive,
                "dose": DOSE.snap(rng.uniform(0.0, 20.0)) if additive == "rosin" else 0.0,
            }
        )
        z = 0.5 * math.log(conditions.number("age") / 12.0)
        parted = rng.random() < 1.0 / (1.0 + math.exp(-1.6 - 2.4 * z))
        pooled = rng.random() < 1.0 / (1.0 + math.exp(-1.9 + 2.6 * z))
        pool = (Pooled.ONE_POOL if pooled else Pooled.BEADS) if parted else None
        made.append(
            Attempt(f"a{number}", number, conditions, parted=Parted.YES if parted else Parted.NO, pooled=pool)
        )
    return tuple(made)


@pytest.fixture
def make_state() -> Callable[..., CampaignState]:
    """Make a campaign: ``attempts`` as a count or as given; other names go to the settings."""

    def make(
        attempts: int | tuple[Attempt, ...] = 0, factors=FACTORS, jars=(), lots=(), **settings
    ) -> CampaignState:
        known = {"melting_point_c": 138.0, "oil_flash_c": 220.0, "invented": True} | settings
        rows = invented_attempts(attempts) if isinstance(attempts, int) else attempts
        return CampaignState(CampaignSettings(**known), factors, lots=lots, jars=jars, attempts=rows)

    return make


@pytest.fixture
def fit() -> Callable[[CampaignState], OddsModel]:
    """Fit the odds of a campaign as the program does."""

    def fit_state(state: CampaignState) -> OddsModel:
        design, table = build_table(state)
        return fit_odds(table, design, state.settings)

    return fit_state
