"""Which attempts are graded again, blind, and what both grades say together."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.bench.running import Regrade
from stirfall.reporting.agreement_words import agreement_lines
from stirfall.session.regrading import CLASSES, Comparison, compared, due, is_chosen, pairs

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)


def attempt(number: int, *, days: float = 5.0, parted: Parted | None = Parted.YES) -> Attempt:
    recorded = NOW - timedelta(days=days)
    pooled = Pooled.ONE_POOL if parted is Parted.YES else None
    return Attempt(f"id-{number}", number, Conditions(), recorded_at=recorded, parted=parted, pooled=pooled)


def state_of(*attempts: Attempt, regrades: tuple[Regrade, ...] = ()) -> CampaignState:
    return CampaignState(
        CampaignSettings(level=0.9), tuple(standard_factors()), attempts=attempts, regrades=regrades
    )


def ids(attempts: tuple[Attempt, ...]) -> list[str]:
    return [each.id for each in attempts]


CHOSEN = [number for number in range(1, 200) if is_chosen(f"id-{number}")]


def test_about_a_fifth_is_chosen_and_always_the_same() -> None:
    chosen = sum(is_chosen(f"attempt-{number}") for number in range(5000))
    # A binomial count: 1000 with a standard deviation of 28; four of them either way.
    assert 887 <= chosen <= 1113
    assert [number for number in range(1, 200) if is_chosen(f"id-{number}")] == CHOSEN


def test_only_chosen_graded_photographed_and_rested_attempts_are_due() -> None:
    first, second, third, fourth, fifth, sixth = CHOSEN[:6]
    other = next(number for number in range(1, 50) if number not in CHOSEN)
    aborted = replace(attempt(fourth), aborted=True)
    struck = replace(attempt(fifth), struck_reason="spilled")
    state = state_of(
        attempt(first),
        attempt(second, days=1.9),
        attempt(third, parted=None),
        aborted,
        struck,
        attempt(sixth),
        attempt(other),
    )
    everything = frozenset(each.id for each in state.attempts)
    assert set(ids(due(state, everything, NOW))) == {f"id-{first}", f"id-{sixth}"}
    assert ids(due(state, {f"id-{first}"}, NOW)) == [f"id-{first}"]
    assert due(state, frozenset(), NOW) == ()


def test_the_order_tells_nothing_of_the_order_of_the_attempts() -> None:
    state = state_of(*(attempt(number) for number in CHOSEN))
    order = [each.number for each in due(state, {each.id for each in state.attempts}, NOW)]
    assert sorted(order) == CHOSEN
    assert order not in (CHOSEN, CHOSEN[::-1])
    # An attempt more does not change the order of the others.
    fewer = state_of(*(attempt(number) for number in CHOSEN[1:]))
    assert [n for n in order if n != CHOSEN[0]] == [
        each.number for each in due(fewer, {each.id for each in state.attempts}, NOW)
    ]


def test_a_second_grade_ends_the_wait_and_makes_a_pair() -> None:
    first, second = CHOSEN[:2]
    regrade = Regrade("r1", f"id-{first}", NOW, Outcome.PARTED_BEADS.value)
    state = state_of(attempt(first), attempt(second), regrades=(regrade,))
    assert ids(due(state, {f"id-{first}", f"id-{second}"}, NOW)) == [f"id-{second}"]
    assert [(one.number, outcome) for one, outcome in pairs(state)] == [(first, Outcome.PARTED_BEADS)]
    (differing,) = compared(state).differing
    assert (differing.number, differing.first, differing.second) == (first, Outcome.CLEAN, Outcome.PARTED_BEADS)


def test_the_agreement_is_told_at_the_level_of_the_campaign() -> None:
    same = [Regrade(f"r{n}", f"id-{n}", NOW, Outcome.CLEAN.value) for n in (1, 2, 3)]
    other = [Regrade(f"r{n}", f"id-{n}", NOW, Outcome.PARTED_BEADS.value) for n in (4, 5)]
    state = state_of(*(attempt(number) for number in range(1, 6)), regrades=(*same, *other))
    found = compared(state)
    assert found.agreement.level == 0.9
    assert found.agreement.classes == tuple(each.value for each in CLASSES)
    assert found.agreement.observed is not None
    assert found.agreement.observed.mean == pytest.approx(0.6)
    assert found.is_low  # 3 of 5 is below 85 %
    assert len(found.differing) == 2


def found_of(same: int, n: int) -> Comparison:
    """Return the comparison of n pairs, so many of which agree."""
    words = [Outcome.CLEAN if place < same else Outcome.PARTED_BEADS for place in range(n)]
    regrades = tuple(Regrade(f"r{place}", f"id-{place}", NOW, word.value) for place, word in enumerate(words))
    return compared(state_of(*(attempt(place) for place in range(n)), regrades=regrades))


def test_a_low_agreement_of_few_pairs_is_said_to_be_chance_perhaps() -> None:
    # Bounds of the score interval by hand: of 4 in 5 it reaches far above 85 %, of 20 in 40 it does not.
    few, many = found_of(4, 5), found_of(20, 40)
    assert (few.is_low, few.is_surely_low) == (True, False)
    assert (many.is_low, many.is_surely_low) == (True, True)
    assert "may be chance" in agreement_lines(few)[-1]
    assert "scatters" in agreement_lines(many)[-1]
    assert not found_of(11, 13).is_low  # shown as 85 %, and what is shown as 85 % is not called below it
    assert agreement_lines(found_of(6, 6))[0].startswith("6 of 6 second grades are as the first: 100\u2009%")


def test_few_pairs_are_not_called_low() -> None:
    regrade = Regrade("r", "id-1", NOW, Outcome.PARTED_BEADS.value)
    assert not compared(state_of(attempt(1), regrades=(regrade,))).is_low
    assert not compared(state_of()).is_low
