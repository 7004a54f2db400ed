"""Proofs: counts, lines, exact risks and bounds, the predictive chance, and what belongs to one."""

from __future__ import annotations

import itertools
import math
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.plans import PlanSettings
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.planning.proof import (
    CountPlan,
    Verdict,
    attempts_needed,
    count_plan,
    off_recipe,
    plan_of,
    proof_of,
    refuse_broken_promise,
    sequential_plan,
    suggested_tolerances,
)
from stirfall.planning.proof_outlook import outlook
from stirfall.reporting.sentences import sentence

AT = datetime(2026, 3, 4, 18, 30, tzinfo=UTC)
RATES = np.array([0.001, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.8])
SHORT = [
    count_plan(0.7, 0.8, 0),
    count_plan(0.6, 0.7, 1),
    sequential_plan(0.5, 0.8, 0.9, 0.2),
    sequential_plan(0.6, 0.75, 0.9, 0.25, 12),
]


def ends_of(plan) -> list[tuple[int, int, float]]:
    """All ends of a plan with the probability of each at RATES, from every sequence of outcomes."""
    found: dict[tuple[int, int], np.ndarray] = {}
    for sequence in itertools.product((0, 1), repeat=min(plan.attempts, 14)):
        made = failures = 0
        for failed in sequence:
            made, failures = made + 1, failures + failed
            if plan.verdict_at(made, failures) is not Verdict.OPEN:
                break
        weight = RATES ** sum(sequence) * (1 - RATES) ** (len(sequence) - sum(sequence))
        found[made, failures] = found.get((made, failures), np.zeros(len(RATES))) + weight
    return [(*end, weight) for end, weight in found.items()]


class TestCount:
    @given(
        st.sampled_from([0.5, 0.7, 0.8, 0.9, 0.95, 0.99]),
        st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99]),
        st.integers(0, 6),
    )
    def test_the_count_is_the_smallest_that_the_binomial_law_allows(self, claim, confidence, failures) -> None:
        n = attempts_needed(claim, confidence, failures)
        assert stats.binom.cdf(failures, n, 1 - claim) <= 1 - confidence + 1e-12
        assert stats.binom.cdf(failures, n - 1, 1 - claim) > 1 - confidence - 1e-12
        if failures == 0:
            assert n == max(1, math.ceil(math.log(1 - confidence) / math.log(claim) - 1e-9))

    def test_what_cannot_be_counted_is_refused(self) -> None:
        for claim, confidence, failures, code in (
            (1.0, 0.9, 0, "proof.claim"),
            (0.9, 0.4, 0, "proof.confidence"),
            (0.9, 0.9, -1, "proof.failures_number"),
            (0.9, 0.9, 0.5, "proof.failures_number"),
            (0.9999, 0.99, 0, "proof.too_many"),
        ):
            with pytest.raises(InputError) as caught:
                attempts_needed(claim, confidence, failures)
            assert caught.value.code == code
        with pytest.raises(InputError, match=r"proof\.too_few"):
            count_plan(0.9, 0.95, 1, 45)
        assert count_plan(0.9, 0.95, 1, 50).attempts == 50

    def test_chances_and_durations_are_those_of_the_binomial_law(self) -> None:
        plan = count_plan(0.9, 0.95, 2)
        assert plan.chance_to_show(1 - RATES) == pytest.approx(stats.binom.cdf(2, 61, RATES))
        assert plan.chance_to_show(1 - RATES, 20, 1) == pytest.approx(stats.binom.cdf(1, 41, RATES))
        assert plan.chance_to_show(1 - RATES, 20, 3) == pytest.approx(np.zeros(len(RATES)))
        open_after = sum(stats.binom.cdf(2, n, RATES) for n in range(61))
        assert plan.expected_attempts(1 - RATES) == pytest.approx(open_after)
        later = sum(stats.binom.cdf(1, n, RATES) for n in range(41))
        assert plan.expected_attempts(1 - RATES, 20, 1) == pytest.approx(later)
        assert float(plan.expected_attempts(1.0)) == pytest.approx(61)

    def test_the_bounds_of_a_proof_that_shows_are_those_of_clopper_and_pearson(self) -> None:
        plan = count_plan(0.9, 0.95, 2)
        for failures in range(3):
            test = stats.binomtest(61 - failures, 61)
            one_sided = stats.binomtest(61 - failures, 61, alternative="greater").proportion_ci(0.95)
            assert plan.lower_bound(61, failures, 0.95) == pytest.approx(one_sided.low)
            assert plan.lower_bound(61, failures, 0.975) == pytest.approx(test.proportion_ci(0.95).low)
            assert plan.upper_bound(61, failures, 0.975) == pytest.approx(test.proportion_ci(0.95).high)


