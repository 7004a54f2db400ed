"""Answers where a film index follows from ages: one rule for numbers, pictures, ranges and recipes."""

from __future__ import annotations

import math
import pickle
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot, Masses
from stirfall.planning.jar_choice import choose_jar
from stirfall.reporting.recipe import make_recipe
from stirfall.reporting.tolerances import find_tolerances
from stirfall.session.analysis import first_answer, refine
from stirfall.session.film_factor import FilmFiller, prepare, prepare_with

NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)
AGE = Factor("sample age", "h", 1.0, 96.0, Scale.LOG)
OIL = Factor("oil exposure time", "h", 1.0, 96.0, Scale.LOG)
HEAT = Factor("temperature", "C", 140.0, 170.0)
DEPTH = Factor("oil depth", "mm", 5.0, 40.0, default=10.0)
FILM = Factor("film index", "", 1.0, 500.0, Scale.LOG)
POINT = Conditions({"sample age": 9.0, "temperature": 150.0})


@dataclass(frozen=True)
class RootRule:
    """Ten times the root of the hours, less under deeper oil: exactly known, for tests."""

    def index(self, columns):
        age = columns.get("oil exposure time", columns.get("sample age"))
        if age is None:
            return np.full(len(next(iter(columns.values()))), np.nan)
        return 10.0 * np.sqrt(age) * np.sqrt(10.0 / columns.get("oil depth", np.full(len(age), 10.0)))


def usual(age, depth=10.0):
    return 10.0 * math.sqrt(age * 10.0 / depth)


def campaign(count=30, factors=(AGE, HEAT, FILM), *, films=0, **kept):
    """Attempts whose two gates go by an index that is the age's, times what the jar makes of it."""
    rng = np.random.default_rng(3)
    rows = []
    for number in range(count):
        age = AGE.snap(math.exp(rng.uniform(0.0, math.log(96.0))))
        values = {"sample age": age, "temperature": round(rng.uniform(140, 170)), "oil depth": 10.0}
        values["oil exposure time"] = age
        index = usual(age) * math.exp(rng.normal(0, 0.7))
        z = math.log(index / 35.0)
        parted = rng.random() < 1 / (1 + math.exp(-1.6 - 2.4 * z))
        pooled = rng.random() < 1 / (1 + math.exp(-1.9 + 2.6 * z))
        pool = (Pooled.ONE_POOL if pooled else Pooled.BEADS) if parted else None
        names = [factor.name for factor in factors if factor.name in values]
        conditions = {name: values[name] for name in names}
        if number < films:
            conditions["film index"] = 77.0
        rows.append(
            Attempt(
                f"a{number}",
                number + 1,
                Conditions(conditions),
                lot_id=f"L{number % 3}",
                jar_id=None,
                parted=Parted.YES if parted else Parted.NO,
                pooled=pool,
                masses=Masses(10.0, 6.0 + rng.random() if pooled and parted else None),
                note=f"{index:.6g}",
            )
        )
    known = {"melting_point_c": 130.0, "oil_flash_c": 230.0, "invented": True} | kept
    lots = tuple(Lot(f"L{number}") for number in range(3))
    return CampaignState(CampaignSettings(**known), factors, lots, attempts=tuple(rows))


def index_of(attempt):
    return float(attempt.note)


def answer(state, rule=RootRule(), film_of=index_of, *, refined=False):
    film = next(factor for factor in state.factors if factor.role is Role.FILM_INDEX)
    first = first_answer(prepare_with(state, film, rule, film_of))
    return refine(first) if refined else first


@pytest.fixture(scope="module")
def whole():
    return answer(campaign(), refined=True)


def test_a_campaign_without_a_film_index_is_taken_as_it_came():
    state = campaign(factors=(AGE, HEAT))
    assert prepare(state).state is state
    assert prepare(state).filler is None
    hidden = replace(campaign(), factors=(AGE, HEAT, replace(FILM, hidden=True)))
    assert prepare(hidden).state is hidden


def test_attempts_get_the_index_of_their_jar_and_typed_ones_stay():
    state = campaign(films=4)
    prepared = prepare_with(state, FILM, RootRule(), index_of)
    values = [attempt.conditions.number("film index") for attempt in prepared.state.attempts]
    assert values[:4] == [77.0] * 4
    assert values[4:] == [float(attempt.note) for attempt in state.attempts[4:]]
    assert all("film index" not in attempt.conditions for attempt in state.attempts[4:])


@pytest.mark.parametrize("index", [None, math.nan, math.inf, -1.0, 0.0])
def test_an_index_that_cannot_be_told_stays_unknown(index):
    prepared = prepare_with(campaign(4), FILM, RootRule(), lambda _attempt: index)
    assert all("film index" not in attempt.conditions for attempt in prepared.state.attempts)


