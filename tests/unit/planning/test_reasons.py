"""Reasons: the sentence behind a suggestion must be true of it."""

from __future__ import annotations

import numpy as np
import pytest

from stirfall.bench.estimates import whole_percent
from stirfall.bench.factors import Conditions
from stirfall.planning.box import make_box
from stirfall.planning.candidates import known_columns
from stirfall.planning.goals import Goal
from stirfall.planning.limits import operating_limits
from stirfall.planning.look_ahead import Picked
from stirfall.planning.reasons import give_reason, most_different
from stirfall.reporting.sentences import sentence

BASE = {"age": 12.0, "temperature": 150.0, "stirring time": 60.0, "additive": "none", "dose": 0.0}


@pytest.fixture
def box(make_state):
    state = make_state(0)
    return make_box(operating_limits(state), [factor.name for factor in state.factors])


def columns(box, **changes):
    return known_columns(
        box, [Conditions(BASE | {name.replace("_", " "): value for name, value in changes.items()})]
    )


@pytest.mark.parametrize(
    ("changes", "factor", "text"),
    [
        ({"age": 1.5}, "age", "90\u2009min"),
        ({"age": 11.0, "stirring_time": 290.0}, "stirring time", "290\u2009s"),
        ({"additive": "rosin"}, "additive", "“rosin”"),
        ({"temperature": 169.0, "age": 13.0}, "temperature", "169\u2009°C"),
    ],
)
def test_the_factor_named_is_the_one_that_sets_it_apart(box, changes, factor, text):
    found = most_different(box, columns(box, **changes), columns(box))
    assert found is not None
    assert found[0].name == factor
    assert str(found[1]) == text


def test_conditions_that_were_tried_differ_in_nothing(box):
    assert most_different(box, columns(box), columns(box)) is None


def test_a_new_combination_of_known_values_is_told_from_its_nearest_neighbours(box):
    def pair(*first_and_second):
        return {name: np.concatenate([each[name] for each in first_and_second]) for name in first_and_second[0]}

    # Hot with short stirring and cool with long stirring are known; hot with long stirring is new.
    known = pair(columns(box, temperature=169.0), columns(box, stirring_time=290.0))
    found = most_different(box, columns(box, temperature=169.0, stirring_time=290.0), known)
    assert found is not None
    assert found[0].name in ("temperature", "stirring time")


def pick(box, *, now=0.5, then=0.5, here=0.5, gates=(0.5, 0.5), known=1):
    there = columns(box) if known else known_columns(box, [])
    return Picked(columns(box, age=2.0), there, gates, now, then, here)


@pytest.mark.parametrize(
    ("goal", "figures", "code"),
    [
        (Goal.FIRST_DESIGN, {"known": 0}, "plan.first"),
        (Goal.FIRST_DESIGN, {}, "plan.first_spread"),
        (Goal.LEARN, {"gates": (0.5,)}, "plan.learn_clean"),
        (Goal.LEARN, {"gates": (0.5, 0.5)}, "plan.learn_parting"),
        (Goal.LEARN, {"gates": (0.95, 0.5)}, "plan.learn_pooling"),
        (Goal.RELIABLE, {"now": 0.6, "then": 0.7}, "plan.reliable_raise"),
        (Goal.RELIABLE, {"now": 0.6, "then": 0.6, "here": 0.55}, "plan.reliable_settle"),
        (Goal.RELIABLE, {"now": 0.6, "then": 0.6, "here": 0.3}, "plan.reliable_compare"),
    ],
)
def test_the_reason_fits_the_figures(box, goal, figures, code):
    made = pick(box, **figures)
    reason = give_reason(goal, most_different(box, made.columns, made.known), made, graded=3)
    assert reason.code == code
    assert "{" not in sentence(reason.code, reason.params)


@pytest.mark.parametrize(
    ("goal", "code"),
    [(Goal.FIRST_DESIGN, "plan.first_again"), (Goal.LEARN, "plan.again"), (Goal.RELIABLE, "plan.again")],
)
def test_a_repeat_is_called_a_repeat(box, goal, code):
    reason = give_reason(goal, None, pick(box), graded=3)
    assert reason.code == code
    assert "{" not in sentence(reason.code, reason.params)


@pytest.mark.parametrize(("probability", "percent"), [(0.0, 1), (0.004, 1), (0.626, 63), (0.997, 99), (1.0, 99)])
def test_per_cents_are_whole_and_never_certain(probability, percent):
    assert whole_percent(probability) == percent
