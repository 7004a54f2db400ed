"""The timers of a run are true: over a freeze, a restart, a reboot, sleep, and a clock that is set.

No source outside the project: that a second is a second is checked against the counter of the fixed clock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from evening_bench import EVENING, EveningBench

from stirfall.bench.running import EventKind, Moment, Step
from stirfall.session.run_shown import RunView
from stirfall.session.run_timing import clock_jump, last_sign, path_of, seconds_away


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[EveningBench]:
    made = EveningBench(tmp_path / "evening.stirfall")
    made.begin()
    made.walk_to(Step.STIR)
    yield made
    made.close()


def test_the_time_of_a_step_counts_from_its_beginning(bench: EveningBench) -> None:
    assert (bench.view.elapsed_s, bench.view.remaining_s, bench.view.is_due) == (0, 120, False)
    bench.wait(45.4)
    assert (bench.view.elapsed_s, bench.view.remaining_s, bench.view.target_s) == (45, 75, 120)
    bench.wait(80.0)
    assert (bench.view.elapsed_s, bench.view.remaining_s, bench.view.is_due) == (125, 0, True)
    assert bench.view.overdue_s == 5
    assert bench.view.due_at == bench.document.now().replace(microsecond=0) - timedelta(seconds=5)


def _freeze(bench: EveningBench) -> None:
    bench.wait(50.0)  # nobody looked in the meantime, and nothing was written


def _restart(bench: EveningBench) -> None:
    bench.wait(20.0)
    bench.take_up()
    bench.answer("stirred", "yes")
    bench.wait(30.0)


def _reboot(bench: EveningBench) -> None:
    bench.wait(20.0)
    bench.document.close()
    bench.clock.restart()
    bench.clock.advance(seconds=10.0)
    bench.take_up()
    bench.answer("stirred", "yes")
    bench.wait(20.0)


def _clock_set_back(bench: EveningBench) -> None:
    bench.wait(20.0)
    bench.clock.set(bench.clock.now() - timedelta(hours=1))
    bench.wait(30.0)


def _clock_set_forward_and_restart(bench: EveningBench) -> None:
    bench.wait(20.0)
    bench.clock.set(bench.clock.now() + timedelta(hours=1))
    bench.take_up()
    bench.answer("stirred", "yes")
    bench.wait(30.0)


def _reboot_then_clock_set_back(bench: EveningBench) -> None:
    bench.wait(20.0)
    bench.document.close()
    bench.clock.restart()
    bench.take_up()
    bench.answer("stirred", "yes")
    bench.clock.set(bench.clock.now() - timedelta(hours=1))
    bench.wait(30.0)


@pytest.mark.parametrize(
    "trouble",
    [
        _freeze,
        _restart,
        _reboot,
        _clock_set_back,
        _clock_set_forward_and_restart,
        _reboot_then_clock_set_back,
    ],
)
def test_no_second_is_lost(bench: EveningBench, trouble: Callable[[EveningBench], None]) -> None:
    bench.wait(15.0)
    trouble(bench)
    assert bench.view.elapsed_s == 65
    assert bench.view.remaining_s == 55


def test_sleep_counts_like_any_other_time(bench: EveningBench) -> None:
    bench.wait(3600.0)  # the counter of the kernel runs on while the computer sleeps
    assert (bench.view.elapsed_s, bench.view.overdue_s) == (3600, 3480)


def test_a_clock_that_ran_back_over_a_reboot_takes_nothing_away(bench: EveningBench) -> None:
    bench.wait(30.0)
    bench.mark("first powder")
    bench.document.close()
    bench.clock.restart()
    bench.clock.set(bench.clock.now() - timedelta(hours=2))
    bench.take_up()
    bench.answer("stirred", "yes")
    assert bench.view.elapsed_s == 30


def test_a_step_back_has_its_timer_as_it_was_and_so_has_an_undone_step(bench: EveningBench) -> None:
    bench.wait(30.0)
    bench.go(Step.SETTLE)
    bench.wait(10.0)
    assert bench.view.elapsed_s == 10
    bench.back(Step.STIR)
    assert (bench.view.step, bench.view.elapsed_s) == (Step.STIR, 40)
    bench.document.undo()
    assert (bench.view.step, bench.view.elapsed_s) == (Step.SETTLE, 10)
    bench.document.undo()
    assert (bench.view.step, bench.view.elapsed_s) == (Step.STIR, 40)
    assert bench.view.previous_step is Step.ADDITIVE


def test_a_step_back_survives_a_restart(bench: EveningBench) -> None:
    bench.go(Step.SETTLE, after=30.0)
    bench.reopen()
    bench.back(Step.STIR)
    bench.wait(5.0)
    assert (bench.view.step, bench.view.elapsed_s) == (Step.STIR, 35)
    assert [stretch.step for stretch in path_of(bench.run)][-2:] == [Step.ADDITIVE, Step.STIR]


def _without_ids(view: RunView) -> RunView:
    return replace(view, marks=tuple(replace(mark, id="") for mark in view.marks))


def test_after_each_event_the_file_says_what_the_window_said(tmp_path: Path) -> None:
    bench = EveningBench(tmp_path / "crash.stirfall")
    bench.begin()
    acts: list[Callable[[], None]] = [
        lambda: bench.go(Step.HEAT, after=33.3),
        lambda: bench.read(120.0),
        lambda: bench.go(Step.HOLD, after=200.7),
        lambda: bench.read(151.0),
        lambda: bench.go(Step.ADDITIVE, after=300.0),
        lambda: bench.go(Step.STIR, after=9.9),
        lambda: bench.mark("first powder"),
        lambda: bench.mark("smoke"),
        lambda: bench.tick("danger over"),
        lambda: bench.go(Step.SETTLE, after=125.0),
        lambda: bench.back(Step.STIR),
        lambda: bench.go(Step.SETTLE, after=2.0),
        lambda: bench.go(Step.COOL, after=60.0),
        lambda: bench.read(45.0),
        lambda: bench.go(Step.LIFT, after=900.0),
        lambda: bench.go(Step.GRADE),
        lambda: bench.note(EventKind.GRADE, word="clean separation"),
        lambda: bench.go(Step.WEIGH),
        lambda: bench.note(EventKind.NOTE, text="a note"),
    ]
    for act in acts:
        act()
        bench.wait(1.7)
        before = bench.view
        bench.reopen()
        assert bench.view == before
        assert _without_ids(bench.view) == _without_ids(before)
    bench.close()


def test_a_clock_that_was_set_is_noticed_and_drifting_is_not() -> None:
    start = Moment(EVENING, 100.0, "boot")
    later = Moment(EVENING + timedelta(seconds=10), 110.0, "boot")
    assert clock_jump(start, later) is None
    assert clock_jump(start, replace(later, ticks_s=111.5)) is None
    back = replace(later, at=EVENING + timedelta(hours=-1))
    assert clock_jump(start, back) == pytest.approx(-3610.0)
    assert clock_jump(start, replace(back, boot="another")) is None
    assert clock_jump(replace(start, ticks_s=None), back) is None


def test_words_say_that_the_clock_was_set_and_when_the_step_is_due_by_it(bench: EveningBench) -> None:
    due = bench.view.due_at
    bench.clock.set(bench.clock.now() - timedelta(hours=1))
    bench.note(EventKind.CLOCK, value=-3600.0)
    assert [note.code for note in bench.view.notes][:1] == ["run.note.clock_back"]
    assert due is not None
    assert bench.view.due_at == due - timedelta(hours=1)


def test_the_seconds_away_count_from_the_last_sign_of_the_program(bench: EveningBench) -> None:
    bench.wait(5.0)
    bench.mark("first powder")
    bench.wait(77.0)
    assert seconds_away(bench.run, bench.moment) == pytest.approx(77.0)
    assert last_sign(bench.run) == bench.run.events[-1].moment


def test_what_the_program_notes_by_itself_is_no_step_to_undo(bench: EveningBench) -> None:
    before = bench.view.elapsed_s
    bench.wait(100.0)
    bench.mark("first powder")
    bench.wait(100.0)
    bench.note(EventKind.CLOCK, value=60.0)
    assert bench.document.undo_name == "Mark first powder"
    bench.document.undo()
    assert bench.run.events[-1].kind is EventKind.CLOCK  # the clock was set all the same
    assert bench.document.redo_name == "Mark first powder"
    bench.document.redo()
    assert [event.kind for event in bench.run.events[-2:]] == [EventKind.CLOCK, EventKind.MARK]
    bench.wait(100.0)
    assert bench.view.elapsed_s == before + 300  # no second counts twice, in whichever order the two stand
    assert bench.view.marks[-1].into_step_s == before + 100
    bench.take_up()
    assert bench.document.undo_name is None
    assert [question.key for question in bench.view.questions] != []


def test_undo_after_a_pause_does_not_take_back_the_pause_nor_its_questions(bench: EveningBench) -> None:
    bench.walk_to(Step.STIR)
    bench.mark("first powder")
    bench.wait(60.0)
    bench.note(EventKind.RESUMED, value=60.0)  # the computer slept; the program was not closed
    asked = [question.key for question in bench.view.questions]
    assert "additive" in asked
    bench.document.undo()
    assert [question.key for question in bench.view.questions] == asked
    while bench.document.undo_name is not None:
        bench.document.undo()
    assert bench.document.state.runs == ()
    bench.document.redo()
    assert [event.kind for event in bench.run.events] == [EventKind.RESUMED]
    before = bench.document.state
    bench.reopen()
    assert bench.document.state == before
