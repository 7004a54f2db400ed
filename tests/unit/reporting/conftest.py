from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.substances import AdditiveValues
from stirfall.reporting.recipe import Recipe, make_recipe
from stirfall.session.analysis import Analysis, analyse
from stirfall.storage.package import read_package

# The import mode of the tests adds no folder to the path, so what they share is put there by hand.
sys.path.insert(0, str(Path(__file__).parent))

SAMPLES = Path(__file__).parents[3] / "sample_sessions"
MADE = datetime(2026, 11, 24, 18, 0, tzinfo=UTC)


def _recipe_of(analysis: Analysis, conditions: Conditions, **options: object) -> Recipe:
    return make_recipe(
        analysis,
        conditions,
        fingerprint="0123456789abcdef" * 4,
        session_name="test.stirfall",
        created_at=MADE,
        **options,  # type: ignore[arg-type]
    )


@pytest.fixture(scope="session")
def recipe_of() -> Callable[..., Recipe]:
    return _recipe_of


@pytest.fixture(scope="session")
def dross() -> CampaignState:
    return read_package(SAMPLES / "tin-bismuth-dross").state


@pytest.fixture(scope="session")
def analysis(dross: CampaignState) -> Analysis:
    return analyse(dross)


@pytest.fixture(scope="session")
def usual(dross: CampaignState) -> Conditions:
    return Conditions({factor.name: factor.middle for factor in dross.visible_factors})


@pytest.fixture(scope="session")
def recipe(analysis: Analysis, usual: Conditions) -> Recipe:
    return _recipe_of(analysis, usual)


@pytest.fixture(scope="session")
def superoxide(dross: CampaignState) -> Analysis:
    """The invented numbers under the class whose exposure must never grow: only the rules are under test."""
    # Rosin is not allowed with this class, so its place is taken by something that is.
    known = replace(dross.settings.substances, additives=(AdditiveValues("additive", "hydrocarbon", 20.0),))
    settings = replace(dross.settings, material=MaterialClass.SUPEROXIDE_FORMER, substances=known)
    return analyse(replace(dross, settings=settings))
