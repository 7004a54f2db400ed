"""The use-by of a jar: start plus the age limit of its class, which the table of limits holds."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import RESIDUE, CampaignSettings, Jar, Lot
from stirfall.bench.substances import OwnLimits, Substances
from stirfall.planning.limits_exposure import jar_findings
from stirfall.planning.use_by import use_by

START = datetime(2026, 10, 20, 9, 0, tzinfo=UTC)
JAR = Jar("J1", "L1", START)


def campaign(material, *, made_at=None, age_h=None):
    settings = CampaignSettings(material=material, substances=Substances(limits=OwnLimits(age_h=age_h)))
    return CampaignState(settings, (), lots=(Lot("L1", made_at),), jars=(JAR,))


@pytest.mark.parametrize(
    ("material", "own_h", "hours"),
    [
        (MaterialClass.BASE_METAL, None, None),
        (MaterialClass.BASE_METAL, 48.0, 48.0),
        (MaterialClass.ALKALI_METAL, None, 720.0),  # resources/limits.toml, jar_age
        (MaterialClass.OTHER, 100.0, 100.0),
        (MaterialClass.SUPEROXIDE_FORMER, None, 24.0),  # resources/limits.toml, superoxide_age
        (MaterialClass.SUPEROXIDE_FORMER, 1000.0, 24.0),  # an own limit never lengthens
    ],
)
def test_use_by_is_the_start_and_the_limit_of_the_class(material, own_h, hours):
    expected = None if hours is None else START + timedelta(hours=hours)
    assert use_by(campaign(material, age_h=own_h), JAR) == expected


def test_the_age_of_the_lot_counts_for_a_superoxide_former_only():
    older = START - timedelta(hours=10)
    assert use_by(campaign(MaterialClass.SUPEROXIDE_FORMER, made_at=older), JAR) == START + timedelta(hours=14)
    assert use_by(campaign(MaterialClass.ALKALI_METAL, made_at=older), JAR) == START + timedelta(hours=720)


@pytest.mark.parametrize("material", [MaterialClass.ALKALI_METAL, MaterialClass.SUPEROXIDE_FORMER])
def test_the_limits_speak_from_the_use_by_on_and_not_before(material):
    """An independent witness: what ``jar_findings`` says a second before and after."""
    state = campaign(material, made_at=START - timedelta(hours=3))
    end = use_by(state, JAR)
    assert not jar_findings(state, JAR, end - timedelta(seconds=1))
    assert jar_findings(state, JAR, end + timedelta(seconds=1))


def test_residue_has_no_use_by_and_an_endless_limit_is_none():
    state = campaign(MaterialClass.ALKALI_METAL)
    assert use_by(state, replace(JAR, contents=RESIDUE)) is None
    assert use_by(campaign(MaterialClass.BASE_METAL, age_h=1e9), JAR) is None
