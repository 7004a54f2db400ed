"""No suggestion and no recommendation ever lies outside the limits: random campaigns try to break that.

The rules are written out again here, in Celsius and from the state alone, so that the code is not its own judge.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.inference.odds import fit_odds
from stirfall.inference.table import build_table
from stirfall.planning.limits import operating_limits
from stirfall.planning.next_attempts import Suggestion, best, suggest

NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)
UNITS = {
    Role.TEMPERATURE: ("C", "F", "K", "degF", "°C", "V", ""),
    Role.SAMPLE_AGE: ("h", "d", "min"),
    Role.OIL_EXPOSURE: ("h", "d", "min"),
    Role.HOT_TIME: ("min", "s"),
    Role.DOSE: ("mg/g", "%"),
    Role.GENERAL: ("1/min", "", "mm"),
}


@st.composite
def numbers(draw, name: str) -> Factor:
    role = draw(st.sampled_from(list(UNITS)))
    scale = draw(st.sampled_from(list(Scale)))
    unit = draw(st.sampled_from(UNITS[role]) if draw(st.integers(0, 7)) == 0 else st.just(UNITS[role][0]))
    if role is Role.TEMPERATURE:
        unit = draw(st.sampled_from(UNITS[role][:5])) if draw(st.integers(0, 7)) else unit
        low, width = draw(st.floats(-50, 400)), draw(st.floats(0.5, 500))
    else:
        low, width = draw(st.floats(0, 50)), draw(st.floats(0.01, 500))
    if scale is Scale.LOG and low <= 0:
        low = 0.01
    step = draw(st.none() | st.sampled_from([0.1, 0.5, 1.0, 7.0, 1000.0]))
    hidden = draw(st.integers(0, 5)) == 0
    return Factor(name, unit, low, low + width, scale, step, role=role, hidden=hidden)


@st.composite
def choices(draw, name: str) -> Factor:
    role = draw(st.sampled_from([None] * 9 + [Role.SAMPLE_AGE, Role.TEMPERATURE]))
    levels = ("none", "a", "b")[: draw(st.integers(1, 3))]
    return Factor(name, levels=levels, hidden=draw(st.integers(0, 5)) == 0, role=role)


@st.composite
def factor_sets(draw) -> tuple[Factor, ...]:
    made = [draw(numbers(f"number {index}")) for index in range(draw(st.integers(1, 4)))]
    names = ("additive", "action")[: draw(st.integers(0, 2))]
    made += [draw(choices(name)) for name in names]
    return tuple(made) or (Factor("age", "h", 1.0, 9.0),)


@st.composite
def values(draw, factor: Factor) -> float | str:
    if factor.is_choice:
        return draw(st.sampled_from(factor.levels))
    low, high = factor.bounds
    if draw(st.integers(0, 6)) == 0:  # attempts may lie far outside the range that is allowed now
        return draw(st.floats(low - 50, high + 1000)) if factor.scale is Scale.LINEAR else low / 7
    return draw(st.floats(low, high))


@st.composite
def attempts(draw, factors: tuple[Factor, ...], number: int) -> Attempt:
    kept = {f.name: draw(values(f)) for f in factors if draw(st.integers(0, 9)) > 0}
    grade = draw(st.sampled_from(["no", "beads", "pool", "count", "aborted", "struck", "none"]))
    more: dict[str, object] = {
        "no": {"parted": Parted.NO},
        "beads": {"parted": Parted.YES, "pooled": Pooled.BEADS},
        "pool": {"parted": Parted.YES, "pooled": Pooled.ONE_POOL},
        "count": {"successes": 1, "trials": 2},
        "aborted": {"aborted": True},
        "struck": {"parted": Parted.NO, "struck_reason": "typing error"},
        "none": {},
    }[grade]
    return Attempt(f"a{number}", number, Conditions(kept), **more)


@st.composite
def campaigns(draw) -> CampaignState:
    factors = draw(factor_sets())
    # Half of the campaigns are of a kind that can work; the others may contradict themselves.
    calm = draw(st.booleans())
    melting = st.floats(-20, 60) if calm else st.none() | st.floats(-50, 400)
    flash = st.floats(200, 500) if calm else st.none() | st.floats(-50, 500)
    known = CampaignSettings(
        material=draw(st.sampled_from([*MaterialClass, MaterialClass.SUPEROXIDE_FORMER])),
        melting_point_c=draw(melting),
        oil_flash_c=draw(flash),
        gates=draw(st.sampled_from([1, 2])),
    )
    rows = tuple(draw(attempts(factors, number)) for number in range(1, 1 + draw(st.integers(0, 9))))
    if draw(st.booleans()):  # both outcomes, all values known: then the model is asked
        whole = [Conditions({f.name: draw(values(f)) for f in factors}) for _ in range(2)]
        rows += (Attempt("b1", 21, whole[0], parted=Parted.YES, pooled=Pooled.ONE_POOL),)
        rows += (Attempt("b2", 22, whole[1], parted=Parted.NO),)
    ages = draw(st.lists(st.floats(0, 200), max_size=3))
    jars = tuple(Jar(f"J{n}", "L1", NOW - timedelta(hours=age)) for n, age in enumerate(ages))
    return CampaignState(known, factors, (Lot("L1", NOW - timedelta(hours=300)),), jars, rows)


def celsius(value: float, unit: str) -> float:
    return {"F": (value - 32) / 1.8, "degF": (value - 32) / 1.8, "K": value - 273.15}.get(unit, value)


def assert_inside(state: CampaignState, made: Suggestion) -> None:
    visible = {factor.name: factor for factor in state.factors if not factor.hidden}
    assert set(made.conditions) == set(visible)
    for name, value in made.conditions.items():
        factor = visible[name]
        if factor.is_choice:
            assert value in factor.levels
            continue
        assert math.isfinite(value)
        assert factor.low <= value <= factor.high
        if factor.role is Role.TEMPERATURE:
            assert_temperature(state, celsius(value, factor.unit), factor.unit)
        if state.settings.material is MaterialClass.SUPEROXIDE_FORMER and factor.role.is_exposure:
            assert value == factor.low
            recorded = [a.conditions[name] for a in state.attempts if name in a.conditions]
            assert all(value <= each for each in recorded)
    if state.settings.material is MaterialClass.SUPEROXIDE_FORMER:
        assert made.wait_h is None
        assert not any(f.is_choice and f.role.is_exposure for f in visible.values())
    assert made.wait_h is None or made.wait_h >= 0
    if made.conditions.get("additive") == "none":
        doses = [f for f in visible.values() if f.role is Role.DOSE and f.low <= 0 <= f.high]
        assert all(made.conditions[f.name] == 0 for f in doses)
    assert 0 <= made.probability.lower <= made.probability.mean <= made.probability.upper <= 1


def assert_temperature(state: CampaignState, at: float, unit: str) -> None:
    assert unit not in ("V", "")
    assert state.settings.oil_flash_c is not None
    assert at <= state.settings.oil_flash_c - 50 + 1e-6
    if state.settings.melting_point_c is not None:
        assert at >= state.settings.melting_point_c + 5 - 1e-6


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(state=campaigns(), goal=st.sampled_from(["learn", "reliable", "first design"]), seed=st.integers(0, 5))
def test_no_suggestion_and_no_best_ever_lies_outside(state, goal, seed):
    limits = operating_limits(state)
    design, table = build_table(state)
    model = fit_odds(table, design, state.settings, seed=seed)
    made = suggest(model, limits, state, count=3, goal=goal, seed=seed, now=NOW)
    event("blocked" if limits.blocked else f"suggested: {made[0].goal if made else 'nothing'}")
    if limits.blocked:
        assert made == ()
        with pytest.raises(InputError, match=r"^limits\."):
            best(model, limits, state, seed=seed)
        return
    if not state.visible_factors:
        assert made == ()
        return
    assert made
    for each in (*made, best(model, limits, state, seed=seed)):
        assert limits.allows(each.conditions)
        assert_inside(state, each)


@settings(max_examples=300, deadline=None)
@given(state=campaigns(), data=st.data())
def test_limits_allow_nothing_that_the_rules_forbid(state, data):
    limits = operating_limits(state)
    conditions = Conditions({f.name: data.draw(values(f)) for f in state.factors if not f.hidden})
    if limits.allows(conditions):
        event("allowed")
        estimate = type("E", (), {"lower": 0, "mean": 0, "upper": 1})
        assert_inside(state, Suggestion(conditions, estimate, None, None, (), None, None))
