"""Orders of attempts: limits and steps hold, the plain ones are what their names say, same seed, same answer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.odds import fit_odds
from stirfall.inference.table import build_table
from stirfall.planning.draw_optima import draw_optima
from stirfall.planning.draws import thin
from stirfall.planning.goals import Goal
from stirfall.planning.limits import operating_limits
from stirfall.planning.orders import Order, next_by_order
from stirfall.planning.suggestions import box_for

FACTORS = (
    Factor("age", "h", 0.5, 96.0, Scale.LOG, role=Role.SAMPLE_AGE),
    Factor("dose", "mg/g", 0.0, 20.0, step=0.5),
    Factor("tool", levels=("rod", "blade", "whisk")),
)
SETTINGS = CampaignSettings(invented=True, melting_point_c=138.0, oil_flash_c=220.0)


def campaign(outcomes: str, conditions: list[dict[str, float | str]] | None = None) -> CampaignState:
    """A campaign of clean (c), beads (b) and nothing parted (n), spread over the box unless told."""
    rng = np.random.default_rng(2)
    attempts = []
    for number, outcome in enumerate(outcomes, 1):
        values = {"age": float(round(np.exp(rng.uniform(0.0, 4.0)), 1)), "dose": float(rng.integers(0, 40)) / 2.0}
        chosen = Conditions({**values, "tool": "rod"} if conditions is None else conditions[number - 1])
        parted, pooled = {
            "c": (Parted.YES, Pooled.ONE_POOL),
            "b": (Parted.YES, Pooled.BEADS),
            "n": (Parted.NO, None),
        }[outcome]
        attempts.append(Attempt(f"a{number}", number, chosen, parted=parted, pooled=pooled))
    return CampaignState(SETTINGS, FACTORS, attempts=tuple(attempts))


def model_of(state: CampaignState):
    design, table = build_table(state)
    return fit_odds(table, design, state.settings)


def asked(order: Order, state: CampaignState, seed: int = 0) -> Conditions:
    return next_by_order(order, model_of(state), operating_limits(state), state, seed=seed, effort="quick")


@pytest.mark.parametrize("order", list(Order))
def test_every_order_keeps_limits_and_steps_and_names_every_factor(order):
    state = campaign("cbnncb")
    chosen = asked(order, state)
    assert operating_limits(state).allows(chosen)
    assert set(chosen) == {"age", "dose", "tool"}
    assert float(chosen["dose"]) % 0.5 == 0.0
    assert chosen == asked(order, state)


def test_a_plan_exists_for_every_goal_that_a_person_can_pick():
    assert {order.goal for order in Order} == {Goal.LEARN, Goal.RELIABLE, Goal.SOONEST, Goal.MOST, None}


def test_random_is_another_draw_for_every_attempt_and_every_seed():
    state, longer = campaign("cbn"), campaign("cbnc")
    assert len({asked(Order.RANDOM, state), asked(Order.RANDOM, longer), asked(Order.RANDOM, state, 1)}) == 3


def test_random_draws_are_uniform_over_the_scale_of_each_factor():
    # Ages on a log scale: half of them below the middle, sqrt(0.5 * 96) h. 200 draws, binomial: 72 to 128 hold with
    # a probability of 0.9999.
    state, limits = campaign("cbn"), operating_limits(campaign("cbn"))
    model = model_of(state)
    drawn = [next_by_order(Order.RANDOM, model, limits, state, seed=seed) for seed in range(200)]
    assert 72 <= sum(float(each["age"]) < 48.0**0.5 for each in drawn) <= 128


def test_space_filling_goes_as_far_from_what_was_tried_as_it_can():
    start = [{"age": 0.5, "dose": 0.0, "tool": "rod"}]
    chosen = asked(Order.SPACE_FILLING, campaign("c", start))
    assert float(chosen["age"]) > 40.0
    assert float(chosen["dose"]) > 15.0
    assert chosen["tool"] != "rod"


def test_one_factor_at_a_time_changes_one_factor_and_keeps_the_best():
    # The usual values first, then four stops along the age, the rest as it was, then the dose at the best age.
    state = campaign("")
    chosen: list[Conditions] = []
    for made in range(7):
        chosen.append(asked(Order.ONE_FACTOR, state))
        state = campaign("nnnbnnn"[: made + 1], [dict(each) for each in chosen])
    ages = [float(each["age"]) for each in chosen]
    assert ages[1:5] == pytest.approx([0.5, 2.9, 17.0, 96.0])
    assert len({each["dose"] for each in chosen[:5]}) == 1
    # The third stop, 17 h, was the best: it parted.
    assert ages[5:] == pytest.approx([ages[3]] * 2)
    assert [each["dose"] for each in chosen[5:]] == [0.0, 6.5]
    assert all(each["tool"] == chosen[0]["tool"] for each in chosen)


def test_repeat_the_best_repeats_the_only_clean_conditions():
    places = [{"age": age, "dose": 5.0, "tool": "rod"} for age in (1.0, 8.0, 60.0)]
    assert dict(asked(Order.REPEAT_BEST, campaign("ncn", places))) == places[1]


def test_repeat_the_best_fills_space_before_the_first_clean_one():
    state = campaign("nbn")
    assert asked(Order.REPEAT_BEST, state) == asked(Order.SPACE_FILLING, state)


def test_nothing_is_tried_where_the_limits_block():
    # A bath is heated and the flash point of its oil is not known.
    heated = (*FACTORS, Factor("bath", "C", 80.0, 180.0))
    state = replace(campaign("cbn"), factors=heated, settings=replace(SETTINGS, oil_flash_c=None))
    limits = operating_limits(state)
    assert limits.blocked
    for order in Order:
        with pytest.raises(InputError, match="limits"):
            next_by_order(order, model_of(state), limits, state, seed=0)


def test_optima_of_draws_are_better_for_their_draw_than_any_candidate():
    state = campaign("cbnncbcn")
    model = model_of(state)
    box = box_for(model, operating_limits(state), Goal.RELIABLE)
    draws = thin(model, 32)
    rng = np.random.default_rng(4)
    columns = box.decode(rng.random((40, len(box.varied))))
    found = draw_optima(box, draws, columns, count=32, seed=0)
    own = draws.own_clean(found)
    # The same probabilities from the general path: draw i at candidate i.
    np.testing.assert_allclose(own, np.diag(draws.clean(found)), rtol=1e-5)
    assert (own >= draws.clean(columns).max(axis=1) - 1e-6).all()
    assert own.mean() > draws.clean(columns).max(axis=1).mean()
