"""How proofs stand: by their marked attempts, through the commands that make them, and in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.planning.proof import Verdict, count_plan, proof_of, sequential_plan
from stirfall.reporting.proof_json import standing_json
from stirfall.reporting.proof_words import chance_lines, risk_lines, rule_line, standing_lines, verdict_line
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.clock import FixedClock
from stirfall.session.commands import (
    ChangeFactors,
    ChangeSettings,
    CorrectAttempt,
    EndProof,
    RecordAttempt,
    RestoreAttempt,
    StartProof,
    StrikeAttempt,
)
from stirfall.session.document import Document
from stirfall.session.proof_outlook import (
    outlook_from_here,
    proof_choices,
    proof_outlook,
    reliability_draws,
    whole_recipe,
)
from stirfall.session.proving import ProofStanding, all_standings, corrected_attempts, may_count, standing

AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
FACTORS = (
    Factor("age", "h", 1.0, 100.0, "log"),
    Factor("temperature", "C", 80.0, 180.0),
    Factor("action", levels=("swirl", "fold")),
)
RECIPE = Conditions({"age": 24.0, "temperature": 150.0, "action": "swirl"})
TOLERANCES = {"temperature": 3.0, "age": 2.0}


@pytest.fixture
def start(document: Document) -> Callable[..., Proof]:
    """Start a proof by a plan, at the recipe."""

    def begin(plan=None, **others) -> Proof:
        settings = replace(document.state.settings, oil_flash_c=240.0, melting_point_c=60.0)
        document.execute(ChangeSettings(settings))
        chosen = plan or count_plan(0.8, 0.8, 0)
        document.execute(StartProof(proof_of(chosen, RECIPE, TOLERANCES, **others)))
        return document.state.proofs[-1]

    return begin


@pytest.fixture
def mark(document: Document) -> Callable[..., Attempt]:
    """Record an attempt that is marked for the newest proof: "c" clean, "f" failed, "a" aborted, "u" ungraded."""

    def record(kind: str = "c", **changed) -> Attempt:
        grades = {"c": (Parted.YES, Pooled.ONE_POOL), "f": (Parted.YES, Pooled.BEADS)}
        parted, pooled = grades.get(kind, (None, None))
        attempt = Attempt(
            "",
            0,
            Conditions({**RECIPE, **changed}),
            parted=parted,
            pooled=pooled,
            aborted=kind == "a",
            proof_id=document.state.proofs[-1].id,
        )
        changes = document.execute(RecordAttempt(attempt))
        return document.attempt(changes.new_attempt_id or "")

    return record


def now(document: Document) -> ProofStanding:
    return all_standings(document.state, document.corrections())[-1]


def told(found: ProofStanding) -> str:
    return "\n".join(standing_lines(found)).replace("\u2009", " ")


class TestByCount:
    def test_clean_attempts_show_the_claim(self, document, start, mark) -> None:
        start()
        assert now(document).verdict is Verdict.OPEN
        assert "Open: 0 of 8 attempts made" in told(now(document))
        for place in range(1, 8):
            mark()
            found = now(document)
            assert (found.made, found.failures, found.remaining, found.spare) == (place, 0, 8 - place, 0)
            assert found.shown_after == 8 - place
            assert found.interval is not None
            assert not found.interval.is_result
        assert "The interval of a proof without an end is not its result" in told(now(document))
        mark()
        found = now(document)
        assert (found.verdict, found.remaining, found.shown_after) == (Verdict.SHOWN, 0, None)
        assert found.path == tuple((n, 0) for n in range(9))
        assert found.interval is not None
        # Clopper-Pearson with no failure: the lower bound is (1 - C) to the power of 1 / n.
        assert found.interval.lower == pytest.approx(0.2 ** (1 / 8))
        assert found.interval.is_result
        assert "Shown: 8 of 8 attempts at this recipe were clean." in told(found)
        assert "at least 80 % with 80 % confidence (lower bound 81 %, n = 8)" in told(found)

    def test_the_sentence_of_a_success_run(self, document, start, mark) -> None:
        start(count_plan(0.9, 0.95, 0))
        for _ in range(29):
            mark()
        assert verdict_line(now(document)) == (
            "Shown: 29 of 29 attempts at this recipe were clean. The reliability is at least 90 % with 95 % "
            "confidence (lower bound 90 %, n = 29)."
        )

    def test_one_failure_too_many_ends_it_and_no_more_attempts_are_taken(self, document, start, mark) -> None:
        start(count_plan(0.8, 0.8, 1))
        mark()
        mark("f")
        assert now(document).verdict is Verdict.OPEN
        assert "of which none may fail" in told(now(document))
        mark("f")
        found = now(document)
        assert (found.verdict, found.made, found.failures) == (Verdict.NOT_SHOWN, 3, 2)
        assert "Not shown: 2 of 3 attempts at this recipe failed (allowed: 1)" in told(found)
        with pytest.raises(InputError, match=r"proof\.over"):
            mark()

    def test_an_aborted_attempt_is_a_failure_and_is_named(self, document, start, mark) -> None:
        start(count_plan(0.8, 0.8, 1))
        mark("a")
        assert now(document).failures == 1
        assert "Attempt 1 was aborted, which counts as a failure" in told(now(document))

    def test_a_struck_out_attempt_does_not_count_and_is_named(self, document, start, mark) -> None:
        start(count_plan(0.8, 0.8, 0))
        failed = mark("f")
        assert now(document).verdict is Verdict.NOT_SHOWN
        document.execute(StrikeAttempt(failed.id, "The wrong jar."))
        found = now(document)
        assert (found.verdict, found.made) == (Verdict.OPEN, 0)
        assert "Attempt 1 was struck out and does not count. The wrong jar." in told(found)

    def test_what_is_not_graded_holds_up_what_came_after_it(self, document, start, mark) -> None:
        start()
        mark()
        waiting = mark("u")
        mark()
        mark("f")
        found = now(document)
        assert (found.verdict, found.made, found.failures) == (Verdict.OPEN, 1, 0)
        assert "Attempt 2 is not graded" in told(found)
        assert "2 attempts, 3 to 4, do not count yet" in told(found)
        document.execute(CorrectAttempt(waiting.id, {"parted": Parted.YES, "pooled": Pooled.ONE_POOL}, "Graded."))
        found = now(document)
        assert (found.verdict, found.made, found.failures) == (Verdict.NOT_SHOWN, 4, 1)
        # A first grade is no correction.
        assert "corrected" not in told(found)

    def test_what_came_after_the_end_does_not_count_and_is_told(self, document, start, mark) -> None:
        start()
        first = mark("f")
        document.execute(StrikeAttempt(first.id, "The wrong jar."))
        for _ in range(7):
            mark()
        document.execute(RestoreAttempt(first.id))
        found = now(document)
        assert (found.verdict, found.made) == (Verdict.NOT_SHOWN, 1)
        assert "7 attempts, 2 to 8, came after the end and do not count; of them failed: none." in told(found)

    def test_the_claim_is_never_rounded_up(self, document, start, mark) -> None:
        start(count_plan(0.8, 0.8, 1, 15))
        for kind in "c" * 14 + "f":
            mark(kind)
        found = now(document)
        assert found.interval is not None
        whole = int(100 * found.interval.lower)
        assert f"lower bound {whole} %" in told(found)


class TestInSequence:
    def test_the_lower_line_shows_and_the_upper_one_refuses(self, document, start, mark) -> None:
        plan = sequential_plan(0.7, 0.8, 0.9, 0.2)
        start(plan)
        for _ in range(plan.fewest):
            assert now(document).verdict is Verdict.OPEN
            mark()
        found = now(document)
        assert found.verdict is Verdict.SHOWN
        assert found.interval is not None
        assert found.interval.lower >= 0.7
        start(plan)
        made = 0
        while now(document).verdict is Verdict.OPEN:
            mark("f")
            made += 1
        assert now(document).verdict is Verdict.NOT_SHOWN
        assert now(document).failures == made == plan.refused_at[made]
        assert "which crosses the upper line" in told(now(document))

    def test_cut_off_it_is_not_shown(self, document, start, mark) -> None:
        plan = sequential_plan(0.7, 0.8, 0.9, 0.2, 10)
        start(plan)
        assert plan.fewest <= 10
        for kind in "ccfcccccfc":
            mark(kind)
        found = now(document)
        assert (found.verdict, found.made) == (Verdict.NOT_SHOWN, 10)
        assert "no line was crossed within the most attempts" in told(found)

    def test_a_proof_that_can_no_longer_be_shown_says_so(self, document, start, mark) -> None:
        plan = sequential_plan(0.7, 0.8, 0.9, 0.2, 9)
        start(plan)
        mark("f")
        found = now(document)
        assert found.verdict is Verdict.OPEN
        assert found.shown_after is None
        assert "can no longer be shown" in told(found)


class TestRules:
    def test_an_attempt_off_the_recipe_is_refused_with_the_factor(self, document, start, mark) -> None:
        start()
        for changed, code in (
            ({"temperature": 154.0}, "proof.off_recipe"),
            ({"action": "fold"}, "proof.off_choice"),
        ):
            with pytest.raises(InputError) as caught:
                mark(**changed)
            assert caught.value.code == code
            assert caught.value.params["factor"] in changed
        mark(temperature=152.5)
        proof = document.state.proofs[-1]
        assert may_count(document.state, proof, RECIPE) is None
        away = may_count(document.state, proof, RECIPE.with_value("temperature", 154.0))
        assert away is not None
        assert away.code == "proof.off_recipe"
        mark("f")
        over = may_count(document.state, proof, RECIPE)
        assert over is not None
        assert over.code == "proof.over"
        assert now(document).made == 2

    def test_a_correction_that_leaves_the_recipe_takes_a_success_away_and_leaves_a_failure(
        self, document, start, mark
    ) -> None:
        start(count_plan(0.8, 0.8, 1))
        clean, failed = mark(), mark("f")
        for attempt in (clean, failed):
            moved = Conditions({**RECIPE, "temperature": 160.0})
            document.execute(CorrectAttempt(attempt.id, {"conditions": moved}, "Misread."))
        found = now(document)
        assert (found.made, found.failures) == (1, 1)
        assert "Attempt 1 was corrected and no longer lies at the recipe (“temperature”)" in told(found)
        assert "It failed, so it still counts" in told(found)

    def test_a_grade_that_was_corrected_is_named(self, document, start, mark) -> None:
        start()
        attempt = mark("f")
        document.execute(CorrectAttempt(attempt.id, {"pooled": Pooled.ONE_POOL}, "Seen again."))
        assert corrected_attempts(document.corrections()) == {attempt.id}
        found = now(document)
        assert (found.made, found.failures) == (1, 0)
        assert "Attempt 1 was corrected after it was recorded" in told(found)
        # A note is nothing that a proof rests on.
        document.execute(CorrectAttempt(mark().id, {"note": "warm day"}, "Added."))
        assert corrected_attempts(document.corrections()) == {attempt.id}

    def test_given_up_it_keeps_its_reason_and_shows_nothing(self, document, start, mark) -> None:
        proof = start()
        mark()
        document.execute(EndProof(proof.id, "The oil ran out."))
        found = now(document)
        assert found.verdict is Verdict.GIVEN_UP
        assert found.interval is not None
        assert not found.interval.is_result
        assert "Given up after 1 attempt, of which 0 failed: The oil ran out." in told(found)
        second = start()
        document.execute(EndProof(second.id, "No time."))
        assert "Given up before its first attempt: No time." in told(now(document))
        assert now(document).interval is None

    def test_a_rule_that_cannot_show_its_claim_never_starts(self, document, start) -> None:
        with pytest.raises(InputError, match=r"proof\.too_few"):
            start(replace(count_plan(0.8, 0.8, 0), attempts=7))
        assert document.state.proofs == ()

    def test_what_was_taken_back_by_undo_leaves_its_trace(self, document, start, mark) -> None:
        start()
        mark()
        mark("f")
        assert now(document).verdict is Verdict.NOT_SHOWN
        document.undo()
        found = now(document)
        assert (found.verdict, found.made, found.withdrawn) == (Verdict.OPEN, 1, 1)
        assert "1 attempt marked for it, whatever the outcome, taken back by undo" in told(found)
        document.redo()
        assert (now(document).verdict, now(document).withdrawn) == (Verdict.NOT_SHOWN, 0)

    def test_a_factor_of_the_recipe_keeps_its_meaning(self, document, start) -> None:
        start()
        kept = tuple(factor for factor in document.state.factors if factor.name != "action")
        with pytest.raises(InputError, match=r"factor\.in_use"):
            document.execute(ChangeFactors(kept))

    def test_unmarked_attempts_never_count(self, document, start, mark) -> None:
        start()
        document.execute(RecordAttempt(Attempt("", 0, RECIPE, parted=Parted.YES, pooled=Pooled.ONE_POOL)))
        assert now(document).made == 0
        assert now(document).marked == ()

    def test_the_standing_is_plain_json(self, document, start, mark) -> None:
        start(title="first")
        for kind in "ca":
            mark(kind)
        found = standing_json(now(document))
        assert found["verdict"] == "not shown"
        assert found["path"] == [[0, 0], [1, 0], [2, 1]]
        assert [each["failed"] for each in found["marked"]] == [False, True]


@pytest.fixture(scope="module")
def refined(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Analysis, ProofStanding]]:
    """The refined answer of two lots of attempts and of one clean attempt of a proof, made once."""
    path = tmp_path_factory.mktemp("proving") / "trial.stirfall"
    settings = CampaignSettings(oil_flash_c=240.0, melting_point_c=60.0)
    with Document.create(path, settings, FACTORS, lots=[Lot("L1"), Lot("L2")], clock=FixedClock(AT)) as document:
        document.execute(StartProof(proof_of(count_plan(0.8, 0.8, 0), RECIPE, TOLERANCES)))
        for number, kind in enumerate("ccccfcccfccfcfcfcc"):
            conditions = Conditions({**RECIPE, "age": 6.0 * 1.2**number, "temperature": 140.0 + number})
            pool = Pooled.ONE_POOL if kind == "c" else Pooled.BEADS
            lot = "L2" if number > 8 else "L1"
            attempt = Attempt("", 0, conditions, lot_id=lot, parted=Parted.YES, pooled=pool)
            document.execute(RecordAttempt(attempt))
        proof_id = document.state.proofs[0].id
        counted = Attempt("", 0, RECIPE, lot_id="L1", parted=Parted.YES, pooled=Pooled.ONE_POOL, proof_id=proof_id)
        document.execute(RecordAttempt(counted))
        yield analyse(document.state, refined=True), now(document)


class TestOutlook:
    @pytest.fixture
    def analysed(self, refined) -> Analysis:
        return refined[0]

    def test_the_chance_is_the_mean_over_paired_draws_at_the_recipe(self, analysed) -> None:
        plan = count_plan(0.8, 0.8, 1)
        exactly = proof_outlook(analysed, RECIPE, plan, held=False)
        assert exactly.reliability.mean == pytest.approx(analysed.estimate(RECIPE).mean, abs=1e-9)
        draws = reliability_draws(analysed, RECIPE, held=False)
        weights = analysed.model.weights
        assert exactly.chance.mean == pytest.approx(float(weights @ plan.chance_to_show(draws)))
        # Not the chance at the mean: what is not known of the reliability counts.
        assert exactly.chance.mean != pytest.approx(float(plan.chance_to_show(exactly.reliability.mean)), abs=0.02)
        held = proof_outlook(analysed, RECIPE, plan)
        assert held.reliability.mean != exactly.reliability.mean
        assert held.reliability.mean == pytest.approx(exactly.reliability.mean, abs=0.1)

    def test_from_here_the_proof_needs_less(self, refined) -> None:
        analysed, found = refined
        whole, here = proof_outlook(analysed, RECIPE, found.proof), outlook_from_here(analysed, found)
        assert (here.made, here.failures) == (1, 0)
        assert here.chance.mean > whole.chance.mean
        assert "From here it succeeds" in chance_lines(here)[0]

    def test_the_choices_carry_the_whole_recipe_and_their_chances(self, analysed) -> None:
        recipe = Conditions({"age": 24.0, "temperature": 150.0})
        choices = proof_choices(analysed, recipe, claim=0.8, confidence=0.8)
        assert choices.recipe == Conditions({**recipe, "action": "swirl"})
        assert choices.filled == ("action",)
        assert choices.tolerances == {"age": 2.4, "temperature": 3.0}
        assert [each.plan.attempts for each in choices.outlooks[:3]] == [8, 14, 21]
        assert [each.plan.rule.value for each in choices.outlooks] == ["count"] * 3 + ["sequential"]
        for each in choices.outlooks:
            assert 0 <= each.chance.lower <= each.chance.mean <= each.chance.upper <= 1
            assert 0 < each.attempts <= each.plan.attempts
            assert rule_line(each.plan)
            assert risk_lines(each.plan)
            assert ("Improve the recipe first" in " ".join(chance_lines(each))) == each.improve_first
        assert whole_recipe(analysed, RECIPE) == (RECIPE, ())

    def test_several_lots_share_paired_draws(self, analysed) -> None:
        one = reliability_draws(analysed, RECIPE, lots=("L1",))
        both = reliability_draws(analysed, RECIPE, lots=("L1", None))
        new = reliability_draws(analysed, RECIPE)
        assert both == pytest.approx((one + new) / 2)
        assert not np.allclose(one, new)
        with pytest.raises(InputError, match=r"proof\.lot_unknown"):
            reliability_draws(analysed, RECIPE, lots=("L9",))
        # A lot of its own may differ more than one that is known.
        assert np.std(new) > np.std(one)


def test_the_standing_needs_no_history(document: Document, start, mark) -> None:
    proof = start()
    mark()
    assert standing(document.state, proof).made == 1


def test_attempts_at_the_recipe_without_a_mark_are_told_while_the_proof_is_open(document, start, mark) -> None:
    proof = start(count_plan(0.5, 0.75, 0))

    def unmarked(number: int, *, clean: bool, **changed: float) -> None:
        grade = (Parted.YES, Pooled.ONE_POOL) if clean else (Parted.NO, None)
        conditions = Conditions({**RECIPE, **changed})
        document.execute(RecordAttempt(Attempt("", number, conditions, parted=grade[0], pooled=grade[1])))

    mark("c")
    unmarked(101, clean=False)
    unmarked(102, clean=False, temperature=120.0)
    unmarked(103, clean=True)
    document.execute(StrikeAttempt(document.state.attempts[-1].id, "the wrong jar"))
    mark("c")
    unmarked(110, clean=False)
    found = standing(document.state, proof)
    assert found.verdict == "shown"
    assert [each.number for each in found.unmarked] == [101]
    assert any(line.startswith("1 attempt at this recipe without a mark") for line in standing_lines(found))
    assert standing_json(found)["unmarked"] == [101]
