"""Firth's penalised likelihood on the endometrial data, through the command line and in arrays.

Heinze & Schemper 2002, Statistics in Medicine 21:2409 (data and method). The figures are those that the R package
logistf prints for HG ~ NV + PI + EH; they were handed on as seen there.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stirfall.inference.firth import fit_firth

Run = Callable[..., Any]
TABLE = Path(__file__).parent / "data" / "endometrial.csv"

# term, estimate, standard error, lower and upper profile limit (95 %), p of the penalised likelihood-ratio test
PRINTED = (
    ("(intercept)", 3.77455951, 1.488692, 1.0825371, 7.2092805, 0.004194),
    ("NV", 2.92927330, 1.550764, 0.6097244, 7.8546317, 0.009124),
    ("PI", -0.03475175, 0.039578, -0.1244587, 0.0404555, 0.387482),
    ("EH", -2.60416387, 0.776018, -4.3651833, -1.2327211, 2.50e-5),
)
KEYS = ("estimate", "se", "lower", "upper", "p")


@pytest.fixture
def session(stirfall_command: Run, tmp_path: Path) -> Path:
    path = tmp_path / "endometrial.stirfall"
    factors = [word for name in ("NV", "PI", "EH") for word in ("--factor", name)]
    made = stirfall_command("new", path, "--from", TABLE, "--outcome", "HG", "--success", "1", *factors)
    assert made.code == 0, made.err
    return path


def arrays() -> tuple[np.ndarray, np.ndarray]:
    with TABLE.open(newline="", encoding="utf-8") as stream:
        rows = [[float(cell) for cell in row] for row in list(csv.reader(stream))[1:]]
    table = np.array(rows)
    return np.column_stack([np.ones(len(table)), table[:, :3]]), table[:, 3]


def test_the_command_line_reproduces_the_printed_table(stirfall_command: Run, session: Path) -> None:
    told = stirfall_command("odds", session, "--method", "firth", "--json")
    assert told.code == 0, told.err
    answer = json.loads(told.out)
    assert (answer["schema"], answer["method"], answer["exists"]) == ("stirfall.odds/1", "firth", True)
    assert (answer["gate_count"], answer["level"], answer["never_varied"]) == (1, 0.95, [])
    assert [entry["term"] for entry in answer["coefficients"]] == [row[0] for row in PRINTED]
    for entry, (_, *printed) in zip(answer["coefficients"], PRINTED, strict=True):
        assert [entry[key] for key in KEYS] == pytest.approx(printed, abs=1e-4)
    assert answer["coefficients"][3]["p"] == pytest.approx(2.50e-5, abs=0.01e-5)
    assert answer["penalised_log_likelihood"] == pytest.approx(fit_firth(*arrays(), 1).penalised_log_likelihood)


def test_the_arrays_reproduce_it_to_the_convergence_of_the_printed_figures() -> None:
    fit = fit_firth(*arrays(), 1)
    for place, (_, *printed) in enumerate(PRINTED):
        mine = [getattr(fit, key)[place] for key in KEYS]
        assert mine == pytest.approx(printed, abs=2e-6)


def test_the_penalised_log_likelihood_is_its_definition() -> None:
    X, y = arrays()
    fit = fit_firth(X, y, 1)
    p = 1.0 / (1.0 + np.exp(-(X @ fit.estimate)))
    information = X.T @ (X * (p * (1 - p))[:, None])
    plain = np.log(np.where(y == 1, p, 1 - p)).sum()
    assert fit.penalised_log_likelihood == pytest.approx(plain + 0.5 * math.log(np.linalg.det(information)))


def test_a_probability_comes_with_a_profile_interval(stirfall_command: Run, session: Path) -> None:
    at = [word for point in ("NV=1", "PI=10", "EH=1.5") for word in ("--at", point)]
    answer = json.loads(stirfall_command("odds", session, "--method", "firth", "--json", *at).out)
    X, y = arrays()
    eta = fit_firth(X - np.array([0, 1, 10, 1.5]), y, 1)  # the intercept is then the log-odds there
    expected = [1 / (1 + math.exp(-value[0])) for value in (eta.estimate, eta.lower, eta.upper)]
    told = answer["probability"]
    assert [told["mean"], told["lower"], told["upper"]] == pytest.approx(expected, abs=1e-6)
    assert (told["level"], told["n"]) == (0.95, 79)


def test_maximum_likelihood_names_the_infinite_coefficient(stirfall_command: Run, session: Path) -> None:
    # NV is quasi-completely separated and goes to plus infinity, the others are finite: Heinze & Schemper 2002
    told = stirfall_command("odds", session, "--method", "ml", "--json")
    assert told.code == 1
    answer = json.loads(told.out)
    assert answer["reason"]["code"] == "ml.quasi_separation"
    separation = answer["separation"]
    assert separation["complete"] is False
    assert separation["infinite"] == [{"term": "NV", "direction": "up"}]
    assert separation["finite"] == ["(intercept)", "PI", "EH"]
    assert separation["factors"] == ["NV"]
    said = stirfall_command("odds", session, "--method", "ml").out
    assert separation["text"] in said
    assert separation["means"] in said


def test_the_text_says_the_same_in_words(stirfall_command: Run, session: Path) -> None:
    said = stirfall_command("odds", session, "--method", "firth")
    assert said.code == 0
    assert "penalised likelihood (Firth)" in said.out
    assert "NV: 2.9293, 0.60972 to 7.8546, standard error 1.5508, p 0.00912" in said.out
    assert "p below 0.0001" in said.out