class TestSequence:
    @pytest.mark.parametrize(
        "asked", [(0.9, 0.9, 0.99, 0.05), (0.9, 0.95, 0.98, 0.1), (0.8, 0.9, 0.95, 0.1), (0.5, 0.6, 0.7, 0.3)]
    )
    def test_the_promise_is_exact_and_the_risk_of_missing_is_kept(self, asked) -> None:
        plan = sequential_plan(*asked)
        assert plan.false_pass <= 1 - plan.confidence + 1e-9
        assert plan.missing <= plan.risk_of_missing + 1e-9
        assert plan.keeps_promise
        # Cut off one attempt earlier, the risk of missing would not be kept; the fewest are all clean.
        assert sequential_plan(*asked, plan.attempts - 1).missing > plan.risk_of_missing - 1e-9
        assert plan.verdict_at(plan.fewest, 0) is Verdict.SHOWN
        assert plan.verdict_at(plan.fewest - 1, 0) is Verdict.OPEN
        chances = plan.chance_to_show(np.linspace(0.01, 0.999, 60))
        assert (np.diff(chances) >= -1e-12).all()

    def test_the_lower_line_moves_only_where_the_promise_needs_it_and_no_farther(self) -> None:
        kept, moved = sequential_plan(0.9, 0.9, 0.99, 0.05), sequential_plan(0.9, 0.95, 0.98, 0.1)
        assert not kept.moved
        assert moved.moved
        # Wald's own line: ln((1 - .1) / .05) / ln(.1 * .98 / (.02 * .9)); with it the risk would be above .05.
        assert moved.lines.shown < -math.log(0.9 / 0.05) / math.log(0.1 * 0.98 / (0.02 * 0.9))
        assert moved.false_pass > 0.04

    @pytest.mark.parametrize("plan", SHORT)
    def test_chances_and_durations_are_those_of_all_sequences(self, plan) -> None:
        ends = ends_of(plan)
        shown = sum(weight for made, failures, weight in ends if plan.verdict_at(made, failures) is Verdict.SHOWN)
        assert plan.attempts <= 14
        assert plan.chance_to_show(1 - RATES) == pytest.approx(shown)
        assert plan.expected_attempts(1 - RATES) == pytest.approx(sum(made * weight for made, _, weight in ends))

    def test_from_a_point_on_the_chance_is_the_mean_over_the_next_attempt(self) -> None:
        plan = sequential_plan(0.8, 0.9, 0.95, 0.1)
        r = np.array([0.7, 0.85, 0.97])
        for made, failures in ((0, 0), (3, 1), (10, 1), (20, 2)):
            clean = plan.chance_to_show(r, made + 1, failures)
            failed = plan.chance_to_show(r, made + 1, failures + 1)
            assert plan.chance_to_show(r, made, failures) == pytest.approx(r * clean + (1 - r) * failed)
            on = r * plan.expected_attempts(r, made + 1, failures)
            on += (1 - r) * plan.expected_attempts(r, made + 1, failures + 1)
            assert plan.expected_attempts(r, made, failures) == pytest.approx(1 + on)

    def test_what_cannot_be_shown_is_refused(self) -> None:
        with pytest.raises(InputError, match=r"proof\.good"):
            sequential_plan(0.9, 0.95, 0.9, 0.1)
        with pytest.raises(InputError, match=r"proof\.risk"):
            sequential_plan(0.9, 0.95, 0.98, 0.5)
        with pytest.raises(InputError) as caught:
            sequential_plan(0.9, 0.95, 0.98, 0.1, 30)
        assert caught.value.code == "proof.too_few_to_show"
        fewest = caught.value.params["fewest"]
        assert sequential_plan(0.9, 0.95, 0.98, 0.1, fewest).fewest == fewest
        with pytest.raises(InputError, match=r"proof\.no_end"):
            sequential_plan(0.9, 0.95, 0.98, 0.1).lower_bound(3, 0, 0.9)

    def test_a_long_plan_stays_exact(self) -> None:
        # An independent way: the same paths with whole numbers, without rounding.
        plan = sequential_plan(0.9, 0.95, 0.94, 0.1, 600)
        paths, rate, total = {0: 1}, 0.09, 0.0
        for n in range(1, 601):
            new: dict[int, int] = {}
            for x, count in paths.items():
                new[x] = new.get(x, 0) + count
                new[x + 1] = new.get(x + 1, 0) + count
            for x in [x for x in new if plan.verdict_at(n, x) is not Verdict.OPEN]:
                if plan.verdict_at(n, x) is Verdict.SHOWN:
                    total += math.exp(math.log(new[x]) + x * math.log(rate) + (n - x) * math.log(1 - rate))
                del new[x]
            paths = new
        assert float(plan.chance_to_show(1 - rate)) == pytest.approx(total, rel=1e-9)


