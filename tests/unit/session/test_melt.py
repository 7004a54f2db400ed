"""The report on the melt: own values first, unknown stays unknown, warnings where metal is not covered."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.bench.substances import MetalValues, OilValues, SolidsValues, Substances, VesselValues
from stirfall.planning.limits import operating_limits
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.session.melt import FACT_KEYS, MeltReport, melt_report
from stirfall.session.samples import samples
from stirfall.storage.materials import materials
from stirfall.storage.package import read_package

OIL = OilValues(
    density_kg_m3=860.0,
    density_at_c=20.0,
    viscosity_1_mm2_s=68.0,
    viscosity_1_at_c=40.0,
    viscosity_2_mm2_s=8.7,
    viscosity_2_at_c=100.0,
)


def state(key: str = "tin-bismuth", **known: object) -> CampaignState:
    row = materials().metal(key)
    substances = Substances(
        metal=known.pop("metal", MetalValues(key=key, tension_mn_m=400.0)),
        solids=known.pop("solids", SolidsValues("oxide", "tin-dioxide", size_low_um=2.0, size_high_um=20.0)),
        oil=known.pop("oil", OIL),
        vessel=known.pop("vessel", VesselValues(diameter_mm=50.0, stirrer_mm=40.0)),
    )
    chosen = {"material": MaterialClass.OTHER if row is None else row.hazard, "oil_flash_c": 225.0, **known}
    return CampaignState(CampaignSettings(substances=substances, **chosen), standard_factors())


def levels(report: MeltReport) -> dict[str, str]:
    return {fact.key: fact.level for fact in report.facts}


def text(report: MeltReport, key: str) -> str:
    fact = report.fact(key)
    assert fact is not None
    return sentence(fact.code, fact.params)


def test_with_nothing_known_all_is_unknown_and_the_report_says_what_to_enter() -> None:
    report = melt_report(CampaignState(CampaignSettings(), standard_factors()))
    assert set(levels(report).values()) == {"unknown"}
    assert (report.window, report.melting_c, report.curves is None) == (None, None, False)
    assert len(report.missing) == 7
    assert all(reason.code in all_sentences() for reason in report.missing)


def test_every_fact_is_a_sentence_of_known_keys_in_order() -> None:
    for known in (state(), state("sodium"), state("lithium"), state("potassium"), state(oil=OilValues())):
        report = melt_report(known)
        keys = [fact.key for fact in report.facts]
        assert [key for key in FACT_KEYS if key in keys] == keys
        for fact in report.facts:
            assert "{" not in sentence(fact.code, fact.params)
            assert (fact.value is None) == (fact.level == "unknown" or fact.key in {"class", "melt"})


def test_solids_fall_in_a_light_metal_and_float_on_a_heavy_one() -> None:
    light = melt_report(state("sodium", solids=SolidsValues("grit", "magnesium-oxide", size_low_um=3.0)))
    assert text(light, "solids_in_metal").startswith("The solids fall")
    assert text(melt_report(state()), "solids_in_metal").startswith("The solids float")


@pytest.mark.parametrize(
    ("key", "at_c", "level"), [("tin-bismuth", 150, "fact"), ("potassium", 80, "warn"), ("lithium", 190, "warn")]
)
def test_beads_that_do_not_sink_are_warned_of(key: str, at_c: float, level: str) -> None:
    report = melt_report(state(key), Conditions({"temperature": at_c}))
    assert levels(report)["beads_in_oil"] == level


def test_a_class_that_differs_from_the_table_is_warned_of() -> None:
    assert "class" not in levels(melt_report(state("sodium")))
    milder = melt_report(state("sodium", material=MaterialClass.BASE_METAL))
    assert levels(milder)["class"] == "warn"


def test_below_the_melting_point_the_metal_is_solid_and_nothing_is_said_of_its_melt() -> None:
    report = melt_report(state(melting_point_c=138.0), Conditions({"temperature": 120.0}))
    assert levels(report)["melt"] == "warn"
    assert report.metal.density is None
    assert levels(report)["metal_density"] == "unknown"


def test_own_values_come_before_the_table() -> None:
    own = MetalValues("tin-bismuth", density_kg_m3=8700.0, viscosity_mpa_s=2.0, tension_mn_m=350.0)
    at_melting = Conditions({"temperature": 138.5})
    report = melt_report(state(metal=own, melting_point_c=138.5), at_melting)
    hand = report.metal
    assert hand.density is not None
    assert hand.viscosity is not None
    assert hand.tension is not None
    shown = (hand.density.value, hand.viscosity.value, hand.tension.value)
    assert shown == pytest.approx((8700.0, 2.0, 350.0))


def test_the_window_is_that_of_the_operating_limits() -> None:
    wide = (replace(standard_factors()[3], low=0.0, high=400.0),)
    tight = replace(OIL, stated_max_c=190.0, autoignition_c=280.0)
    for oil in (OIL, tight):
        known = replace(state(oil=oil, melting_point_c=138.0), factors=wide)
        low, high = operating_limits(known).ranges["temperature"]
        assert melt_report(known).window == pytest.approx((low, high))
    assert melt_report(state(oil_flash_c=None)).window is None


def test_curves_agree_with_the_figures_at_hand() -> None:
    report = melt_report(state(), Conditions({"temperature": 160.0}))
    curves = report.curves
    assert curves is not None
    for line, found in (
        (curves.metal_density, report.metal.density),
        (curves.oil_density, report.oil.density),
        (curves.metal_viscosity, report.metal.viscosity),
        (curves.oil_viscosity, report.oil.viscosity),
    ):
        assert line is not None
        assert found is not None
        assert float(np.interp(160.0, curves.t_c, line)) == pytest.approx(found.value, rel=2e-3)
    assert curves.metal_density is not None
    assert np.isnan(curves.metal_density[curves.t_c < (report.melting_c or 0.0)]).all()


def test_faster_stirring_makes_new_beads() -> None:
    slow = melt_report(state(), Conditions({"temperature": 160.0, "stirring speed": 20.0}))
    fast = melt_report(state(), Conditions({"temperature": 160.0, "stirring speed": 400.0}))
    assert levels(slow)["weber_blob"] == "fact"
    assert levels(fast)["weber_blob"] == "note"
    assert "makes new beads" in text(fast, "weber_blob")


def test_the_samples_have_a_report_without_a_warning() -> None:
    for sample in samples():
        content = read_package(Path(sample.folder)).state
        report = melt_report(content)
        assert "warn" not in levels(report).values()
        assert report.window is not None
        began = time.perf_counter()
        melt_report(content)
        assert time.perf_counter() - began < 0.2  # about 1 ms; the bound leaves room for a busy machine


def test_every_metal_and_solid_of_the_table_has_a_source_per_value() -> None:
    table = materials()
    for row in table.metals:
        found = [each for each in (row.melting_c, row.density, row.viscosity, row.tension) if each is not None]
        assert found
        assert all(each.source.strip() for each in found)
        assert all(part in {other.key for other in table.metals} for part, _ in row.parts)
    assert all(solid.density.source.strip() and solid.density.value > 0 for solid in table.solids)
    assert table.metal("NaK") is not None
    assert table.metal("no such metal") is None
