"""``stirfall proof``, proofs in scripts, and what a recipe says of them."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from stirfall import Campaign, Factor
from stirfall.bench.errors import InputError

Run = Callable[..., object]
AT = ("--at", "sample age=24", "--at", "temperature=150")
RECIPE = {"sample age": 24, "temperature": 150}


@pytest.fixture(scope="module")
def _graded_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("proof") / "proof.stirfall"
    factors = [
        Factor("sample age", unit="h", low=1, high=240, scale="log"),
        Factor("temperature", unit="C", low=145, high=170),
    ]
    with Campaign.new(
        path, factors=factors, material="base metal", melting_point_c=110, oil_flash_c=230
    ) as campaign:
        for number in range(8):
            campaign.record({"sample age": 6 * (number + 1), "temperature": 150 + number}, clean=number != 3)
    return path


@pytest.fixture
def session(_graded_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(_graded_once, tmp_path / "proof.stirfall"))


def plain(text: str) -> str:
    return text.replace("\u2009", " ")


class TestCommand:
    def test_the_plans_and_their_chances_are_told(self, session: Path, stirfall_command: Run) -> None:
        result = stirfall_command("proof", session, "plan", *AT)
        assert result.code == 0
        text = plain(result.out)
        assert "At sample age 24 h, temperature 150 °C" in text
        for words in ("1. 29 attempts, all of them clean", "2. 46 attempts", "3. 61 attempts", "4. In sequence"):
            assert words in text
        assert text.count("Started now it would succeed with a chance of") == 4

    def test_the_plan_as_json_follows_what_was_asked(self, session: Path, stirfall_command: Run) -> None:
        asked = (
            "--claim",
            "80",
            "--confidence",
            "0.9",
            "--rule",
            "sequential",
            "--good",
            "95%",
            "--risk",
            "5",
            "--exact",
        )
        found = json.loads(stirfall_command("proof", session, "plan", *AT, *asked, "--lot", "new", "--json").out)
        assert found["schema"] == "stirfall.proof/1"
        (plan,) = found["choices"]["plans"]
        assert (plan["rule"], plan["claim"], plan["confidence"]) == ("sequential", 0.8, 0.9)
        assert plan["sequence"]["good"] == pytest.approx(0.95)
        assert plan["sequence"]["missing"] <= 0.05
        assert plan["false_pass"] <= 0.1
        chances = [point["chance"] for point in plan["characteristic"]]
        assert chances == sorted(chances)
        assert plan["chance"]["lower"] <= plan["chance"]["mean"] <= plan["chance"]["upper"]
        assert found["choices"]["lots"] == [None]
        assert found["choices"]["averaged_over_control"] is False
        assert found["choices"]["tolerances"] == {"sample age": 2.4, "temperature": 3.0}

    def test_it_is_started_shown_and_given_up(self, session: Path, stirfall_command: Run) -> None:
        assert stirfall_command("proof", session, "show").code == 1
        asked = (
            "--claim",
            "0.8",
            "--confidence",
            "80",
            "--failures",
            "1",
            "--title",
            "first",
            "--tolerance",
            "temperature=2",
        )
        result = stirfall_command("proof", session, "start", *AT, *asked)
        assert result.code == 0
        assert "Open: 0 of 14 attempts made, 0 clean. 14 to go, of which 1 may fail." in result.out
        again = stirfall_command("proof", session, "start", *AT)
        assert (again.code, "A proof is running" in again.err) == (2, True)
        shown = json.loads(stirfall_command("proof", session, "show", "--json").out)
        (proof,) = shown["proofs"]
        assert (proof["title"], proof["verdict"], proof["remaining"]) == ("first", "open", 14)
        assert proof["recipe"] == RECIPE
        assert proof["tolerances"] == {"sample age": 2.4, "temperature": 2.0}
        assert 0 < shown["from_here"]["chance"]["mean"] < 1
        assert stirfall_command("proof", session, "end").code == 2
        ended = stirfall_command("proof", session, "end", "--reason", "The oil ran out.")
        assert (ended.code, "Given up before its first attempt: The oil ran out." in ended.out) == (0, True)
        assert stirfall_command("proof", session, "end", "--reason", "Again.").code == 2

    @pytest.mark.parametrize(
        ("asked", "words"),
        [
            (("--failures", "0", "--failures", "1"), "A proof has one rule"),
            (("--attempts", "20"), "It takes 29 attempts"),
            (("--tolerance", "temperature"), "is no tolerance"),
            (("--tolerance", "weather=3"), "is no tolerance"),
            (("--claim", "much"), "no share"),
            (("--at", "temperature=240"), "outside the operating limits"),
        ],
    )
    def test_what_cannot_be_started_is_refused_and_nothing_is_kept(
        self, session: Path, stirfall_command: Run, asked: tuple[str, ...], words: str
    ) -> None:
        at = AT if "--at" not in asked else AT[:2]
        result = stirfall_command("proof", session, "start", *at, *asked)
        assert (result.code, words in result.err) == (2, True)
        with Campaign.open(session) as campaign:
            assert campaign.proof() is None


class TestScripts:
    def test_a_proof_is_planned_started_marked_and_told(self, session: Path) -> None:
        with Campaign.open(session) as campaign:
            choices = campaign.proof_plan(RECIPE, claim=0.8, confidence=0.8, failures=(0, 1), attempts=None)
            assert [each.plan.attempts for each in choices.outlooks[:2]] == [8, 14]
            assert campaign.proof() is None
            with pytest.raises(InputError, match=r"proof\.none_runs") as caught:
                campaign.record(RECIPE, clean=True, proof=True)
            assert "No proof is running" in caught.value.__notes__[0]
            started = campaign.start_proof(RECIPE, claim=0.8, confidence=0.8, tolerances={"Temperature": 1})
            assert (started.verdict, started.standing.proof.tolerances["temperature"]) == ("open", 1.0)
            with pytest.raises(InputError, match=r"proof\.off_recipe"):
                campaign.record({"sample age": 24, "temperature": 152}, clean=True, proof=True)
            campaign.record(RECIPE, clean=True)
            for _ in range(8):
                campaign.record(RECIPE, clean=True, proof=True)
            report = campaign.proof()
            assert report is not None
            assert report.verdict == "shown"
            assert "Shown: 8 of 8 attempts at this recipe were clean." in report.text[0]
            with pytest.raises(InputError, match=r"proof\.over"):
                campaign.record(RECIPE, clean=True, proof=True)
            with pytest.raises(InputError, match=r"proof\.rule_unknown"):
                campaign.start_proof(RECIPE, rule="luck")
            second = campaign.start_proof(
                RECIPE, rule="sequential", claim=0.7, confidence=0.8, good=0.9, title="lines"
            )
            assert second.standing.plan.rule.value == "sequential"
            assert campaign.end_proof("No time.").verdict == "given up"
            assert [each.verdict for each in campaign.proofs()] == ["shown", "given up"]


class TestRecipe:
    def test_every_proof_of_the_recipe_is_told_and_failures_are_not_hidden(self, session: Path, root: Path) -> None:
        schema = json.loads((root / "resources" / "schemas" / "recipe.schema.json").read_text(encoding="utf-8"))
        with Campaign.open(session) as campaign:
            bare = campaign.recipe(RECIPE)
            assert bare.json()["proofs"] == []
            assert "No proof was made of this recipe." in bare.markdown()
            campaign.start_proof(RECIPE, claim=0.8, confidence=0.8, title="first")
            campaign.record(RECIPE, clean=False, proof=True)
            campaign.start_proof(RECIPE, claim=0.8, confidence=0.8, title="second")
            for _ in range(8):
                campaign.record(RECIPE, clean=True, proof=True)
            campaign.start_proof(RECIPE, claim=0.9, confidence=0.95)
            campaign.record(RECIPE, clean=True, proof=True)
            recipe = campaign.recipe({"sample age": 25, "temperature": 150})
            elsewhere = campaign.recipe({"sample age": 100, "temperature": 150})
        document = recipe.json()
        jsonschema.validate(document, schema)
        assert [each["verdict"] for each in document["proofs"]] == ["not shown", "shown", "open"]
        assert [each["interval_is_result"] for each in document["proofs"]] == [True, True, False]
        assert document["proofs"][1]["lower_bound_percent"] == 81
        text = plain(recipe.markdown())
        assert "## Proof" in text
        assert "Not shown: 1 of 1 attempt at this recipe failed" in text
        assert "The reliability is at least 80 % with 80 % confidence (lower bound 81 %, n = 8)." in text
        assert "Open: 1 of 29 attempts made, 1 clean." in text
        assert elsewhere.json()["proofs"] == []
