"""Effects per natural step: against exactly known draws, the model's own odds, own units, and another program."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import trapezoid
from scipy.special import ndtri
from scipy.stats import norm

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.design import Design
from stirfall.inference.effect_steps import Step, natural_step, step_length
from stirfall.inference.effects import effects_of
from stirfall.inference.odds import Coefficients, fit_odds
from stirfall.inference.table import build_table

AGE = Factor("age", "h", 1.0, 64.0, Scale.LOG)
SPEED = Factor("speed", "1/min", 20.0, 180.0)
ADDITIVE = Factor("additive", levels=("none", "rosin"))
ACTION = Factor("action", levels=("swirl", "fold", "press"))


@dataclass(frozen=True)
class Gate:
    name: str


@dataclass(frozen=True)
class GivenModel:
    """A model whose draws are written down by the test, the same for every gate."""

    design: Design
    draws: np.ndarray
    weights: np.ndarray
    gates: tuple[Gate, ...] = (Gate("clean"),)
    level: float = 0.95

    def coefficients(self, _gate):
        return Coefficients(self.design, self.draws, self.weights)


def given(design: Design, *betas, weights=None, **kind) -> GivenModel:
    draws = np.array(betas, dtype=float)
    shares = np.full(len(draws), 1.0 / len(draws)) if weights is None else np.asarray(weights, float)
    return GivenModel(design, draws, shares, **kind)


def normal_model(design: Design, mean, sd, size: int = 4001) -> GivenModel:
    """Every coefficient at the same quantile of its normal law: medians and intervals are known exactly."""
    quantiles = ndtri((np.arange(size) + 0.5) / size)
    return given(design, *(np.asarray(mean) + quantiles[:, None] * np.asarray(sd)))


def only(effects, name, level=None):
    return next(e for e in effects if e.factor.name == name and e.level in (level, None))


# -- steps ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("low", "high", "scale", "step"),
    [
        (1.0, 64.0, "log", Step("ratio", 2.0)),
        (1.0, 2.0, "log", Step("ratio", 2.0)),
        (1.0, 1.7, "log", Step("ratio", 1.5)),
        (100.0, 120.0, "log", Step("ratio", 1.2)),
        (100.0, 100.3, "log", Step("ratio", 1.002)),
        (1e-9, 1e9, "log", Step("ratio", 10.0)),
        (80.0, 180.0, "linear", Step("amount", 20.0)),
        (0.0, 20.0, "linear", Step("amount", 5.0)),
        (20.0, 180.0, "linear", Step("amount", 50.0)),
        (-1e9, 1e9, "linear", Step("amount", 5e8)),
        (0.0, 1e-9, "linear", Step("amount", 2e-10)),
    ],
)
def test_the_natural_step_is_a_doubling_or_a_round_amount(low, high, scale, step):
    found = natural_step(Factor("x", "", low, high, scale))
    assert found.kind == step.kind
    assert found.size == pytest.approx(step.size, rel=1e-12)


def test_an_amount_is_an_eighth_to_a_third_of_any_range():
    for width in np.geomspace(1e-9, 1e9, 400):
        factor = Factor("x", "", 0.0, float(width))
        assert 1 / 8 <= natural_step(factor).size / width <= 1 / 3


def test_a_choice_has_no_natural_step():
    with pytest.raises(InputError):
        natural_step(ACTION)


# -- exactly known draws ----------------------------------------------------------------------------------


def test_multiplier_interval_and_sign_of_normal_draws_are_those_of_the_normal_law():
    design = Design((AGE,))
    effect = effects_of(normal_model(design, [0.3, 1.2], [0.0, 0.6]))[0]
    length = 2.0 * math.log(2.0) / math.log(64.0)
    size = effect.multiplier
    assert size.median == pytest.approx(math.exp(1.2 * length), rel=1e-3)
    assert size.mean == pytest.approx(math.exp(1.2 * length), rel=1e-3)
    assert size.lower == pytest.approx(math.exp((1.2 - 1.959964 * 0.6) * length), rel=2e-3)
    assert size.upper == pytest.approx(math.exp((1.2 + 1.959964 * 0.6) * length), rel=2e-3)
    assert size.prob_above == pytest.approx(norm.cdf(2.0), abs=5e-4)
    assert (size.sign, size.prob_sign) == (1, size.prob_above)
    assert (effect.gate, effect.step, effect.level) == ("clean", Step("ratio", 2.0), None)


def test_no_sign_is_ever_certain_and_a_draw_of_zero_speaks_half():
    design = Design((AGE,))
    assert effects_of(given(design, *[[0, 1.0]] * 100))[0].multiplier.prob_above == pytest.approx(0.995)
    assert effects_of(given(design, *[[0, -1.0]] * 100))[0].multiplier.prob_sign == pytest.approx(0.995)
    assert effects_of(given(design, [0, 0.0], [0, 1.0]))[0].multiplier.prob_above == pytest.approx(0.75)


def test_a_weight_counts_as_a_draw_that_is_written_so_many_times():
    rng = np.random.default_rng(3)
    design = Design((AGE, ACTION), humps=("age",))
    draws = rng.normal(size=(60, len(design.terms)))
    times = rng.integers(1, 5, 60)
    weighted = effects_of(given(design, *draws, weights=times / times.sum()))
    repeated = effects_of(given(design, *np.repeat(draws, times, axis=0)))
    for one, other in zip(weighted, repeated, strict=True):
        assert one.factor.name == other.factor.name
        assert one.level == other.level
        assert one.multiplier.mean == pytest.approx(other.multiplier.mean, rel=1e-9)
        assert one.multiplier.prob_above == pytest.approx(other.multiplier.prob_above, abs=1e-9)
        # A quantile of few draws is one of them: the same up to the choice between two neighbours.
        assert one.multiplier.median == pytest.approx(other.multiplier.median, rel=0.1)
        assert one.hump is None or one.hump.weight == pytest.approx(other.hump.weight, abs=1e-9)


def test_the_order_of_draws_does_not_matter_and_they_stay_as_they_are():
    rng = np.random.default_rng(4)
    design = Design((AGE,))
    model = given(design, *rng.normal(size=(501, 2)))
    before = model.draws.copy()
    first = effects_of(model)
    assert (model.draws == before).all()
    second = effects_of(given(design, *before[rng.permutation(501)]))[0].multiplier
    assert first[0].multiplier.median == second.median
    assert (first[0].multiplier.lower, first[0].multiplier.upper) == (second.lower, second.upper)
    assert first[0].multiplier.mean == pytest.approx(second.mean, rel=1e-12)


# -- the model's own odds ---------------------------------------------------------------------------------


def log_odds(design, beta, **values):
    return (design.matrix(design.columns([Conditions(values)])) @ np.asarray(beta))[0]


def test_the_multiplier_is_the_ratio_of_the_odds_that_the_model_gives():
    design = Design((AGE, SPEED, ADDITIVE))
    beta = [0.2, 0.7, -0.4, 0.9]
    found = effects_of(given(design, beta))
    base = {"age": 3.0, "speed": 50.0, "additive": "none"}

    def ratio(**changed):
        return math.exp(log_odds(design, beta, **base | changed) - log_odds(design, beta, **base))

    assert only(found, "age").multiplier.median == pytest.approx(ratio(age=6.0))
    assert only(found, "speed").multiplier.median == pytest.approx(ratio(speed=50.0 + 50.0))
    pair = only(found, "additive", "rosin")
    assert (pair.level, pair.against) == ("rosin", "none")
    assert pair.multiplier.median == pytest.approx(ratio(additive="rosin"))


def test_the_multiplier_follows_from_the_coefficient_in_own_units():
    design = Design((AGE, SPEED))
    rng = np.random.default_rng(6)
    draws = rng.normal(size=(2001, 3))
    own = design.own_units(draws)
    names = [term.name for term in design.own.terms]
    found = effects_of(given(design, *draws))
    for name, step in (("age", math.log(2.0)), ("speed", 50.0)):
        expected = np.exp(np.median(own[:, names.index(name)]) * step)
        assert only(found, name).multiplier.median == pytest.approx(expected, rel=1e-9)


def test_three_levels_are_each_set_against_the_average_of_all():
    design = Design((ACTION,))
    beta = [0.1, 0.8, -0.3]
    at = {level: log_odds(design, beta, action=level) for level in ACTION.levels}
    average = sum(at.values()) / 3
    found = effects_of(given(design, beta))
    assert {effect.level for effect in found} == set(ACTION.levels)
    for effect in found:
        assert effect.against is None
        assert math.log(effect.multiplier.median) == pytest.approx(at[effect.level] - average)


def test_with_a_hump_the_effect_is_the_average_over_all_doublings_inside_the_range():
    design = Design((AGE,), humps=("age",))
    beta = [0.0, 0.6, -2.5]
    starts = np.exp(np.linspace(math.log(1.0), math.log(32.0), 2001))
    changes = [log_odds(design, beta, age=2.0 * a) - log_odds(design, beta, age=a) for a in starts]
    found = effects_of(given(design, beta))[0]
    assert math.log(found.multiplier.median) == pytest.approx(trapezoid(changes) / 2000, abs=1e-6)
    assert changes[0] > 0 > changes[-1]


def test_in_a_product_the_other_factor_stands_in_its_middle():
    design = Design((AGE, SPEED, ACTION), products=(("age", "speed"), ("age", "action")))
    beta = np.random.default_rng(1).normal(size=len(design.terms))
    found = only(effects_of(given(design, beta)), "age")
    assert found.beside == ("speed", "action")
    changes = [
        log_odds(design, beta, age=8.0, speed=100.0, action=level)
        - log_odds(design, beta, age=4.0, speed=100.0, action=level)
        for level in ACTION.levels
    ]
    assert math.log(found.multiplier.median) == pytest.approx(sum(changes) / 3)


# -- humps ------------------------------------------------------------------------------------------------


def test_the_hump_tells_its_weight_and_where_its_peak_lies():
    design = Design((AGE,), humps=("age",))
    no_square, upwards, inner, outer = [0, 1.0, 0.0], [0, 1.0, 0.5], [0, 0.5, -1.0], [0, 3.0, -1.0]
    hump = effects_of(given(design, no_square, upwards, inner, inner, outer))[0].hump
    assert hump.square_weight == pytest.approx(0.8)
    assert hump.weight == pytest.approx(0.6)
    assert hump.inside == pytest.approx(0.4)
    # log odds 0.5 x - x^2 have their maximum at x = 0.25, which is 8 h times 8^0.25 on the scale of 1 to 64 h.
    assert hump.peak == pytest.approx(8.0 * 8.0**0.25)
    assert hump.lower == pytest.approx(hump.peak)
    assert (hump.upper, hump.below_range, hump.above_range) == (pytest.approx(64.0), False, True)


def test_where_hardly_any_weight_opens_downwards_no_peak_is_told():
    design = Design((AGE,), humps=("age",))
    hump = effects_of(given(design, *[[0, 1.0, 0.3]] * 19, [0, 0.1, -1.0]))[0].hump
    assert hump.inside == pytest.approx(0.05)
    assert (hump.peak, hump.lower, hump.upper) == (None, None, None)
    assert effects_of(given(Design((AGE,)), [0, 1.0]))[0].hump is None


# -- what the attempts never varied -----------------------------------------------------------------------


def attempts(rows):
    made = []
    for number, (values, parted, pooled) in enumerate(rows, 1):
        grade = {"parted": Parted.YES, "pooled": pooled} if parted else {"parted": Parted.NO}
        made.append(Attempt(f"a{number}", number, Conditions(values), **grade))
    return tuple(made)


def fitted(factors, rows, **settings):
    state = CampaignState(CampaignSettings(**settings), factors, attempts=attempts(rows))
    design, table = build_table(state)
    return fit_odds(table, design, state.settings), table


ROWS = [
    ({"age": 2.0, "speed": 90.0, "action": "swirl"}, False, None),
    ({"age": 4.0, "speed": 90.0, "action": "fold"}, True, Pooled.BEADS),
    ({"age": 9.0, "speed": 90.0, "action": "fold"}, True, Pooled.ONE_POOL),
    ({"age": 20.0, "speed": 90.0, "action": "fold"}, True, Pooled.BEADS),
]


def test_a_factor_that_never_varied_has_no_number_and_stands_last():
    model, table = fitted((AGE, SPEED, ACTION), ROWS)
    found = effects_of(model, table)
    speeds = [effect for effect in found if effect.factor.name == "speed"]
    assert [(effect.gate, effect.multiplier, effect.n) for effect in speeds] == [
        ("parted", None, 4),
        ("pooled", None, 3),
    ]
    parted = [effect for effect in found if effect.gate == "parted"]
    known = [effect.is_known for effect in parted]
    assert known == sorted(known, reverse=True)
    assert all(effect.is_known for effect in effects_of(model) if effect.factor.name == "speed")


def test_gate_2_knows_only_what_varied_among_parted_attempts_and_levels_only_where_tried():
    model, table = fitted((AGE, SPEED, ACTION), ROWS)
    actions = [effect for effect in effects_of(model, table) if effect.factor.name == "action"]
    told = [(e.gate, e.level, e.against, e.is_known) for e in actions]
    assert told == [
        ("parted", "fold", "swirl", True),
        ("parted", "press", None, False),
        ("pooled", None, None, False),
    ]


def test_without_attempts_nothing_is_known():
    model, table = fitted((AGE, ACTION), [])
    found = effects_of(model, table)
    assert len(found) == 4
    assert not any(effect.is_known for effect in found)
    assert {effect.n for effect in found} == {0}


def test_the_average_is_that_of_the_levels_tried():
    many = Factor("oil", levels=("a", "b", "c", "d", "e"))
    design = Design((many,))
    beta = np.random.default_rng(2).normal(size=5)
    rows = [({"oil": level}, False, None) for level in ("a", "c", "d")]
    _, table = fitted((many,), rows)
    found = effects_of(given(design, beta, gates=(Gate("parted"),)), table)
    at = {level: log_odds(design, beta, oil=level) for level in many.levels}
    average = (at["a"] + at["c"] + at["d"]) / 3
    known = {effect.level: math.log(effect.multiplier.median) for effect in found if effect.is_known}
    assert known == {level: pytest.approx(at[level] - average) for level in ("a", "c", "d")}
    assert {effect.level for effect in found if not effect.is_known} == {"b", "e"}


def test_inside_a_gate_the_surest_sign_comes_first():
    design = Design((AGE, SPEED, ADDITIVE))
    model = normal_model(design, [0, 0.1, -2.0, 0.8], [0, 1.0, 0.5, 0.5])
    found = effects_of(model)
    assert [effect.factor.name for effect in found] == ["speed", "additive", "age"]
    probabilities = [effect.multiplier.prob_sign for effect in found]
    assert probabilities == sorted(probabilities, reverse=True)


# -- another program --------------------------------------------------------------------------------------


def test_many_attempts_and_a_flat_prior_give_the_odds_ratios_of_statsmodels():
    """Independent program: statsmodels' binomial GLM, whose Wald interval the posterior approaches."""
    import statsmodels.api as sm

    rng = np.random.default_rng(21)
    ages, speeds = np.exp(rng.uniform(0, math.log(64), 1500)), rng.uniform(20, 180, 1500)
    eta = -1.0 + 0.5 * np.log(ages) - 0.01 * (speeds - 100)
    clean = (rng.random(1500) < 1 / (1 + np.exp(-eta))).astype(int)
    rows = tuple(
        Attempt(f"a{i}", i, Conditions({"age": ages[i], "speed": speeds[i]}), successes=int(clean[i]))
        for i in range(1500)
    )
    settings = CampaignSettings(gates=1, intercept_prior_sd=1e3, effect_prior_sd=1e3)
    state = CampaignState(settings, (AGE, SPEED), attempts=rows)
    design, table = build_table(state)
    found = effects_of(fit_odds(table, design, settings), table)
    columns = sm.add_constant(np.column_stack([np.log(ages), speeds]))
    other = sm.GLM(clean, columns, family=sm.families.Binomial()).fit()
    bounds = other.conf_int()
    for place, (name, step) in enumerate((("age", math.log(2.0)), ("speed", 50.0)), 1):
        size = only(found, name).multiplier
        assert math.log(size.median) == pytest.approx(other.params[place] * step, abs=0.01)
        assert math.log(size.lower) == pytest.approx(bounds[place, 0] * step, abs=0.02)
        assert math.log(size.upper) == pytest.approx(bounds[place, 1] * step, abs=0.02)


def test_the_step_length_is_the_step_on_the_internal_scale():
    assert step_length(AGE, Step("ratio", 2.0)) == pytest.approx(
        AGE.to_unit_interval(10.0) - AGE.to_unit_interval(5.0)
    )
    assert step_length(SPEED, Step("amount", 20.0)) == pytest.approx(
        SPEED.to_unit_interval(70.0) - SPEED.to_unit_interval(50.0)
    )
