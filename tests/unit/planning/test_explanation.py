"""What a suggestion says: shares of doubt and moved recipes against hand calculation, laws and plain sense."""

from __future__ import annotations

import json
import time
from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.design import Design
from stirfall.planning.box import Box, make_box
from stirfall.planning.candidates import candidate_columns, take
from stirfall.planning.draws import ThinDraws, thin
from stirfall.planning.explanation import Explanation, Ground, explain, lay_ground, settles_reason
from stirfall.planning.goals import Goal
from stirfall.planning.limits import operating_limits
from stirfall.planning.next_attempts import suggest
from stirfall.planning.settling import Settled, profiles_of, settled
from stirfall.planning.suggestions import box_for
from stirfall.reporting.explanations import explanation_json, explanation_lines

SPEED = Factor("stirring speed", "1/min", 0.0, 100.0)
DEPTH = Factor("oil depth", "mm", 0.0, 30.0)
ESTIMATE = Estimate(0.5, 0.2, 0.8, 0.9, 2)


def whole(attempt: int, speed: float, depth: float, *, clean: bool = True) -> Attempt:
    conditions = Conditions({"stirring speed": speed, "oil depth": depth})
    return Attempt(f"a{attempt}", attempt, conditions, successes=int(clean))


TRIED = (whole(1, 10.0, 3.0), whole(2, 90.0, 27.0, clean=False))


def state_of(*attempts: Attempt, factors=(SPEED, DEPTH), **settings) -> CampaignState:
    """A base metal whose factors are held exactly, so that hand calculation needs no scatter."""
    known = {"gates": 1, "material": MaterialClass.BASE_METAL, "plan": PlanSettings(control=())} | settings
    return CampaignState(CampaignSettings(**known), factors, attempts=attempts)


def simple_box(*attempts: Attempt) -> Box:
    limits = operating_limits(state_of(*attempts))
    return make_box(limits, [SPEED.name, DEPTH.name])


def draws_of(*betas: np.ndarray, factors=(SPEED, DEPTH)) -> ThinDraws:
    """``betas`` (m, p) per gate: intercept, speed, depth; a range is -1 to 1."""
    return ThinDraws(Design(factors), tuple(np.asarray(beta, dtype=np.float32).T for beta in betas))


def at(speed: float, depth: float) -> dict[str, np.ndarray]:
    return {SPEED.name: np.array([speed]), DEPTH.name: np.array([depth])}


def ground_of(draws: ThinDraws, *attempts: Attempt, best=None, estimate=ESTIMATE) -> Ground:
    box = simple_box(*attempts)
    candidates = candidate_columns(box, (), count=64, seed=1)
    return lay_ground(box, draws, attempts, best=best or at(50.0, 15.0), estimate=estimate, candidates=candidates)


def logit(p: float) -> float:
    return float(np.log(p / (1.0 - p)))


# -- an exact case -------------------------------------------------------------------------------------------


def test_two_draws_by_hand():
    """Two draws, one gate: at full speed 0.8 and 0.2, at none 0.2 and 0.8, half way 0.5 in both.

    By hand: a clean attempt at full speed has chance 0.5 and leaves the weights 0.8 and 0.2. The slopes are +s and
    -s, so that their mean goes from 0 to ±0.6 s, which takes 0.36 of their variance away. The best condition goes
    from anywhere (0.5) to full speed: 0.8 x 0.8 + 0.2 x 0.2 = 0.68.
    """
    slope = logit(0.8)
    ground = ground_of(draws_of([[0.0, slope, 0.0], [0.0, -slope, 0.0]]), *TRIED)
    told = explain(ground, at(100.0, 15.0))
    shares = {each.factor: each.share for each in told.settled}
    assert shares["stirring speed"] == pytest.approx(0.36, abs=1e-5)
    assert "oil depth" not in shares  # it has no effect in any draw, so there is no doubt about it
    clean, missed = told.after
    assert (clean.outcome, missed.outcome) == ("clean", "not clean")
    assert clean.chance == pytest.approx(0.5)
    assert clean.estimate.mean == pytest.approx(0.68, abs=1e-5)
    assert clean.conditions["stirring speed"] == 100.0
    assert missed.conditions["stirring speed"] == 0.0
    assert missed.estimate.mean == pytest.approx(0.68, abs=1e-5)
    assert clean.present == pytest.approx(0.5, abs=1e-5)
    assert (clean.estimate.n, clean.estimate.level) == (3, 0.9)
    assert (told.settles.code, told.settles.params["first"]) == ("explain.settles_whether", "stirring speed")


