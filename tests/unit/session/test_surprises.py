"""Surprises, and why one attempt came out as it did, against refits and hand-made campaigns (no source)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot, Origin
from stirfall.bench.run_facts import AcceptedWarning, RunFacts
from stirfall.bench.running import FIRST_POWDER, EventKind, Run, RunEvent, Step
from stirfall.reporting.why_words import direction_line, surprise_count_line, why_lines
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.surprises import Difference, Why, band_of, surprises, why
from stirfall.session.surprises_near import came_out, likeness, nearest

BEGUN = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
FACTORS = (
    Factor("sample age", "h", 1.0, 100.0, "log", role=Role.SAMPLE_AGE, default=10.0),
    Factor("temperature", "C", 140.0, 180.0, default=160.0),
    Factor("action", levels=("swirl", "fold")),
)
SETTINGS = CampaignSettings(
    title="Surprises",
    material=MaterialClass.BASE_METAL,
    melting_point_c=138.0,
    oil_flash_c=240.0,
    lot_effect="none",
)


def attempt(number: int, age: float, grade: str, temperature: float = 160.0, **changes: object) -> Attempt:
    """One attempt: "none", "beads" or "clean"."""
    at = BEGUN + timedelta(days=number)
    values: dict[str, Value] = {"sample age": age, "temperature": temperature, "action": "swirl"}
    made = Attempt(
        f"a{number}",
        number,
        Conditions(values),
        at,
        at,
        "L1",
        parted=Parted.NO if grade == "none" else Parted.YES,
        pooled=None if grade == "none" else Pooled.BEADS if grade == "beads" else Pooled.ONE_POOL,
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def orderly(count: int = 30) -> list[Attempt]:
    """Young ones do not part, older ones are clean: twice over the same ages."""
    ages = np.geomspace(1.5, 90.0, count // 2)
    return [
        attempt(1 + place + turn * len(ages), float(age), "none" if age < 10 else "clean", 150.0 + place)
        for turn in range(2)
        for place, age in enumerate(ages)
    ]


def state_of(attempts: Sequence[Attempt], settings: CampaignSettings = SETTINGS, **more: object) -> CampaignState:
    made = CampaignState(settings, FACTORS, (Lot("L1", BEGUN), Lot("L2", BEGUN)), (), tuple(attempts))
    return replace(made, **more)  # type: ignore[arg-type]


def said(answer: Why, analysis: Analysis) -> str:
    return "\n".join(why_lines(answer, analysis.state, may_wait=analysis.limits.may_wait))


def named(answer: Why) -> dict[str, Difference]:
    assert answer.compared is not None
    return {each.name: each for each in answer.compared.differences}


# -- what the others foretold ------------------------------------------------------------------------------------


@pytest.mark.parametrize("refined", [False, True])
def test_the_odd_one_out_is_the_greatest_surprise(refined: bool) -> None:
    odd = attempt(31, 60.0, "none")
    analysis = analyse(state_of([*orderly(), odd]), refined=refined)
    found = surprises(analysis)
    first = found.ranked[0]
    assert (first.attempt_id, first.gate, first.passed) == ("a31", "parted", False)
    assert first.band == "great"
    assert first.share == pytest.approx(1.0 - first.foretold.mean)
    assert first.foretold.lower <= first.foretold.mean <= first.foretold.upper
    assert first.foretold.n == 30
    assert found.judged == found.of == 31
    assert list(found.ranked) == sorted(found.ranked, key=lambda each: each.share)


def test_a_foretold_probability_is_that_of_a_fit_without_the_attempt() -> None:
    """An independent algorithm: the attempt is left out and everything fitted anew."""
    attempts = [*orderly(), attempt(31, 60.0, "none"), attempt(32, 6.0, "clean"), attempt(33, 40.0, "beads")]
    analysis = analyse(state_of(attempts))
    for one in (attempts[30], attempts[31], attempts[7]):
        told = why(analysis, one.id)
        rest = analyse(state_of([each for each in attempts if each.id != one.id]))
        again = rest.gate_estimates(one.conditions)
        for gate in told.gates:
            assert gate.foretold.mean == pytest.approx(again[gate.gate].mean, abs=0.05)
        assert told.clean is not None
        assert told.clean.mean == pytest.approx(rest.estimate(one.conditions).mean, abs=0.05)


def test_rows_of_several_trials_surprise_by_chance_as_often_as_is_said() -> None:
    """Counts of 12 trials at one share: both tails count, and what is not known of the share is allowed for."""
    rng = np.random.default_rng(5)
    found = []
    for _ in range(4):
        counts = rng.binomial(12, 0.5, 24)
        made = [
            attempt(n, 10.0, "none", parted=None, pooled=None, successes=k, trials=12)
            for n, k in enumerate(counts.tolist(), start=1)
        ]
        found.append(surprises(analyse(state_of(made))))
    total = sum(each.found for each in found)
    expected = sum(each.expected for each in found)
    assert expected > 10.0
    assert abs(total - expected) <= 3.0 * math.sqrt(sum(each.expected_sd**2 for each in found))


def test_the_expected_count_is_the_sum_of_the_chances() -> None:
    """Outcomes drawn from the model's own kind of law: the count stays near what is expected."""
    rng = np.random.default_rng(8)
    found = []
    for _ in range(3):
        ages = np.exp(rng.uniform(0.1, 4.5, 60))
        parts = rng.random(60) < 1.0 / (1.0 + np.exp(-2.0 * np.log(ages / 10.0)))
        pools = rng.random(60) < 0.75
        made = [
            attempt(at + 1, float(age), "none" if not part else "clean" if pool else "beads")
            for at, (age, part, pool) in enumerate(zip(ages, parts, pools, strict=True))
        ]
        found.append(surprises(analyse(state_of(made))))
    total = sum(each.found for each in found)
    expected = sum(each.expected for each in found)
    assert abs(total - expected) <= 3.0 * math.sqrt(sum(each.expected_sd**2 for each in found))
    assert "By chance alone" in surprise_count_line(found[0])


