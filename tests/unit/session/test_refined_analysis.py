"""The refined answer of a campaign: for whatever a form can produce, and how often intervals hold a new lot."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.cli.odds_forms import forms_json, forms_lines, lots_json, lots_lines
from stirfall.planning.draws import thin
from stirfall.session.analysis import Analysis, analyse, refine

AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG)
BENCH = Factor("bench", levels=("near", "far", "cellar"))
OILS = Factor("oil", levels=tuple(f"oil {number}" for number in range(40)))
NO, PARTLY = {"parted": Parted.NO}, {"parted": Parted.PARTLY, "pooled": Pooled.BEADS}
BEADS = {"parted": Parted.YES, "pooled": Pooled.BEADS}
CLEAN = {"parted": Parted.YES, "pooled": Pooled.ONE_POOL}
POINT = Conditions({"age": 10.0, "bench": "far"})
GRADES = (NO, CLEAN, BEADS, CLEAN, PARTLY, CLEAN, {"parted": Parted.YES})


def campaign(
    count, factors=(AGE,), *, grades=GRADES, lots=("L1", "L2", "L3"), jars=("J1", "J2"), values=None, **kept
):
    """Attempts whose values, grades, lots and jars go round."""
    jars = ("J1", "J2")
    rows = []
    for number in range(count):
        chosen = {}
        for factor in factors:
            if factor.is_choice:
                chosen[factor.name] = factor.levels[number % len(factor.levels)]
            else:
                chosen[factor.name] = factor.snap(factor.from_unit_interval(-1 + 2 * ((number * 0.37) % 1.0)))
        chosen |= values or {}
        rows.append(
            Attempt(
                f"a{number}",
                number + 1,
                Conditions(chosen),
                lot_id=lots[number % len(lots)] if lots else None,
                jar_id=jars[number % len(jars)],
                **grades[number % len(grades)],
            )
        )
    known = tuple(Lot(lot) for lot in dict.fromkeys(lots))
    return CampaignState(CampaignSettings(**kept), tuple(factors), known, attempts=tuple(rows))


def numbers_in(value):
    if isinstance(value, dict):
        return [number for each in value.values() for number in numbers_in(each)]
    if isinstance(value, (list, tuple)):
        return [number for each in value for number in numbers_in(each)]
    return [value] if isinstance(value, float) else []


def check_estimate(found):
    assert 0.0 < found.lower <= found.mean <= found.upper < 1.0


def check(analysis: Analysis) -> None:
    """Everything that is shown: inside its bounds, ordered, and a number."""
    at = analysis.complete(Conditions())
    for lot in (None, *analysis.model.lot_names[:2], "no such lot"):
        answering = analysis.for_lot(lot)
        check_estimate(answering.estimate(at))
        for found in answering.gate_estimates(at).values():
            check_estimate(found)
    for factor in analysis.state.visible_factors:
        curve = analysis.curve(factor.name, at, points=7)
        assert ((curve.lower > 0) & (curve.upper < 1)).all()
        assert ((curve.lower <= curve.mean) & (curve.mean <= curve.upper)).all()
    assert sum(score.weight for score in analysis.forms) == pytest.approx(1.0)
    scores = [score.log_score for score in analysis.forms]
    assert scores == sorted(scores, reverse=True)
    assert min(score.behind for score in analysis.forms) == 0.0
    loo = analysis.loo
    assert ((loo.probability >= 0) & (loo.probability <= 1)).all()
    assert (loo.log_score <= 1e-9).all()
    assert ((loo.k >= 0) & (loo.k <= loo.n)).all()
    assert len(loo.ids) == len(loo.rows) == len(loo.probability)
    for effect in analysis.lots:
        assert effect.lower <= effect.mean <= effect.upper
        assert effect.attempts >= 0
    for spread in analysis.lot_spread.values():
        assert 0 <= spread.lower <= spread.mean <= spread.upper
    shown = [forms_json(analysis), lots_json(analysis)]
    assert all(math.isfinite(number) for number in numbers_in(shown))
    lines = forms_lines(analysis) + lots_lines(analysis)
    assert not [line for line in lines if "nan" in line or "inf " in line or "{" in line]


@pytest.mark.parametrize("count", [0, 1, 2])
@pytest.mark.parametrize("gates", [1, 2])
@pytest.mark.parametrize("factors", [(), (AGE,), (AGE, OILS)])
def test_few_attempts(count, gates, factors):
    check(analyse(campaign(count, factors, gates=gates), refined=True))


@pytest.mark.parametrize("grade", [NO, BEADS, CLEAN, PARTLY])
@pytest.mark.parametrize("lots", [("L1",), ("L1", "L2")])
def test_attempts_that_all_came_out_alike(grade, lots):
    check(analyse(campaign(8, (AGE, BENCH), grades=(grade,), lots=lots), refined=True))


@pytest.mark.parametrize("partly", ["failed", "success", "ordinal"])
@pytest.mark.parametrize("lot_effect", ["lot", "jar", "none", "bench", "nothing of the kind"])
def test_every_setting_of_partly_parted_and_of_what_attempts_share(partly, lot_effect):
    state = campaign(14, (AGE, BENCH), partly=partly, lot_effect=lot_effect)
    analysis = analyse(state, refined=True)
    check(analysis)
    known = {"lot": ("L1", "L2", "L3"), "jar": ("J1", "J2"), "bench": ("near", "far", "cellar")}
    assert analysis.model.lot_names == known.get(lot_effect, ())
    assert ("bench" in [factor.name for factor in analysis.model.design.factors]) == (lot_effect != "bench")


@pytest.mark.parametrize("value", [1e-9, 1e9])
def test_values_of_any_size(value):
    wide = Factor("dose", "", 1e-9, 1e9, Scale.LOG)
    narrow = Factor("mass", "g", value, value * 1.5)
    state = campaign(9, (wide, narrow))
    check(analyse(state, refined=True))
    far = replace(state.attempts[0], conditions=Conditions({"dose": 1e9, "mass": 1e9}))
    check(analyse(replace(state, attempts=(far, *state.attempts[1:])), refined=True))


def test_a_factor_that_never_changed():
    state = campaign(10, (AGE, BENCH), values={"age": 5.0, "bench": "far"})
    analysis = analyse(state, refined=True)
    check(analysis)
    assert not [score.form.key for score in analysis.forms if "hump" in score.form.key]


FILM = Factor("film index", "h", 0.1, 10.0, Scale.LOG)
HEAT = Factor("temperature", "C", 80.0, 180.0)


@pytest.mark.parametrize(
    ("factors", "kept"),
    [
        ((FILM, AGE, HEAT), {}),
        ((AGE, FILM), {"humps": ("film index",)}),
        ((AGE, FILM, HEAT), {"products": (("age", "film index"), ("age", "temperature"))}),
        ((AGE, HEAT), {"lot_sd_prior": 1e-6, "effect_prior_sd": 1e-3, "intercept_prior_sd": 1e-3}),
        ((AGE, HEAT), {"lot_sd_prior": 1e3, "effect_prior_sd": 1e3, "intercept_prior_sd": 1e3}),
        ((AGE, HEAT), {"level": 0.5}),
        ((AGE, HEAT), {"level": 0.999}),
    ],
)
def test_film_indices_humps_products_priors_and_levels(factors, kept):
    # The film index and the age take the same places here, so that their forms are equally good.
    for partly in ("failed", "ordinal"):
        check(analyse(campaign(20, factors, partly=partly, **kept), refined=True))


def test_more_lots_than_anyone_reads():
    lots = tuple(f"L{number}" for number in range(510))
    analysis = analyse(campaign(520, gates=1, grades=(NO, CLEAN), lots=lots), refined=True)
    check(analysis)
    assert analysis.model.lot_names == ()


def test_a_choice_of_forty_levels():
    check(analyse(campaign(30, (AGE, OILS)), refined=True))


@pytest.mark.parametrize("trials", [50, 1000, 10**6])
@pytest.mark.parametrize("shares", [(0.1, 0.6, 0.95, 0.6, 0.1), (0, 1, 0, 1, 1, 0), (0, 0, 1), (1, 1, 1)])
@pytest.mark.parametrize("form", ["", "one gate, straight"])
def test_attempts_of_very_many_trials(trials, shares, form):
    grades = tuple({"successes": int(share * trials), "trials": trials} for share in shares)
    for lots in (("L1",), ("L1", "L2", "L3")):
        check(analyse(campaign(2 * len(shares), grades=grades, lots=lots, gates=1, form=form), refined=True))


def test_forty_lots_of_one_attempt_each():
    analysis = analyse(campaign(40, lots=tuple(f"L{number}" for number in range(40))), refined=True)
    check(analysis)
    assert len(analysis.model.lot_names) == 40


def test_each_attempt_of_an_unknown_lot():
    check(analyse(campaign(10, lots=()), refined=True))


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from([0, 1, 2, 3, 7, 16]),
    st.sampled_from([(AGE,), (AGE, BENCH), (AGE, Factor("temperature", "C", 80.0, 180.0))]),
    st.lists(st.sampled_from(GRADES), min_size=1, max_size=5),
    st.sampled_from([(), ("L1",), ("L1", "L2"), ("L1", "L2", "L3", "L4")]),
    st.sampled_from(["failed", "success", "ordinal"]),
    st.sampled_from(["lot", "jar", "none", "bench"]),
    st.sampled_from([1, 2]),
    st.sampled_from([0.01, 1.0, 20.0]),
)
def test_any_campaign_has_an_answer(count, factors, grades, lots, partly, lot_effect, gates, lot_sd_prior):
    state = campaign(
        count,
        factors,
        grades=grades,
        lots=lots,
        partly=partly,
        lot_effect=lot_effect,
        gates=gates,
        lot_sd_prior=lot_sd_prior,
    )
    check(analyse(state, refined=True))


@pytest.fixture(scope="module")
def state():
    return campaign(24, (AGE, BENCH), grades=(NO, CLEAN, BEADS, CLEAN, CLEAN))


@pytest.fixture(scope="module")
def refined(state):
    return analyse(state, refined=True)


def test_the_first_answer_has_no_forms_and_refining_keeps_it(state, refined):
    first = analyse(state)
    assert (first.stage, first.forms, first.loo, first.lots, dict(first.lot_spread)) == ("first", (), None, (), {})
    assert first.model is first.base
    after = refine(first)
    assert after.stage == refined.stage == "refined"
    assert after.base is first.base
    at = after.complete(Conditions())
    assert after.estimate(at) == refined.estimate(at)
    assert after.forms == refined.forms


def test_the_same_answer_comes_twice_to_the_last_bit(state, refined):
    again = analyse(state, refined=True)
    at = refined.complete(Conditions())
    assert again.estimate(at) == refined.estimate(at)
    assert again.forms == refined.forms
    assert again.lots == refined.lots
    assert again.lot_spread == refined.lot_spread
    assert np.array_equal(again.loo.probability, refined.loo.probability)
    assert np.array_equal(again.curve("age", at).upper, refined.curve("age", at).upper)
    assert again.suggest(2) == refined.suggest(2)


def test_an_answer_for_a_lot_changes_the_answer_and_nothing_else(refined):
    at = refined.complete(Conditions())
    for_lot = refined.for_lot("L2")
    assert (refined.lot, for_lot.lot, for_lot.for_lot(None).lot, for_lot.for_lot("L9").lot) == (
        None,
        "L2",
        None,
        None,
    )
    assert for_lot.estimate(at) != refined.estimate(at)
    assert for_lot.for_lot(None).estimate(at) == refined.estimate(at)
    assert for_lot.lots == refined.lots
    assert for_lot.forms == refined.forms
    assert for_lot.stage == "refined"


def test_where_attempts_share_a_factor_the_conditions_name_the_level(state):
    shared = analyse(replace(state, settings=CampaignSettings(lot_effect="bench")), refined=True)
    at = Conditions({"age": 10.0, "bench": "far"})
    assert shared.for_level_in(at).lot == "far"
    assert shared.for_level_in(Conditions({"age": 10.0})).lot is None
    assert shared.for_lot("near").for_level_in(at).lot == "near"
    assert shared.for_level_in(at).estimate(at) == shared.for_lot("far").estimate(at)


def test_in_the_first_answer_a_lot_changes_nothing(state):
    first = analyse(state)
    at = first.complete(Conditions())
    assert first.for_lot("L1").estimate(at) == first.estimate(at)
    assert first.for_lot("L1").lot is None


def test_forms_differ_only_beyond_their_noise(refined):
    assert refined.forms_differ == any(score.is_distinguishable for score in refined.forms)
    assert not analyse(campaign(2), refined=True).forms_differ


def test_suggestions_and_the_best_condition_come_from_the_refined_answer(refined):
    best = refined.best()
    assert best.probability == refined.estimate(best.conditions)
    for suggestion in refined.suggest(2):
        check_estimate(suggestion.probability)


def test_planning_ranks_by_the_probability_that_is_shown(refined):
    # Forms of one gate and of two share in the answer; the draws that search for the best must hold both.
    model = refined.model
    assert 0.1 < model.other_share < 0.9
    draws = thin(model, 4096)
    columns = {
        name: np.repeat(column, 5) for name, column in refined.columns_along({"age": np.ones(1)}, POINT).items()
    }
    columns["age"] = np.geomspace(1.0, 100.0, 5)
    assert draws.means(columns) == pytest.approx(model.means(columns), abs=2e-3)


def test_it_stops_when_told_to(state):
    token = CancelToken()
    first = analyse(state)
    token.cancel()
    with pytest.raises(Cancelled):
        refine(first, token)


def simulated(rng, scale, level):
    """A campaign drawn from its own priors, four lots of eight, and the true probability for a lot not seen yet."""
    sd = abs(rng.normal(0.0, scale))
    intercept, effect = rng.normal(0.0, 1.5), rng.normal(0.0, 1.0)
    rows = []
    for lot in range(4):
        shift = rng.normal(0.0, sd)
        for place in range(8):
            age = (1.0, 100.0)[place % 2]
            eta = intercept + effect * (1.0 if age > 10 else -1.0) + shift
            clean = int(rng.random() < 1 / (1 + math.exp(-eta)))
            rows.append(
                Attempt(f"a{len(rows)}", len(rows) + 1, Conditions({"age": age}), lot_id=f"L{lot}", successes=clean)
            )
    kept = CampaignSettings(gates=1, level=level, intercept_prior_sd=1.5, effect_prior_sd=1.0, lot_sd_prior=scale)
    truth = 1 / (1 + math.exp(-intercept - effect - rng.normal(0.0, sd)))
    return CampaignState(kept, (AGE,), attempts=tuple(rows)), truth


@pytest.mark.slow
def test_intervals_for_a_new_lot_cover_it_at_their_level_and_without_lots_they_do_not():
    """Truths drawn from the priors: an interval at 80 % then holds 80 % of them.

    Cook, Gelman & Rubin 2006, J. Comput. Graph. Stat. 15:675. Three standard errors of 160 campaigns: 9.5 %.
    """
    rng = np.random.default_rng(20)
    at = Conditions({"age": 100.0})
    held = {"refined": 0, "first": 0}
    for _ in range(160):
        state, truth = simulated(rng, 1.5, 0.8)
        for stage, analysis in (("first", analyse(state)), ("refined", analyse(state, refined=True))):
            found = analysis.estimate(at)
            held[stage] += found.lower <= truth <= found.upper
    assert held["refined"] / 160 == pytest.approx(0.8, abs=0.095)
    assert held["first"] / 160 < 0.6
