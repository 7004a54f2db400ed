"""``stirfall limits``, and the limits in scripts."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall import Campaign, Factor
from stirfall.bench.errors import InputError
from stirfall.bench.records import Jar, Lot
from stirfall.bench.substances import AdditiveValues, OilValues, Substances
from stirfall.session.commands import AddJar, AddLot

Run = Callable[..., object]
FACTORS = [
    Factor("oil exposure time", unit="h", low=1, high=240, scale="log"),
    Factor("temperature", unit="F", low=230, high=400),
    Factor("additive", levels=("none", "oleic acid", "soap")),
    Factor("additive dose", unit="mg/g", low=0, high=40),
]


@pytest.fixture
def sodium_like(tmp_path: Path) -> Path:
    path = tmp_path / "reactive.stirfall"
    known = Substances(
        oil=OilValues(stated_max_c=160.0), additives=(AdditiveValues("oleic acid", "fatty acid", 12.0, 282.5, 1.0),)
    )
    now = datetime.now(UTC)
    with Campaign.new(
        path,
        factors=FACTORS,
        material="alkali metal, sodium-like",
        melting_point_c=98,
        oil_flash_c=220,
        substances=known,
    ) as campaign:
        campaign.document.execute(AddLot(Lot("L1")))
        for name, days, look in (("J1", 1, "grey"), ("J2", 31, ""), ("J3", 1, "white")):
            jar = Jar(name, "L1", now - timedelta(days=days), charge_g=10.0, look=look)
            campaign.document.execute(AddJar(jar))
    return path


def answer(run: Run, path: Path, *more: str, code: int = 0) -> dict:
    result = run("limits", path, "--json", *more)
    assert result.code == code, result.err
    return json.loads(result.out)


def test_the_limits_of_a_campaign_are_listed_with_their_sources(stirfall_command: Run, sodium_like: Path) -> None:
    document = answer(stirfall_command, sodium_like)
    assert document["schema"] == "stirfall.limits/1"
    assert (document["material"], document["blocked"]) == ("alkali metal, sodium-like", False)
    assert document["in_hand"] is None
    rules = {each["rule"]: each for each in document["limits"]}
    assert {"oil_margin", "stated_maximum", "alarming_look", "lift_out", "hydrogen", "checklist"} <= set(rules)
    assert all(each["source"] and each["text"] and each["levels"] for each in document["limits"])
    assert "160" in rules["stated_maximum"]["text"]
    assert any(each["code"] == "limits.level_left_out" for each in document["findings"])  # soap: class unknown
    text = stirfall_command("limits", sodium_like).out
    assert "Limits that hold for alkali metal" in text
    assert "No block can be overridden" in text


@pytest.mark.parametrize(
    ("at", "code", "levels"),
    [
        ("temperature=320 F", 0, {"limits.far_above_melting": "warn"}),
        ("temperature=160 C", 0, {"limits.far_above_melting": "warn"}),
        ("temperature=321 F", 1, {"limits.above_stated": "block", "limits.far_above_melting": "warn"}),
        ("additive=soap", 1, {"limits.additive_unknown": "block"}),
        ("additive=none", 0, {}),
    ],
)
def test_conditions_are_judged(stirfall_command: Run, sodium_like: Path, at, code, levels) -> None:
    document = answer(stirfall_command, sodium_like, "--at", at, code=code)
    assert {each["code"]: each["level"] for each in document["in_hand"]} == levels
    assert document["blocked"] is bool(code)


def test_jars_are_judged_by_age_and_look(stirfall_command: Run, sodium_like: Path) -> None:
    assert answer(stirfall_command, sodium_like, "--jar", "J1")["in_hand"] == []
    old = {each["code"]: each["level"] for each in answer(stirfall_command, sodium_like, "--jar", "j2")["in_hand"]}
    assert old["limits.inspect_age"] == "warn"
    white = answer(stirfall_command, sodium_like, "--jar", "J3", code=1)["in_hand"]
    assert [each["code"] for each in white] == ["limits.alarming_look"]
    text = stirfall_command("limits", sodium_like, "--jar", "J3").out
    assert "Never: Do not open" in text
    wrong = stirfall_command("limits", sodium_like, "--jar", "J9")
    assert wrong.code == 2
    assert "J9" in wrong.err


def test_an_unknown_flash_point_blocks_and_says_what_to_do(stirfall_command: Run, tmp_path: Path) -> None:
    path = tmp_path / "no_flash.stirfall"
    Campaign.new(path, factors=FACTORS, material="base metal", melting_point_c=98).close()
    result = stirfall_command("limits", path)
    assert result.code == 1
    assert "Read it from the bottle" in result.out


def test_scripts_list_and_judge_and_record_what_was_seen(sodium_like: Path) -> None:
    with Campaign.open(sodium_like) as campaign:
        assert {"oil_margin", "lift_out"} <= {each.rule for each in campaign.limits()}
        found = campaign.judge({"temperature": "170 C"}, jar="J1", room_rh_percent=70)
        assert [each.level for each in found[:1]] == ["block"]
        assert {"limits.above_stated", "limits.humid"} <= {each.code for each in found}
        made = campaign.record(
            {"temperature": "120 C"},
            parted="no",
            jar="J1",
            look="grey",
            room_rh_percent=45,
            oil_ml=80,
            peak_c=124,
            lifted_at_c=35,
        )
        facts = made.facts
        assert (facts.look, facts.room_rh_percent, facts.oil_ml) == ("grey", 45.0, 80.0)
        assert (facts.peak_c, facts.lifted_at_c) == (124.0, 35.0)
        changed = campaign.correct(1, "misread", peak_c=126.0)
        assert (changed.facts.peak_c, changed.facts.look) == (126.0, "grey")


def test_scripts_record_nothing_beyond_a_block_and_leave_nothing_behind(sodium_like: Path) -> None:
    with Campaign.open(sodium_like) as campaign:
        with pytest.raises(InputError) as caught:
            campaign.record({"temperature": "170 C"}, parted="no", lot="a new lot")
        assert caught.value.code == "limits.refused"
        assert "Nothing was recorded" in caught.value.__notes__[0]
        assert campaign.document.state.lot("a new lot") is None
        with pytest.raises(InputError):
            campaign.record({"temperature": "120 C"}, parted="no", lifted_at_c=60)
        assert campaign.attempts == ()
        campaign.record({"temperature": "170 C"}, aborted="the heater ran away")
        assert len(campaign.attempts) == 1