def test_two_gates_by_hand():
    """One factor moves parting only: nothing parted tells about parting, and not a bit about pooling.

    Parting at full speed 0.9 or 0.5, pooling 0.6 or 0.2 in turn, the four pairs equally likely. By hand: nothing
    parted has chance 0.3 and leaves parting at weights 0.1 : 0.5; pooling keeps 1 : 1.
    """
    parted = [[logit(0.7), logit(0.9) - logit(0.7), 0.0], [logit(0.7), logit(0.5) - logit(0.7), 0.0]]
    pooled = [[logit(0.6), 0.0, 0.0], [logit(0.2), 0.0, 0.0]]
    pairs = [(a, b) for a in parted for b in pooled]
    ground = ground_of(draws_of([a for a, _ in pairs], [b for _, b in pairs]), *TRIED)
    told = explain(ground, at(100.0, 15.0))
    assert [each.outcome for each in told.after] == ["clean", "beads", "nothing"]
    chances = [each.chance for each in told.after]
    assert chances == pytest.approx([0.7 * 0.4, 0.7 * 0.6, 0.3], abs=1e-5)
    level = next(each.share for each in told.settled if each.factor is None and each.gate == "pooled")
    # Clean leaves pooling at 3 : 1, beads at 1 : 2, nothing at 1 : 1; the mean moves by 1/4, 1/6, 0 of its range.
    by_hand = (0.28 * 0.25**2 + 0.42 * (1 / 6) ** 2) / 0.25
    assert level == pytest.approx(by_hand, abs=1e-4)


# -- laws ----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def many() -> ThinDraws:
    rng = np.random.default_rng(3)
    return draws_of(rng.normal([0.5, 0.5, 0.0], 1.0, (400, 3)), rng.normal(0.0, 1.0, (400, 3)))


def test_what_is_expected_afterwards_is_what_is_known_before(many):
    """Law of total expectation: the chances times the probabilities of the present recipe give its probability."""
    ground = ground_of(many, *TRIED)
    for speed, depth in ((0.0, 0.0), (100.0, 10.0), (50.0, 30.0)):
        told = explain(ground, at(speed, depth))
        assert sum(each.chance for each in told.after) == pytest.approx(1.0, abs=1e-6)
        mean = sum(each.chance * each.present for each in told.after)
        assert mean == pytest.approx(ESTIMATE.mean, abs=1e-5)
        # To choose anew after each outcome is never worse than to keep the recipe.
        assert sum(each.chance * each.estimate.mean for each in told.after) >= mean - 1e-6


def test_the_law_holds_with_forms_that_have_another_number_of_gates(many):
    rng = np.random.default_rng(4)
    rest = (rng.normal(0.0, 1.0, (3, 150)).astype(np.float32),)
    mixed = replace(many, independent=False, rest=rest, rest_share=0.3)
    told = explain(ground_of(mixed, *TRIED), at(90.0, 5.0))
    assert sum(each.chance for each in told.after) == pytest.approx(1.0, abs=1e-6)
    assert sum(each.chance * each.present for each in told.after) == pytest.approx(ESTIMATE.mean, abs=1e-5)


