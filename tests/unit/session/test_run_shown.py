"""What a run shows: limits at the thermometer, marks, what it reached, and how a result is told.

The temperatures of the limits are those of the shipped table; no source outside the project otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from evening_bench import CONDITIONS, EVENING, EveningBench

from stirfall.bench.factors import Conditions, Factor, Role, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.bench.running import EventKind, Run, Step
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import BeginRun, EndRun
from stirfall.session.run_plan import plan_run
from stirfall.session.run_result import (
    answers_of,
    grade_of,
    lifted_at_c,
    peak_c,
    reached_conditions,
    reached_values,
)
from stirfall.session.run_view import run_view


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[EveningBench]:
    made = EveningBench(tmp_path / "evening.stirfall")
    made.begin()
    yield made
    made.close()


def test_hot_oil_that_nobody_read_for_long_is_told(bench: EveningBench) -> None:
    bench.wait(3600.0)
    bench.go(Step.HEAT)
    bench.wait(600.0)
    assert bench.view.notes == ()
    bench.wait(1.0)
    assert [note.code for note in bench.view.notes] == ["run.note.read_again"]
    bench.read(140.0)
    assert bench.view.notes == ()


# ---------------------------------------------------------------------- marks and last act


def test_enter_marks_first_powder_then_first_merging_then_moments(bench: EveningBench) -> None:
    bench.walk_to(Step.STIR)
    for word in ("first powder", "first merging", "moment", "moment"):
        bench.wait(10.0)
        assert bench.view.next_mark == word
        bench.mark(word)
    assert [(mark.word, mark.into_step_s) for mark in bench.view.marks] == [
        ("first powder", 10),
        ("first merging", 20),
        ("moment", 30),
        ("moment", 40),
    ]
    assert {mark.step for mark in bench.view.marks} == {Step.STIR}
    bench.document.undo()
    assert len(bench.view.marks) == 3


def test_the_last_thing_done_has_its_clock_time(bench: EveningBench) -> None:
    bench.go(Step.HEAT, after=60.0)
    done = bench.view.last_done
    assert done is not None
    assert (done.what.code, done.at) == ("run.done.step", EVENING + timedelta(seconds=60))
    bench.wait(5.0)
    bench.read(149.5)
    bench.note(EventKind.CLOCK, value=60.0)
    done = bench.view.last_done
    assert done is not None
    assert sentence(done.what.code, done.what.params) == "read 149.5\u2009°C"
    bench.wait(7.0)
    reading = bench.view.reading
    assert reading is not None
    assert (reading.value_c, reading.ago_s) == (149.5, 7)


# ---------------------------------------------------------------------- the limits


@pytest.mark.parametrize(
    ("readings", "codes"),
    [
        ([(0, 140.0), (60, 144.0)], []),
        ([(0, 150.0), (60, 161.0)], ["limits.live_over_set", "limits.live_too_fast"]),  # 10 K over, 5 K/min
        ([(0, 130.0), (60, 137.0)], ["limits.live_too_fast"]),
        ([(0, 20.0), (60, 60.0)], []),  # fast, but far from the set point
        ([(0, 170.0), (60, 150.0)], []),  # only the newest reading counts
    ],
)
def test_live_readings_are_held_against_the_set_point(
    bench: EveningBench, readings: list[tuple[float, float]], codes: list[str]
) -> None:
    bench.go(Step.HEAT)
    last = 0.0
    for at, value in readings:
        bench.wait(at - last)
        bench.read(value)
        last = at
    assert [found.code for found in bench.view.findings] == codes
    blocked = bench.view.blocked
    assert (blocked.code if blocked is not None else None) == ("run.wait.live" if codes else None)


def test_without_a_set_point_the_oil_still_has_its_ceiling(tmp_path: Path) -> None:
    bench = EveningBench(tmp_path / "evening.stirfall")
    bench.begin(Conditions())
    bench.go(Step.HEAT)
    bench.read(199.0)
    assert bench.view.findings == ()
    bench.wait(60.0)
    bench.read(201.0)  # the flash point of 225 °C less 25 K
    assert [found.code for found in bench.view.findings] == ["limits.live_beyond_oil"]
    bench.close()


@pytest.mark.parametrize(
    ("material", "cold", "hot"),
    [(MaterialClass.BASE_METAL, 119.0, 119.5), (MaterialClass.ALKALI_METAL, 40.0, 40.5)],
)
def test_the_metal_is_lifted_only_when_it_is_cold_for_its_class(
    tmp_path: Path, material: MaterialClass, cold: float, hot: float
) -> None:
    bench = EveningBench(tmp_path / "evening.stirfall", material)
    bench.begin()
    bench.walk_to(Step.COOL)
    assert bench.view.blocked is not None
    assert bench.view.blocked.code == "run.wait.reading"
    bench.read(hot)
    assert bench.view.blocked is not None
    assert bench.view.blocked.code == "run.wait.lift"
    bench.read(cold)
    assert bench.view.blocked is None
    bench.go(Step.LIFT)
    bench.read(hot)
    assert bench.view.blocked is not None
    bench.close()


def test_a_reading_from_the_hot_steps_says_nothing_of_lifting(bench: EveningBench) -> None:
    bench.go(Step.HEAT)
    bench.read(25.0)
    bench.walk_to(Step.COOL)
    assert bench.view.lift == ()
    assert bench.view.blocked is not None


@pytest.mark.parametrize("material", [each for each in MaterialClass if each is not MaterialClass.BASE_METAL])
def test_a_metal_that_may_be_reactive_is_never_lifted_without_a_thermometer(
    tmp_path: Path, material: MaterialClass
) -> None:
    bench = EveningBench(tmp_path / "evening.stirfall", material)
    bench.begin()
    bench.walk_to(Step.COOL)
    bench.wait(24 * 3600.0)
    assert not bench.view.may_lift_without
    assert "run.note.lift_without" not in [note.code for note in bench.view.notes]
    bench.close()


def test_many_runs_of_a_day_are_noted_at_the_start(bench: EveningBench) -> None:
    state = bench.document.state
    attempts = tuple(
        Attempt(f"a{n}", n, Conditions(), started_at=EVENING - timedelta(minutes=40 * (4 - n))) for n in (1, 2, 3)
    )
    view = run_view(replace(state, attempts=attempts), bench.run, bench.moment)
    assert [note.code for note in view.notes] == ["limits.many_runs"]
    assert view.blocked is None


# ---------------------------------------------------------------------- what was reached


def _walked(bench: EveningBench) -> Run:
    bench.go(Step.HEAT, after=60.0)
    bench.read(120.0)
    bench.go(Step.HOLD, after=600.0)
    bench.read(149.0)
    bench.wait(290.0)
    bench.read(152.0)
    bench.go(Step.ADDITIVE, after=5.0)
    bench.go(Step.STIR, after=35.0)
    bench.read(153.5)
    bench.go(Step.SETTLE, after=131.0)
    bench.read(158.0)
    bench.go(Step.COOL, after=10.0)
    bench.read(60.0)
    bench.read(38.5)
    bench.go(Step.LIFT)
    return bench.run


def test_the_result_is_what_thermometer_and_timers_say(bench: EveningBench) -> None:
    run = _walked(bench)
    state = bench.document.state
    told = {value.factor: value.measured for value in reached_values(state, run)}
    assert told["temperature"] == pytest.approx((149.0 + 152.0 + 153.5) / 3, abs=0.05)
    assert told["hot time before stirring"] == pytest.approx(330.0 / 60.0)
    assert told["stirring time"] == 131.0
    assert (peak_c(run), lifted_at_c(run)) == (158.0, 38.5)
    reached = reached_conditions(state, run)
    assert (reached["stirring speed"], reached["additive"], reached["additive dose"]) == (90.0, "additive A", 10.0)


def test_the_last_reading_of_the_heating_stands_where_nothing_was_read_later(bench: EveningBench) -> None:
    bench.go(Step.HEAT)
    bench.read(100.0)
    bench.read(149.0)
    assert "temperature" not in reached_conditions(bench.document.state, bench.run)
    bench.go(Step.HOLD)
    bench.go(Step.STIR)
    assert bench.view.notes == ()
    assert reached_conditions(bench.document.state, bench.run)["temperature"] == 149.0
    bench.read(151.0)
    assert reached_conditions(bench.document.state, bench.run)["temperature"] == 151.0


def test_what_was_not_read_keeps_its_plan_and_says_so(bench: EveningBench) -> None:
    bench.walk_to(Step.SETTLE)
    assert [note.code for note in bench.view.notes] == ["run.note.not_read"]
    value = next(each for each in reached_values(bench.document.state, bench.run) if each.factor == "temperature")
    assert (value.planned, value.measured, value.is_unknown) == (150.0, None, False)
    assert reached_conditions(bench.document.state, bench.run)["temperature"] == 150.0


def test_what_a_broken_off_run_never_reached_is_left_open(bench: EveningBench) -> None:
    bench.go(Step.HEAT)
    bench.go(Step.CLOSE)
    reached = reached_conditions(bench.document.state, bench.run)
    for name in ("temperature", "hot time before stirring", "stirring time"):
        assert name not in reached
    assert (reached["additive"], reached["additive dose"]) == ("none", 0.0)
    assert lifted_at_c(bench.run) is None


def test_values_come_in_the_unit_of_their_factor(tmp_path: Path) -> None:
    bench = EveningBench(tmp_path / "evening.stirfall")
    state = bench.document.state
    factors = (
        Factor("temperature", "F", 200.0, 360.0, role=Role.TEMPERATURE),
        Factor("stirring time", "min", 0.1, 20.0),
        *[f for f in standard_factors() if f.name not in ("temperature", "stirring time")],
    )
    state = replace(state, factors=factors)
    conditions = Conditions({**CONDITIONS, "temperature": 302.0, "stirring time": 2.0})
    planned = plan_run(state, conditions, jar=None, lot=None, started_at=EVENING)
    assert {step.target_c for step in planned.steps if step.step is Step.HEAT} == {150.0}
    bench.begin()
    bench.go(Step.HOLD)
    bench.read(150.0)
    bench.go(Step.STIR)
    bench.go(Step.SETTLE, after=90.0)
    reached = reached_conditions(state, replace(bench.run, conditions=conditions))
    assert (reached["temperature"], reached["stirring time"]) == (302.0, 1.5)
    bench.close()


def test_a_grade_answers_both_questions(bench: EveningBench) -> None:
    assert grade_of(bench.run) is None
    for word in ("clean separation", "parted but beads"):
        bench.note(EventKind.GRADE, word=word)
    assert grade_of(bench.run) == 3
    assert [answers_of(grade) for grade in (1, 2, 3, 4)] == [
        (Parted.NO, None),
        (Parted.PARTLY, None),
        (Parted.YES, Pooled.BEADS),
        (Parted.YES, Pooled.ONE_POOL),
    ]


def test_a_run_that_is_over_lets_the_next_begin(bench: EveningBench) -> None:
    bench.walk_to(Step.CLOSE)
    bench.document.execute(EndRun(bench.run.id))
    assert bench.document.state.open_run is None
    planned = plan_run(bench.document.state, CONDITIONS, jar=None, lot=None, started_at=EVENING)
    bench.document.execute(BeginRun(planned))
    assert bench.view.step is Step.CHECKS  # also before its first event
    assert bench.view.elapsed_s == 0


def test_the_word_that_it_is_cold_lifts_no_metal_that_may_be_reactive(tmp_path: Path) -> None:
    for material in (MaterialClass.BASE_METAL, MaterialClass.OTHER):
        bench = EveningBench(tmp_path / f"{material.name}.stirfall", material)
        bench.begin()
        bench.walk_to(Step.COOL)
        bench.tick("cold without a thermometer")
        assert (bench.view.blocked is None) is (material is MaterialClass.BASE_METAL)
        bench.close()
