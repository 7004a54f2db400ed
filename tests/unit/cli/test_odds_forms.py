"""Forms and lots in the answer of ``stirfall odds``: the keys of the JSON, the lot that is asked for, the lines."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.cli.odds_forms import forms_json, forms_lines, lot_of, lots_json, lots_lines, partly_lines
from stirfall.scripting import Campaign
from stirfall.session.analysis import analyse

Run = Callable[..., Any]
GUIDE = Path(__file__).parents[3] / "resources" / "guide" / "command_line.md"
AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG)
FORM_KEYS = {
    "form",
    "gates",
    "weight",
    "pinned",
    "log_score",
    "log_score_se",
    "behind",
    "behind_se",
    "pareto_k",
    "log_marginal",
}


def campaign(count: int = 18, **settings: object) -> CampaignState:
    rows = []
    for number in range(count):
        pooled = Pooled.ONE_POOL if number % 3 else Pooled.BEADS
        grade = {"parted": Parted.NO} if number % 5 == 0 else {"parted": Parted.YES, "pooled": pooled}
        rows.append(
            Attempt(
                f"a{number}",
                number + 1,
                Conditions({"age": 1.5 + 5.0 * (number % 7)}),
                lot_id=f"L{number % 3 + 1}",
                jar_id=f"J{number % 2 + 1}",
                **grade,
            )
        )
    return CampaignState(CampaignSettings(**settings), (AGE,), attempts=tuple(rows))


@pytest.fixture(scope="module")
def analysis():
    return analyse(campaign(), refined=True)


def answer(run: Run, path: Path, *more: str) -> dict[str, Any]:
    return json.loads(run("odds", path, "--json", *more).out)


def test_the_forms_stand_in_json_best_first(analysis):
    found = forms_json(analysis)
    assert set(found) == {"differ", "candidates"}
    assert all(set(each) == FORM_KEYS for each in found["candidates"])
    scores = [each["log_score"] for each in found["candidates"]]
    assert scores == sorted(scores, reverse=True)
    assert sum(each["weight"] for each in found["candidates"]) == pytest.approx(1.0)
    assert found["candidates"][0]["behind"] == 0
    assert {each["form"] for each in found["candidates"]} == {
        "two gates, straight",
        "two gates, hump in age at gate 1",
        "two gates, hump in age at gate 2",
        "one gate, straight",
        "one gate, hump in age",
    }
    assert {each["gates"] for each in found["candidates"]} == {1, 2}
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_what_one_attempt_cannot_tell_is_null():
    for count in (0, 1):
        for each in forms_json(analyse(campaign(count), refined=True))["candidates"]:
            assert (each["log_score_se"], each["behind_se"]) == (None, None)


def test_the_first_answer_has_no_candidates():
    first = analyse(campaign())
    assert forms_json(first) == {"differ": False, "candidates": []}
    assert lots_json(first)["effects"] == []


def test_the_lots_stand_in_json_per_gate(analysis):
    found = lots_json(analysis)
    assert set(found) == {"grouping", "answer_for", "known", "spread", "effects"}
    assert (found["grouping"], found["answer_for"], found["known"]) == ("lot", None, ["L1", "L2", "L3"])
    assert set(found["spread"]) <= {"clean", "parted", "pooled"}
    assert found["spread"]
    for spread in found["spread"].values():
        assert 0 < spread["lower"] < spread["mean"] < spread["upper"]
    for effect in found["effects"]:
        assert set(effect) == {"gate", "lot", "attempts", "mean", "lower", "upper"}
        assert effect["lower"] < effect["mean"] < effect["upper"]
    assert lots_json(analysis.for_lot("L2"))["answer_for"] == "L2"


def test_every_key_is_in_the_guide():
    text = GUIDE.read_text(encoding="utf-8")
    for key in FORM_KEYS | {
        "forms",
        "differ",
        "lots",
        "grouping",
        "answer_for",
        "known",
        "spread",
        "effects",
        "stage",
    }:
        assert f"`{key}`" in text, key
    assert "`--lot NAME`" in text


@pytest.mark.parametrize("name", ["L2", "l2", "  L2 "])
def test_a_lot_is_found_by_its_name_in_any_case(analysis, name):
    assert lot_of(analysis, name).lot == "L2"


def test_no_lot_asked_for_is_a_new_one(analysis):
    assert lot_of(analysis, None) is analysis


def test_an_unknown_lot_is_refused_with_the_known_ones(analysis):
    with pytest.raises(InputError) as caught:
        lot_of(analysis, "L9")
    assert caught.value.code == "odds.lot_unknown"
    assert caught.value.params == {"name": "L9", "known": "L1, L2, L3"}


@pytest.mark.parametrize("settings", [{"lot_effect": "none"}, {"lot_effect": "nothing of the kind"}])
def test_where_no_lots_are_told_apart_none_can_be_asked_for(settings):
    with pytest.raises(InputError) as caught:
        lot_of(analyse(campaign(**settings), refined=True), "L1")
    assert caught.value.code == "odds.no_lots"


def test_the_lines_name_every_form_with_its_weight(analysis):
    lines = forms_lines(analysis)
    shown = [line for line in lines if "weight" in line]
    assert len(shown) == len(analysis.forms)
    for line, score in zip(shown, analysis.forms, strict=True):
        assert re.search(r"weight \d{1,2} %", line)
        assert ("best" in line) == (score.behind == 0)
        assert "{" not in line
    assert any(line.startswith("  Two gates, hump in age at gate 1: weight") for line in shown)
    assert not analysis.forms_differ
    assert "18 attempts" in lines[-1]


def test_a_pinned_form_says_so():
    pinned = analyse(campaign(form="one gate, straight"), refined=True)
    shown = [line for line in forms_lines(pinned) if "pinned" in line]
    assert len(shown) == 1
    assert shown[0].startswith("  One gate, straight: weight 99 %, pinned")
    assert [each["pinned"] for each in forms_json(pinned)["candidates"]].count(True) == 1


def test_the_lines_say_for_which_lot_the_answers_are(analysis):
    new, known = lots_lines(analysis), lots_lines(analysis.for_lot("L2"))
    assert "new lot" in new[1]
    assert "lot L2" in known[1]
    assert new[2:] == known[2:]
    for line, effect in zip(new[2:], analysis.lots, strict=True):
        assert line.startswith(f"  {effect.lot}: odds of ")
        assert re.search(r"× \S+ \(\S+ to \S+\), \d+ attempts?$", line)


def test_jars_are_called_jars():
    by_jar = analyse(campaign(lot_effect="jar"), refined=True)
    assert "new jar" in lots_lines(by_jar)[1]
    assert "jar J2" in lots_lines(lot_of(by_jar, "J2"))[1]


def test_without_lots_there_are_no_lines():
    assert lots_lines(analyse(campaign(lot_effect="none"), refined=True)) == []


@pytest.mark.parametrize(("partly", "words"), [("failed", None), ("success", "as parted"), ("ordinal", "between")])
def test_an_unusual_reading_of_partly_parted_is_told(partly, words):
    lines = partly_lines(campaign(partly=partly))
    assert lines == [] if words is None else words in lines[0]


def test_the_command_answers_for_a_new_lot_and_for_a_known_one(stirfall_command: Run, graded: Path) -> None:
    at = ("--at", "sample age=24", "--at", "temperature=155")
    new = answer(stirfall_command, graded, *at)
    known = answer(stirfall_command, graded, *at, "--lot", "l1")
    assert (new["stage"], new["lots"]["answer_for"], known["lots"]["answer_for"]) == ("refined", None, "L1")
    assert new["lots"]["known"] == known["lots"]["known"] == ["L2", "L1"]
    assert new["forms"] == known["forms"]
    assert new["first_answer"] == known["first_answer"]
    assert new["probability"] != known["probability"]
    for found in (new, known):
        assert 0 < found["probability"]["lower"] < found["probability"]["mean"] < found["probability"]["upper"] < 1
    with Campaign.open(graded, read_only=True) as opened:
        told = opened.probability({"sample age": 24, "temperature": 155}, lot="L1")
    assert known["probability"]["mean"] == pytest.approx(told.mean)


def test_the_text_of_the_command_holds_the_lines(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("odds", graded, "--lot", "L2")
    assert told.code == 0
    assert "These answers are for lot L2." in told.out
    assert "Forms of the model" in told.out
    assert "These answers are for a new lot" in stirfall_command("odds", graded).out


def test_the_command_refuses_an_unknown_lot_in_one_line(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("odds", graded, "--lot", "L7")
    assert (told.code, told.out) == (2, "")
    assert "L7" in told.err
    assert "L2, L1" in told.err
    assert len(told.err.strip().splitlines()) == 1


def test_the_command_refuses_a_lot_where_there_are_none(stirfall_command: Run, tmp_path: Path) -> None:
    path = tmp_path / "plain.stirfall"
    with Campaign.new(path, factors=[AGE], gates=1) as made:
        for age in (2, 20, 50):
            made.record({"age": age}, clean=age > 10)
    told = stirfall_command("odds", path, "--lot", "L1", "--at", "age=5")
    assert told.code == 2
    assert len(told.err.strip().splitlines()) == 1
    assert answer(stirfall_command, path, "--at", "age=5")["lots"]["known"] == []


def test_a_level_named_in_the_conditions_is_answered_for(stirfall_command: Run, tmp_path: Path) -> None:
    path = tmp_path / "benches.stirfall"
    bench = Factor("bench", levels=("near", "far"))
    with Campaign.new(path, factors=[AGE, bench], gates=1, lot_effect="bench") as made:
        for number in range(12):
            made.record({"age": 3 + number, "bench": bench.levels[number % 2]}, clean=number % 2 == 0)
    near = answer(stirfall_command, path, "--at", "age=5", "--at", "bench=near")
    far = answer(stirfall_command, path, "--at", "age=5", "--at", "bench=far")
    assert (near["lots"]["grouping"], near["lots"]["answer_for"]) == ("bench", "near")
    assert near["probability"]["mean"] > far["probability"]["mean"]


def test_scores_of_rough_forms_are_called_rough(analysis):
    rough = tuple(replace(score, pareto_k=0.9) for score in analysis.forms)
    changed = replace(analysis, refined=replace(analysis.refined, forms=rough))
    shown = [line for line in forms_lines(changed) if "weight" in line]
    assert all("Pareto k 0.9: rough" in line for line in shown)
