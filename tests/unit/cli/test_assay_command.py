"""``stirfall assay``: each kind as text and as JSON; nothing is told of how such a measurement is made."""

from __future__ import annotations

import json
import re
from pathlib import Path

import click
import pytest

from stirfall.cli.assay import command
from stirfall.reporting.sentences import all_sentences

GUIDE = Path(__file__).parents[3] / "resources" / "guide" / "command_line.md"
KINDS = {
    "titration": ("--mass=0.4±0.0001", "--purity=1±0.0003", "--molar-mass=204.22+-0", "--volume=20±0.02"),
    "base": ("--concentration=0.1±0.0001", "--volume=20±0.02"),
    "gas": ("--volume=500±1", "--temperature=20±0.5", "--pressure=101.3±0.1"),
    "density": (
        "--air=10±0.01",
        "--liquid=1.19±0.01",
        "--liquid-density=855±0",
        "--metal-density=968±0",
        "--solid-density=3580±0",
    ),
    "mean": ("92.1", "92.9", "91.8"),
}


def plain(text: str) -> str:
    return text.replace("\u2009", " ")


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_says_that_it_is_for_trained_people(kind, stirfall_command):
    text = stirfall_command("assay", kind, *KINDS[kind])
    document = json.loads(stirfall_command("assay", kind, *KINDS[kind], "--json").out)
    assert text.code == 0
    assert "trained people" in text.out
    assert "none is given here" in text.out
    assert (document["schema"], document["kind"]) == ("stirfall.assay/1", kind)
    assert "assay.trained_only" in [note["code"] for note in document["notes"]]
    for result in document["results"].values():
        assert result["u"] > 0.0
        assert result["k"] == 1
        assert "(u, k = 1)" in result["text"]


@pytest.mark.parametrize("kind", KINDS)
def test_each_option_is_in_the_guide(kind):
    section = GUIDE.read_text(encoding="utf-8").split("## stirfall assay", 1)[1].split("\n## ", 1)[0]
    assert isinstance(command, click.Group)
    options = [option for each in command.commands[kind].params for option in each.opts if option.startswith("--")]
    assert [option for option in options if f"`{option}" not in section] == []
    assert f"`{kind}`" in section


def test_no_sentence_or_help_tells_how_it_is_done():
    """Arithmetic only: no word of dissolving, quenching, adding to water or other steps of a procedure."""
    texts = [text for code, text in all_sentences().items() if code.startswith("assay.")]
    texts += [each.help or "" for each in command.commands.values()]
    texts += [
        option.help or ""
        for each in command.commands.values()
        for option in each.params
        if isinstance(option, click.Option)
    ]
    told = " ".join(texts).lower()
    steps = r"\b(dissol\w*|quench\w*|react with|drop(ped|s)? into|add (it|the)|ethanol|methanol|propanol|pour\w*)\b"
    assert re.findall(steps, told) == []


def test_gas_and_base_give_metal_and_the_oxidised_share(stirfall_command):
    """1 g of sodium at 523 mL dry (worked by hand); 43.5 mmol of base is all of it."""
    arguments = ("--volume=523.3±0.5", "--temperature=20±0.2", "--pressure=101.3±0.1", "--sample=1±0.001")
    rest = ("--molar-mass=22.98977±0", "--base=43.5±0.1", "--json")
    document = json.loads(stirfall_command("assay", "gas", *arguments, "--dry", *rest).out)
    assert document["results"]["metal"]["value"] == pytest.approx(1.0, abs=1e-3)
    assert document["results"]["oxidised"]["value"] == pytest.approx(0.0, abs=1e-3)
    over_water = json.loads(stirfall_command("assay", "gas", *arguments, "--over-water", *rest).out)
    assert over_water["results"]["metal"]["value"] == pytest.approx(1.0 - 2.34 / 101.3, abs=1e-3)
    asked = stirfall_command("assay", "gas", *arguments, *rest)
    assert "assay.dry_taken" in [note["code"] for note in json.loads(asked.out)["notes"]]


def test_results_that_cannot_be_are_pointed_at(stirfall_command):
    too_much = stirfall_command(
        "assay",
        "gas",
        "--volume=523±1",
        "--temperature=20±0.2",
        "--pressure=101.3±0.1",
        "--dry",
        "--base=40±0.1",
        "--sample=0.8±0.001",
        "--molar-mass=22.99±0",
    )
    assert "more hydrogen than the base allows" in too_much.out
    assert "more than the whole sample" in too_much.out


def test_what_is_unknown_is_said_to_be_unknown(stirfall_command):
    told = stirfall_command("assay", "titration", "--mass=0.4", *KINDS["titration"][1:])
    assert "concentration: 0.09793 mol/L (u unknown)" in plain(told.out)
    assert "standard uncertainty of some input is unknown" in told.out
    assert "No repeatability was given" in told.out
    one = stirfall_command("assay", "mean", "92.1")
    assert "mean: 92.10 % (u unknown), 1 assay" in plain(one.out)
    assert "says nothing about scatter" in one.out
    same = stirfall_command("assay", "mean", "92.1", "92.1")
    assert "agree to the last digit" in same.out


def test_several_assays_have_their_interval(stirfall_command):
    told = plain(stirfall_command("assay", "mean", "92.1", "92.9", "91.8", "--common-u", "0.2").out)
    assert told.startswith("mean: 92.3 ± 0.4 % (u, k = 1), 3 assays")
    assert "standard deviation of one: 0.5686 %" in told
    document = json.loads(stirfall_command("assay", "mean", "92.1", "92.9", "91.8", "--json").out)
    # t(0.975, 2) = 4.303 of the usual tables.
    half = 4.303 * document["s"] / 3**0.5
    assert document["upper"] - document["results"]["mean"]["value"] == pytest.approx(half, rel=1e-3)


def test_purity_by_density_is_only_a_bound(stirfall_command):
    document = json.loads(stirfall_command("assay", "density", *KINDS["density"], "--json").out)
    assert document["bound"] == "at most"
    assert document["detection"] == pytest.approx(0.003, abs=3e-4)
    text = plain(stirfall_command("assay", "density", *KINDS["density"]).out)
    assert "Purity at most" in text
    assert "Less than 0.3 % of solids would not show" in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("titration", "--mass=x", *KINDS["titration"][1:]), "is no measured value"),
        (("titration", "--mass=0±0", *KINDS["titration"][1:]), "must be above zero"),
        (("gas", *KINDS["gas"], "--sample=1±0.1"), "--sample and --molar-mass together"),
        (("gas", *KINDS["gas"], "--base=1±0.1", "--valence=2"), "valence 1 only"),
        (("gas", "--volume=5±1", "--temperature=120±1", "--pressure=101±1", "--over-water"), "Over water"),
        (("density", "--air=1±0", "--liquid=2±0", *KINDS["density"][2:]), "lighter in the liquid"),
        (("mean", "a"), "is not a number"),
    ],
)
def test_what_cannot_be_used_is_said_in_one_line(arguments, said, stirfall_command):
    told = stirfall_command("assay", *arguments)
    assert told.code == 2
    assert said in told.err
    assert told.err.count("\n") == 1
