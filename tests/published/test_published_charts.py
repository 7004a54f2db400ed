"""Charts over time against what the NIST handbook, Lucas and Crosier, and Champ and Woodall published."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from stirfall.inference.charts import individuals, moving_ranges, proportions, run_signals
from stirfall.inference.charts_runs import cusum_run_length, ewma_run_length, rules_run_length
from stirfall.inference.charts_sums import ewma, tabular_cusum

DATA = Path(__file__).parent / "data"


def column(name: str, key: str) -> np.ndarray:
    with (DATA / name).open(encoding="utf-8", newline="") as raw:
        return np.array([float(row[key]) for row in csv.DictReader(raw)])


def test_individuals_and_moving_range_chart_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2, flow rate of ten batches; data typed from memory, the limits were verified.
    values = column("nist_individuals.csv", "value")
    chart, ranges = individuals(values), moving_ranges(values)
    assert chart.centre[0] == pytest.approx(50.81)
    assert ranges.mean == pytest.approx(1.87778, abs=5e-6)
    assert chart.lower[0] == pytest.approx(45.8159, abs=5e-5)
    assert chart.upper[0] == pytest.approx(55.8041, abs=5e-5)
    assert run_signals(chart.scores) == ()


def test_p_chart_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 6.3.3.2, 30 wafers of 50 chips; data typed from memory, the limits were verified.
    n = np.full(30, 50.0)
    chart = proportions(column("nist_wafers.csv", "fraction") * n, n)
    assert chart.centre[0] == pytest.approx(0.23133, abs=5e-6)
    assert chart.lower[0] == pytest.approx(0.05243, abs=5e-6)
    assert chart.upper[0] == pytest.approx(0.41024, abs=5e-6)
    beyond = [signal.at + 1 for signal in run_signals(chart.scores) if signal.rule == "beyond_3"]
    assert beyond == [15, 23]


# NIST/SEMATECH e-Handbook 6.3.2.3, twenty samples around 325 with h = 4.1959 and k = 0.3175; from memory.
CUSUM_DATA = (
    *(324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600),
    *(324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350),
)
CUSUM_HIGH = (0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04)
CUSUM_LOW = (0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0)


def test_tabular_cusum_of_the_handbook() -> None:
    found = tabular_cusum(CUSUM_DATA, target=325.0, sd=1.0, allowance=0.3175, limit=4.1959)
    assert found.high == pytest.approx(CUSUM_HIGH, abs=0.011)  # the printed columns are rounded at each step
    assert found.low == pytest.approx(CUSUM_LOW, abs=0.011)
    assert found.alarms == ((13, 1),)  # sample 14 is the first above the limit, and all after it stay there
    assert found.since == (12,)


def test_fast_initial_response_of_lucas_and_crosier() -> None:
    # Lucas and Crosier 1982, Technometrics 24:199, table 5, as a later text book prints it; seen. h 5, k 0.5.
    values = (0.8, 1.9, 1.4, 2.0, 1.1, 0.7, 2.6)
    plain = tabular_cusum(values, target=0.0, sd=1.0)
    fast = tabular_cusum(values, target=0.0, sd=1.0, head_start=0.5)
    assert plain.high == pytest.approx((0.3, 1.7, 2.6, 4.1, 4.7, 4.9, 7.0))
    assert fast.high == pytest.approx((2.8, 4.2, 5.1, 6.6, 7.2, 7.4, 9.5))
    assert (plain.alarms[0], fast.alarms[0]) == ((6, 1), (2, 1))


# NIST/SEMATECH e-Handbook 6.3.2.4, lambda 0.3, centre 50, s 2.0539; from memory.
EWMA_DATA = (
    *(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5),
    *(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1),
)
EWMA_PRINTED = (
    *(50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33),
    *(50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99),
)


def test_ewma_of_the_handbook() -> None:
    found = ewma(EWMA_DATA, centre=50.0, sd=2.0539, weight=0.3)
    assert found.values == pytest.approx(EWMA_PRINTED, abs=0.011)
    # The handbook prints the limits of a long run; ours are exact and reach them from inside.
    assert found.upper[-1] == pytest.approx(52.5884, abs=1e-3)
    assert found.lower[-1] == pytest.approx(47.4115, abs=1e-3)
    assert (np.diff(found.upper) > 0).all()
    assert found.alarms == ()


@pytest.mark.parametrize(
    ("limit", "shift", "printed"),
    [
        # NIST/SEMATECH e-Handbook 6.3.2.3.1, one-sided run lengths at k = 0.5; from memory.
        (4.0, 0.0, 336.0),
        (4.0, 0.5, 26.6),
        (4.0, 1.0, 8.38),
        (4.0, 2.0, 3.34),
        (4.0, 4.0, 1.71),
        (5.0, 0.0, 930.0),
        (5.0, 0.5, 38.0),
        (5.0, 1.0, 10.4),
        (5.0, 2.0, 4.01),
        (5.0, 4.0, 2.01),
    ],
)
def test_run_lengths_of_a_cusum(limit: float, shift: float, printed: float) -> None:
    assert cusum_run_length(shift, limit=limit, two_sided=False) == pytest.approx(printed, rel=0.005)


@pytest.mark.parametrize(
    ("rules", "printed"),
    [
        # Champ and Woodall 1987, Technometrics 29:393, table 1, with nothing changed; from memory.
        ((1,), 370.40),
        ((1, 2), 225.44),
        ((1, 3), 166.05),
        ((1, 4), 152.73),
        ((1, 2, 3, 4), 91.75),
    ],
)
def test_run_lengths_of_the_run_rules(rules: tuple[int, ...], printed: float) -> None:
    assert rules_run_length(0.0, rules) == pytest.approx(printed, abs=0.005)


def test_run_lengths_of_an_ewma() -> None:
    # Lucas and Saccucci 1990, Technometrics 32:1, designs with 500 points between false alarms; from memory.
    assert ewma_run_length(0.0, weight=0.2, width=2.962) == pytest.approx(500, rel=0.01)
    assert ewma_run_length(0.0, weight=0.1, width=2.814) == pytest.approx(500, rel=0.01)
    assert ewma_run_length(1.0, weight=0.2, width=2.962) == pytest.approx(10.5, rel=0.01)
    assert ewma_run_length(1.0, weight=0.1, width=2.814) == pytest.approx(10.3, rel=0.01)
