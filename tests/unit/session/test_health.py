"""The health of an answer: unknown stays unknown, and each warning comes when it should and not before."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.odds import fit_odds
from stirfall.inference.scores import brier_score
from stirfall.inference.table import build_table
from stirfall.reporting.sentences import sentence
from stirfall.session.analysis import analyse
from stirfall.session.health import PARTS, health_report

AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG, role=Role.SAMPLE_AGE, default=10.0)
SPEED = Factor("speed", "1/min", 20.0, 180.0, role=Role.GENERAL, default=90.0)
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def attempt(number, age, *, clean=None, speed=90.0, at=None, lot=None, gates=None):
    grade = {"parted": gates[0], "pooled": gates[1]} if gates else {"successes": int(clean)}
    values = Conditions({"age": age, "speed": speed})
    return Attempt(f"a{number}", number, values, started_at=at, lot_id=lot, **grade)


def state(attempts, *, gates=1, factors=(AGE, SPEED), **more):
    return CampaignState(CampaignSettings(gates=gates, **more), tuple(factors), attempts=tuple(attempts))


def mixed(count, seed=0, *, slope=2.0, times=True):
    """Attempts whose ages, speeds and days are in no order, clean more often with age."""
    rng = np.random.default_rng(seed)
    rows = []
    for number in range(1, count + 1):
        age = float(np.exp(rng.uniform(0.0, math.log(100.0))))
        chance = 1 / (1 + math.exp(-slope * AGE.to_unit_interval(age)))
        at = START + timedelta(hours=26 * number) if times else None
        speed = float(rng.uniform(20, 180))
        rows.append(attempt(number, age, clean=rng.random() < chance, speed=speed, at=at))
    return rows


def health(attempts, *, refined=False, conditions=None, **more):
    return health_report(analyse(state(attempts, **more), refined=refined), conditions=conditions)


def codes(report):
    return [warning.code for warning in report.warnings]


# Unknown is shown as unknown.


def test_without_attempts_nothing_is_judged_and_nothing_is_warned_of():
    for refined in (False, True):
        report = health([], refined=refined)
        assert (report.scores, report.auc, report.calibration) == (None, None, None)
        assert set(report.statements) == set(PARTS)
        for part in ("scores", "auc", "calibration", "influence"):
            assert report.statements[part].code == "health.no_attempts"
        assert report.statements["sensitivity"].code == "sensitivity.prior_only"
        assert report.statements["confounding"].code == "confounding.unknown"
        assert report.statements["too_many"].code == "too_many.clean_nothing"
        assert [gate.attempts for gate in report.influence] == [()]
        assert report.too_many[0].per_coefficient is None
        assert report.warnings == ()


def test_the_first_answer_has_no_leave_one_out_and_says_so():
    report = health(mixed(12))
    assert report.scores is None
    assert [report.statements[part].code for part in ("scores", "auc", "calibration")] == ["health.not_refined"] * 3
    assert report.influence[0].of == 12


@pytest.mark.parametrize("count", [1, 3])
def test_few_attempts_of_one_kind_have_scores_but_no_area(count):
    report = health([attempt(i + 1, 5.0 * (i + 1), clean=True) for i in range(count)], refined=True)
    assert report.auc is None
    assert report.statements["auc"].code == "health.one_outcome"
    assert report.calibration.verdict.code == "calibration.too_few"
    assert len(report.calibration.bins) == 1
    assert report.scores.attempts == count
    assert (report.scores.log.gain_se is None) == (count == 1)
    assert report.statements["confounding"].code == "confounding.unknown"


def test_all_successes_and_a_constant_factor():
    report = health([attempt(i, 4.0 * i, clean=True) for i in range(1, 13)], refined=True)
    assert report.auc is None
    assert report.confounding.never_varied == ("speed",)
    assert report.too_many[0].rarer == 0
    assert report.too_many[0].coefficients == 1
    assert report.statements["scores"].code in {"scores.no_different", "scores.worse", "scores.better"}


# What it says agrees with what can be found out another way.


def test_scores_are_those_of_the_refined_answers_own_leave_one_out_table():
    analysis = analyse(state(mixed(16)), refined=True)
    report = health_report(analysis)
    assert report.scores.brier.score == pytest.approx(brier_score(analysis.loo.probability, analysis.loo.k))
    assert report.calibration_ids == analysis.loo.ids
    assert sorted(row for part in report.calibration.bins for row in part.rows) == list(range(16))


def test_attempts_without_their_outcome_are_foretold_as_by_fitting_without_them():
    # An independent way to the same score: one form, no lots, each attempt left out and the rest fitted again
    attempts = mixed(14, seed=3)
    report = health(attempts, refined=True, form="one gate, straight", lot_effect="none")
    foretold = []
    for left in attempts:
        others = state([each for each in attempts if each is not left])
        design, table = build_table(others)
        model = fit_odds(table, design, others.settings)
        foretold.append(float(model.means(design.columns([left.conditions]))[0]))
    outcomes = [each.successes for each in attempts]
    assert report.scores.brier.score == pytest.approx(brier_score(foretold, outcomes), abs=0.01)


def test_order_of_attempts_does_not_matter():
    attempts = mixed(14)
    one, other = health(attempts, refined=True), health(attempts[::-1], refined=True)
    assert other.scores.brier.score == pytest.approx(one.scores.brier.score, rel=1e-9)
    assert other.auc.value == one.auc.value
    assert other.statements == one.statements
    pulls = [{each.attempt_id: each.pull for each in report.influence[0].attempts} for report in (one, other)]
    assert pulls[0] == pytest.approx(pulls[1])


def test_two_gates_are_looked_at_each():
    rng = np.random.default_rng(5)
    rows = []
    for number in range(1, 21):
        parted = Parted.YES if rng.random() < 0.6 else Parted.NO
        pool = (Pooled.ONE_POOL if rng.random() < 0.5 else Pooled.BEADS) if parted is Parted.YES else None
        rows.append(attempt(number, float(rng.uniform(1, 100)), gates=(parted, pool)))
    report = health(rows, gates=2)
    assert [gate.gate for gate in report.influence] == ["parted", "pooled"]
    assert report.influence[0].of == 20
    assert report.influence[1].of == sum(row.parted is Parted.YES for row in rows)
    assert [load.gate for load in report.too_many] == ["parted", "pooled"]


def test_partly_as_its_own_grade_is_looked_at_as_yes_or_no():
    rows = [
        attempt(
            i, 4.0 * i, gates=((Parted.NO, Parted.PARTLY, Parted.YES)[i % 3], None if i % 3 == 0 else Pooled.BEADS)
        )
        for i in range(1, 16)
    ]
    report = health(rows, gates=2, partly="ordinal")
    assert all(0.0 < each.fitted < 1.0 for each in report.influence[0].attempts)
    residuals = sum(each.successes - each.fitted for each in report.influence[0].attempts)
    assert abs(residuals) < 1.0  # at the mode of yes or no the residuals nearly balance; only the prior is left


# Warnings come when they should, and not before.


def test_an_attempt_that_pulls_is_named_with_its_record():
    attempts = [attempt(i, age, clean=age > 10.0) for i, age in enumerate(np.geomspace(1.2, 40.0, 14), start=1)]
    attempts.append(attempt(15, 100.0, clean=False))
    report = health(attempts)
    warnings = [warning for warning in report.warnings if warning.code == "influence.clean_pulls"]
    assert warnings[0].params["attempt_id"] == "a15"
    assert "Attempt 15 pulls the fit: look at it." in sentence(warnings[0].code, warnings[0].params)
    flagged = report.influence[0].flagged[0]
    assert (flagged.attempt_id, flagged.number, flagged.successes) == ("a15", 15, 0)
    assert flagged.without > flagged.fitted
    assert report.statements["influence"].code == "influence.some"


def test_old_jars_opened_late_are_confounded_with_date_and_practice():
    rows = [attempt(i, 2.0 * 1.3**i, clean=i % 2 == 0, at=START + timedelta(days=i)) for i in range(1, 13)]
    report = health(rows)
    found = {each.against: each for each in report.confounding.with_time}
    assert found["date"].correlation.pearson.value == pytest.approx(1.0)
    assert found["date"].scale == "log"
    assert found["place_in_day"].correlation.pearson is None
    assert found["run_number"].warning.code == "confounding.run_number_rises"
    # date and number say the same here, so one warning stands for both
    assert [code for code in codes(report) if code.startswith("confounding.")] == ["confounding.date_rises"]
    text = sentence(found["date"].warning.code, found["date"].warning.params)
    assert "Start jars on different days" in text
    assert report.statements["confounding"].code == "confounding.date_rises"


def test_staggered_starts_are_not_confounded():
    ages = [2.0, 8.0, 30.0, 90.0]
    rows = [
        attempt(
            4 * day + place + 1,
            ages[(day + place) % 4],
            clean=place % 2,
            at=START + timedelta(days=day, hours=place),
        )
        for day in range(4)
        for place in range(4)
    ]
    report = health(rows)
    assert not [code for code in codes(report) if code.startswith("confounding.date")]
    assert report.statements["confounding"].code == "confounding.none"


def test_without_any_exposure_nothing_can_have_followed_the_calendar():
    report = health(mixed(8), factors=(SPEED,))
    assert report.confounding.with_time == ()
    assert report.statements["confounding"].code == "confounding.no_exposure"


def test_attempts_without_times_are_left_out_of_the_calendar():
    rows = mixed(10, times=False)
    report = health(rows)
    found = {each.against: each.correlation for each in report.confounding.with_time}
    assert found["date"].n == 0
    assert found["run_number"].n == 10


def test_conditions_that_always_moved_together_cannot_be_told_apart():
    rows = [
        attempt(i, a, speed=20 + 12 * i, clean=i % 3 == 0) for i, a in enumerate(np.geomspace(1, 90, 12), start=1)
    ]
    report = health(rows)
    assert [(pair.first, pair.second) for pair in report.confounding.pairs] == [("age", "speed")]
    assert "confounding.pair" in codes(report)


def test_a_factor_that_differed_only_between_lots():
    rows = [
        attempt(
            i,
            float(np.exp((i * 7) % 11 / 3)),
            speed=40.0 if i <= 6 else 140.0,
            clean=i % 2,
            lot="L1" if i <= 6 else "L2",
        )
        for i in range(1, 13)
    ]
    report = health(rows)
    warning = next(each for each in report.warnings if each.code == "confounding.with_group")
    assert (warning.params["factor"], warning.params["other"]) == ("speed", "lot")


def test_many_conditions_and_few_results():
    report = health(mixed(8))
    load = report.too_many[0]
    assert load.coefficients == 2
    assert load.per_coefficient == load.rarer / 2
    few = health([attempt(i, 9.0 * i, speed=17.0 * i, clean=i == 3) for i in range(1, 9)])
    assert few.too_many[0].severity == "severe"
    assert "too_many.clean_severe" in codes(few)


def test_the_prior_is_looked_at_where_asked_and_where_it_is_best():
    report = health(mixed(20), conditions=Conditions({"age": 90.0, "speed": 20.0}))
    assert [point.source for point in report.sensitivity] == ["given", "best"]
    assert report.sensitivity[0].conditions["age"] == 90.0
    for point in report.sensitivity:
        assert point.move.verdict.code in {"sensitivity.small", "sensitivity.moderate", "sensitivity.large"}


@pytest.mark.parametrize(("count", "source"), [(5, "last attempt"), (0, "defaults")])
def test_where_nothing_may_be_suggested_the_prior_is_looked_at_elsewhere(count, source):
    # the flash point of the oil is unknown, so no temperature may be recommended
    hot = Factor("temperature", "C", 80.0, 180.0, role=Role.TEMPERATURE)
    rows = [
        replace(each, conditions=each.conditions.with_value("temperature", 100.0 + each.number))
        for each in mixed(count)
    ]
    report = health(rows, factors=(AGE, SPEED, hot))
    assert [point.source for point in report.sensitivity] == [source]
    if count:
        assert report.sensitivity[0].conditions["temperature"] == 105.0


def test_forty_levels_of_a_choice_are_too_few_attempts_each_to_say_anything():
    action = Factor("action", levels=tuple(f"way {i}" for i in range(40)))
    rows = [
        replace(each, conditions=each.conditions.with_value("action", f"way {each.number}")) for each in mixed(30)
    ]
    report = health(rows, factors=(AGE, SPEED, action))
    assert not [pair for pair in report.confounding.pairs if "action" in (pair.first, pair.second)]
    assert report.too_many[0].severity == "severe"
    assert all(math.isfinite(each.pull) for each in report.influence[0].attempts)


def test_a_cancelled_report_stops():
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        health_report(analyse(state(mixed(6))), token)


# Properties: whatever the form can produce gives a report without a warning, a NaN or a wrong order.

GRADES = st.sampled_from(
    [
        (Parted.NO, None),
        (Parted.PARTLY, Pooled.BEADS),
        (Parted.YES, Pooled.ONE_POOL),
        (Parted.YES, Pooled.BEADS),
        (Parted.YES, None),
    ]
)
ROWS = st.lists(
    st.tuples(
        st.sampled_from([1e-9, 1.0, 10.0, 10.0, 33.0, 1e9]),
        st.sampled_from([-1e9, 90.0, 90.0, 1e-9, 120.0]),
        GRADES,
        st.one_of(st.none(), st.integers(0, 2000)),
        st.sampled_from([None, "L1", "L2"]),
    ),
    max_size=9,
)


def _check(report):
    for statement in (*report.statements.values(), *report.warnings):
        assert "{" not in sentence(statement.code, statement.params)
    shares = [(each.fitted, each.without, each.leverage) for gate in report.influence for each in gate.attempts]
    assert all(0.0 <= share <= 1.0 for row in shares for share in row)
    for point in report.sensitivity:
        for estimate in (point.move.now, point.move.half, point.move.double):
            assert 0.0 <= estimate.lower <= estimate.mean <= estimate.upper <= 1.0
        assert 0.0 <= point.move.prior_share <= 1.0
    if report.auc is not None:
        assert 0.0 <= report.auc.lower <= report.auc.value <= report.auc.upper <= 1.0
    if report.scores is not None:
        assert math.isfinite(report.scores.brier.score)
        assert math.isfinite(report.scores.log.score)


def _state_of(rows, partly):
    attempts = [
        attempt(i, age, speed=speed, gates=gates, at=None if h is None else START + timedelta(hours=h), lot=lot)
        for i, (age, speed, gates, h, lot) in enumerate(rows, start=1)
    ]
    return state(attempts, gates=2, partly=partly)


@given(ROWS, st.sampled_from(["failed", "success", "ordinal"]))
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_campaign_has_a_report_at_the_first_stage(rows, partly):
    _check(health_report(analyse(_state_of(rows, partly))))


@given(ROWS)
@settings(max_examples=3, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_campaign_has_a_report_of_the_refined_answer(rows):
    _check(health_report(analyse(_state_of(rows, "failed"), refined=True)))


def test_the_same_answer_gives_the_same_report():
    analysis = analyse(state(mixed(10)), refined=True)
    assert health_report(analysis) == health_report(replace(analysis))
