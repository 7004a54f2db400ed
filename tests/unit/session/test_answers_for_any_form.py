"""Effects, outcomes, recovery and advice hold for whatever a form can produce.

Properties: shares lie in [0, 1] and sum to one, intervals are ordered, nothing is NaN, and nothing warns (a
warning is an error in this suite): no attempts, one, all alike, a constant factor, two identical rows, forty
levels, and values at 1e-9 and 1e9.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot, Masses
from stirfall.cli.odds_effects import (
    effects_json,
    effects_text,
    outcomes_json,
    outcomes_text,
    recovery_json,
    recovery_text,
)
from stirfall.session.analysis import Analysis, analyse

RANGES = [(1.0, 2.0), (1e-9, 1e9), (1e-9, 2e-9), (1e9, 1.5e9), (0.5, 96.0), (100.0, 100.1)]
MANY = tuple(f"oil {number}" for number in range(40))
GRADES = [
    {"parted": Parted.NO},
    {"parted": Parted.PARTLY},
    {"parted": Parted.PARTLY, "pooled": Pooled.ONE_POOL},
    {"parted": Parted.YES},
    {"parted": Parted.YES, "pooled": Pooled.BEADS},
    *[{"parted": Parted.YES, "pooled": Pooled.ONE_POOL}] * 6,
]
COUNTS = [{"successes": 0}, *[{"successes": 1}] * 3, {"successes": 3, "trials": 7}]
masses = st.one_of(st.none(), st.just(0.0), st.floats(1e-9, 1e9))


@st.composite
def factors(draw):
    made = []
    low, high = draw(st.sampled_from(RANGES))
    made.append(Factor("age", "h", low, high, draw(st.sampled_from(list(Scale)))))
    if draw(st.booleans()):
        low, high = draw(st.sampled_from([(-1e9, 1e9), (0.0, 1e-9), (80.0, 180.0)]))
        made.append(Factor("temperature", draw(st.sampled_from(["C", "", "%"])), low, high))
    levels = draw(st.sampled_from([(), ("only",), ("one", "two"), ("a", "b", "c"), MANY]))
    if levels:
        made.append(Factor("oil", levels=levels))
    return tuple(made)


def value_of(draw, factor):
    if factor.is_choice:
        return draw(st.sampled_from(factor.levels))
    low, high = factor.bounds
    return draw(st.sampled_from([low, high, *([1e-9, 1e9] if factor.scale is Scale.LOG else [])]))


@st.composite
def campaigns(draw):
    made = draw(factors())
    gates = draw(st.sampled_from([1, 2]))
    rows = []
    constant, weighs_well = draw(st.booleans()), draw(st.booleans())
    values = Conditions({factor.name: value_of(draw, factor) for factor in made})
    for number in range(draw(st.sampled_from([0, 1, 2, 5, 14, 20]))):
        if not constant:
            values = Conditions({factor.name: value_of(draw, factor) for factor in made})
        grade = draw(st.sampled_from(GRADES if gates == 2 else COUNTS))
        weighed = Masses(10.0, draw(st.floats(5.0, 11.0))) if weighs_well else Masses(draw(masses), draw(masses))
        lot = draw(st.sampled_from([None, "L1", "L2"]))
        rows.append(Attempt(f"a{number}", number + 1, values, masses=weighed, lot_id=lot, **grade))
    numbers = [factor.name for factor in made if not factor.is_choice]
    names = [factor.name for factor in made]
    chosen = CampaignSettings(
        gates=gates,
        partly=draw(st.sampled_from(["failed", "success", "ordinal"])),
        humps=tuple(draw(st.sets(st.sampled_from(numbers)))),
        products=((names[0], names[-1]),) if len(names) > 1 and draw(st.booleans()) else (),
    )
    lots = (
        Lot("L1", solids_percent=draw(st.sampled_from([None, 0.0, 20.0, 100.0]))),
        Lot("L2", solids_percent=5.0),
    )
    return CampaignState(chosen, made, lots, attempts=tuple(rows))


def numbers_in(value):
    if isinstance(value, dict):
        return [number for each in value.values() for number in numbers_in(each)]
    if isinstance(value, (list, tuple)):
        return [number for each in value for number in numbers_in(each)]
    return [value] if isinstance(value, float) else []


def intervals_in(value):
    """Yield every object that has lower, upper and a middle."""
    if isinstance(value, dict):
        if {"lower", "upper"} <= value.keys() and value["lower"] is not None:
            yield value
        for each in value.values():
            yield from intervals_in(each)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from intervals_in(each)


def check(analysis: Analysis) -> None:
    conditions = analysis.complete(Conditions())
    effects, outcomes = effects_json(analysis), outcomes_json(analysis, conditions)
    recovery = recovery_json(analysis, conditions)
    document = [effects, outcomes, recovery]
    assert all(math.isfinite(number) for number in numbers_in(document))
    for found in intervals_in(document):
        lower, upper = np.asarray(found["lower"]), np.asarray(found["upper"])
        middle = np.asarray(next(found[key] for key in ("median", "peak", "mean") if key in found))
        assert (lower <= middle).all()
        assert (middle <= upper).all()
    for effect in effects:
        assert effect["is_known"] == (effect["sign_probability"] is not None)
        assert effect["sign_probability"] is None or 0.5 <= effect["sign_probability"] < 1
    for shares in (outcomes["here"], outcomes["along"]):
        if shares is not None:
            parts = [np.asarray(shares[name]["mean"]) for name in ("not_parted", "beads", "clean")]
            assert sum(parts) == pytest.approx(np.ones(parts[0].shape), abs=1e-9)
            assert all((part >= 0).all() and (part <= 1).all() for part in parts)
    words = effects_text(analysis) + outcomes_text(analysis, conditions) + recovery_text(analysis, conditions)
    assert words
    assert not [
        line
        for line in words
        if "nan" in line.split() or "{" in line or " 100\u2009%" in line or " 0\u2009%" in line
    ]


@settings(max_examples=40)
@given(campaigns())
def test_the_first_answer_holds(state):
    check(analyse(state))


@pytest.mark.slow
@settings(max_examples=12)
@given(campaigns())
def test_the_refined_answer_holds(state):
    check(analyse(state, refined=True))