class TestBounds:
    @pytest.mark.parametrize("plan", SHORT)
    @pytest.mark.parametrize("confidence", [0.8, 0.95])
    def test_they_hold_as_often_as_they_promise_whatever_the_reliability(self, plan, confidence) -> None:
        ends = ends_of(plan)
        below = sum(w * (plan.lower_bound(n, x, confidence) <= 1 - RATES + 1e-9) for n, x, w in ends)
        above = sum(w * (plan.upper_bound(n, x, confidence) >= 1 - RATES - 1e-9) for n, x, w in ends)
        assert (below >= confidence - 1e-9).all()
        assert (above >= confidence - 1e-9).all()

    @pytest.mark.parametrize("plan", [*SHORT, count_plan(0.9, 0.95, 1), sequential_plan(0.9, 0.95, 0.98, 0.1)])
    def test_shown_is_where_the_lower_bound_reaches_the_claim(self, plan) -> None:
        if isinstance(plan, CountPlan):
            ends = [(plan.attempts, x) for x in range(plan.failures_allowed + 1)]
            ends += [(n, plan.failures_allowed + 1) for n in range(plan.failures_allowed + 1, plan.attempts + 1)]
        else:
            ends = list(zip(plan.lattice.made.tolist(), plan.lattice.failures.tolist(), strict=True))
        for made, failures in ends:
            lower = plan.lower_bound(made, failures, plan.confidence)
            upper = plan.upper_bound(made, failures, plan.confidence)
            assert 0 <= lower <= 1 - failures / made + 1e-9
            assert lower < upper <= 1
            if plan.verdict_at(made, failures) is Verdict.SHOWN:
                assert lower >= plan.claim - 1e-9

    def test_they_fall_from_the_best_end_to_the_worst(self) -> None:
        plan = sequential_plan(0.8, 0.9, 0.95, 0.1)
        ends = list(zip(plan.lattice.made.tolist(), plan.lattice.failures.tolist(), strict=True))
        for bound in (plan.lower_bound, plan.upper_bound):
            assert (np.diff([bound(made, failures, 0.9) for made, failures in ends]) <= 1e-9).all()
        assert plan.lattice.shown[0]
        assert plan.upper_bound(*ends[0], 0.9) == 1
        assert plan.lower_bound(*ends[-1], 0.9) == pytest.approx(0)


class TestOutlook:
    def test_the_chance_of_a_beta_posterior_is_that_of_the_beta_binomial_law(self) -> None:
        # Exact witness: failures ~ beta-binomial. The draws are the midpoints of equal slices of the posterior.
        a, b, m = 18.0, 1.5, 4001
        draws = stats.beta.ppf((np.arange(m) + 0.5) / m, a, b)
        weights = np.full(m, 1 / m)
        for failures in (0, 1, 2):
            plan = count_plan(0.9, 0.95, failures)
            found = outlook(plan, draws, weights, level=0.9, n=17)
            exact = stats.betabinom.cdf(failures, plan.attempts, b, a)
            assert found.chance.mean == pytest.approx(exact, abs=2e-4)
            assert found.reliability.mean == pytest.approx(a / (a + b), abs=2e-4)
            assert found.true == pytest.approx(stats.beta.sf(0.9, a, b), abs=1e-3)
            # The chance rises with the reliability: its spread is that of the reliability, carried over.
            low = plan.chance_to_show(stats.beta.ppf(0.05, a, b))
            assert found.chance.lower == pytest.approx(float(low), abs=2e-3)
            assert found.chance.n == 17
            assert found.improve_first == (exact < 0.5)
        plan = count_plan(0.9, 0.95, 2)
        later = outlook(plan, draws, weights, level=0.9, n=17, made=30, failures=1)
        assert later.chance.mean == pytest.approx(stats.betabinom.cdf(1, 31, b, a), abs=2e-4)
        over = outlook(plan, draws, weights, level=0.9, n=17, made=30, failures=3)
        assert over.chance.mean == 0
        assert over.attempts == 0

    def test_weights_count(self) -> None:
        plan = sequential_plan(0.8, 0.9, 0.95, 0.1)
        draws, weights = np.array([0.7, 0.99]), np.array([0.25, 0.75])
        found = outlook(plan, draws, weights, level=0.95, n=5)
        assert found.chance.mean == pytest.approx(weights @ plan.chance_to_show(draws))
        assert found.attempts == pytest.approx(weights @ plan.expected_attempts(draws))
        assert found.true == pytest.approx(0.75)


