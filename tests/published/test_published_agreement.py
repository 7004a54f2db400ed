"""Kappa against worked examples that were printed; both tables are quoted from memory."""

from __future__ import annotations

import pytest

from stirfall.inference.agreement import agreement


def pairs_of(table: list[list[int]]) -> list[tuple[str, str]]:
    return [
        ("abc"[row], "abc"[column])
        for row, counts in enumerate(table)
        for column, count in enumerate(counts)
        for _ in range(count)
    ]


def test_the_example_of_cohen() -> None:
    # Cohen, J. (1960), Educational and Psychological Measurement 20:37-46: shares of 200 subjects,
    # p = 0.70, e = 0.41, kappa = 0.492. From memory.
    found = agreement(pairs_of([[88, 14, 18], [10, 40, 10], [2, 6, 12]]))
    assert found.n == 200
    assert found.observed is not None
    assert found.observed.mean == pytest.approx(0.70)
    assert found.kappa == pytest.approx(0.492, abs=5e-4)


def test_the_example_of_fleiss() -> None:
    # Fleiss, J. L. (1981), Statistical Methods for Rates and Proportions, 2nd ed., chapter 13: two raters of 100
    # subjects, kappa = 0.68 with standard error 0.087, so 0.51 to 0.85 at 95 %. From memory.
    found = agreement(pairs_of([[75, 1, 4], [5, 4, 1], [0, 0, 10]]), level=0.95)
    assert found.kappa == pytest.approx(0.68, abs=5e-3)
    # Another method of another width: it must agree to about a tenth.
    assert found.lower == pytest.approx(0.51, abs=0.1)
    assert found.upper == pytest.approx(0.85, abs=0.1)
