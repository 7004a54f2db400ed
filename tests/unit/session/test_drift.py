"""Drift: the attempts in time, what is left out, marks, controls, groups, and what is said."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.issued import ChangeMark, MarkKind
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Masses
from stirfall.bench.run_facts import RunFacts
from stirfall.reporting.drift_json import drift_json
from stirfall.reporting.drift_words import chart_rows, drift_lines, mark_line, point_words, verdict_line
from stirfall.session.analysis import analyse
from stirfall.session.drift import FEWEST, Drift, DriftMeasure, base_of, drift
from stirfall.session.drift_groups import grouped
from stirfall.session.drift_marks import known_words

BEGIN = datetime(2026, 3, 2, 18, tzinfo=UTC)
FACTORS = (Factor("temperature", "C", 145.0, 170.0), Factor("stirring", "s", 30.0, 300.0, Scale.LOG))
SETTINGS = CampaignSettings(
    title="Drift", material=MaterialClass.BASE_METAL, melting_point_c=138.0, oil_flash_c=225.0
)
# 22 of 27, then 3 of 15.
CHANGED = "111101110111110111111011011" + "000001000000110"


def attempt(number: int, outcome: str, **more: object) -> Attempt:
    """Two hours after the attempt before: "1" clean, "0" beads, "n" nothing parted, "?" not graded."""
    grades = {
        "1": (Parted.YES, Pooled.ONE_POOL),
        "0": (Parted.YES, Pooled.BEADS),
        "n": (Parted.NO, Pooled.NOT_OBSERVED),
        "?": (None, None),
    }
    parted, pooled = grades[outcome]
    made = Attempt(
        f"a{number}",
        number,
        Conditions({"temperature": 145.0 + (7 * number) % 25, "stirring": 60.0 + 5.0 * number}),
        started_at=BEGIN + timedelta(hours=2 * number),
        parted=parted,
        pooled=pooled,
    )
    return replace(made, **more)  # type: ignore[arg-type]


def campaign(attempts: Sequence[Attempt], **more: object) -> CampaignState:
    state = CampaignState(SETTINGS, FACTORS, attempts=tuple(attempts))
    return replace(state, **more)  # type: ignore[arg-type]


def made(outcomes: str) -> list[Attempt]:
    return [attempt(number, outcome) for number, outcome in enumerate(outcomes, 1)]


def said(found: Drift) -> str:
    return " ".join(drift_lines(found)).replace("\u2009", " ")


class TestOrder:
    def test_attempts_stand_in_the_order_in_which_they_were_made(self) -> None:
        attempts = made("1" * 10)
        attempts[8] = replace(attempts[8], started_at=BEGIN - timedelta(days=1))  # written down late
        attempts[4] = replace(attempts[4], started_at=None, recorded_at=BEGIN + timedelta(hours=50))
        found = drift(campaign(attempts))
        assert [point.number for point in found.points] == [9, 1, 2, 3, 4, 6, 7, 8, 10, 5]

    def test_one_without_a_time_follows_the_number_before_it_and_is_counted(self) -> None:
        attempts = made("1" * 9)
        attempts[3] = replace(attempts[3], started_at=None)
        found = drift(campaign(attempts))
        assert [point.number for point in found.points] == list(range(1, 10))
        assert found.left_out.untimed == 1
        assert "Without a time, shown in the order of their numbers: 1." in said(found)

    def test_what_is_left_out_is_said(self) -> None:
        attempts = made("1" * 12)
        attempts[0] = replace(attempts[0], struck_reason="wrong jar")
        attempts[1] = replace(attempts[1], aborted=True)
        attempts[2] = attempt(3, "?")
        found = drift(campaign(attempts))
        assert found.n == 9
        for words in ("Struck out and not shown: 1.", "Aborted and not shown: 1.", "Without this value and not"):
            assert words in said(found)


class TestVerdict:
    def test_a_change_is_told_with_its_moment_and_the_mark_beside_it(self) -> None:
        mark = ChangeMark("m", BEGIN + timedelta(hours=55), MarkKind.OIL, "new can of oil")
        found = drift(campaign(made(CHANGED), marks=(mark,)), tz=UTC)
        verdict = verdict_line(found).replace("\u2009", " ")
        assert verdict.startswith(
            "Since attempt 28 (5 Mar, near this change: new can of oil) clean separations are"
        )
        assert "rarer: 3 of 15 (7 to 45 %) against 22 of 27 (63 to 92 %) before." in verdict
        assert found.change is not None
        assert found.change.probability > 0.95
        assert f"has changed is {round(100 * found.change.probability)} %." in verdict

    def test_turned_round_it_says_more_frequent(self) -> None:
        found = drift(campaign(made(CHANGED[::-1])), tz=UTC)
        assert "Since attempt 16" in verdict_line(found)
        assert "more frequent" in verdict_line(found)

    def test_nothing_changed_is_said_as_such(self) -> None:
        found = drift(campaign(made("110111" * 7)))
        assert verdict_line(found).startswith("Nothing says that anything has changed in these 42 attempts.")
        assert "50 % before anything was seen" in verdict_line(found)

    def test_too_few_are_too_few(self) -> None:
        found = drift(campaign(made("1" * (FEWEST - 1))))
        assert verdict_line(found) == "7 attempts are too few to say; it takes 8."
        assert found.chart is None
        assert found.change is None

    @pytest.mark.parametrize("measure", list(DriftMeasure))
    def test_each_measure_says_what_it_needs(self, measure: DriftMeasure) -> None:
        found = drift(campaign(()), measure)
        assert found.points == ()
        assert verdict_line(found)
        assert "drift." not in said(found)

    def test_gates_are_followed_by_themselves(self) -> None:
        state = campaign(made("1n0n10n1n011n"))
        parted, pooled = drift(state, "parted"), drift(state, "pooled")
        assert [point.k for point in parted.points] == [1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 1, 1, 0]
        assert pooled.n == 8
        assert pooled.left_out.no_value == 5

    def test_numbers_are_followed_too(self) -> None:
        grams = [8.6, 8.7, 8.5, 8.8, 8.6, 8.7, 8.6, 8.5, 7.1, 7.0, 7.2, 6.9, 7.1]
        attempts = [
            attempt(number, "1", masses=Masses(charge_g=10.0, product_g=product))
            for number, product in enumerate(grams, 1)
        ]
        found = drift(campaign(attempts), "recovery", tz=UTC)
        verdict = verdict_line(found).replace("\u2009", " ")
        assert verdict.startswith("Since attempt 9 (3 Mar) the recovery of a clean attempt is lower: mean 70.6 %")
        assert [signal.number for signal in found.signals if signal.chart == "ranges"] == [9]
        assert {signal.way for signal in found.signals if signal.chart == "cusum"} == {-1}
        assert found.unit == "%"

    def test_conditions_that_changed_are_not_taken_for_drift(self) -> None:
        """The same outcomes; in one campaign the temperature went down at the change, in the other it did not."""
        rows = list(enumerate(CHANGED, 1))
        hot = [attempt(n, o, conditions=Conditions({"temperature": 165.0 - n % 3})) for n, o in rows]
        cold = [
            replace(each, conditions=Conditions({"temperature": 147.0 + each.number % 3})) if n > 27 else each
            for n, each in enumerate(hot, 1)
        ]
        factors = FACTORS[:1]
        steady = drift(analyse(campaign(hot, factors=factors), refined=True))
        moved = drift(analyse(campaign(cold, factors=factors), refined=True))
        assert steady.change is not None
        assert moved.change is not None
        assert steady.change.probability == moved.change.probability
        assert steady.beyond is not None
        assert moved.beyond is not None
        assert moved.beyond.probability < 0.6 < 0.9 < steady.beyond.probability
        assert "The conditions can explain it" in said(moved)
        assert "The conditions do not explain it." in said(steady)

    def test_without_the_refined_answer_it_says_that_it_is_not_known_yet(self) -> None:
        state = campaign(made(CHANGED))
        assert "Whether other conditions explain it is still being worked out." in said(drift(state))
        assert verdict_line(drift(state, "residual")) == "What was foretold is still being worked out."


class TestMarks:
    def jars(self, *oils: str) -> tuple[Jar, ...]:
        return tuple(Jar(f"J{n}", "L1", BEGIN, oil=oil) for n, oil in enumerate(oils, 1))

    def test_a_new_oil_a_new_tool_and_a_new_person_are_found_in_the_records(self) -> None:
        attempts = [
            attempt(
                number,
                "1",
                jar_id=f"J{1 if number < 6 else 2}",
                facts=RunFacts(operator="Ada" if number < 9 else "Ben", tool="glass" if number < 4 else "steel"),
            )
            for number in range(1, 13)
        ]
        found = drift(campaign(attempts, jars=self.jars("old oil", "new oil")))
        told = [(mark.place, mark.kind, mark_line(mark)) for mark in found.marks]
        assert told == [
            (3, MarkKind.TOOL, "tool: steel"),
            (5, MarkKind.OIL, "oil: new oil"),
            (8, MarkKind.OPERATOR, "operator: Ben"),
        ]

    def test_lots_that_are_mixed_are_marked_once(self) -> None:
        attempts = [attempt(n, "1", lot_id="L1" if n < 4 or n % 2 else "L2") for n in range(1, 13)]
        found = drift(campaign(attempts))
        assert [(mark.place, mark_line(mark)) for mark in found.marks] == [(3, "lot L2")]

    def test_a_level_that_comes_back_for_good_is_marked_again(self) -> None:
        attempts = [attempt(n, "1", facts=RunFacts(tool="steel" if 5 <= n <= 8 else "glass")) for n in range(1, 13)]
        found = drift(campaign(attempts))
        assert [(mark.place, mark_line(mark)) for mark in found.marks] == [(4, "tool: steel"), (8, "tool: glass")]

    def test_an_unknown_level_is_no_change(self) -> None:
        attempts = [attempt(n, "1", facts=RunFacts(tool="glass" if n % 2 else "")) for n in range(1, 13)]
        assert drift(campaign(attempts)).marks == ()

    def test_marks_of_a_person_stand_between_the_attempts_they_lie_between(self) -> None:
        marks = tuple(
            ChangeMark(f"m{hour}", BEGIN + timedelta(hours=hour), MarkKind.OTHER, f"at {hour}")
            for hour in (0, 9, 99)
        )
        found = drift(campaign(made("1" * 12), marks=marks))
        assert [(mark.place, mark.id) for mark in found.marks] == [(0, "m0"), (4, "m9"), (12, "m99")]

    def test_several_changes_within_the_interval_are_all_named(self) -> None:
        marks = tuple(
            ChangeMark(f"m{hour}", BEGIN + timedelta(hours=hour), MarkKind.OTHER, words)
            for hour, words in ((10, "early"), (54, "new can"), (55, "new rod"))
        )
        text = said(drift(campaign(made(CHANGED), marks=marks)))
        assert "These changes at the bench lie within it: new can; new rod." in text
        assert "early" not in text
        many = tuple(replace(marks[1], id=f"x{n}", text=f"change {n}") for n in range(9))
        text = said(drift(campaign(made(CHANGED), marks=many)))
        assert "the first ones: change 0; change 1; change 2; change 3. The attempts" in text

    def test_marks_newer_than_the_analysis_are_shown(self) -> None:
        old = campaign(made("1" * 12))
        new = replace(old, marks=(ChangeMark("m", BEGIN, MarkKind.OIL, "new"),))
        assert [mark.id for mark in drift(old, now=new).marks] == ["m"]

    def test_words_are_offered_the_newest_first_and_once(self) -> None:
        words = [("Ada", "glass"), ("ada", ""), ("Ben", "steel")]
        attempts = [attempt(n, "1", facts=RunFacts(operator=a, tool=b)) for n, (a, b) in enumerate(words, 1)]
        assert known_words(campaign(attempts)) == {"operator": ("Ben", "ada"), "tool": ("steel", "glass")}


class TestControls:
    def test_a_condition_that_is_repeated_within_its_control_error_is_the_control(self) -> None:
        # Temperatures are held within 3 K: twice that is the same condition still.
        attempts = [
            attempt(n, o, conditions=Conditions({"temperature": 155.0 + (n % 3) if n % 4 == 0 else 145.0 + n}))
            for n, o in enumerate("1" * 20, 1)
        ]
        attempts = [
            replace(each, conditions=each.conditions.with_value("stirring", 100.0 if n % 4 == 0 else 30.0 + 13 * n))
            for n, each in enumerate(attempts, 1)
        ]
        found = drift(campaign(attempts))
        assert found.controls is not None
        assert [found.points[place].number for place in found.controls.places] == [4, 8, 12, 16, 20]
        assert [point.number for point in found.points if point.is_control] == [4, 8, 12, 16, 20]
        assert "One condition was repeated 5 times and serves as control: 5 of 5" in said(found)

    def test_a_control_that_a_plan_asked_for_is_the_reference(self) -> None:
        centre = Conditions({"temperature": 158.0, "stirring": 200.0})
        attempts = [
            attempt(n, "1", conditions=centre) if n in (3, 9, 11) else each
            for n, each in enumerate(made("1" * 12), 1)
        ]
        attempts = [replace(each, jar_id="J11") if n == 11 else each for n, each in enumerate(attempts, 1)]
        planned = PlannedAttempt(centre, "J11", "L1", "control")
        plan = EveningPlan("e", BEGIN, BEGIN, 3.0, 1, (planned,))
        found = drift(campaign(attempts, evenings=(plan,)))
        assert found.controls is not None
        assert found.controls.planned
        assert [found.points[place].number for place in found.controls.places] == [3, 9, 11]

    def test_conditions_that_all_differ_have_no_control(self) -> None:
        attempts = [
            attempt(n, "1", conditions=Conditions({"temperature": 145.0 + 2 * n, "stirring": 30.0 * 1.3**n}))
            for n in range(1, 11)
        ]
        assert drift(campaign(attempts)).controls is None


class TestGroups:
    def test_days_with_enough_attempts_are_the_points(self) -> None:
        attempts = [
            attempt(n + 1, "1", started_at=BEGIN + timedelta(days=n // 5, minutes=20 * (n % 5))) for n in range(35)
        ]
        found = drift(campaign(attempts), tz=UTC)
        assert [(group.first, group.last) for group in found.groups] == [(5 * d, 5 * d + 4) for d in range(7)]
        assert "Each of the 7 days at the bench is one point of the chart." in said(found)
        # Elsewhere the same evenings lie on other days, and each is still one day.
        for hours in (-5, 12):
            groups, _ = grouped(found.points, timezone(timedelta(hours=hours)))
            assert len(groups) == 7

    @pytest.mark.parametrize(("count", "size"), [(8, 3), (23, 3), (32, 4), (42, 5), (3000, 15)])
    def test_else_so_many_in_a_row(self, count: int, size: int) -> None:
        points = drift(campaign(made("1" * min(count, 42)))).points
        many = tuple(replace(points[0], place=place) for place in range(count))
        groups, reason = grouped(many)
        assert reason.params == {"size": size}
        assert groups[0].first == 0
        assert groups[-1].last == count - 1
        assert all(after.first == before.last + 1 for before, after in pairwise(groups))
        assert sum(group.n for group in groups) == count
        assert len(groups) <= 200

    def test_attempts_of_several_trials_stand_alone(self) -> None:
        attempts = [attempt(n, "?", successes=n % 5, trials=10) for n in range(1, 13)]
        found = drift(campaign(attempts))
        assert len(found.groups) == 12
        assert found.chart is not None
        assert found.chart.values == pytest.approx([(n % 5) / 10 for n in range(1, 13)])

    def test_the_base_is_the_first_half_within_bounds(self) -> None:
        assert [base_of(count) for count in (8, 20, 42, 400)] == [8, 10, 21, 50]


class TestSignals:
    def test_the_sum_alarms_after_the_change_and_names_where_it_began(self) -> None:
        found = drift(campaign(made(CHANGED)))
        sums = [signal for signal in found.signals if signal.chart == "cusum"]
        assert [signal.way for signal in sums] == [-1]
        assert 28 <= sums[0].number <= 36
        assert "downwards" in said(found)
        assert found.false_sums is not None
        assert f"Of such series {round(100 * found.false_sums)} % do so somewhere by chance alone." in said(found)

    def test_a_rare_single_pass_alarms_no_average(self) -> None:
        found = drift(campaign(made("000000000001" + "0" * 12)))
        assert not [signal for signal in found.signals if signal.chart == "ewma"]

    def test_what_was_foretold_is_never_said_to_be_certain(self) -> None:
        point = replace(drift(campaign(made("10" * 6))).points[0], foretold=0.998)
        assert "foretold 99" in point_words(drift(campaign(made("10" * 6))), point)

    def test_how_often_chance_alone_shows_a_signal_is_said(self) -> None:
        found = drift(campaign(made("10" * 30)))
        assert found.false_share is not None
        assert found.false_share < 0.01
        assert "below 1 % show a signal by chance alone." in said(found)
        many = drift(campaign(made("1101" * 40)))
        assert many.false_share is not None
        assert f"{round(100 * many.false_share)} % show a signal by chance alone." in said(many)

    def test_the_same_attempts_give_the_same_answer(self) -> None:
        state = campaign(made(CHANGED))
        assert drift_json(drift(state)) == drift_json(drift(state))


class TestForPrograms:
    @pytest.mark.parametrize("measure", ["clean", "recovery", "residual"])
    def test_json_holds_everything_and_nothing_that_is_no_number(self, measure: str) -> None:
        grams = np.random.default_rng(1).normal(8.5, 0.2, 42)
        attempts = [
            replace(each, masses=Masses(charge_g=10.0, product_g=float(product)))
            for each, product in zip(made(CHANGED), grams, strict=True)
        ]
        found = drift(campaign(attempts), measure)
        told = json.loads(json.dumps(drift_json(found), allow_nan=False))
        assert told["n"] == found.n == len(told["points"])
        assert told["text"] == list(drift_lines(found))
        assert (told["chart"] is None) == (found.chart is None)

    @pytest.mark.parametrize("chart", ["values", "cusum", "ewma"])
    def test_a_table_has_a_row_for_each_point(self, chart: str) -> None:
        found = drift(campaign(made(CHANGED)))
        header, *rows = chart_rows(found, chart)
        assert len(rows) == (len(found.groups) if chart == "values" else found.n)
        assert {len(row) for row in rows} == {len(header)}
        bare = chart_rows(found, chart, decimal=",", bare=True)[1]
        assert "," not in bare[2]
