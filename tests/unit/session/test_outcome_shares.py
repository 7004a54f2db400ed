"""The three outcomes along one factor: shares that sum to one, and are the products of the gates."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.odds import OddsModel
from stirfall.inference.particles import Particles
from stirfall.inference.stack import StackedModel
from stirfall.reporting.sentences import sentence
from stirfall.session.analysis import analyse
from stirfall.session.outcome_shares import outcome_shares, shares_at, why_no_shares

AGE = Factor("age", "h", 0.5, 96.0, Scale.LOG, default=12.0)
ACTION = Factor("action", levels=("swirl", "fold", "press"))
AT = Conditions({"age": 12.0, "action": "fold"})


def campaign(count=40, **settings):
    """Longer ageing parts better and pools worse."""
    rng = np.random.default_rng(12)
    rows = []
    for number in range(1, count + 1):
        age = math.exp(rng.uniform(0.0, math.log(48.0)))
        z = math.log(age / 8.0)
        parted = rng.random() < 1 / (1 + math.exp(-1.0 - 1.8 * z))
        pool = Pooled.ONE_POOL if rng.random() < 1 / (1 + math.exp(-1.0 + 1.8 * z)) else Pooled.BEADS
        grade = {"parted": Parted.YES, "pooled": pool} if parted else {"parted": Parted.NO}
        values = Conditions({"age": age, "action": ACTION.levels[rng.integers(2)]})
        rows.append(Attempt(f"a{number}", number, values, **grade))
    return CampaignState(CampaignSettings(**settings), (AGE, ACTION), attempts=tuple(rows))


@pytest.fixture(scope="module")
def analysis():
    return analyse(campaign())


@pytest.fixture(scope="module")
def shares(analysis):
    return outcome_shares(analysis, "age", AT)


def parts(shares):
    return shares.not_parted, shares.beads, shares.clean


def test_the_shares_sum_to_one_and_lie_inside_their_intervals(shares):
    assert sum(part.mean for part in parts(shares)) == pytest.approx(np.ones(121), abs=1e-12)
    for part in parts(shares):
        assert part.mean.shape == part.lower.shape == part.upper.shape == (121,)
        assert (part.lower >= 0).all()
        assert (part.upper <= 1).all()
        assert (part.lower <= part.mean).all()
        assert (part.mean <= part.upper).all()


def test_they_are_the_products_of_the_gates(analysis, shares):
    columns = analysis.columns_along({"age": shares.x}, AT)
    gates = analysis.model.gate_estimates(columns)
    parted, pooled = gates["parted"].mean, gates["pooled"].mean
    assert shares.not_parted.mean == pytest.approx(1 - parted, abs=1e-12)
    assert shares.beads.mean == pytest.approx(parted * (1 - pooled), abs=1e-9)
    assert shares.clean.mean == pytest.approx(parted * pooled, abs=1e-9)
    assert shares.clean.mean == pytest.approx(analysis.curve("age", AT).mean, abs=1e-12)


def test_intervals_are_those_of_the_model_where_it_has_the_same_share(analysis, shares):
    curve = analysis.curve("age", AT)
    assert shares.clean.lower == pytest.approx(curve.lower, abs=1e-9)
    assert shares.clean.upper == pytest.approx(curve.upper, abs=1e-9)
    parted = analysis.model.gate_estimates(analysis.columns_along({"age": shares.x}, AT))["parted"]
    # The same law, by weighted draws there and by paired equal ones here.
    assert shares.not_parted.upper == pytest.approx(1 - parted.lower, abs=0.02)


def test_the_film_tells_on_both_ends(shares):
    first, last = 0, -1
    assert shares.not_parted.mean[first] > 0.5 > shares.beads.mean[first]
    assert shares.beads.mean[last] > 0.5 > shares.not_parted.mean[last]


def test_what_was_tried_is_told_as_along_the_curve(analysis, shares):
    curve = analysis.curve("age", AT)
    assert (shares.tried == curve.tried).all()
    assert (shares.tried_low, shares.tried_high) == (curve.tried_low, curve.tried_high)
    assert (shares.factor, shares.level, shares.n, shares.forms_share) == (AGE, 0.95, 40, 1.0)


def test_a_choice_has_one_point_per_level(analysis):
    found = outcome_shares(analysis, "action", AT.with_value("action", None))
    assert found.x.tolist() == [0.0, 1.0, 2.0]
    assert found.tried.tolist() == [True, True, False]


def test_partly_parted_counts_where_the_settings_say(shares):
    assert shares.partly_parted == "not parted"
    found = outcome_shares(analyse(campaign(8, partly="success")), "age", AT, 5)
    assert found.partly_parted == "parted"


def test_with_one_gate_there_is_a_reason_in_place_of_shares():
    one = analyse(campaign(12, gates=1))
    assert outcome_shares(one, "age", AT) is None
    reason = why_no_shares(one)
    assert reason is not None
    assert "two questions" in sentence(reason.code, reason.params)


def test_two_gates_need_no_reason(analysis):
    assert why_no_shares(analysis) is None


def test_an_unknown_factor_and_a_missing_value_are_refused(analysis):
    with pytest.raises(InputError, match=r"factor\.unknown"):
        outcome_shares(analysis, "luck", AT)
    with pytest.raises(InputError, match=r"conditions\.missing"):
        outcome_shares(analysis, "age", Conditions({"age": 3.0}))


def test_no_attempts_give_wide_shares_and_no_trouble():
    found = outcome_shares(analyse(campaign(0)), "age", AT, 9)
    assert sum(part.mean for part in parts(found)) == pytest.approx(np.ones(9), abs=1e-12)
    assert (found.clean.upper - found.clean.lower > 0.8).all()
    assert (found.tried_low, found.n) == (None, 0)


# -- several forms --------------------------------------------------------------------------------------------


def particles(model: OddsModel) -> Particles:
    betas = model.equal_draws(1024)
    return Particles(betas, tuple(np.zeros((1024, 0)) for _ in betas), tuple(np.zeros(1024) for _ in betas))


def stacked(main: OddsModel, other: OddsModel | None, other_share: float) -> StackedModel:
    rest = None if other is None else particles(other)
    return StackedModel(
        main.design,
        main.gates,
        particles(main),
        rest,
        other_share,
        main.counts,
        main.level,
        main.n,
        main.health,
    )


@pytest.fixture(scope="module")
def one_gate():
    return analyse(campaign(gates=1))


@pytest.mark.parametrize("two_gates_lead", [True, False])
def test_of_several_forms_those_with_two_gates_divide_what_is_not_clean(analysis, one_gate, two_gates_lead):
    heavy, light = (analysis.model, one_gate.model) if two_gates_lead else (one_gate.model, analysis.model)
    model = stacked(heavy, light, 0.25)
    columns = analysis.columns_along({"age": np.array([1.0, 8.0, 60.0])}, AT)
    found = shares_at(model, columns)
    expected = shares_at(analysis.model, columns)
    assert found.forms_share == (0.75 if two_gates_lead else 0.25)
    assert sum(part.mean for part in parts(found)) == pytest.approx(np.ones(3), abs=1e-12)
    # Clean is the answer of all forms; the rest is divided as those with two gates divide it.
    assert found.clean.mean == pytest.approx(model.means(columns), abs=1e-12)
    by_two = expected.beads.mean / (expected.beads.mean + expected.not_parted.mean)
    assert found.beads.mean / (1.0 - found.clean.mean) == pytest.approx(by_two, abs=0.02)
    for one in parts(found):
        assert (one.lower <= one.mean).all()
        assert (one.mean <= one.upper).all()
    assert why_no_shares(replace(analysis, model=model)) is None


def test_forms_with_one_gate_alone_tell_nothing_apart(one_gate):
    assert why_no_shares(replace(one_gate, model=stacked(one_gate.model, None, 0.0))) is not None