def test_counts_of_several_trials_are_judged_by_their_tail() -> None:
    """Binomial tail by hand: with p = 1/2 foretold, 6 of 6 has 1/64."""
    from stirfall.session.surprises import _tail

    law = tuple(math.comb(6, k) / 64.0 for k in range(7))
    assert _tail(6, law) == _tail(0, law) == pytest.approx(1.0 / 64.0)
    assert _tail(5, law) == pytest.approx(7.0 / 64.0)
    made = [attempt(n, 5.0 * n, "none", parted=None, successes=2 + n % 3, trials=6) for n in range(1, 11)]
    made.append(attempt(11, 30.0, "none", parted=None, successes=0, trials=6))
    answer = why(analyse(state_of(made)), "a11")
    assert answer.verdict.code == "why.counted"
    assert answer.gate is None
    assert answer.surprise is not None
    assert surprises(analyse(state_of(made))).ranked[0].attempt_id == "a11"


def test_bands_have_their_steps() -> None:
    assert [band_of(share) for share in (0.05, 0.2, 0.35, 0.36)] == ["great", "clear", "mild", "none"]


def test_very_many_attempts_are_judged_in_part() -> None:
    made = orderly(1400)
    found = surprises(analyse(state_of([replace(each, id=f"b{at}") for at, each in enumerate(made)])))
    assert (found.judged, found.of) == (1000, 1400)


# -- which gate, and what differed -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "code", "gate"),
    [
        ({}, "why.failed_parted", "parted"),
        ({"parted": Parted.PARTLY}, "why.failed_partly", "parted"),
        ({"parted": Parted.YES, "pooled": Pooled.BEADS}, "why.failed_pooled", "pooled"),
        ({"parted": Parted.YES, "pooled": Pooled.FEW_PIECES}, "why.failed_pooled", "pooled"),
        ({"parted": Parted.YES, "pooled": Pooled.ONE_POOL}, "why.nothing_failed", None),
        ({"parted": Parted.YES}, "why.parted_only", None),
        ({"parted": None, "successes": 0}, "why.gate_not_graded", None),
        ({"parted": None}, "why.not_graded", None),
        ({"aborted": True}, "why.aborted", None),
        ({"struck_reason": "spilt"}, "why.struck", None),
    ],
)
def test_the_gate_that_failed_is_named_or_why_it_cannot_be(
    changes: dict[str, object], code: str, gate: str | None
) -> None:
    analysis = analyse(state_of([*orderly(16), attempt(17, 20.0, "none", **changes)]))
    answer = why(analysis, "a17")
    assert (answer.verdict.code, answer.gate) == (code, gate)
    assert said(answer, analysis)


