"""Agreement of two gradings: exact cases, invariances, an independent program, coverage."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import proportion_confint

from stirfall.bench.errors import InputError
from stirfall.inference.agreement import Agreement, agreement, score_interval

CLASSES = ("a", "b", "c", "d")
some_pairs = st.lists(st.tuples(st.sampled_from(CLASSES), st.sampled_from(CLASSES)), min_size=1, max_size=30)


def pairs_of(table: list[list[int]]) -> list[tuple[str, str]]:
    return [
        (CLASSES[row], CLASSES[column])
        for row, counts in enumerate(table)
        for column, count in enumerate(counts)
        for _ in range(count)
    ]


def test_full_agreement_over_two_classes_is_kappa_one_with_a_lower_bound_below_it() -> None:
    found = agreement([("a", "a"), ("b", "b"), ("a", "a"), ("b", "b"), ("b", "b")])
    assert found.kappa == pytest.approx(1.0)
    assert found.upper == pytest.approx(1.0)
    assert found.lower is not None
    assert 0.0 < found.lower < 0.5  # five pairs prove little
    assert found.n == 5


def test_agreement_as_by_chance_is_kappa_zero() -> None:
    # Independent gradings in the shares 1/2, 1/2: p = e = 1/2 exactly.
    found = agreement(pairs_of([[1, 1], [1, 1]]))
    assert found.kappa == pytest.approx(0.0)
    assert found.lower is not None
    assert found.upper is not None
    assert found.lower < 0.0 < found.upper


def test_everything_in_one_class_has_no_kappa_but_a_share_that_agrees() -> None:
    found = agreement([("a", "a")] * 12, classes=CLASSES)
    assert (found.kappa, found.lower, found.upper) == (None, None, None)
    assert found.reason is not None
    assert found.reason.code == "agreement.one_class"
    assert found.observed is not None
    assert found.observed.mean == 1.0
    assert found.observed.n == 12


def test_no_pair_says_nothing() -> None:
    found = agreement([], classes=CLASSES)
    assert found.reason is not None
    assert found.reason.code == "agreement.none"
    assert (found.n, found.observed, found.kappa) == (0, None, None)
    assert found.table == ((0,) * 4,) * 4


def test_a_class_that_is_not_one_is_refused() -> None:
    with pytest.raises(InputError, match=r"agreement\.class"):
        agreement([("a", "e")], classes=CLASSES)


def test_the_table_counts_the_first_grade_in_rows() -> None:
    found = agreement([("a", "b"), ("a", "b"), ("b", "b")])
    assert found.classes == ("a", "b")
    assert found.table == ((0, 2), (0, 1))


@given(some_pairs)
def test_kappa_is_that_of_an_independent_program(pairs: list[tuple[str, str]]) -> None:
    found = agreement(pairs, classes=CLASSES)
    if found.kappa is None:
        return
    # Witness: statsmodels.stats.inter_rater.cohens_kappa.
    assert found.kappa == pytest.approx(float(cohens_kappa(np.array(found.table), return_results=False)), abs=1e-12)


@given(some_pairs, st.permutations(CLASSES))
def test_neither_the_names_of_the_classes_nor_which_grading_came_first_matter(
    pairs: list[tuple[str, str]], others: list[str]
) -> None:
    renamed = dict(zip(CLASSES, others, strict=True))
    found = agreement(pairs, classes=CLASSES)
    swapped = agreement([(renamed[second], renamed[first]) for first, second in pairs], classes=CLASSES)
    for name in ("kappa", "lower", "upper"):
        assert getattr(found, name) == pytest.approx(getattr(swapped, name))


@given(some_pairs)
def test_the_interval_holds_kappa_and_stays_within_what_kappa_can_be(pairs: list[tuple[str, str]]) -> None:
    found = agreement(pairs, classes=CLASSES)
    if found.kappa is not None:
        assert found.lower is not None
        assert found.upper is not None
        assert -1.0 <= found.lower <= found.kappa + 1e-12
        assert found.kappa - 1e-12 <= found.upper <= 1.0 + 1e-12


@given(st.integers(1, 40), st.data(), st.sampled_from([0.8, 0.9, 0.95]))
def test_the_score_interval_is_that_of_an_independent_program(
    trials: int, data: st.DataObject, level: float
) -> None:
    successes = data.draw(st.integers(0, trials))
    # Witness: statsmodels.stats.proportion.proportion_confint, method "wilson".
    expected = proportion_confint(successes, trials, alpha=1.0 - level, method="wilson")
    assert score_interval(successes, trials, level) == pytest.approx(tuple(map(float, expected)), abs=1e-9)


def test_many_pairs_give_the_width_of_the_asymptotic_interval() -> None:
    # Witness: the large-sample standard error of Fleiss, Cohen and Everitt (1969) in statsmodels.
    table = [[300, 20, 10, 0], [15, 250, 20, 5], [5, 25, 280, 15], [0, 5, 20, 290]]
    found = agreement(pairs_of(table), level=0.95)
    theirs = cohens_kappa(np.array(table))
    assert found.lower == pytest.approx(theirs.kappa_low, abs=0.004)
    assert found.upper == pytest.approx(theirs.kappa_upp, abs=0.004)


def truths() -> list[np.ndarray]:
    """Tables of probabilities: chance mixed with full agreement, over even and uneven classes."""
    shares = [np.full(4, 0.25), np.array([0.1, 0.2, 0.3, 0.4]), np.array([0.05, 0.05, 0.2, 0.7])]
    return [k * np.diag(m) + (1 - k) * np.outer(m, m) for m in shares for k in (0.2, 0.4, 0.6, 0.8, 0.9, 0.95)]


@pytest.mark.parametrize(("n", "on_average", "at_worst"), [(5, 0.90, 0.79), (12, 0.93, 0.89), (30, 0.93, 0.89)])
def test_the_interval_holds_the_truth_about_as_often_as_it_says(n: int, on_average: float, at_worst: float) -> None:
    # The truth is known because the gradings are drawn from it; kappa there is k itself.
    generator = np.random.default_rng(7)
    shares = []
    for truth, k in zip(truths(), (0.2, 0.4, 0.6, 0.8, 0.9, 0.95) * 3, strict=True):
        tables, counts = np.unique(generator.multinomial(n, truth.ravel(), size=400), axis=0, return_counts=True)
        held = total = 0
        for table, count in zip(tables.reshape(-1, 4, 4).tolist(), counts.tolist(), strict=True):
            found = agreement(pairs_of(table), level=0.95, classes=CLASSES)
            if found.kappa is not None:
                total += count
                held += count * _holds(found, k)
        shares.append(held / total)
    assert np.mean(shares) >= on_average
    assert min(shares) >= at_worst


def _holds(found: Agreement, truth: float) -> bool:
    return found.lower is not None and found.upper is not None and found.lower <= truth <= found.upper