def test_no_rule_and_no_index_drops_the_factor_and_says_so():
    for count in (0, 20):
        analysis = answer(campaign(count), None, lambda _attempt: None)
        assert analysis.counts.dropped_factors == ("film index",)
        assert [factor.name for factor in analysis.model.design.factors] == ["sample age", "temperature"]
        assert analysis.counts.used == count
        assert "film index" not in analysis.complete(POINT)
        for each in analysis.suggest(count=2):
            assert "film index" not in each.conditions


def test_typed_indices_without_any_rule_are_a_factor_like_any_other():
    state = campaign(12, films=12)
    analysis = answer(state, None, lambda _attempt: None)
    assert analysis.follows is None
    assert "film index" in [factor.name for factor in analysis.model.design.factors]
    with pytest.raises(InputError) as error:
        analysis.estimate(POINT)
    assert error.value.code == "conditions.missing"


def test_without_an_age_the_index_is_free():
    state = campaign(20, (HEAT, FILM))
    analysis = answer(state)
    assert analysis.follows is None
    assert analysis.complete(Conditions({"temperature": 150.0}))["film index"] == FILM.middle
    assert analysis.direction(Conditions({"temperature": 150.0, "film index": 30.0})).factor == "film index"


def test_the_index_need_not_be_named(whole):
    named = POINT.with_value("film index", usual(9.0))
    assert whole.estimate(POINT) == whole.estimate(named)
    assert whole.gate_estimates(POINT) == whole.gate_estimates(named)
    assert whole.complete(POINT) == named
    assert whole.complete(POINT).followed == ("film index",)
    assert whole.complete(POINT).filled == ()


def test_what_is_still_missing_is_said_without_the_index(whole):
    with pytest.raises(InputError) as error:
        whole.estimate(Conditions({"sample age": 9.0}))
    assert error.value.params["names"] == "temperature"


def test_an_index_of_ones_own_counts_at_its_own_point_only(whole):
    own = POINT.with_value("film index", 4.0)
    assert whole.estimate(own) != whole.estimate(POINT)
    assert whole.complete(own)["film index"] == 4.0
    along, usual_along = (whole.curve("sample age", each, points=9) for each in (own, POINT))
    assert (along.mean == usual_along.mean).all()


def test_curve_map_and_outcomes_follow_the_ages(whole):
    curve = whole.curve("sample age", POINT, points=5)
    for x, mean, lower in zip(curve.x, curve.mean, curve.lower, strict=True):
        here = whole.estimate(POINT.with_value("sample age", float(x)))
        assert (mean, lower) == (pytest.approx(here.mean), pytest.approx(here.lower))
    surface = whole.surface("temperature", "sample age", POINT, points=3)
    for row, y in enumerate(surface.y):
        at = Conditions({"temperature": float(surface.x[1]), "sample age": float(y)})
        assert surface.mean[row, 1] == pytest.approx(whole.estimate(at).mean)
    shares = whole.outcome_shares("sample age", POINT.with_value("film index", 300.0), points=5)
    assert shares.clean.mean == pytest.approx(curve.mean)


def test_the_index_on_an_axis_of_its_own_stands_for_other_jars(whole):
    curve = whole.curve("film index", POINT, points=7)
    for x, mean in zip(curve.x, curve.mean, strict=True):
        assert mean == pytest.approx(whole.estimate(POINT.with_value("film index", float(x))).mean)
    assert curve.tried_low is not None


def test_the_oil_depth_moves_the_index_too():
    analysis = answer(campaign(factors=(AGE, HEAT, DEPTH, FILM)))
    deep = analysis.complete(POINT.with_value("oil depth", 40.0))
    assert deep["film index"] == pytest.approx(usual(9.0, 40.0))
    # Depth never varied among the attempts, so it is read even where a form leaves it out.
    curve = analysis.curve("oil depth", POINT, points=4)
    at = [analysis.estimate(POINT.with_value("oil depth", float(x))).mean for x in curve.x]
    assert curve.mean == pytest.approx(at)


def test_a_lowered_oil_exposure_lowers_the_index():
    analysis = answer(campaign(factors=(AGE, OIL, HEAT, FILM)))
    completed = analysis.complete(POINT.with_value("oil exposure time", 50.0))
    assert completed.lowered == ("oil exposure time",)
    assert completed["film index"] == pytest.approx(usual(9.0))
    columns = analysis.columns_along({"sample age": np.array([1.0, 4.0, 90.0])}, completed)
    assert columns["oil exposure time"] == pytest.approx([1.0, 4.0, 9.0])
    assert columns["film index"] == pytest.approx([10.0, 20.0, 30.0])