def test_variance_taken_away_and_variance_left_make_the_whole(many):
    """Law of total variance, by an own loop over the outcomes."""
    box = simple_box(*TRIED)
    profile = next(p for p in profiles_of(box, many, at(50.0, 15.0)) if p.factor == "stirring speed")
    parted, pooled = (gate[:, 0].astype(float) for gate in many.gates(at(100.0, 0.0)))
    classes = (parted * pooled, parted * (1 - pooled), 1 - parted)
    values = profile.values.astype(float)
    left = 0.0
    for chance in classes:
        weights = chance / chance.sum()
        mean = weights @ values
        left += chance.mean() * float((weights @ (values - mean) ** 2).sum())
    share = settled([profile], classes)[0].share
    assert 1.0 - left / float(values.var(axis=0).sum()) == pytest.approx(share, abs=1e-5)


def test_the_order_of_the_draws_changes_nothing(many):
    order = np.random.default_rng(9).permutation(many.size)
    other = replace(many, betas=tuple(np.ascontiguousarray(beta[:, order]) for beta in many.betas))
    one, two = (explain(ground_of(draws, *TRIED), at(80.0, 4.0)) for draws in (many, other))
    assert [(each.factor, each.gate) for each in one.settled] == [(each.factor, each.gate) for each in two.settled]
    for first, second in zip(one.settled, two.settled, strict=True):
        assert first.share == pytest.approx(second.share, abs=1e-5)
    for before, after in zip(one.after, two.after, strict=True):
        assert before.present == pytest.approx(after.present, abs=1e-5)
        assert before.chance == pytest.approx(after.chance, abs=1e-6)


def test_an_outcome_that_is_certain_settles_nothing():
    rng = np.random.default_rng(5)
    sure = draws_of(np.column_stack([np.full(200, 14.0), np.zeros(200), rng.normal(0.0, 1e-3, 200)]))
    told = explain(ground_of(sure, *TRIED), at(50.0, 0.0))
    assert told.settles.code == "explain.settles_little"
    assert {each.reason.code for each in told.after} == {"explain.after_same"}


# -- sense ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("speed", "depth", "most"), [(100.0, 15.0, "stirring speed"), (50.0, 30.0, "oil depth")])
def test_an_attempt_that_moves_one_factor_tells_most_about_it(speed, depth, most):
    rng = np.random.default_rng(6)
    centred = draws_of(np.column_stack([np.zeros(600), *rng.normal(0.0, 1.5, (2, 600))]))
    told = explain(ground_of(centred, *TRIED), at(speed, depth))
    shares = {each.factor: each.share for each in told.settled}
    assert told.settled[0].factor == most
    assert told.settles.params["first"] == most
    other = next(name for name in shares if name not in (most, None))
    assert shares[most] > 5 * shares[other]


def test_an_attempt_in_the_middle_tells_about_the_level():
    rng = np.random.default_rng(7)
    told = explain(ground_of(draws_of(rng.normal(0.0, 1.0, (600, 3))), *TRIED), at(50.0, 15.0))
    assert told.settles.code == "explain.settles_level"


@pytest.mark.parametrize(
    ("shares", "code"),
    [
        ([Settled("age", "parted", 0.2), Settled("depth", "parted", 0.15)], "explain.settles_whether_two"),
        ([Settled("age", "parted", 0.2), Settled("depth", "parted", 0.05)], "explain.settles_whether"),
        ([Settled("age", "parted", 0.2, is_open=False)], "explain.settles_how_much"),
        (
            [Settled("age", "clean", 0.2, is_open=False), Settled("depth", "clean", 0.2, is_open=False)],
            "explain.settles_how_much_two",
        ),
        ([Settled("age", "parted", 0.2), Settled("depth", "pooled", 0.18)], "explain.settles_two_gates"),
        ([Settled("age", "parted", 0.02), Settled(None, "parted", 0.2)], "explain.settles_level"),
        ([Settled("age", "parted", 0.004), Settled(None, "parted", 0.006)], "explain.settles_little"),
        ([], "explain.settles_little"),
    ],
)
def test_what_is_named_is_what_is_told_about_most(shares, code):
    assert settles_reason(shares).code == code


