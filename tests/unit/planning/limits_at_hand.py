"""What the tests of the limits share: small invented campaigns, and what is said of a situation."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.bench.substances import Substances
from stirfall.planning.limits import operating_limits
from stirfall.planning.situation import Situation
from stirfall.reporting.sentences import all_sentences, sentence

BASE, ALKALI = MaterialClass.BASE_METAL, MaterialClass.ALKALI_METAL
SUPEROXIDE, OTHER = MaterialClass.SUPEROXIDE_FORMER, MaterialClass.OTHER
NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)
BATH = Factor("bath", "C", 80.0, 300.0)
AGE = Factor("sample age", "h", 0.5, 2000.0, Scale.LOG)
ADDITIVE = Factor("additive", levels=("none", "A"))
DOSE = Factor("dose", "mg/g", 0.0, 60.0, step=0.5)
BATCH = Factor("batch", "g", 5.0, 60.0)


def campaign(*factors: Factor, attempts=(), jars=(), lots=(), **known) -> CampaignState:
    things = known.pop("substances", Substances())
    parts = {name: known.pop(name) for name in ("oil", "additives", "vessel", "limits") if name in known}
    known = {"material": BASE, "melting_point_c": 98.0, "oil_flash_c": 220.0} | known
    chosen = CampaignSettings(substances=replace(things, **parts), **known)
    return CampaignState(chosen, factors, lots, jars, attempts)


def said(state: CampaignState, **situation) -> dict[str, str]:
    """The levels by code; every sentence must be whole and every finding must have a source."""
    found = operating_limits(state).judge(Situation(**situation))
    for each in found:
        assert "{" not in sentence(each.code, each.params)
        assert each.code in all_sentences()
        assert each.source
    return {each.code: each.level for each in found}


def at(**values: float | str) -> Conditions:
    return Conditions({name.replace("_", " "): value for name, value in values.items()})
