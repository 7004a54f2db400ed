"""``stirfall weigh``, and weighing sheets through scripts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor
from stirfall.bench.records import Masses
from stirfall.bench.run_facts import NO_SHEET, WeighingSheet
from stirfall.scripting import Campaign
from stirfall.session.document import Document
from stirfall.session.weighing import attempt_weighing


@pytest.fixture
def weighed_path(tmp_path: Path) -> Path:
    path = tmp_path / "weighed.stirfall"
    with Campaign.new(path, factors=[Factor("age", unit="h", low=1, high=100)], material="base metal") as campaign:
        campaign.record(
            {"age": 5},
            clean=True,
            lot="L1",
            masses={"charge_g": 10, "product_g": 7.5, "residue_g": 2.4},
            sheet={"tares": {"charge_g": 50.0}, "step_g": 0.01, "purity_percent": 97.0, "purity_u_percent": 1},
        )
        campaign.record({"age": 5}, clean=False, masses={"charge_g": 10, "product_g": 9, "residue_g": 1.5})
        campaign.record({"age": 5}, clean=False)
    return path


def plain(text: str) -> str:
    return text.replace("\u2009", " ")


def test_a_line_for_each_weighed_attempt_and_the_warnings(weighed_path, stirfall_command):
    told = stirfall_command("weigh", weighed_path)
    lines = plain(told.out).splitlines()
    assert told.code == 1
    assert lines[0] == "Attempt 1: Yield 75.00 ± 0.15 %, closure 99.00 ± 0.20 % (u, k = 1)."
    assert lines[1] == "Attempt 2: Yield 90.00 %, closure 105.0 % (some u unknown). One thing does not add up."
    assert lines[2].startswith("  Warning: The parts weigh more than what went in: closure 105.0 %")
    assert len(lines) == 3


def test_one_attempt_in_full_has_masses_budgets_and_what_is_missing(weighed_path, stirfall_command):
    told = stirfall_command("weigh", weighed_path, "--attempt", "1")
    text = plain(told.out)
    assert told.code == 0
    for line in (
        "  charge: 10.000 ± 0.014 g (u, k = 1)",
        "  product: 7.500 ± 0.010 g (u, k = 1)",
        "  gross yield: 75.00 ± 0.15 % (u, k = 1)",
        "  To know more: Enter the metal in lot L1 by assay",
    ):
        assert line in text
    assert "its variance: charge 53 %, product 47 %" in text
    nothing = stirfall_command("weigh", weighed_path, "--attempt", "3")
    assert (nothing.code, nothing.out.strip()) == (0, "Attempt 3: Nothing was weighed.")


def test_an_attempt_that_is_not_there_is_named(weighed_path, stirfall_command):
    told = stirfall_command("weigh", weighed_path, "--attempt", "9")
    assert told.code == 2
    assert told.err.strip() == "There is no attempt 9 in this session."


def test_nothing_weighed_yet_is_said(graded, stirfall_command):
    told = stirfall_command("weigh", graded)
    assert (told.code, told.out.strip()) == (0, "No attempt has been weighed yet.")
    assert json.loads(stirfall_command("weigh", graded, "--json").out)["attempts"] == []


def test_json_has_every_number_with_its_uncertainty(weighed_path, stirfall_command):
    told = stirfall_command("weigh", weighed_path, "--json")
    document = json.loads(told.out)
    assert told.code == 1
    assert document["schema"] == "stirfall.weigh/1"
    first, second = document["attempts"]
    assert first["gross_yield"]["value"] == pytest.approx(0.75)
    assert first["gross_yield"]["u"] == pytest.approx(0.001458, abs=1e-6)
    assert first["masses"]["charge_g"]["unit"] == "g"
    assert sum(line["share"] for line in first["budgets"]["closure"]) == pytest.approx(1.0)
    assert first["recovery"] is None
    assert [reason["code"] for reason in first["missing"]] == ["weighing.needs_metal_share"]
    assert second["gross_yield"]["u"] is None
    assert second["flags"][0]["level"] == "warn"
    assert second["flags"][0]["text"] != second["flags"][0]["code"]
    with Document.open(weighed_path, read_only=True) as opened:
        attempt = opened.state.attempts[0]
        assert attempt_weighing(opened.state, attempt).closure.value == pytest.approx(first["closure"]["value"])


def test_scripts_keep_and_correct_the_sheet(weighed_path):
    with Campaign.open(weighed_path) as campaign:
        first = campaign.attempts[0]
        assert first.sheet == WeighingSheet((("charge_g", 50.0),), 0.01, "", None, 97.0, 1.0)
        assert campaign.attempts[2].sheet == NO_SHEET
        sheet = WeighingSheet(step_g=0.1, oil_removed="wiped")
        changed = campaign.correct(1, "other balance", sheet=sheet, masses=Masses(charge_g=9.0))
        assert (changed.sheet, changed.masses.charge_g) == (sheet, 9.0)
        assert campaign.correct(1, "by words", sheet={"step_g": 0.001}).sheet == WeighingSheet(step_g=0.001)


@pytest.mark.parametrize("sheet", [{"tare": {}}, {"tares": {"product": 1.0}}, {"step": 0.1}])
def test_a_line_that_the_sheet_has_not_is_named(weighed_path, sheet):
    with Campaign.open(weighed_path) as campaign:
        with pytest.raises(InputError, match=r"script\.sheet_unknown"):
            campaign.record({"age": 5}, clean=True, sheet=sheet)
        assert len(campaign.attempts) == 3
