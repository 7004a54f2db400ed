"""A session with a table's worth of attempts, made once, copied for each test."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from stirfall.bench.factors import Factor
from stirfall.scripting import Campaign


@pytest.fixture(scope="session")
def _graded_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("graded") / "graded.stirfall"
    factors = [
        Factor("sample age", unit="h", low=1, high=240, scale="log"),
        Factor("temperature", unit="C", low=145, high=170),
    ]
    with Campaign.new(
        path, factors=factors, material="base metal", melting_point_c=138, oil_flash_c=225, title="Graded"
    ) as campaign:
        for number, age in enumerate((1, 2, 4, 8, 12, 24, 24, 48, 96, 200)):
            parted = "yes" if age >= 8 else "no"
            pooled = None if parted == "no" else ("one pool" if age < 90 else "beads")
            conditions = {"sample age": age, "temperature": 150 + number}
            campaign.record(conditions, parted=parted, pooled=pooled, lot="L1" if number % 2 else "L2")
        campaign.record({"sample age": 24, "temperature": 160}, aborted="the bath ran dry")
    return path


@pytest.fixture
def graded(_graded_once: Path, tmp_path: Path) -> Path:
    """A session of ten graded attempts and an aborted one; short ages do not part, long ones bead."""
    return Path(shutil.copy(_graded_once, tmp_path / "graded.stirfall"))
