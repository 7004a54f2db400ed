from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from stirfall.bench.materials import MaterialClass
from stirfall.reporting.cautions import load_cautions

TABLE = Path(__file__).parents[3] / "resources" / "cautions.toml"
REACTIVE = (MaterialClass.ALKALI_METAL, MaterialClass.SUPEROXIDE_FORMER)


def texts(material: MaterialClass) -> dict[str, str]:
    return {item.key: item.text for item in load_cautions(material).items}


@pytest.mark.parametrize("material", list(MaterialClass))
def test_each_class_has_a_headline_and_every_item_has_text_and_source(material: MaterialClass) -> None:
    cautions = load_cautions(material)
    assert cautions.material is material
    assert cautions.headline
    assert len({item.key for item in cautions.items}) == len(cautions.items) >= 15
    for item in cautions.items:
        assert item.text.endswith(".")
        assert item.source


@pytest.mark.parametrize("material", list(MaterialClass))
def test_the_start_checklist_asks_the_seven_things(material: MaterialClass) -> None:
    keys = {item.key for item in load_cautions(material).checklist}
    agent = "fire_agent_oil" if material is MaterialClass.BASE_METAL else "fire_agent_reactive"
    assert keys == {
        agent,
        "no_water_near",
        "not_alone",
        "protective_equipment",
        "ventilation",
        "dry_warm_tools",
        "flash_point_known",
    }


@pytest.mark.parametrize("material", [*REACTIVE, MaterialClass.OTHER])
def test_the_fire_advice_of_the_oil_sheet_is_overridden_where_the_metal_may_be_reactive(
    material: MaterialClass,
) -> None:
    # Prudent Practices 1995 p. 104 excludes carbon dioxide, bicarbonate and carbon tetrachloride for alkali metals.
    said = texts(material)
    for wrong in ("water", "foam", "carbon dioxide", "bicarbonate", "halogenated", "ABC powder"):
        assert wrong in said["fire_wrong_agents"]
    assert "oil's own safety sheet" in said["fire_wrong_agents"]
    assert "class D" in said["fire_agent_reactive"]
    assert "fire_agent_oil" not in said
    assert not any("damp" in text for text in said.values())


def test_only_the_superoxide_class_rules_out_ageing_on_purpose() -> None:
    said = texts(MaterialClass.SUPEROXIDE_FORMER)
    assert "out of the question" in said["never_age_on_purpose"]
    assert "graphite" in said["no_graphite"]
    for material in (MaterialClass.BASE_METAL, MaterialClass.ALKALI_METAL, MaterialClass.OTHER):
        assert "never_age_on_purpose" not in texts(material)


@pytest.mark.parametrize("material", REACTIVE)
def test_a_doubtful_surface_means_do_not_open_and_get_help(material: MaterialClass) -> None:
    # University of Southern California EHS names these looks; Prudent Practices 1995 p. 383 the yellow coat.
    look = texts(material)["look_first"]
    for word in ("white", "yellow", "furry", "hides", "do not open", "help"):
        assert word in look


def test_every_item_of_the_table_names_known_classes_only() -> None:
    known = {member.value for member in MaterialClass}
    table = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    assert set(table["headline"]) == known
    for item in table["item"]:
        assert item["for"]
        assert set(item["for"]) <= known
        assert set(item) <= {"key", "for", "text", "source", "check"}