FACTORS = (
    Factor("age", "h", 1.0, 100.0, Scale.LOG),
    Factor("bath", "C", 140.0, 170.0),
    Factor("stirring time", "s", 15.0, 600.0, step=5.0, role=Role.GENERAL),
    Factor("film index", "mmol/m2", 1.0, 100.0, Scale.LOG, role=Role.FILM_INDEX),
    Factor("additive", levels=("none", "rosin")),
)
RECIPE = Conditions({"age": 24.0, "bath": 155.0, "additive": "rosin"})


def make_proof(**changes) -> Proof:
    known = {
        "id": "p",
        "started_at": AT,
        "recipe": RECIPE,
        "rule": ProofRule.COUNT,
        "claim": 0.9,
        "confidence": 0.95,
        "attempts": 29,
        "tolerances": {"bath": 3.0, "age": 2.4},
    }
    return Proof(**(known | changes))


class TestRecipe:
    @pytest.mark.parametrize(
        ("changed", "code"),
        [
            ({}, None),
            ({"bath": 158.0}, None),
            ({"bath": 152.0, "age": 21.6}, None),
            ({"stirring time": 300.0}, None),
            ({"bath": 158.5}, "proof.off_recipe"),
            ({"age": 26.5}, "proof.off_recipe"),
            ({"additive": "none"}, "proof.off_choice"),
            ({"age": None}, "proof.off_unknown"),
        ],
    )
    def test_an_attempt_belongs_within_the_tolerances(self, changed, code) -> None:
        reached = RECIPE
        for name, value in changed.items():
            reached = reached.with_value(name, value)
        away = off_recipe(make_proof(), reached, FACTORS)
        assert (away and away.code) == code
        if away is not None:
            assert "{" not in sentence(away.code, away.params)

    def test_it_says_which_factor_and_by_how_much(self) -> None:
        away = off_recipe(make_proof(), RECIPE.with_value("bath", 160.0), FACTORS)
        assert away is not None
        told = sentence(away.code, away.params).replace("\u2009", " ")
        assert "“bath” 160 °C is 5 °C away from the recipe (155 °C), and 3 °C is the most" in told
        exactly = off_recipe(make_proof(tolerances={}), RECIPE.with_value("bath", 155.1), FACTORS)
        assert exactly is not None
        assert exactly.code == "proof.off_exactly"

    def test_of_a_superoxide_former_an_exposure_is_a_ceiling(self) -> None:
        widths = suggested_tolerances(RECIPE, FACTORS, PlanSettings(), MaterialClass.SUPEROXIDE_FORMER)
        assert widths == {"age": 0.0, "bath": 3.0}
        proof = make_proof(tolerances=widths)
        for age, code in ((2.0, None), (24.0, None), (24.5, "proof.off_ceiling")):
            reached = RECIPE.with_value("age", age)
            away = off_recipe(proof, reached, FACTORS, MaterialClass.SUPEROXIDE_FORMER)
            assert (away and away.code) == code
        assert off_recipe(proof, RECIPE.with_value("age", 2.0), FACTORS) is not None

    def test_tolerances_are_what_the_person_holds(self) -> None:
        recipe = {**RECIPE, "stirring time": 120.0, "film index": 20.0}
        usual = suggested_tolerances(recipe, FACTORS, PlanSettings())
        assert usual == {"age": 2.4, "bath": 3.0, "stirring time": 5.0, "film index": 5.0}
        told = suggested_tolerances(recipe, FACTORS, PlanSettings(control=(("bath", 1.5), ("age", 0.0))))
        assert told["bath"] == 1.5
        assert told["age"] == 0.0

    @pytest.mark.parametrize("plan", [count_plan(0.8, 0.9, 1, 30), sequential_plan(0.8, 0.9, 0.95, 0.1)])
    def test_a_proof_stands_for_the_plan_that_it_was_made_from(self, plan) -> None:
        proof = proof_of(plan, RECIPE, {"bath": 2.0}, title="again")
        assert plan_of(proof) == plan
        assert (proof.recipe, proof.title) == (RECIPE, "again")

    def test_a_rule_that_cannot_show_its_claim_is_refused(self) -> None:
        refuse_broken_promise(make_proof())
        with pytest.raises(InputError) as caught:
            refuse_broken_promise(make_proof(attempts=28))
        assert caught.value.params["needed"] == 29
        short = make_proof(rule=ProofRule.SEQUENTIAL, attempts=20, good=0.98, risk_of_missing=0.1)
        with pytest.raises(InputError, match=r"proof\.too_few_to_show"):
            refuse_broken_promise(short)