def test_the_nearest_of_both_ways_are_found_and_what_differed() -> None:
    odd = attempt(31, 60.0, "none", facts=RunFacts(operator="A", tool="rod"))
    like = attempt(32, 55.0, "clean", facts=RunFacts(operator="B", tool="rod", peak_c=171.0))
    analysis = analyse(state_of([*orderly(), odd, like]))
    answer = why(analysis, "a31")
    assert answer.other_way[0].number == 32
    assert answer.compared is not None
    assert answer.compared.other.number == 32
    differing = named(answer)
    assert differing["sample age"].difference == pytest.approx(5.0)
    assert differing["sample age"].share == pytest.approx(math.log(60 / 55) / math.log(100), rel=1e-6)
    assert (differing["operator"].here, differing["operator"].there) == ("A", "B")
    assert "tool" not in differing
    assert answer.compared.unknown == ("peak",)
    assert [near.outcome.value for near in answer.same_way] == ["nothing parted"] * 3
    assert answer.same_way[0].distance <= answer.same_way[1].distance


def test_a_difference_of_two_factors_has_the_model_s_own_shift() -> None:
    odd = attempt(31, 60.0, "none", 150.0)
    like = attempt(32, 30.0, "clean", 160.0)
    analysis = analyse(state_of([*orderly(), odd, like]))
    answer = why(analysis, "a31")
    assert answer.compared is not None
    coefficients = analysis.model.coefficients("parted")
    here, there = (
        analysis.model.design.matrix(analysis.model.design.columns([one.conditions])) for one in (odd, like)
    )
    whole = float(coefficients.weights @ (coefficients.draws @ (here - there)[0]))
    assert answer.compared.whole is not None
    assert answer.compared.whole.mean == pytest.approx(whole)
    parts = [each.shift.mean for each in answer.compared.differences if each.shift is not None]
    assert sum(parts) == pytest.approx(whole)  # straight terms add up


def test_what_the_model_thinks_made_it_harder_is_named() -> None:
    young = attempt(31, 4.0, "none", 165.0)
    analysis = analyse(state_of([*orderly(), young]))
    answer = why(analysis, "a31")
    assert answer.finding.code == "why.speaks_against"
    assert ("sample age", False) in answer.finding.params["names"]  # type: ignore[operator]
    assert named(answer)["sample age"].shift is not None


def test_where_nothing_recorded_differs_it_says_chance() -> None:
    twin = attempt(32, 60.0, "clean")
    analysis = analyse(state_of([*orderly(), attempt(31, 60.0, "none"), twin]))
    answer = why(analysis, "a31")
    assert answer.finding.code == "why.nothing_differs"
    assert "chance" in said(answer, analysis)
    other = replace(twin, facts=RunFacts(tool="spoon"))
    first = attempt(31, 60.0, "none", facts=RunFacts(tool="rod"))
    told = why(analyse(state_of([*orderly(), first, other])), "a31")
    assert told.finding.code == "why.only_facts"
    assert told.finding.params["names"] == (("tool", True),)


def test_a_surprise_says_that_the_model_knew_the_conditions() -> None:
    analysis = analyse(state_of([*orderly(), attempt(31, 60.0, "none", 150.0)]))
    assert "still foretold it otherwise" in said(why(analysis, "a31"), analysis)
    assert "still foretold it otherwise" not in said(why(analysis, "a1"), analysis)


def test_marks_of_a_run_and_warnings_gone_past_are_among_the_facts() -> None:
    def run(name: str, powder_s: float) -> Run:
        at = BEGUN
        events = (
            RunEvent("e1", name, EventKind.STEP, at, step=Step.STIR),
            RunEvent("e2", name, EventKind.MARK, at + timedelta(seconds=powder_s), word=FIRST_POWDER),
        )
        return Run(name, at, events=events)

    warned = RunFacts(accepted=(AcceptedWarning("limits.x", "temperature", "The bath is hot.", "wanted"),))
    odd = attempt(31, 60.0, "none", run_id="r1", facts=warned)
    like = attempt(32, 60.0, "clean", run_id="r2")
    answer = why(analyse(state_of([*orderly(), odd, like], runs=(run("r1", 80.0), run("r2", 20.0)))), "a31")
    differing = named(answer)
    assert differing["parting_time"].difference == 60.0
    assert differing["warnings"].here == "The bath is hot."
    assert differing["warnings"].there == "none"


