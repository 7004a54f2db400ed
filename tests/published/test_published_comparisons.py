"""Intervals, exact tests and counts of attempts for two groups against figures that others have published."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from stirfall.inference.attempts_needed import needed_for_means, needed_for_shares
from stirfall.inference.proportions import (
    Stratum,
    barnard,
    boschloo,
    fisher,
    newcombe_hybrid,
    score_difference,
    stratified,
    wilson,
)
from stirfall.inference.two_means import permuted, welch


@pytest.mark.parametrize(
    ("k", "n", "lower", "upper"),
    [
        # Newcombe 1998, Statistics in Medicine 17:857, table I, method 3; 81/263 and 15/148 recomputed, printed
        # figures from memory; 0/20 and 1/29 seen as printed in several public test suites.
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_interval_of_a_share(k: int, n: int, lower: float, upper: float) -> None:
    found = wilson(k, n)
    assert (found.lower, found.upper) == pytest.approx((lower, upper), abs=5.1e-5)


# Newcombe 1998, Statistics in Medicine 17:873, table II, examples (a) to (h): counts, method 10 (hybrid of Wilson),
# method 5 (Mee) and method 6 (Miettinen-Nurminen); seen as transcribed in public test suites that cite the table.
TABLE_II = [
    ((56, 70, 48, 80), (0.0524, 0.3339), (0.0533, 0.3377), (0.0528, 0.3382)),
    ((9, 10, 3, 10), (0.1705, 0.8090), (0.1821, 0.8370), (0.1700, 0.8406)),
    ((6, 7, 2, 7), (0.0582, 0.8062), (0.0544, 0.8478), (0.0342, 0.8534)),
    ((5, 56, 0, 29), (-0.0381, 0.1926), (-0.0313, 0.1926), (-0.0326, 0.1933)),
    ((0, 10, 0, 20), (-0.1611, 0.2775), (-0.1611, 0.2775), (-0.1658, 0.2844)),
    ((0, 10, 0, 10), (-0.2775, 0.2775), (-0.2775, 0.2775), (-0.2879, 0.2879)),
    ((10, 10, 0, 20), (0.6791, 1.0000), (0.7225, 1.0000), (0.7156, 1.0000)),
    ((10, 10, 0, 10), (0.6075, 1.0000), (0.6777, 1.0000), (0.6636, 1.0000)),
]


@pytest.mark.parametrize(("counts", "hybrid", "mee", "nurminen"), TABLE_II)
def test_intervals_of_a_difference_of_shares(
    counts: tuple[int, int, int, int],
    hybrid: tuple[float, float],
    mee: tuple[float, float],
    nurminen: tuple[float, float],
) -> None:
    found = (
        newcombe_hybrid(*counts),
        score_difference(*counts),
        score_difference(*counts, method="miettinen_nurminen"),
    )
    for span, printed in zip(found, (hybrid, mee, nurminen), strict=True):
        assert (span.lower, span.upper) == pytest.approx(printed, abs=5.1e-5)


def test_fishers_tea_tasting() -> None:
    # Fisher 1935, The Design of Experiments, chapter 2: 3 of the 4 cups named rightly.
    assert fisher(3, 4, 1, 4).greater == pytest.approx(17 / 70, abs=1e-12)


def test_barnards_test() -> None:
    # The vaccine trial of Chan 1998, Statistics in Medicine 17:1385, 7 of 15 against 12 of 15: the documentation of
    # SciPy's barnard_exact prints the statistic -1.894 and p 0.03407. That figure leaves out a table that is just
    # as extreme, 3 of 15 against 8 of 15 (in whole fractions z squared is 750/209 for both), because it differs in
    # the last binary digit. With it p is 0.03411; both are 0.0341.
    found = barnard(7, 15, 12, 15)
    assert found.statistic == pytest.approx(-1.894, abs=5e-4)
    assert found.less == pytest.approx(0.03407, abs=4e-5)
    assert barnard(3, 15, 8, 15).statistic == pytest.approx(found.statistic, abs=1e-12)


def test_boschloos_test() -> None:
    # SciPy's documentation of boschloo_exact, a survey of professors (74 of 117) and scientists (31 of 63): the
    # statistic 0.0483 and p 0.0355.
    found = boschloo(74, 117, 31, 63)
    assert found.statistic == pytest.approx(0.0483, abs=5.1e-5)
    assert found.greater == pytest.approx(0.0355, abs=1e-4)


def test_the_exact_test_within_strata() -> None:
    # Rabbits and penicillin (Mantel 1963, Journal of the American Statistical Association 58:690), the data of R's
    # documentation of mantelhaen.test: exact p 0.040 two-sided and 0.020 for a higher cure rate without delay; a
    # public test suite prints 0.0399449.
    counts = [(0, 6, 0, 5), (3, 6, 0, 6), (6, 6, 2, 6), (5, 6, 6, 6), (2, 2, 5, 5)]
    found = stratified([Stratum(str(place), *each) for place, each in enumerate(counts)])
    assert found is not None
    assert found.p == pytest.approx(0.0399449, abs=5e-8)
    assert found.greater == pytest.approx(0.020, abs=5e-4)


def test_welchs_interval() -> None:
    # Hours of sleep gained with two drugs, "Student" 1908 (Biometrika 6:1), the two groups taken as independent, as
    # R's documentation of t.test does: t = -1.8608, 95 % interval -3.3654832 to 0.2054832; from memory.
    first = (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0)
    second = (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4)
    found = welch(first, second)
    assert found is not None
    assert (found.lower, found.upper) == pytest.approx((-3.3654832, 0.2054832), abs=5e-7)


def test_permutations_of_two_means() -> None:
    # Survival of mice in days, Efron & Tibshirani 1993, An Introduction to the Bootstrap, chapter 15: of 1000
    # random permutations 132 gave a difference of means as large as 30.63 or larger; from memory.
    treated, control = (94, 197, 16, 38, 99, 141, 23), (52, 104, 146, 10, 50, 31, 40, 27, 46)
    found = permuted(treated, control)
    assert found is not None
    assert found.exact
    assert found.arrangements == 11_440
    assert found.value == pytest.approx(30.63, abs=0.01)
    assert found.greater == pytest.approx(0.132, abs=3 * np.sqrt(0.132 * 0.868 / 1000))


@pytest.mark.parametrize(("effect", "per_group"), [(0.2, 394), (0.5, 64), (0.8, 26)])
def test_attempts_for_a_difference_of_means(effect: float, per_group: int) -> None:
    # Cohen 1988, Statistical Power Analysis for the Behavioral Sciences, table 2.4.1: 393 (by interpolation), 64
    # and 26 per group for small, medium and large effects at power .80, two-sided .05; from memory.
    found = needed_for_means(effect, 1.0)
    assert found is not None
    assert abs(found - per_group) <= 1


def test_attempts_for_a_difference_of_shares() -> None:
    # 50 against 60 %: 387 or 388 per group at power .80, two-sided .05 (Fleiss 1981, chapter 3, without the
    # correction for continuity; from memory: 388). 65 against 45 % needs about 97 by the same formula; an exact
    # test needs a few more.
    assert needed_for_shares(0.55, 0.10) == pytest.approx(388, abs=1)
    assert needed_for_shares(0.55, 0.20) in range(97, 107)
    needed = [needed_for_shares(0.5, difference) or 0 for difference in (0.2, 0.3, 0.4, 0.6)]
    assert all(more > fewer for more, fewer in pairwise(needed))
