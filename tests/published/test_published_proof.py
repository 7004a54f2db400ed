"""Counts, lines and risks of proofs against figures that others have published."""

from __future__ import annotations

import numpy as np
import pytest

from stirfall.planning.proof import attempts_needed, sequential_plan
from stirfall.planning.proof_bounds import highest_rate, lowest_rate
from stirfall.planning.proof_lattice import walk
from stirfall.planning.proof_sequential import wald_lines


@pytest.mark.parametrize(
    ("claim", "confidence", "failures", "attempts"),
    [
        # The success run, n = ln(1 - C) / ln R rounded up; NIST TN 2045 tells such counts; figures from memory.
        (0.90, 0.90, 0, 22),
        (0.90, 0.95, 0, 29),
        (0.95, 0.90, 0, 45),
        (0.95, 0.95, 0, 59),
        (0.80, 0.90, 0, 11),
        (0.80, 0.95, 0, 14),
        # codingace.net/statistics/confidence_reliability_sample_size.html, table of examples, seen.
        (0.90, 0.95, 1, 46),
        (0.99, 0.90, 0, 230),
        # Printed in many tables of binomial demonstration tests; from memory.
        (0.90, 0.95, 2, 61),
        # Wilks 1941 (Ann. Math. Stat. 12:91): 95/95 of the first, second and third order; figures from memory.
        (0.95, 0.95, 1, 93),
        (0.95, 0.95, 2, 124),
    ],
)
def test_counts_of_published_tables(claim: float, confidence: float, failures: int, attempts: int) -> None:
    assert attempts_needed(claim, confidence, failures) == attempts


def test_the_lines_of_walds_plan_are_those_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 6.2.6: p0 .01, p1 .10, alpha .05, beta .10; from memory. It accepts at or below
    # the lower line, -0.939 + 0.0397 n, and rejects at or above 1.205 + 0.0397 n.
    lines = wald_lines(claim=0.90, confidence=0.90, good=0.99, risk_of_missing=0.05)
    assert round(lines.slope, 4) == 0.0397
    assert round(lines.shown, 3) == -0.939
    assert round(lines.refused, 3) == 1.205
    plan = sequential_plan(0.90, 0.90, 0.99, 0.05)
    assert plan.lines == lines
    # The same page: with 24 inspected, the acceptance number is 0 and the rejection number 3; from memory.
    assert plan.fewest == 24
    assert (plan.shown_at[24], plan.refused_at[24]) == (0, 3)
    assert plan.refused_at[2] == 2


def test_exact_risks_are_near_walds_approximations() -> None:
    # Wald 1947: at a failure rate that equals the slope s, the chance to be shown is about h2 / (h1 + h2) and the
    # duration about h1 h2 / (s (1 - s)); both neglect by how much a line is overshot.
    plan = sequential_plan(0.90, 0.95, 0.95, 0.05, 2000)
    h1, h2, s = -plan.lines.shown, plan.lines.refused, plan.lines.slope
    assert float(plan.chance_to_show(1 - s)) == pytest.approx(h2 / (h1 + h2), abs=0.03)
    assert float(plan.expected_attempts(1 - s)) == pytest.approx(h1 * h2 / (s * (1 - s)), rel=0.15)


def test_paths_are_counted_as_in_a_published_plan_of_two_stages() -> None:
    # Simon 1989 (Control. Clin. Trials 10:1): 12 first, stop with 1 or fewer, 35 in all, 5 or fewer in the end.
    # Figures: rdrr.io/github/raredd/rawr/man/twostg.test.html, seen: the chance to stop early .6590023, to pass at
    # .1 .09771828, to fail at .3 .09855051, and 19.84295 to expect at .1.
    shown, refused = np.full(36, -1), np.full(36, 99)
    shown[12], shown[35] = 1, 5
    lattice = walk(shown, refused, at=0.2)
    early = lattice.made == 12
    assert lattice.probabilities(0.1)[0, early].sum() == pytest.approx(0.6590023, abs=5e-8)
    assert 1.0 - float(lattice.chance_to_show(0.1)) == pytest.approx(0.09771828, abs=5e-9)
    assert float(lattice.chance_to_show(0.3)) == pytest.approx(0.09855051, abs=1e-6)
    assert float(lattice.expected_attempts(0.1)) == pytest.approx(19.84295, abs=5e-6)


@pytest.mark.parametrize(
    ("failures", "attempts", "low", "high"),
    # Newcombe 1998 (Stat. Med. 17:857), Clopper-Pearson at 95 %; as in the references of the project, from memory.
    [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617)],
)
def test_bounds_of_clopper_and_pearson(failures: int, attempts: int, low: float, high: float) -> None:
    assert lowest_rate(failures, attempts, 0.975) == pytest.approx(low, abs=5e-5)
    assert highest_rate(failures, attempts, 0.975) == pytest.approx(high, abs=5e-5)
