"""The posterior as the command line tells it, against quadrature that shares no code with the program."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

DATA = Path(__file__).parent / "data"
AT_F = 31.0


def _quadrature() -> dict[str, float]:
    """Integrate the posterior of the O-ring table over a grid.

    Damaged of six against temperature (Dalal, Fowlkes & Hoadley 1989, JASA 84:945), the temperature mapped to
    [-1, 1] over the range of the data, with priors N(0, 2.5^2) on the intercept and N(0, 2^2) on the slope.
    """
    table = np.loadtxt(DATA / "orings_field_joints.csv", delimiter=",", skiprows=1)
    temperature, trials, hits = table.T
    low, high = temperature.min(), temperature.max()

    def mapped(value: float | np.ndarray) -> float | np.ndarray:
        return 2.0 * (value - low) / (high - low) - 1.0

    intercept, slope = np.meshgrid(np.linspace(-9.0, 3.0, 1201), np.linspace(-8.0, 5.0, 1301), indexing="ij")
    log_density = -0.5 * (intercept / 2.5) ** 2 - 0.5 * (slope / 2.0) ** 2
    for x, n, k in zip(mapped(temperature), trials, hits, strict=True):
        eta = intercept + slope * x
        log_density += k * eta - n * np.logaddexp(0.0, eta)
    weight = np.exp(log_density - log_density.max())
    weight /= weight.sum()
    share = 1.0 / (1.0 + np.exp(-(intercept + slope * mapped(AT_F))))
    order = np.argsort(share, axis=None)
    steps = np.cumsum(weight.ravel()[order])
    bounds = share.ravel()[order][np.searchsorted(steps, [0.025, 0.975])]
    mean_intercept, mean_slope = float((weight * intercept).sum()), float((weight * slope).sum())
    return {
        "intercept": mean_intercept,
        "intercept sd": float(np.sqrt((weight * (intercept - mean_intercept) ** 2).sum())),
        "slope": mean_slope,
        "slope sd": float(np.sqrt((weight * (slope - mean_slope) ** 2).sum())),
        "mean": float((weight * share).sum()),
        "lower": float(bounds[0]),
        "upper": float(bounds[1]),
    }


@pytest.fixture
def answer(stirfall_command: Callable[..., object], tmp_path: Path) -> dict[str, object]:
    session = tmp_path / "rings.stirfall"
    columns = ("--outcome", "n_distressed", "--trials", "n_rings", "--factor", "temp_F=F")
    made = stirfall_command("new", session, "--from", DATA / "orings_field_joints.csv", *columns)
    assert made.code == 0, made.err
    told = stirfall_command("odds", session, "--at", f"temp_F={AT_F} F", "--json")
    assert told.code == 0, told.err
    document = json.loads(told.out)
    assert isinstance(document, dict)
    return document


def test_coefficients_and_probability_agree_with_quadrature(answer: dict[str, object]) -> None:
    exact = _quadrature()
    (gate,) = answer["gates"]  # type: ignore[misc]
    intercept, slope = gate["coefficients"]["internal"]
    # Monte-Carlo noise of about 0.02 posterior sd at the effective sizes reported; four of them as the bound.
    assert intercept["mean"] == pytest.approx(exact["intercept"], abs=0.08 * exact["intercept sd"])
    assert slope["mean"] == pytest.approx(exact["slope"], abs=0.08 * exact["slope sd"])
    assert intercept["sd"] == pytest.approx(exact["intercept sd"], rel=0.05)
    assert slope["sd"] == pytest.approx(exact["slope sd"], rel=0.05)
    probability = answer["first_answer"]  # the one form that the quadrature is of
    assert isinstance(probability, dict)
    assert probability["mean"] == pytest.approx(exact["mean"], abs=0.01)
    assert probability["lower"] == pytest.approx(exact["lower"], abs=0.02)
    assert probability["upper"] == pytest.approx(exact["upper"], abs=0.02)
    assert probability["level"] == 0.95
    assert probability["n"] == 23 * 6


def test_the_health_of_the_draws_is_told_and_sound(answer: dict[str, object]) -> None:
    (gate,) = answer["gates"]  # type: ignore[misc]
    assert gate["effective_sample_size"] > 1000
    assert gate["pareto_k"] < 0.7
    assert (gate["successes"], gate["trials"]) == (9, 138)


def test_own_units_and_the_internal_scale_give_the_same_predictor(answer: dict[str, object]) -> None:
    (gate,) = answer["gates"]  # type: ignore[misc]
    internal = [entry["mean"] for entry in gate["coefficients"]["internal"]]
    own = [entry["mean"] for entry in gate["coefficients"]["own_units"]]
    # The range of the data is 53 to 81 F.
    mapped = 2.0 * (AT_F - 53.0) / (81.0 - 53.0) - 1.0
    assert internal[0] + internal[1] * mapped == pytest.approx(own[0] + own[1] * AT_F)


def test_a_point_far_from_the_data_is_marked(answer: dict[str, object]) -> None:
    assert answer["outside_tried"] == ["temp_F"]
    assert answer["conditions_source"] == "given"