# -- the nearest attempt -------------------------------------------------------------------------------------


def test_the_nearest_attempt_with_its_differences(many):
    """Speed spans 100 and depth 30, so that (20, 3) is 0.1 from (10, 3) and far from (90, 27)."""
    told = explain(ground_of(many, *TRIED), at(20.0, 6.0))
    near = told.nearest
    assert near is not None
    assert (near.number, near.outcome) == (1, Outcome.CLEAN)
    assert near.distance == pytest.approx(np.hypot(0.1, 0.1))
    gaps = {gap.factor: gap.difference for gap in near.gaps}
    assert gaps == {"stirring speed": pytest.approx(10.0), "oil depth": pytest.approx(3.0)}
    assert "attempt 1, “clean separation”" in explanation_lines(told)[-1]


def test_the_same_conditions_and_none_at_all(many):
    assert explain(ground_of(many, *TRIED), at(90.0, 27.0)).near.code == "explain.near_same"
    nothing = explain(ground_of(many), at(90.0, 27.0))
    assert nothing.near.code == "explain.near_none"
    assert (nothing.nearest, nothing.recipe, nothing.estimate, nothing.after) == (None, None, None, ())


def test_attempts_without_a_result_or_struck_out_are_not_the_nearest(many):
    conditions = Conditions({"stirring speed": 50.0, "oil depth": 15.0})
    aborted = Attempt("a3", 3, conditions, aborted=True)
    struck = Attempt("a4", 4, conditions, successes=1, struck_reason="wrong jar")
    unknown = Attempt("a5", 5, Conditions({"stirring speed": 50.0}), successes=1)
    told = explain(ground_of(many, *TRIED, aborted, struck, unknown), at(50.0, 15.0))
    assert told.nearest is not None
    assert told.nearest.number in (1, 2)


# -- with a campaign -----------------------------------------------------------------------------------------


def explained(state: CampaignState, fit, *, picks: int = 4, size: int = 512) -> tuple[Ground, list[Explanation]]:
    model, limits = fit(state), operating_limits(state)
    box, draws = box_for(model, limits, Goal.RELIABLE), thin(model, size)
    candidates = candidate_columns(box, [a.conditions for a in state.attempts], count=128, seed=0)
    best = take(candidates, int(np.argmax(draws.means(candidates))))
    ground = lay_ground(box, draws, state.attempts, best=best, estimate=model.estimate(best), candidates=candidates)
    rows = [take(candidates, index) for index in range(0, 21 * picks, 21)]
    return ground, [explain(ground, row, model.estimate(row)) for row in rows]


def test_sentences_and_json_of_a_campaign(make_state, fit):
    state = make_state(30)
    ground, made = explained(state, fit)
    limits = operating_limits(state)
    for told in made:
        lines = explanation_lines(told)
        assert len(lines) == 5
        assert all(line.endswith(".") and "{" not in line and "explain." not in line for line in lines)
        assert all(limits.allows(each.conditions) for each in told.after)
        assert told.estimate == ground.estimate
        assert all(each.estimate.lower <= each.estimate.mean <= each.estimate.upper for each in told.after)
        assert all(0.0 <= each.share <= 1.0 for each in told.settled)
        document = json.loads(json.dumps(explanation_json(told)))
        assert [each["outcome"] for each in document["after"]] == ["clean", "beads", "nothing"]
        assert document["nearest"]["number"] == told.nearest.number
    again = explained(state, fit)[1]
    assert again == made


def test_while_nothing_is_known_no_recipe_is_said_to_move(make_state, fit):
    attempts = tuple(replace(each, parted=Parted.NO, pooled=None) for each in make_state(3).attempts)
    state = make_state(attempts)
    made = suggest(fit(state), operating_limits(state), state, count=3, goal="learn", explain=True)
    assert {each.goal for each in made} == {Goal.FIRST_DESIGN}
    for each in made:
        told = each.explanation
        assert (told.recipe, told.after) == (None, ())
        assert told.nearest.number in (1, 2, 3)
        assert told.settled


