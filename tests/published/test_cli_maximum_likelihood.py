"""Published logistic regressions through the command line: a table becomes a session, the session is fitted.

The printed figures are quoted from memory of the sources named beside each and were recomputed independently; all
are reproduced to the last printed digit.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True)
class Published:
    """One fit as it is printed: term, estimate and standard error, deviance and degrees of freedom."""

    coefficients: tuple[tuple[str, str, str], ...]
    deviance: str
    df: int
    null_deviance: str | None = None


def _agrees(value: float, printed: str) -> bool:
    """Whether a value agrees with a printed figure to its last digit.

    Half a unit of the last digit, and a fiftieth of that for fits whose printed figure came from one Newton step
    before full convergence.
    """
    decimals = len(printed.partition(".")[2])
    return abs(value - float(printed)) <= 0.51 * 10.0**-decimals


def _check(answer: dict[str, object], published: Published) -> None:
    coefficients = answer["coefficients"]
    assert isinstance(coefficients, list)
    assert [entry["term"] for entry in coefficients] == [term for term, _, _ in published.coefficients]
    for entry, (term, estimate, se) in zip(coefficients, published.coefficients, strict=True):
        assert _agrees(entry["estimate"], estimate), (term, entry["estimate"], estimate)
        assert _agrees(entry["se"], se), (term, entry["se"], se)
    assert _agrees(answer["deviance"], published.deviance), answer["deviance"]  # type: ignore[arg-type]
    assert answer["df"] == published.df
    if published.null_deviance is not None:
        assert _agrees(answer["null_deviance"], published.null_deviance)  # type: ignore[arg-type]


@pytest.fixture
def fit(stirfall_command: Callable[..., object], tmp_path: Path) -> Callable[..., dict[str, object]]:
    """Make a session of a table and return the JSON of its maximum-likelihood fit."""

    def call(table: Path, *columns: str, at: tuple[str, ...] = ()) -> dict[str, object]:
        session = tmp_path / f"{table.stem}.stirfall"
        made = stirfall_command("new", session, "--from", table, *columns)
        assert made.code == 0, made.err
        points = [word for point in at for word in ("--at", point)]
        told = stirfall_command("odds", session, "--method", "ml", "--gates", "one", "--json", *points)
        assert told.code == 0, told.err
        answer = json.loads(told.out)
        assert isinstance(answer, dict)
        assert answer["schema"] == "stirfall.odds/1"
        return answer

    return call


def test_vasoconstriction(fit: Callable[..., dict[str, object]]) -> None:
    # Finney 1947, Biometrika 34:320 (data); Pregibon 1981, Annals of Statistics 9:705 (fit on both logs)
    answer = fit(
        DATA / "vasoconstriction.csv",
        *("--outcome", "Y", "--success", "1", "--factor", "Volume:log", "--factor", "Rate:log"),
    )
    published = Published(
        (("(intercept)", "-2.8754", "1.3208"), ("Volume", "5.1793", "1.8649"), ("Rate", "4.5617", "1.8380")),
        "29.2274",
        36,
        "54.0398",
    )
    _check(answer, published)


def test_o_rings_as_any_incident_or_none(fit: Callable[..., dict[str, object]]) -> None:
    # Dalal, Fowlkes & Hoadley 1989, JASA 84:945: each launch once, any incident (total above zero) against F
    answer = fit(
        DATA / "orings_incidents.csv",
        *("--outcome", "Total", "--success", ">0", "--factor", "Temperature=F"),
    )
    published = Published(
        (("(intercept)", "15.0429", "7.3786"), ("Temperature", "-0.23216", "0.10824")), "20.3152", 21, "28.2672"
    )
    _check(answer, published)


def test_o_rings_as_damaged_of_six(fit: Callable[..., dict[str, object]]) -> None:
    # Dalal, Fowlkes & Hoadley 1989, JASA 84:945: damaged of six field joints per launch against temperature in F
    answer = fit(
        DATA / "orings_field_joints.csv",
        *("--outcome", "n_distressed", "--trials", "n_rings", "--factor", "temp_F=F"),
        at=("temp_F=31 F",),
    )
    published = Published(
        (("(intercept)", "5.0850", "3.0525"), ("temp_F", "-0.11560", "0.04702")), "18.0863", 21, "24.2304"
    )
    _check(answer, published)
    probability = answer["probability"]
    assert isinstance(probability, dict)
    assert _agrees(probability["mean"], "0.8178")
    assert probability["n"] == 23 * 6


def test_the_temperature_may_be_asked_for_in_another_unit(fit: Callable[..., dict[str, object]]) -> None:
    # 31 F is -0.555... C by the definition of the scales
    columns = ("--outcome", "n_distressed", "--trials", "n_rings", "--factor", "temp_F=F")
    answer = fit(DATA / "orings_field_joints.csv", *columns, at=("temp_F=-0.5555555556 C",))
    probability = answer["probability"]
    assert isinstance(probability, dict)
    assert _agrees(probability["mean"], "0.8178")


def test_spector_and_mazzeo(fit: Callable[..., dict[str, object]], tmp_path: Path) -> None:
    # Spector & Mazzeo 1980, J. Economic Education 11:37 (data, as statsmodels has it); Greene, Econometric Analysis
    from statsmodels.datasets import spector

    frame = spector.load_pandas().data
    table = tmp_path / "spector.csv"
    with table.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(frame.columns)
        writer.writerows(frame.to_numpy().tolist())
    answer = fit(
        table,
        *("--outcome", "GRADE", "--success", "1", "--factor", "GPA", "--factor", "TUCE", "--factor", "PSI"),
    )
    published = Published(
        (
            ("(intercept)", "-13.0213", "4.9313"),
            ("GPA", "2.8261", "1.2629"),
            ("TUCE", "0.09516", "0.14155"),
            ("PSI", "2.3787", "1.0646"),
        ),
        "25.7793",
        28,
    )
    _check(answer, published)


def test_beetles_in_groups(fit: Callable[..., dict[str, object]]) -> None:
    # Bliss 1935, Annals of Applied Biology 22:134 (data); Dobson, Introduction to Generalized Linear Models (fit)
    answer = fit(
        DATA / "beetles.csv",
        *("--outcome", "killed", "--trials", "n", "--factor", "log10_dose"),
    )
    published = Published(
        (("(intercept)", "-60.7175", "5.1807"), ("log10_dose", "34.2703", "2.9121")), "11.2322", 6, "284.2025"
    )
    _check(answer, published)


def test_a_separated_table_gives_no_numbers(stirfall_command: Callable[..., object], tmp_path: Path) -> None:
    # Heinze & Schemper 2002, Statistics in Medicine 21:2409: NV is quasi-completely separated
    session = tmp_path / "endometrial.stirfall"
    factors = [word for name in ("NV", "PI", "EH") for word in ("--factor", name)]
    table = DATA / "endometrial.csv"
    made = stirfall_command("new", session, "--from", table, "--outcome", "HG", "--success", "1", *factors)
    assert made.code == 0, made.err
    told = stirfall_command("odds", session, "--method", "ml", "--json")
    assert told.code == 1
    answer = json.loads(told.out)
    assert answer["exists"] is False
    assert answer["reason"]["code"].startswith("ml.")
    assert "coefficients" not in answer
    assert "deviance" not in answer
    said = stirfall_command("odds", session, "--method", "ml")
    assert said.code == 1
    assert answer["reason"]["text"] in said.out
