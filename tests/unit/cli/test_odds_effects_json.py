"""Effects, outcomes and recovery in the answer of ``stirfall odds``."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Masses
from stirfall.session.document import Document

Run = Callable[..., object]
FACTORS = [
    Factor("oil exposure time", unit="h", low=1, high=240, scale="log"),
    Factor("temperature", unit="C", low=145, high=170),
    Factor("speed", unit="1/min", low=20, high=180),
]


def make(path: Path, material: str, **settings) -> Path:
    """Bring in old records: some are older than a superoxide former may be, which nobody could record now."""
    known = CampaignSettings(
        material=MaterialClass.parse(material), melting_point_c=60, oil_flash_c=225, **settings
    )
    attempts = []
    for number, hours in enumerate((1, 2, 4, 8, 12, 24, 24, 48, 96, 200)):
        parted = Parted.YES if hours >= 8 else Parted.NO
        pooled = None if parted is Parted.NO else (Pooled.ONE_POOL if hours < 90 else Pooled.BEADS)
        conditions = Conditions({"oil exposure time": hours, "temperature": 150 + number, "speed": 90})
        masses = Masses(charge_g=20.0, product_g=15.0 + 0.2 * number, beads_g=None)
        attempts.append(Attempt("", 0, conditions, parted=parted, pooled=pooled, masses=masses))
    Document.create(path, known, FACTORS, attempts=attempts).close()
    return path


@pytest.fixture(scope="module")
def weighed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("effects") / "weighed.stirfall", "base metal")


@pytest.fixture(scope="module")
def superoxide(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("superoxide")
    return make(folder / "potassium.stirfall", "superoxide-forming alkali metal")


def answer(stirfall_command: Run, path: Path, *more: str) -> dict:
    return json.loads(stirfall_command("odds", path, "--json", *more).out)


def test_effects_are_sorted_and_say_what_never_varied(stirfall_command: Run, weighed: Path) -> None:
    effects = answer(stirfall_command, weighed)["effects"]
    parted = [effect for effect in effects if effect["gate"] == "parted"]
    assert {effect["factor"] for effect in parted} == {factor.name for factor in FACTORS}
    known = [effect["sign_probability"] for effect in parted if effect["is_known"]]
    assert known == sorted(known, reverse=True)
    speed = next(effect for effect in parted if effect["factor"] == "speed")
    assert (speed["is_known"], speed["odds_factor"], speed["sign"]) == (False, None, None)
    assert "never varied" in speed["text"]
    oil = next(effect for effect in parted if effect["factor"] == "oil exposure time")
    assert oil["step"] == {"kind": "ratio", "size": 2.0, "unit": "h"}
    assert oil["sign"] == 1
    assert 0.9 < oil["sign_probability"] < 1
    assert oil["odds_factor"]["lower"] < oil["odds_factor"]["median"] < oil["odds_factor"]["upper"]
    assert "sure that longer is better" in oil["text"]


def test_outcomes_sum_to_one_here_and_along_the_exposure(stirfall_command: Run, weighed: Path) -> None:
    outcomes = answer(stirfall_command, weighed)["outcomes"]
    names = ("not_parted", "beads", "clean")
    assert sum(outcomes["here"][name]["mean"] for name in names) == pytest.approx(1.0)
    along = outcomes["along"]
    assert (along["factor"], along["unit"], len(along["x"])) == ("oil exposure time", "h", 25)
    for parts in zip(*(along[name]["mean"] for name in names), strict=True):
        assert sum(parts) == pytest.approx(1.0)
    assert along["not_parted"]["mean"][0] > 0.5 > along["not_parted"]["mean"][-1]
    direction = outcomes["direction"]
    total = direction["longer_helps"] + direction["shorter_helps"] + direction["neither_helps"]
    assert 0.9 < total < 1.1
    assert direction["certainty"] in ("sure", "likely", "leaning", "unsure")


def test_one_gate_tells_no_outcomes_apart(stirfall_command: Run, weighed: Path) -> None:
    outcomes = answer(stirfall_command, weighed, "--gates", "one")["outcomes"]
    assert (outcomes["here"], outcomes["along"], outcomes["reason"]) == (None, None, "outcomes.one_gate")
    assert outcomes["direction"] is not None


def test_recovery_and_grams_stand_beside(stirfall_command: Run, weighed: Path) -> None:
    document = answer(stirfall_command, weighed)
    recovery, grams = document["recovery"], document["recovery"]["expected_grams"]
    # Five attempts came out clean, of 20 g each, with 15.6 to 16.4 g of product.
    assert (recovery["n"], recovery["basis"], recovery["without_solids"]) == (5, "charge", 5)
    assert 0.7 < recovery["mean"]["lower"] < 0.8 < recovery["mean"]["upper"] < 0.9
    assert grams["charge_g"] == 20.0
    expected = document["probability"]["mean"] * recovery["mean"]["mean"] * 20.0
    assert grams["mean"] == pytest.approx(expected)
    assert grams["lower"] < grams["mean"] < grams["upper"] < 20.0


def test_the_text_says_it_in_words(stirfall_command: Run, weighed: Path) -> None:
    text = stirfall_command("odds", weighed).out
    assert "How such an attempt may come out:" in text
    assert "What moves the odds of parting, the surest first:" in text
    assert "Each doubling of oil exposure time multiplies the odds of parting by" in text
    assert "To be expected per attempt:" in text


def test_a_superoxide_former_is_never_told_to_wait(stirfall_command: Run, superoxide: Path) -> None:
    text = stirfall_command("odds", superoxide).out
    document = answer(stirfall_command, superoxide)
    assert document["outcomes"]["direction"] is None
    told = text + " ".join(effect["text"] for effect in document["effects"])
    assert "longer is better" not in told
    assert "longer exposure helps" not in told
    assert "longer exposure should help" not in told
    assert "lean to a longer exposure" not in told
    assert "For this metal no longer exposure is ever advised" in told