def test_a_reweighted_probability_is_that_of_a_new_fit_with_the_outcome(make_state, fit):
    """An independent way: record each outcome as one more attempt, fit anew, and ask for the same conditions."""
    state = make_state(30)
    ground, (told, *_) = explained(state, fit, picks=1, size=4096)
    box, model = ground.box, fit(state)
    row = take(candidate_columns(box, [a.conditions for a in state.attempts], count=128, seed=0), 0)
    gates = {
        "clean": (Parted.YES, Pooled.ONE_POOL),
        "beads": (Parted.YES, Pooled.BEADS),
        "nothing": (Parted.NO, None),
    }
    before = model.estimate(take(ground.pool.columns, 0)).mean
    for each in told.after:
        parted, pooled = gates[each.outcome]
        new = Attempt("new", 31, box.conditions(row, 0), parted=parted, pooled=pooled)
        anew = fit(make_state((*state.attempts, new))).estimate(take(ground.pool.columns, 0)).mean
        # Random draws: 0.3 / sqrt(4096) is 0.005, and more where few draws foresaw the outcome.
        assert each.present == pytest.approx(anew, abs=0.02)
    moved = [abs(each.present - before) for each in told.after]
    assert max(moved) > 0.02


@pytest.mark.parametrize("goal", ["learn", "reliable", "soonest", "most"])
def test_each_goal_explains_its_suggestions_by_its_own_recipe(make_state, fit, goal):
    state = make_state(24)
    made = suggest(fit(state), operating_limits(state), state, count=2, goal=goal, explain=True)
    for each in made:
        told = each.explanation
        assert [one.outcome for one in told.after] == ["clean", "beads", "nothing"]
        assert told.after[0].chance == pytest.approx(each.probability.mean)
        assert sum(one.chance for one in told.after) == pytest.approx(1.0)
        assert operating_limits(state).allows(told.recipe)


def test_a_superoxide_former_is_never_told_to_wait(fit):
    age = Factor("sample age", "h", 1.0, 96.0, Scale.LOG)
    attempts = tuple(
        Attempt(
            f"a{n}",
            n,
            Conditions({"sample age": 1.0 + n % 3, "stirring speed": 10.0 * n}),
            parted=Parted.YES,
            pooled=Pooled.ONE_POOL if n % 2 else Pooled.BEADS,
        )
        for n in range(1, 10)
    )
    settings = {
        "gates": 2,
        "material": MaterialClass.SUPEROXIDE_FORMER,
        "melting_point_c": 60.0,
        "oil_flash_c": 200.0,
    }
    state = state_of(*attempts, factors=(age, SPEED), **settings)
    for told in explained(state, fit)[1]:
        moved = {move.factor for each in told.after for move in each.moves}
        assert "sample age" not in moved
        assert "sample age" not in {each.factor for each in told.settled}
        assert all(each.conditions.number("sample age") == 1.0 for each in told.after)


def test_it_is_quick(make_state, fit):
    """At most 25 ms of computing for a suggestion of a batch of three; the best of three runs."""
    state = make_state(60)
    model, limits = fit(state), operating_limits(state)
    box, draws = box_for(model, limits, Goal.RELIABLE), thin(model, 512)
    candidates = candidate_columns(box, [], count=512, seed=0)
    best, estimate = take(candidates, 5), model.estimate(take(candidates, 5))
    times = []
    for _ in range(3):
        start = time.process_time()
        ground = lay_ground(box, draws, state.attempts, best=best, estimate=estimate, candidates=candidates)
        for index in range(3):
            explain(ground, take(candidates, index), estimate)
        times.append((time.process_time() - start) / 3)
    assert min(times) < 0.025
