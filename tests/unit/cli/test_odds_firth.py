"""Odds by penalised likelihood, and what maximum likelihood says when the outcomes are separated."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stirfall.inference.firth import fit_firth

Run = Callable[..., Any]


def test_two_gates_each_have_their_numbers_and_the_probability_is_their_product(
    stirfall_command: Run, graded: Path
) -> None:
    told = stirfall_command(
        "odds", graded, "--method", "firth", "--json", "--at", "sample age=1 d", "--at", "temperature=155"
    )
    assert told.code == 0, told.err
    answer = json.loads(told.out)
    assert [gate["name"] for gate in answer["gates"]] == ["parted", "pooled"]
    product = 1.0
    for gate in answer["gates"]:
        assert [entry["term"] for entry in gate["coefficients"]] == ["(intercept)", "sample age", "temperature"]
        for entry in gate["coefficients"]:
            assert entry["lower"] < entry["estimate"] < entry["upper"]
            assert 0 <= entry["p"] <= 1
        beta = [entry["estimate"] for entry in gate["coefficients"]]
        product /= 1.0 + np.exp(-(beta[0] + beta[1] * np.log(24.0) + beta[2] * 155.0))
    told = answer["probability"]
    assert told["mean"] == pytest.approx(product)
    assert told["lower"] < told["mean"] < told["upper"]
    assert told["n"] == 10


def test_the_numbers_are_those_of_the_table_in_its_own_units(stirfall_command: Run, graded: Path) -> None:
    answer = json.loads(stirfall_command("odds", graded, "--method", "firth", "--json").out)
    age = np.array([1, 2, 4, 8, 12, 24, 24, 48, 96, 200.0])
    X = np.column_stack([np.ones(10), np.log(age), 150 + np.arange(10)])
    fit = fit_firth(X, age >= 8, 1)
    parted = answer["gates"][0]
    for place, entry in enumerate(parted["coefficients"]):
        for key in ("estimate", "se", "lower", "upper", "p"):
            assert entry[key] == pytest.approx(getattr(fit, key)[place], rel=1e-6)
    assert parted["penalised_log_likelihood"] == pytest.approx(fit.penalised_log_likelihood)


def made(stirfall_command: Run, folder: Path, rows: list[str], *columns: str) -> Path:
    table = folder / "trials.csv"
    table.write_text("age,stir,clean\n" + "\n".join(rows) + "\n")
    session = folder / "trials.stirfall"
    told = stirfall_command(
        "new", session, "--from", table, *columns, "--outcome", "clean", "--success", ">0", "--factor", "age=h"
    )
    assert told.code == 0, told.err
    return session


def test_a_choice_has_all_its_levels_and_they_sum_to_zero(stirfall_command: Run, tmp_path: Path) -> None:
    rows = ["1,swirl,0", "2,press,1", "3,fold,0", "4,swirl,1", "5,press,1", "6,fold,1", "7,swirl,0"]
    session = made(stirfall_command, tmp_path, rows, "--factor", "stir")
    answer = json.loads(stirfall_command("odds", session, "--method", "firth", "--json").out)
    levels = {entry["term"]: entry for entry in answer["coefficients"] if entry["term"].startswith("stir")}
    assert set(levels) == {"stir: swirl", "stir: press", "stir: fold"}
    assert sum(entry["estimate"] for entry in levels.values()) == pytest.approx(0.0, abs=1e-9)
    # the same fit with the levels as columns of 1, 0 and -1, which leaves fold out
    stir = np.array([0, 1, 2, 0, 1, 2, 0])
    code = np.array([[1, 0], [0, 1], [-1, -1]])[stir]
    fit = fit_firth(np.column_stack([np.ones(7), np.arange(1, 8), code]), [0, 1, 0, 1, 1, 1, 0], 1)
    for place, name in ((2, "stir: swirl"), (3, "stir: press")):
        for key in ("estimate", "se", "lower", "upper", "p"):
            assert levels[name][key] == pytest.approx(getattr(fit, key)[place], rel=1e-6)
    assert answer["penalised_log_likelihood"] == pytest.approx(fit.penalised_log_likelihood)


def test_columns_that_moved_together_are_named_and_no_number_is_printed(
    stirfall_command: Run, tmp_path: Path
) -> None:
    rows = ["1,2,0", "2,4,1", "3,6,0", "4,8,1", "5,10,1"]
    session = made(stirfall_command, tmp_path, rows, "--factor", "stir")
    told = stirfall_command("odds", session, "--method", "firth", "--json")
    assert told.code == 1
    answer = json.loads(told.out)
    assert answer["exists"] is False
    assert answer["reason"]["code"] == "firth.collinear"
    assert "stir, age" in answer["reason"]["text"]
    assert "coefficients" not in answer
    said = stirfall_command("odds", session, "--method", "firth")
    assert said.code == 1
    assert answer["reason"]["text"] in said.out


@pytest.mark.parametrize("clean", ["0", "1"])
def test_outcomes_all_alike_still_have_an_answer(stirfall_command: Run, tmp_path: Path, clean: str) -> None:
    session = made(stirfall_command, tmp_path, [f"{age},x,{clean}" for age in (1, 2, 5)], "--factor", "stir")
    answer = json.loads(stirfall_command("odds", session, "--method", "firth", "--json", "--at", "age=2").out)
    assert answer["never_varied"] == ["stir"]
    assert answer["exists"] is True
    share = answer["probability"]["mean"]
    assert (share > 0.5) == (clean == "1")
    told = stirfall_command("odds", session, "--method", "ml", "--json")
    assert json.loads(told.out)["separation"]["code"] == "separation.all_alike"


def test_an_empty_session_has_no_numbers_and_says_what_to_do(stirfall_command: Run, tmp_path: Path) -> None:
    session = tmp_path / "empty.stirfall"
    assert stirfall_command("new", session).code == 0
    told = stirfall_command("odds", session, "--method", "firth", "--json")
    assert told.code == 1
    answer = json.loads(told.out)
    gates = answer.get("gates", [answer])
    assert all(gate["reason"]["code"] == "firth.no_rows" for gate in gates)
    assert stirfall_command("odds", session, "--method", "firth").code == 1


def test_a_missing_condition_is_named(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("odds", graded, "--method", "firth", "--at", "sample age=24")
    assert told.code == 2
    assert "temperature" in told.err


def test_maximum_likelihood_says_what_separates_each_gate(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("odds", graded, "--method", "ml", "--json")
    assert told.code == 1
    parted, pooled = json.loads(told.out)["gates"]
    assert parted["separation"]["code"] == "separation.by_number"
    assert {*parted["separation"]["factors"], *parted["separation"]["also"]} == {"sample age", "temperature"}
    assert parted["separation"]["complete"] is True
    assert "parted" in parted["separation"]["text"]
    assert "one pool" in pooled["separation"]["text"]
    assert all(entry["direction"] in ("up", "down", "either") for entry in parted["separation"]["infinite"])
    assert "coefficients" not in parted
    said = stirfall_command("odds", graded, "--method", "ml").out
    assert "no finite estimate" in said


def test_a_lot_is_for_the_posterior_only(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("odds", graded, "--method", "firth", "--lot", "L1")
    assert told.code == 2
    assert "posterior" in told.err
