from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.odds import fit_odds
from stirfall.inference.sensitivity import prior_move, refits
from stirfall.inference.table import table_of

AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG)
MIDDLE = Conditions({"age": 10.0})


def counted(k: int, n: int, age: float = 10.0, number: int = 1) -> Attempt:
    return Attempt(f"a{number}", number, Conditions({"age": age}), successes=k, trials=n)


def moved(attempts, at=MIDDLE, settings=None):
    settings = settings or CampaignSettings(gates=1)
    design, table = table_of([AGE], attempts, settings)
    now = fit_odds(table, design, settings)
    return prior_move(now, *refits(now, table, settings), design.columns([at]))


def test_without_attempts_the_prior_is_all():
    found = moved([])
    assert found.size == "prior_only"
    assert found.prior_share == pytest.approx(1.0, abs=0.05)
    assert found.now.n == 0


@pytest.mark.parametrize("n", [40, 160, 640])
def test_prior_share_is_its_part_of_the_information(n):
    # In the middle of the range the intercept alone speaks. With k = n/2 its information is n/4 and that of the
    # prior 1/sd^2, so for nearly normal laws var = 1 / (n/4 + 1/sd^2) at half and at double the sd of 0.5.
    found = moved([counted(n // 2, n)], settings=CampaignSettings(gates=1, intercept_prior_sd=0.5))
    spread = {sd: (n / 4 + 1 / sd**2) ** -0.5 for sd in (0.25, 1.0)}
    assert found.prior_share == pytest.approx(np.log(spread[1.0] / spread[0.25]) / np.log(4), abs=0.02)


def test_many_attempts_leave_little_to_the_prior():
    attempts = [counted(3 + step, 12, 10.0 ** (step / 3.0), step) for step in range(7)]
    found = moved(attempts)
    assert found.size == "small"
    assert found.move < 0.03
    assert found.prior_share < 0.1


def test_one_attempt_rests_on_the_prior():
    found = moved([counted(0, 1)])
    assert found.size == "large"
    assert found.verdict.code == "sensitivity.large"
    assert set(found.verdict.params) == {"now", "half", "double", "share"}


def test_away_from_the_attempts_the_prior_says_more():
    attempts = [counted(2, 6, 8.0, 1), counted(4, 6, 12.0, 2)]
    near, far = moved(attempts), moved(attempts, Conditions({"age": 100.0}))
    assert near.prior_share < far.prior_share
    assert far.size == "large"


def test_refits_are_fits_with_other_settings():
    attempts = [counted(1, 4), counted(3, 4, 50.0, 2)]
    settings = CampaignSettings(gates=1)
    design, table = table_of([AGE], attempts, settings)
    half, double = refits(fit_odds(table, design, settings, seed=3), table, settings, seed=3)
    wide = replace(settings, intercept_prior_sd=5.0, effect_prior_sd=4.0)
    again = fit_odds(table, design, wide, seed=3)
    assert np.array_equal(double.gates[0].posterior.draws, again.gates[0].posterior.draws)
    assert half.gates[0].posterior.prior_sd == pytest.approx([1.25, 1.0])
    assert half.gates[0].posterior.sd[1] < double.gates[0].posterior.sd[1]


def test_draws_weighed_anew_answer_as_a_new_fit():
    attempts = [counted(20 * step + 10, 200, 10.0 ** (step / 4.0), step) for step in range(9)]
    settings = CampaignSettings(gates=1)
    design, table = table_of([AGE], attempts, settings)
    now = fit_odds(table, design, settings)
    columns = design.columns([MIDDLE, Conditions({"age": 1.5})])
    for model, factor in zip(refits(now, table, settings), (0.5, 2.0), strict=True):
        assert model.gates[0].posterior.draws is now.gates[0].posterior.draws
        again = fit_odds(
            table, design, replace(settings, intercept_prior_sd=2.5 * factor, effect_prior_sd=2.0 * factor)
        )
        for one, other in zip(model.estimates(columns), again.estimates(columns), strict=True):
            assert one == pytest.approx(other, abs=0.004)


def test_half_and_double_agree_with_quadrature(quadrature):
    attempts = [counted(1, 3, 2.0, 1), counted(2, 3, 60.0, 2)]
    found = moved(attempts)
    X = np.array([[1.0, AGE.to_unit_interval(2.0)], [1.0, AGE.to_unit_interval(60.0)]])
    for factor, estimate in ((0.5, found.half), (2.0, found.double)):
        axes = (np.linspace(-14, 14, 421), np.linspace(-16, 16, 421))
        prior = (2.5 * factor, 2.0 * factor)
        *_, weight = quadrature(X, [1, 2], [3, 3], prior, axes)
        probability = 1 / (1 + np.exp(-axes[0]))
        assert estimate.mean == pytest.approx(weight.sum(axis=1) @ probability, abs=0.01)


def test_two_gates_and_all_successes_make_no_trouble():
    settings = CampaignSettings()
    attempts = [
        Attempt(f"a{i}", i, Conditions({"age": 3.0 * i}), parted=Parted.YES, pooled=Pooled.ONE_POOL)
        for i in range(1, 9)
    ]
    found = moved(attempts, settings=settings)
    for estimate in (found.now, found.half, found.double):
        assert 0.0 <= estimate.lower <= estimate.mean <= estimate.upper <= 1.0
    assert 0.0 <= found.prior_share <= 1.0
    assert found.move >= 0.0