def test_advice_on_the_age_moves_the_index_with_it(whole):
    moved = whole.direction(POINT.with_value("film index", 2.0))
    assert moved == whole.direction(POINT)
    gain = whole.estimate(POINT.with_value("sample age", 18.0)).mean - whole.estimate(POINT).mean
    assert moved.gains["longer"] == pytest.approx(gain, abs=1e-9)


def test_suggestions_and_the_best_show_the_index_as_computed(whole):
    for each in (*whole.suggest(count=3, now=NOW), whole.best()):
        assert each.conditions.number("film index") == pytest.approx(
            usual(each.conditions.number("sample age")), rel=6e-3
        )
        assert whole.estimate(each.conditions).mean == pytest.approx(each.probability.mean, abs=1e-9)


def test_ranges_of_a_recipe_are_found_with_the_index_following(whole):
    complete = whole.complete(POINT)
    found = {each.factor.name: each for each in find_tolerances(whole, complete, drop=0.10)}
    assert found["film index"].follows
    assert (found["film index"].low, found["film index"].high) == (None, None)
    age = found["sample age"]
    floor = whole.estimate(POINT).lower - 0.10
    for edge, end in ((age.low, age.ends[0]), (age.high, age.ends[1])):
        here = whole.estimate(POINT.with_value("sample age", edge)).lower
        assert here >= floor - 1e-3
        if end == "drop":
            assert here <= floor + 0.03
    own = {e.factor.name: e for e in find_tolerances(whole, complete.with_value("film index", 300.0), drop=0.10)}
    assert own["sample age"] == age


def test_a_recipe_tells_the_index_and_where_it_comes_from(whole):
    recipe = make_recipe(whole, POINT, fingerprint="0", session_name="s", created_at=NOW)
    film = next(value for value in recipe.values if value.name == "film index")
    assert film.filled
    assert "follows from the ages" in film.note
    assert sum(step.text.count("film index") for step in recipe.steps) == 1
    assert any("usual jar" in line for line in recipe.evidence.sentences)
    assert recipe.curve.factor == "sample age"
    inside = next(value for value in recipe.values if value.name == "sample age")
    assert recipe.evidence.inside[1] == sum(
        inside.low <= a.conditions.number("sample age") <= inside.high
        and recipe.values[1].low <= a.conditions.number("temperature") <= recipe.values[1].high
        for a in whole.state.attempts
    )


def test_metal_brought_back_is_told_by_the_ages_alone(whole):
    assert whole.recovery is not None
    assert "film index" not in whole.recovery.effects
    assert whole.recovery.expected_grams(POINT) is not None


def test_health_and_effects_answer_beside_a_film_index(whole):
    report = whole.health(conditions=POINT)
    assert report is not None
    assert {effect.factor.name for effect in whole.effects()} == {"sample age", "temperature", "film index"}


@pytest.mark.parametrize("count", [0, 5, 30])
def test_a_superoxide_former_is_never_advised_on_film_or_age(count):
    state = campaign(count, material=MaterialClass.SUPEROXIDE_FORMER)
    analysis = answer(state, refined=count > 5)
    suggested = [analysis.best()]
    for goal in ("learn", "reliable"):
        made = analysis.suggest(count=3, goal=goal, now=NOW)
        assert made
        suggested += made
    for each in suggested:
        assert each.conditions.number("sample age") == AGE.low
        assert each.conditions.number("film index") in (None, FILM.low)
    assert analysis.direction(POINT) is None
    assert "film index" not in analysis.complete(POINT)
    recipe = make_recipe(analysis, analysis.best().conditions, fingerprint="0", session_name="s", created_at=NOW)
    assert not recipe.blocked
    assert "film index" not in [value.name for value in recipe.values]
    if recipe.curve is not None:
        assert recipe.curve.factor == "temperature"
    typed = make_recipe(
        analysis, POINT.with_value("film index", 400.0), fingerprint="0", session_name="s", created_at=NOW
    )
    assert typed.blocked


def test_a_prepared_campaign_can_go_to_another_process():
    prepared = prepare_with(campaign(3), FILM, RootRule(), index_of)
    again = pickle.loads(pickle.dumps(prepared))
    assert again == prepared
    assert hash(prepared.filler) == hash(FilmFiller("film index", (AGE, HEAT), RootRule()))


def test_single_values_hold_for_all_rows():
    filler = FilmFiller("film index", (AGE, DEPTH), RootRule())
    assert filler({"sample age": np.array([1.0, 4.0]), "oil depth": np.array([40.0])}) == pytest.approx([5, 10])
    assert np.isnan(filler({})).all()


def test_no_jar_is_chosen_by_its_film_where_ages_decide(whole):
    assert choose_jar(whole.state, whole.limits, POINT, NOW, lambda *_: 0.0) == (None, None)
