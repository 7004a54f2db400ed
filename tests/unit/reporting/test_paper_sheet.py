"""The blank record and the card of acts as documents."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor, Role, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.number_style import NumberStyle
from stirfall.bench.records import CampaignSettings
from stirfall.bench.running import MARKS
from stirfall.bench.scan_codes import ACT_KEYS, read_code
from stirfall.reporting.act_card import act_card
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.paper_sheet import make_paper_sheet


def state(material: MaterialClass = MaterialClass.BASE_METAL, *factors: Factor) -> CampaignState:
    settings = CampaignSettings(title="Dross", material=material, melting_point_c=139.0, oil="white oil")
    return CampaignState(settings, factors or standard_factors())


def test_each_factor_has_its_unit_its_range_and_its_usual_value_in_their_order() -> None:
    sheet = make_paper_sheet(state(), decimal=",")
    assert [blank.label for blank in sheet.conditions][:4] == [
        "Sample age, h",
        "Oil exposure time, h",
        "Hot time before stirring, min",
        "Temperature, °C",
    ]
    ages = sheet.conditions[0]
    assert (ages.span, ages.hint) == ("0,5 to 240", "from lot and start")
    assert sheet.conditions[3].hint == "usually 150"
    stirring = next(blank for blank in sheet.conditions if blank.label == "Stirring action")
    assert stirring.options == ("swirl", "fold", "press", "scrape")
    assert stirring.hint == "usually swirl"


def test_hidden_factors_are_left_out_and_what_has_no_usual_value_has_no_hint() -> None:
    factors = (Factor("speed", "1/min", 1.0, 9.0, role=Role.GENERAL), replace(standard_factors()[3], hidden=True))
    (blank,) = make_paper_sheet(state(MaterialClass.OTHER, *factors)).conditions
    assert (blank.label, blank.hint, blank.span) == ("Speed, 1/min", "", "1 to 9")


# 150 °C is 302 °F, 80 °C is 176 °F, 180 °C is 356 °F, 139 °C is 282.2 °F: by 9/5 and 32, exact.
def test_temperatures_are_asked_for_in_the_unit_that_the_reader_likes() -> None:
    sheet = make_paper_sheet(state(), decimal=NumberStyle(".", "F"))
    temperature = sheet.conditions[3]
    assert (temperature.label, temperature.span, temperature.hint) == (
        "Temperature, °F",
        "176 to 356",
        "usually 302",
    )
    assert "melting point 282.2\u2009°F" in sheet.facts
    assert [blank.label for blank in sheet.seen][2:] == ["Highest temperature, °F", "Lifted out at, °F"]


def test_what_is_not_known_is_said() -> None:
    sheet = make_paper_sheet(state())
    assert "flash point unknown" in sheet.facts
    assert sheet.facts[0] == "Metal: not named, base metal"
    assert sheet.mark == ""


@pytest.mark.parametrize("material", list(MaterialClass))
def test_the_hazards_are_whole_sentences_of_the_cautions(material: MaterialClass) -> None:
    sheet = make_paper_sheet(state(material))
    everything = [item.text for item in load_cautions(material).items]
    assert len(sheet.hazards) >= 2
    for line in sheet.hazards:
        assert any(text.startswith(line) for text in everything)
        assert line.endswith((".", ":"))
    assert bool(sheet.look_note) is (material is not MaterialClass.BASE_METAL)
    assert sheet.checklist == tuple(item.text for item in load_cautions(material).checklist)


def test_the_marks_are_those_of_a_run() -> None:
    marks = make_paper_sheet(state()).marks
    assert len(marks) == len(MARKS)
    assert marks[0] == "first powder"
    assert marks[-1] == "other"


def test_the_card_holds_every_act_once_with_words_of_its_own() -> None:
    card = act_card()
    assert [act.key for act in card] == list(ACT_KEYS)
    assert [read_code(act.code).value for act in card] == list(ACT_KEYS)
    assert len({act.words for act in card}) == len(ACT_KEYS)
    assert [act.words for act in card if act.key.startswith("G")][3] == "4 Clean separation"


def test_no_range_of_ages_stands_on_the_paper_of_a_superoxide_former() -> None:
    labels = ("Sample age, h", "Oil exposure time, h", "Hot time before stirring, min")
    for material in MaterialClass:
        spans = [blank.span for blank in make_paper_sheet(state(material)).conditions if blank.label in labels]
        assert all(spans) is (material is not MaterialClass.SUPEROXIDE_FORMER)
        assert any(spans) is (material is not MaterialClass.SUPEROXIDE_FORMER)
