"""``stirfall odds --method ml --lot-effect``: what it answers, for whom, and what it says where it cannot."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import norm

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.cli.odds_lots import lots_json, lots_of_campaign

Run = Callable[..., Any]
Make = Callable[..., Path]
GRADES = ("--parted", "parted", "--pooled", "pooled")
COUNTS = ("--outcome", "clean", "--success", "1")
HEAT = ("--factor", "heat", "--factor", "age:log")


def made_up_rows(seed: int = 4) -> list[dict[str, object]]:
    rng = np.random.default_rng(seed)
    rows: list[dict[str, object]] = []
    for lot, shift in zip("ABCDEF", rng.normal(scale=1.5, size=6), strict=True):
        for place in range(12):
            heat, age = rng.uniform(60, 90), rng.uniform(1, 100)
            clean = rng.random() < expit(0.05 * (heat - 75) + shift)
            pool = rng.random() < expit(1.0 - 0.5 * np.log(age / 10) + shift / 2)
            rows.append(
                {
                    "lot": lot,
                    "bench": "near" if place % 3 else ("far" if lot in "ABC" else "middle"),
                    "heat": round(heat, 2),
                    "age": round(age, 2),
                    "clean": int(clean),
                    "parted": "yes" if clean else "no",
                    "pooled": ("one pool" if pool else "beads") if clean else "not observed",
                }
            )
    return rows


@pytest.fixture
def session(stirfall_command: Run, tmp_path: Path) -> Make:
    """Make a session of the made-up rows, some of whose columns are used."""

    def make(*columns: str) -> Path:
        rows = made_up_rows()
        table = tmp_path / "rows.csv"
        with table.open("w", newline="", encoding="utf-8") as stream:
            writer = csv.DictWriter(stream, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
        path = tmp_path / "made.stirfall"
        made = stirfall_command("new", path, "--from", table, *columns)
        assert made.code == 0, made.err
        return path

    return make


@pytest.fixture
def answer(stirfall_command: Run) -> Callable[..., dict[str, Any]]:
    """Return the JSON of a fit with lots."""

    def ask(path: Path, *options: str, code: int = 0) -> dict[str, Any]:
        told = stirfall_command("odds", path, "--method", "ml", "--lot-effect", "--json", *options)
        assert told.code == code, told.err
        found = json.loads(told.out)
        assert isinstance(found, dict)
        return found

    return ask


def test_each_gate_has_its_own_lots(session: Make, answer: Callable[..., dict[str, Any]]) -> None:
    found = answer(session(*GRADES, "--group", "lot", *HEAT))
    assert [gate["name"] for gate in found["gates"]] == ["parted", "pooled"]
    parted, pooled = found["gates"]
    assert [lot["lot"] for lot in parted["lots"]] == list("ABCDEF")
    assert sum(lot["trials"] for lot in parted["lots"]) == 72
    assert sum(lot["trials"] for lot in pooled["lots"]) == sum(lot["successes"] for lot in parted["lots"])
    assert parted["lot_sd_lower"] < parted["lot_sd"] < parted["lot_sd_upper"]
    assert parted["log_likelihood"] > parted["log_likelihood_without_lots"]


def test_the_probability_is_that_of_a_new_lot(session: Make, answer: Callable[..., dict[str, Any]]) -> None:
    found = answer(session(*COUNTS, "--group", "lot", *HEAT), "--at", "heat=80", "--at", "age=20")
    beta = [entry["estimate"] for entry in found["coefficients"]]
    eta = beta[0] + beta[1] * 80 + beta[2] * np.log(20)
    average = quad(lambda u: expit(eta + u) * norm.pdf(u, scale=found["lot_sd"]), -25, 25)[0]
    assert found["probability"]["mean"] == pytest.approx(average, abs=1e-7)
    assert abs(average - expit(eta)) > 0.005
    assert found["probability"]["lower"] < average < found["probability"]["upper"]
    assert found["probability"]["n"] == 72


def test_a_choice_may_be_what_attempts_share(session: Make, answer: Callable[..., dict[str, Any]]) -> None:
    found = answer(session(*COUNTS, "--factor", "heat", "--factor", "bench", "--lot-effect", "bench"))
    assert found["grouping"] == "bench"
    assert {lot["lot"] for lot in found["lots"]} == {"near", "far", "middle"}
    assert [entry["term"] for entry in found["coefficients"]] == ["(intercept)", "heat"]


def test_where_the_campaign_says_none_the_lots_are_taken(
    session: Make, answer: Callable[..., dict[str, Any]]
) -> None:
    found = answer(session(*COUNTS, "--group", "lot", *HEAT, "--lot-effect", "none"))
    assert found["grouping"] == "lot"
    assert len(found["lots"]) == 6


def test_without_lots_it_says_what_to_do(
    session: Make, answer: Callable[..., dict[str, Any]], stirfall_command: Run
) -> None:
    path = session(*COUNTS, *HEAT)
    found = answer(path, code=1)
    assert found["exists"] is False
    assert found["reason"]["code"] == "lot_ml.no_lots"
    assert "lot_sd" not in found
    assert "coefficients" not in found
    told = stirfall_command("odds", path, "--method", "ml", "--lot-effect")
    assert told.code == 1
    assert "stirfall new --from TABLE --group COLUMN" in told.out


def test_a_spread_of_zero_is_said_to_be_zero(
    stirfall_command: Run, tmp_path: Path, answer: Callable[..., dict[str, Any]]
) -> None:
    table = tmp_path / "even.csv"
    rows = [
        "lot,heat,clean",
        *(f"{lot},{60 + place},{int(place in (1, 2, 5))}" for lot in "ABC" for place in range(6)),
    ]
    table.write_text("\n".join(rows), encoding="utf-8")
    path = tmp_path / "even.stirfall"
    assert stirfall_command("new", path, "--from", table, *COUNTS, "--group", "lot", "--factor", "heat").code == 0
    found = answer(path)
    assert found["exists"] is True
    assert found["lot_sd"] == 0
    assert found["lot_sd_se"] is None
    assert found["reason"]["code"] == "lot_ml.no_spread"
    told = stirfall_command("odds", path, "--method", "ml", "--lot-effect")
    assert found["reason"]["text"] in told.out
    assert "effect of each lot" not in told.out


def test_text_names_the_spread_the_lots_and_the_nodes(session: Make, stirfall_command: Run) -> None:
    path = session(*COUNTS, "--group", "lot", *HEAT)
    told = stirfall_command("odds", path, "--method", "ml", "--lot-effect", "--at", "heat=80", "--at", "age=20")
    assert told.code == 0
    assert "one intercept for each lot" in told.out
    assert "spread between lots" in told.out
    assert "25 nodes" in told.out
    assert "in a new lot" in told.out
    assert all(f"    {lot}: " in told.out for lot in "ABCDEF")


def test_too_few_nodes_are_said_to_be_too_few(stirfall_command: Run, tmp_path: Path) -> None:
    # pairs of single trials that mostly agree: the worst case for one node
    table = tmp_path / "pairs.csv"
    pairs = [(0, 0)] * 20 + [(1, 1)] * 20 + [(0, 1)] * 5
    rows = ["lot,heat,clean"]
    rows += [f"{lot},{60 + 7 * lot % 13},{value}" for lot, pair in enumerate(pairs) for value in pair]
    table.write_text("\n".join(rows), encoding="utf-8")
    path = tmp_path / "pairs.stirfall"
    assert stirfall_command("new", path, "--from", table, *COUNTS, "--group", "lot", "--factor", "heat").code == 0
    few = stirfall_command("odds", path, "--method", "ml", "--lot-effect", "--nodes", "1")
    assert "Use more nodes" in few.out
    many = stirfall_command("odds", path, "--method", "ml", "--lot-effect", "--nodes", "60")
    assert many.code == 0
    assert "Use more nodes" not in many.out


@pytest.mark.parametrize(
    "options",
    [
        ("--lot-effect",),
        ("--method", "firth", "--lot-effect"),
        ("--method", "ml", "--nodes", "9"),
        ("--method", "ml", "--lot-effect", "--lot", "A"),
        ("--method", "ml", "--lot-effect", "--nodes", "0"),
        ("--method", "ml", "--lot-effect", "--nodes", "101"),
    ],
)
def test_options_that_do_not_go_together_are_one_line_and_code_2(
    session: Make, stirfall_command: Run, options: tuple[str, ...]
) -> None:
    told = stirfall_command("odds", session(*COUNTS, "--group", "lot", *HEAT), *options)
    assert told.code == 2
    assert told.out == ""
    assert len(told.err.strip().splitlines()) == 1


def test_a_plain_fit_sets_each_level_against_the_first(session: Make, stirfall_command: Run) -> None:
    path = session(*COUNTS, "--factor", "heat", "--factor", "bench")
    told = stirfall_command("odds", path, "--method", "ml", "--json")
    found = json.loads(told.out)
    effects = {entry["term"]: entry["estimate"] for entry in found["coefficients"]}
    for contrast in found["contrasts"]:
        difference = effects[contrast["term"]] - effects[contrast["against"]]
        assert contrast["estimate"] == pytest.approx(difference, abs=1e-9)
        assert contrast["se"] > 0
    assert len(found["contrasts"]) == 2
    (first,) = found["reference"]["levels"].items()
    assert found["reference"]["estimate"] == pytest.approx(effects["(intercept)"] + effects[": ".join(first)])


def test_jars_may_be_what_attempts_share() -> None:
    rng = np.random.default_rng(8)
    attempts = tuple(
        Attempt(
            f"a{number}",
            number,
            Conditions({"heat": float(rng.uniform(60, 90))}),
            lot_id="one lot",
            jar_id=f"J{number % 5}",
            successes=int(rng.random() < (0.9 if number % 5 < 2 else 0.3)),
        )
        for number in range(60)
    )
    settings = CampaignSettings(title="jars", gates=1, lot_effect="jar")
    state = CampaignState(settings, (Factor("heat", low=60, high=90),), attempts=attempts)
    found = lots_json(lots_of_campaign(state, Conditions({})))
    assert found["grouping"] == "jar"
    assert isinstance(found["lots"], list)
    assert [lot["lot"] for lot in found["lots"]] == [f"J{jar}" for jar in range(5)]
    assert all(lot["trials"] == 12 for lot in found["lots"])
