"""Published fits with a random intercept, reproduced by the library and through the command line.

``data/SOURCES.md`` says where each table comes from. Each figure says whether it was seen where it is printed or is
quoted from memory; all were recomputed, and agree to the last printed digit.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_ml import LotMlFit, fit_lot_ml

DATA = Path(__file__).parent / "data"


def table(name: str) -> list[dict[str, float]]:
    with (DATA / f"{name}.csv").open(newline="") as stream:
        return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(stream)]


def gate_rows(X: list, k: list, n: list, lots: list) -> GateRows:
    _, group = np.unique(lots, return_inverse=True)
    matrix = np.array(X, dtype=float)
    return GateRows(
        matrix,
        np.array(k, dtype=float),
        np.array(n, dtype=float),
        group.astype(np.intp),
        int(group.max()) + 1,
        np.arange(len(matrix)),
    )


def agrees(values: object, printed: str) -> bool:
    """Whether numbers agree with printed ones, blank between them, to half a unit of each last digit."""
    pairs = zip(np.atleast_1d(values), printed.split(), strict=True)
    return all(abs(value - float(text)) <= 0.501 * 10.0 ** -len(text.partition(".")[2]) for value, text in pairs)


def cbpp() -> GateRows:
    rows = table("cbpp")
    periods = [[1.0, *(float(row["period"] == period) for period in (2, 3, 4))] for row in rows]
    columns = [[row[name] for row in rows] for name in ("incidence", "size", "herd")]
    return gate_rows(periods, *columns)


def wheeze_answers() -> Iterator[tuple[int, float, float, float]]:
    """Yield child, age (years above nine), smoking mother, and wheeze of 537 children, pattern by pattern."""
    child = 0
    for pattern in table("wheeze"):
        for _ in range(int(pattern["children"])):
            child += 1
            for age in (7, 8, 9, 10):
                yield child, age - 9.0, pattern["smoke"], pattern[f"age{age}"]


@pytest.fixture(scope="module")
def wheeze() -> GateRows:
    child, age, smoke, wheezes = (list(column) for column in zip(*wheeze_answers(), strict=True))
    rows = [[1.0, *pair] for pair in zip(age, smoke, strict=True)]
    return gate_rows(rows, wheezes, [1.0] * len(rows), child)


def test_cattle_in_herds_with_nine_nodes() -> None:
    # cbpp: the documentation of lme4, glmer(..., nAGQ = 9); printed figures from memory, recomputed. Its standard
    # errors come from the Hessian in coefficients and standard deviation together: this settles which are meant.
    fit = fit_lot_ml(cbpp(), nodes=9)
    assert agrees(fit.estimate, "-1.39923 -.99140 -1.12782 -1.57947")
    assert agrees(fit.se, ".2335 .3068 .3268 .4276")
    assert agrees([fit.lot_sd, fit.log_likelihood], ".64752 -91.98337")
    assert fit.lot_sd_lower < fit.lot_sd < fit.lot_sd_upper


def test_cattle_in_herds_by_laplace() -> None:
    # cbpp: the documentation of lme4, glmer(...) with its default of one node; from memory, recomputed
    fit = fit_lot_ml(cbpp(), nodes=1)
    assert agrees([fit.lot_sd, fit.deviance], ".64226 184.0526")


def test_clinics_with_five_nodes() -> None:
    # Beitler & Landis 1985 (data seen in the documentation of the NLMIXED procedure, which chooses five adaptive
    # nodes); its printed estimates, with the variance of the clinics, are quoted from memory and recomputed
    rows = table("clinics")
    columns = [[row[name] for row in rows] for name in ("cured", "patients", "clinic")]
    fit = fit_lot_ml(gate_rows([[1.0, row["drug"]] for row in rows], *columns), nodes=5)
    assert agrees(fit.estimate, "-1.1974 .7385")
    assert agrees(fit.se, ".5561 .3004")
    assert agrees([fit.lot_sd**2, 2 * fit.lot_sd * fit.lot_sd_se], "1.9591 1.1903")


def test_germination_with_a_lot_of_one_plate_each() -> None:
    # Crowder 1978 (data); maximum likelihood as Breslow & Clayton 1993 and the BUGS examples quote it, from memory.
    # The intercept is left out: the copies remembered print -.546 or -.548, and the maximum is at -.5484.
    rows = table("germination")
    X = [[1.0, row["seed"], row["extract"], row["seed"] * row["extract"]] for row in rows]
    columns = [[row[name] for row in rows] for name in ("germinated", "seeds", "plate")]
    fit = fit_lot_ml(gate_rows(X, *columns))
    assert agrees(fit.estimate[1:3], ".097 1.337")
    assert fit.estimate[3] == pytest.approx(-0.811, abs=1e-3)
    assert agrees(fit.se, ".167 .278 .237 .385")
    assert agrees([fit.lot_sd, fit.lot_sd_se], ".236 .110")


def check_wheeze(fit: LotMlFit) -> None:
    # 25 nodes; printed by lme4 on the public companion pages of Wang, Yue & Faraway, Bayesian Regression Modeling
    # with INLA (seen)
    assert agrees(fit.estimate, "-3.1015 -0.1756 0.3986")
    assert agrees(fit.se, "0.2191 0.0677 0.2731")
    assert agrees([fit.lot_sd**2, fit.lot_sd, fit.log_likelihood, fit.deviance], "4.69 2.16 -797.6 1595.3")


def test_wheezing_children_with_25_nodes(wheeze: GateRows) -> None:
    fit = fit_lot_ml(wheeze, nodes=25)
    check_wheeze(fit)
    assert abs(fit.nodes_gap) < 1e-3


def test_wheezing_children_where_laplace_is_wrong(wheeze: GateRows) -> None:
    # One node; printed by lme4 in public course notes and on the same companion pages (seen). Four binary answers
    # per child are too few for Laplace: intercept off by .27 (1.2 standard errors), sd by .18, deviance by 5.4.
    fit = fit_lot_ml(wheeze, nodes=1)
    assert agrees(fit.estimate, "-3.374 -0.177 0.415")
    assert agrees(fit.se, "0.275 0.068 0.287")
    assert agrees([fit.lot_sd**2, fit.lot_sd, fit.log_likelihood, fit.deviance], "5.49 2.34 -794.9 1589.9")
    # and the fit knows: with more nodes its log-likelihood falls by more than 3
    assert fit.nodes_gap < -3


@pytest.fixture
def told(stirfall_command: Callable[..., object], tmp_path: Path) -> Callable[..., dict[str, object]]:
    """Make a session of a table and return the JSON of its fit with lots."""

    def call(source: Path, *columns: str, options: tuple[str, ...] = ()) -> dict[str, object]:
        session = tmp_path / f"{source.stem}.stirfall"
        made = stirfall_command("new", session, "--from", source, *columns)
        assert made.code == 0, made.err
        said = stirfall_command("odds", session, "--method", "ml", "--lot-effect", "--json", *options)
        assert said.code == 0, said.err
        answer = json.loads(said.out)
        assert isinstance(answer, dict)
        return answer

    return call


CBPP = ("--outcome", "incidence", "--trials", "size", "--group", "herd", "--factor", "period:choice")


def test_cattle_through_the_command_line(told: Callable[..., dict]) -> None:
    answer = told(DATA / "cbpp.csv", *CBPP, options=("--nodes", "9"))
    contrasts = answer["contrasts"]
    assert [(entry["term"], entry["against"]) for entry in contrasts] == [
        (f"period: {period}", "period: 1") for period in (2, 3, 4)
    ]
    assert answer["reference"]["levels"] == {"period": "1"}
    assert agrees(
        [answer["reference"]["estimate"], *(entry["estimate"] for entry in contrasts)],
        "-1.39923 -.99140 -1.12782 -1.57947",
    )
    assert agrees([answer["reference"]["se"], *(entry["se"] for entry in contrasts)], ".2335 .3068 .3268 .4276")
    assert agrees([answer["lot_sd"], answer["log_likelihood"]], ".64752 -91.98337")
    assert answer["deviance"] == pytest.approx(-2 * answer["log_likelihood"])
    assert answer["grouping"] == "lot"
    assert answer["nodes"] == 9
    assert [lot["lot"] for lot in answer["lots"]] == [str(herd) for herd in range(1, 16)]
    assert sum(lot["trials"] for lot in answer["lots"]) == 842


def test_cattle_by_laplace_through_the_command_line(told: Callable[..., dict]) -> None:
    answer = told(DATA / "cbpp.csv", *CBPP, options=("--nodes", "1"))
    assert agrees([answer["lot_sd"], answer["deviance"]], ".64226 184.0526")


def test_clinics_through_the_command_line(told: Callable[..., dict]) -> None:
    columns = ("--outcome", "cured", "--trials", "patients", "--group", "clinic", "--factor", "drug")
    answer = told(DATA / "clinics.csv", *columns, options=("--nodes", "5"))
    assert agrees([entry["estimate"] for entry in answer["coefficients"]], "-1.1974 .7385")
    assert agrees([entry["se"] for entry in answer["coefficients"]], ".5561 .3004")
    assert agrees(answer["lot_sd"] ** 2, "1.9591")


def test_germination_through_the_command_line(told: Callable[..., dict]) -> None:
    columns = ("--outcome", "germinated", "--trials", "seeds", "--group", "plate")
    factors = ("--factor", "seed", "--factor", "extract", "--product", "seed", "extract")
    answer = told(DATA / "germination.csv", *columns, *factors)
    assert agrees([entry["estimate"] for entry in answer["coefficients"]][1:3], ".097 1.337")
    assert agrees([entry["se"] for entry in answer["coefficients"]], ".167 .278 .237 .385")
    assert agrees(answer["lot_sd"], ".236")


def test_wheezing_children_through_the_command_line(told: Callable[..., dict], tmp_path: Path) -> None:
    source = tmp_path / "wheeze.csv"
    with source.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(["child", "age", "smoke", "wheezes"])
        writer.writerows(wheeze_answers())
    columns = ("--outcome", "wheezes", "--success", "1", "--group", "child", "--factor", "age", "--factor", "smoke")
    answer = told(source, *columns)
    assert agrees([entry["estimate"] for entry in answer["coefficients"]], "-3.1015 -0.1756 0.3986")
    assert agrees([entry["se"] for entry in answer["coefficients"]], "0.2191 0.0677 0.2731")
    assert agrees([answer["lot_sd"] ** 2, answer["deviance"]], "4.69 1595.3")
