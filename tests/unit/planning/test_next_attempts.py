"""Suggestions: inside the limits, different from each other, with a reason, and the same every time."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.inference.table import build_table
from stirfall.planning.batch import Search, near_the_tried, pick_batch
from stirfall.planning.candidates import candidate_columns, known_columns, take
from stirfall.planning.draws import thin
from stirfall.planning.gains import outcome_classes
from stirfall.planning.goals import Goal
from stirfall.planning.limits import operating_limits
from stirfall.planning.look_ahead import appoint
from stirfall.planning.next_attempts import best, box_for, knows_nothing, suggest
from stirfall.planning.objectives import objective_for
from stirfall.reporting.sentences import sentence

NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)
GOALS = [Goal.LEARN, Goal.RELIABLE, Goal.SOONEST, Goal.MOST]
FIRST_TWO = GOALS[:2]


def test_conditions_tried_long_ago_are_not_called_new(fit):
    action = Factor("stirring action", levels=("fold", "swirl"))
    attempts = tuple(
        Attempt(f"a{n}", n, Conditions({"stirring action": "fold" if n == 1 else "swirl"}), successes=int(n < 40))
        for n in range(1, 402)
    )
    state = CampaignState(CampaignSettings(gates=1), (action,), attempts=attempts)
    made = suggest(fit(state), operating_limits(state), state, count=2, goal="reliable")
    assert [each.conditions["stirring action"] for each in made] == ["fold", "swirl"]
    assert [each.reason.code for each in made] == ["plan.again", "plan.again"]


@pytest.mark.parametrize("goal", GOALS)
@pytest.mark.parametrize("attempts", [0, 6, 40])
def test_every_suggestion_is_whole_allowed_on_its_steps_and_reads_well(make_state, fit, goal, attempts):
    state = make_state(attempts)
    limits = operating_limits(state)
    made = suggest(fit(state), limits, state, count=4, goal=goal, now=NOW)
    assert len(made) == 4
    for each in made:
        assert limits.allows(each.conditions)
        assert set(each.conditions) == {factor.name for factor in state.visible_factors}
        assert each.conditions["temperature"] % 1 == 0
        assert each.conditions["dose"] % 0.5 == 0
        assert each.probability.lower <= each.probability.mean <= each.probability.upper
        text = sentence(each.reason.code, each.reason.params)
        assert text.endswith(".")
        assert "{" not in text
        assert each.reason.code not in text


@pytest.mark.parametrize("goal", GOALS)
def test_same_arguments_give_the_same_suggestions(make_state, fit, goal):
    state = make_state(20)
    first, second = (suggest(fit(state), operating_limits(state), state, count=3, goal=goal, seed=5) for _ in "ab")
    assert first == second


@pytest.mark.parametrize("goal", [*GOALS, Goal.FIRST_DESIGN])
@pytest.mark.parametrize("attempts", [0, 30])
def test_suggestions_of_one_batch_differ(make_state, fit, goal, attempts):
    state = make_state(attempts)
    made = suggest(fit(state), operating_limits(state), state, count=6, goal=goal)
    assert len({each.conditions for each in made}) == 6


def test_nothing_known_gives_a_first_design_and_says_so(make_state, fit):
    state = make_state(0)
    made = suggest(fit(state), operating_limits(state), state, count=3, goal="learn")
    assert {each.goal for each in made} == {Goal.FIRST_DESIGN}
    assert [each.reason.code for each in made] == ["plan.first", "plan.first_spread", "plan.first_spread"]


def graded(number: int, *, clean: bool) -> Attempt:
    conditions = Conditions(
        {"age": 2.0 * number, "temperature": 150.0, "stirring time": 60.0, "additive": "none", "dose": 0.0}
    )
    if clean:
        return Attempt(f"a{number}", number, conditions, parted=Parted.YES, pooled=Pooled.ONE_POOL)
    return Attempt(f"a{number}", number, conditions, parted=Parted.NO)


@pytest.mark.parametrize(
    ("outcomes", "nothing"),
    [([], True), ([0], True), ([1, 1, 1], True), ([0] * 5, True), ([0] * 6, False), ([1, 0], False)],
)
def test_little_is_known_until_both_outcomes_or_six_attempts_were_seen(make_state, outcomes, nothing):
    attempts = tuple(graded(number, clean=bool(clean)) for number, clean in enumerate(outcomes, 1))
    assert knows_nothing(make_state(attempts)) is nothing


def test_first_design_keeps_away_from_what_was_tried(make_state, fit):
    state = make_state(tuple(graded(number, clean=False) for number in range(1, 4)))
    (made,) = suggest(fit(state), operating_limits(state), state, count=1)
    assert made.reason.code == "plan.first_spread"
    tried = [attempt.conditions for attempt in state.attempts]
    assert made.conditions not in tried
    assert made.conditions["additive"] == "rosin" or abs(made.conditions["stirring time"] - 60.0) > 50.0


def test_hidden_factors_are_never_suggested(make_state, fit):
    state = make_state(20)
    state = replace(state, factors=tuple(replace(f, hidden=f.name == "stirring time") for f in state.factors))
    for goal in FIRST_TWO:
        for each in suggest(fit(state), operating_limits(state), state, count=3, goal=goal):
            assert "stirring time" not in each.conditions


def test_no_additive_is_suggested_without_a_dose(make_state, fit):
    state = make_state(0)
    made = suggest(fit(state), operating_limits(state), state, count=12)
    without = [each for each in made if each.conditions["additive"] == "none"]
    assert without
    assert all(each.conditions["dose"] == 0.0 for each in without)
    assert any(each.conditions["dose"] > 0.0 for each in made)


def test_factor_without_values_rests_at_its_default_and_stays_inside(make_state, fit):
    extra = Factor("settling time", "min", 1.0, 10.0, step=1.0, default=4.0)
    state = make_state(20)
    state = replace(state, factors=(*state.factors, extra))
    for goal in FIRST_TWO:
        made = suggest(fit(state), operating_limits(state), state, count=3, goal=goal)
        assert {each.conditions["settling time"] for each in made} == {4.0}
    assert best(fit(state), operating_limits(state), state).conditions["settling time"] == 4.0


def test_blocked_limits_give_no_suggestion_and_best_says_why(make_state, fit):
    state = make_state(20, oil_flash_c=None)
    limits = operating_limits(state)
    assert suggest(fit(state), limits, state, count=3) == ()
    with pytest.raises(InputError) as caught:
        best(fit(state), limits, state)
    assert caught.value.code == "limits.flash_unknown"


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ({"count": 0}, "plan.count_not_positive"),
        ({"goal": "win"}, "plan.goal_unknown"),
        ({"lots": ["L9"]}, "plan.lot_unknown"),
    ],
)
def test_senseless_requests_are_refused(make_state, fit, arguments, code):
    state = make_state(6)
    with pytest.raises(InputError) as caught:
        suggest(fit(state), operating_limits(state), state, **({"count": 1} | arguments))
    assert caught.value.code == code


def test_cancelled_token_stops_planning(make_state, fit):
    state = make_state(10)
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        suggest(fit(state), operating_limits(state), state, count=3, token=token)


def test_best_beats_every_tried_condition_and_a_dense_random_search(make_state, fit):
    state = make_state(40)
    limits, model = operating_limits(state), fit(state)
    found = best(model, limits, state)
    rng = np.random.default_rng(4)
    rows = [
        Conditions(
            {
                "age": float(np.exp(rng.uniform(np.log(0.5), np.log(96.0)))),
                "temperature": float(rng.uniform(143.0, 170.0)),
                "stirring time": float(rng.uniform(30.0, 300.0)),
                "additive": "rosin",
                "dose": float(rng.uniform(0.0, 20.0)),
            }
        )
        for _ in range(3000)
    ]
    rows += [attempt.conditions for attempt in state.attempts]
    assert limits.allows(found.conditions)
    # 0.01: the search uses thinned draws, and inside the tried range half a per cent is given away
    assert found.probability.mean >= model.means(model.design.columns(rows)).max() - 0.01


@pytest.mark.parametrize("goal", GOALS)
def test_at_most_two_factors_leave_the_tried_range_at_once(make_state, fit, goal):
    middle = {"age": (8.0, 16.0), "temperature": (150.0, 160.0), "stirring time": (90.0, 120.0), "dose": (4.0, 8.0)}
    huddled = []
    for attempt in make_state(30).attempts:
        moved = {name: float(np.clip(attempt.conditions[name], *ends)) for name, ends in middle.items()}
        huddled.append(replace(attempt, conditions=Conditions({**moved, "additive": "rosin"})))
    state = make_state(tuple(huddled))
    made = suggest(fit(state), operating_limits(state), state, count=5, goal=goal)
    assert len(made) == 5
    assert max(len(each.outside_tried) for each in made) <= 2
    assert any(each.outside_tried for each in made)


def test_best_names_what_is_untested(make_state, fit):
    narrow = tuple(
        replace(
            attempt, conditions=attempt.conditions.with_value("stirring time", 60.0 + 5.0 * (attempt.number % 2))
        )
        for attempt in make_state(30).attempts
    )
    state = make_state(narrow)
    found = best(fit(state), operating_limits(state), state)
    outside = found.conditions["stirring time"] not in (60.0, 65.0)
    assert ("stirring time" in found.outside_tried) is outside
    assert found.reason.code == ("plan.best_untested" if found.outside_tried else "plan.best")
    assert sentence(found.reason.code, found.reason.params).startswith("The highest chance")


def test_superoxide_former_is_never_told_to_wait_and_gets_no_jar(make_state, fit):
    lots = (Lot("L1", NOW - timedelta(hours=1)),)
    jars = (Jar("J1", "L1", NOW - timedelta(minutes=30)),)
    state = make_state(20, jars=jars, lots=lots, material=MaterialClass.SUPEROXIDE_FORMER)
    model = fit(state)
    for goal in GOALS:
        for each in suggest(model, operating_limits(state), state, count=3, goal=goal, now=NOW):
            assert each.conditions["age"] == 0.5
            assert (each.jar_id, each.wait_h) == (None, None)


EXPOSURE = Factor("time in jar", "h", 1.0, 100.0, Scale.LOG)


def shelf(make_state, *hours: float):
    lots = (Lot("L1", NOW - timedelta(hours=500)),)
    jars = tuple(Jar(f"J{n}", "L1", NOW - timedelta(hours=age)) for n, age in enumerate(hours, 1))
    return make_state((), factors=(replace(EXPOSURE, role="oil exposure"),), jars=jars, lots=lots)


@pytest.mark.parametrize(
    ("hours", "jar", "wait"),
    [
        ((2.0, 30.0), "J1", 8.0),  # 10 h are wanted: the young jar needs 8 h more, the old one is past it
        ((9.95, 2.0), "J1", 0.05),
        ((10.5, 2.0), "J1", 0.0),  # within a tenth is the same age
        ((12.0, 30.0), None, None),
    ],
)
def test_the_jar_that_fits_soonest_is_named(make_state, fit, hours, jar, wait):
    state = shelf(make_state, *hours)
    made = suggest(fit(state), operating_limits(state), state, count=1, now=NOW)[0]
    assert made.conditions["time in jar"] == 10.0
    assert made.jar_id == jar
    assert made.wait_h == (None if wait is None else pytest.approx(wait, abs=2e-3))


def test_without_a_clock_or_a_shelf_no_jar_is_named(make_state, fit):
    state = shelf(make_state, 2.0)
    assert suggest(fit(state), operating_limits(state), state, count=1)[0].jar_id is None
    empty = replace(state, jars=tuple(replace(jar, emptied_at=NOW) for jar in state.jars))
    assert suggest(fit(empty), operating_limits(empty), empty, count=1, now=NOW)[0].jar_id is None


def test_best_without_attempts_is_only_the_usual_values_and_says_so(make_state, fit):
    state = make_state(0)
    found = best(fit(state), operating_limits(state), state)
    assert found.reason.code == "plan.best_unknown"
    assert found.conditions["temperature"] == 160.0  # the middle of 120 to 200 C lies inside 143 to 170 C
    assert found.outside_tried == ()


# ------------------------------------------------------------------------------------------- batches, lots, moves


def by_lots(make_state, attempts=40, lots=("L1", "L2", "L3")):
    rows = tuple(
        replace(attempt, lot_id=lots[attempt.number % len(lots)]) for attempt in make_state(attempts).attempts
    )
    return make_state(rows, lots=tuple(Lot(name, NOW - timedelta(hours=300)) for name in lots))


@pytest.mark.parametrize("attempts", [0, 40])
def test_attempts_by_lots_are_spread_over_them(make_state, fit, attempts):
    state = by_lots(make_state, attempts)
    made = suggest(fit(state), operating_limits(state), state, count=5, lots=["L3", "L1"], goal="learn")
    counts = [[each.lot_id for each in made].count(lot) for lot in ("L1", "L3")]
    assert sorted(counts) == [2, 3]
    # Blocks: each pair of attempts has one of each lot.
    assert {made[0].lot_id, made[1].lot_id} == {made[2].lot_id, made[3].lot_id} == {"L1", "L3"}


def test_an_attempt_from_a_lot_is_told_and_chosen_as_the_lot_is_known(make_state):
    from stirfall.inference.refined import fit_refined

    rows = []
    for number in range(1, 61):
        age = float(AGES[number % len(AGES)])
        lot = "L1" if number % 2 else "L2"
        clean = (lot == "L1") ^ (number % 11 == 0)  # L1 works nearly always, L2 nearly never
        rows.append(Attempt(f"a{number}", number, Conditions({"age": age}), lot_id=lot, successes=int(clean)))
    lots = (Lot("L1", NOW - timedelta(hours=300)), Lot("L2", NOW - timedelta(hours=300)))
    state = make_state(tuple(rows), factors=(Factor("age", "h", 0.5, 96.0, Scale.LOG),), lots=lots, gates=1)
    design, table = build_table(state)
    model = fit_refined(table, design, state.settings).model
    made = suggest(model, operating_limits(state), state, count=2, lots=["L1", "L2"], goal="reliable")
    told = {each.lot_id: each for each in made}
    assert told["L1"].probability.mean > 0.7 > 0.4 > told["L2"].probability.mean
    for lot, each in told.items():
        columns = model.design.columns([each.conditions])
        assert each.probability == model.for_lot(lot).estimate(columns)


AGES = np.geomspace(0.6, 90.0, 9)


def test_a_jar_is_named_only_of_the_lot_that_the_attempt_is_for(make_state, fit):
    state = shelf(make_state, 10.0, 9.0)
    jars = (state.jars[0], replace(state.jars[1], lot_id="L2"))
    state = replace(state, jars=jars, lots=(*state.lots, Lot("L2", NOW - timedelta(hours=500))))
    made = suggest(fit(state), operating_limits(state), state, count=1, now=NOW, lots=["L2"])[0]
    assert (made.lot_id, made.jar_id, made.wait_h) == ("L2", "J2", pytest.approx(1.0, abs=2e-3))


@pytest.mark.parametrize("goal", GOALS)
def test_moving_the_best_candidates_never_tells_less_and_keeps_to_the_box(make_state, fit, goal):
    state = make_state(40)
    model, limits = fit(state), operating_limits(state)
    box = box_for(model, limits, goal)
    draws = thin(model, 256)
    columns = candidate_columns(box, [], count=96, seed=1)
    columns = take(columns, near_the_tried(box, columns))
    objective = objective_for(goal, limits)
    known = known_columns(box, [])
    worths = []
    for refine in (False, True):
        (pick,) = pick_batch(Search(box, objective, draws, columns, known, refine=refine, seed=3), count=1)
        assert limits.allows(box.conditions(pick.columns, 0))
        gates = draws.gates(columns)
        utilities = objective.utilities(draws.clean(columns), columns)
        weights = np.full(draws.size, 1 / draws.size, np.float32)
        judge, _ = appoint(objective, utilities, outcome_classes(gates), weights)
        worths.append(float(judge.worth(outcome_classes(draws.gates(pick.columns)))[0]))
    assert worths[1] >= worths[0] * (1 - 1e-5)
    assert worths[1] > worths[0] or goal is not Goal.LEARN


def test_the_worth_of_an_attempt_for_the_soonest_batch_agrees_with_bayes_rule_written_out(make_state, fit):
    state = make_state(25)
    model, limits = fit(state), operating_limits(state)
    box = box_for(model, limits, Goal.SOONEST)
    draws, columns = thin(model, 60), candidate_columns(box, [], count=6, seed=1)
    columns = take(columns, list(range(6)))
    objective = objective_for(Goal.SOONEST, limits)
    classes = outcome_classes(draws.gates(columns))
    utilities = objective.utilities(draws.clean(columns), columns)
    judge, worth = appoint(objective, utilities, classes, np.full(60, 1 / 60, np.float32))
    exact = []
    for at in range(6):
        gain = -float(utilities.mean(axis=0).max())
        for p in classes:
            chance = float(p[:, at].mean())
            posterior = p[:, at].astype(float) / p[:, at].sum()
            gain += chance * max(float(posterior @ judge.evaluated[:, a]) for a in range(judge.evaluated.shape[1]))
        exact.append(max(gain, 0.0))
    assert judge.most_gain == pytest.approx(max(exact), abs=2e-5)
    assert worth.shape == (6,)


@pytest.mark.parametrize("goal", GOALS)
def test_a_suggestion_tells_held_figure_and_explanation_where_it_can(make_state, fit, goal):
    state = make_state(30)
    made = suggest(fit(state), operating_limits(state), state, count=2, goal=goal, now=NOW, explain=True)
    for each in made:
        assert each.held is not None
        assert each.held.lower <= each.held.mean <= each.held.upper
        assert abs(each.held.mean - each.probability.mean) < 0.05
        assert (each.figure is not None) is (goal is Goal.SOONEST)  # no grams are known here
        assert each.explanation is not None
        if each.figure is not None:
            assert each.figure.lower <= each.figure.value <= each.figure.upper <= 1344.0 + 1e-3
    recommended = best(fit(state), operating_limits(state), state, goal=goal, now=NOW)
    assert {each.explanation.recipe for each in made} == {recommended.conditions}
    plain = suggest(fit(state), operating_limits(state), state, count=2, goal=goal, now=NOW)
    assert {each.explanation for each in plain} == {None}
    assert plain[0].conditions == made[0].conditions or goal is Goal.LEARN


@pytest.mark.parametrize("goal", GOALS)
def test_a_quick_choice_keeps_to_the_limits_and_is_the_same_every_time(make_state, fit, goal):
    state = make_state(20)
    limits, model = operating_limits(state), fit(state)
    made = [suggest(model, limits, state, count=1, goal=goal, seed=4, effort="quick") for _ in "ab"]
    assert made[0] == made[1]
    assert limits.allows(made[0][0].conditions)
    assert made[0][0].held is None