def test_without_another_outcome_there_is_nothing_to_hold_against() -> None:
    analysis = analyse(state_of([attempt(1, 20.0, "clean"), attempt(2, 30.0, "clean")]))
    answer = why(analysis, "a1")
    assert answer.finding.code == "why.no_other"
    assert answer.compared is None
    with pytest.raises(InputError, match=r"attempt\.unknown"):
        why(analysis, "nobody")


def test_unknown_values_do_not_make_attempts_near() -> None:
    partly = attempt(2, 20.0, "clean", conditions=Conditions({"action": "swirl"}))
    state = state_of([attempt(1, 20.0, "none"), partly, attempt(3, 25.0, "clean")])
    like = likeness(state, state.attempts[0])
    assert not np.isfinite(like.distance[0])
    assert [near.number for near in nearest(like, [True, True])[0]] == [3]


def test_the_same_lot_breaks_a_tie() -> None:
    state = state_of(
        [attempt(1, 20.0, "none"), attempt(2, 20.0, "clean", lot_id="L1"), attempt(3, 20.0, "clean", lot_id="L2")]
    )
    found, _ = nearest(likeness(state, state.attempts[0]), [True, True])
    assert [near.number for near in found] == [2, 3]


def test_partly_parted_counts_as_the_settings_say() -> None:
    one = attempt(1, 20.0, "none", parted=Parted.PARTLY)
    assert came_out(one, "parted", "failed") is False
    assert came_out(one, "parted", "success") is True
    assert came_out(one, "pooled", "failed") is None


def test_the_quick_answer_says_what_waits() -> None:
    state = state_of([*orderly(), attempt(31, 60.0, "none")])
    first, refined = analyse(state), analyse(state, refined=True)
    assert why(first, "a31").waits is not None
    assert why(refined, "a31").waits is None
    assert why(refined, "a31").stage == "refined"


# -- film ----------------------------------------------------------------------------------------------------------


def hump(count: int = 60) -> list[Attempt]:
    ages = np.geomspace(1.2, 98.0, count)
    return [
        attempt(at + 1, float(age), "none" if age < 8 else "clean" if age < 30 else "beads")
        for at, age in enumerate(ages)
    ]


def test_under_and_over_filmed_are_said_where_the_direction_says_so() -> None:
    analysis = analyse(state_of(hump()))
    young, old = why(analysis, "a10"), why(analysis, "a58")
    assert young.direction is not None
    assert young.direction.code.startswith("why.under_filmed")
    assert old.direction is not None
    assert old.direction.code.startswith("why.over_filmed")
    assert "%" in direction_line(old)


def test_of_a_superoxide_former_nothing_is_said_of_film_or_of_longer_exposure() -> None:
    settings = replace(SETTINGS, material=MaterialClass.SUPEROXIDE_FORMER)
    analysis = analyse(state_of(hump(), settings))
    answer = why(analysis, "a10")
    assert answer.direction is not None
    assert answer.direction.code == "why.no_film_word"
    differing = named(answer)
    assert differing["sample age"].shift is None
    assert answer.compared is not None
    assert answer.compared.whole is None
    text = said(answer, analysis)
    assert "under-filmed" not in text.lower()
    assert "not told" in text
    assert "sample age" not in str(answer.finding.params.get("names", ""))


def test_attempts_of_several_benches_say_what_the_bench_does() -> None:
    def of_bench(one: Attempt) -> Attempt:
        bench = "North" if one.number % 2 else "South"
        return replace(one, origin=Origin(bench, "S", "f", one.id, one.number))

    made = [of_bench(each) for each in [*orderly(), attempt(31, 60.0, "none"), attempt(32, 60.0, "clean")]]
    analysis = analyse(state_of(made, replace(SETTINGS, lot_effect="bench")), refined=True)
    differing = named(why(analysis, "a31"))
    assert (differing["bench"].here, differing["bench"].there) == ("North", "South")
    assert differing["bench"].shift is not None
