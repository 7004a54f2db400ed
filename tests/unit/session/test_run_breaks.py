"""What a run that was taken up again asks, and what the answers mean; the closing list that cannot be skipped.

No source outside the project: that slips cluster on the first step after a break is from the trade notes, the
questions are our own.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from evening_bench import CONDITIONS, EVENING, EveningBench

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, Jar, Masses
from stirfall.bench.running import Step
from stirfall.session.commands import AddJar, RecordAttempt
from stirfall.session.run_closing import closing_list, read_tick
from stirfall.session.run_questions import additive_word, read_answer
from stirfall.session.run_result import reached_conditions


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[EveningBench]:
    made = EveningBench(tmp_path / "evening.stirfall")
    made.begin()
    yield made
    made.close()


def _asked(bench: EveningBench) -> list[str]:
    return [question.key for question in bench.view.questions]


# ----------------------------------------------------------------------------------------------------- questions


@pytest.mark.parametrize(
    ("step", "keys"),
    [
        (Step.HEAT, ["cover", "heat"]),
        (Step.HOLD, ["cover", "heat", "additive"]),
        (Step.ADDITIVE, ["cover", "heat", "additive"]),
        (Step.STIR, ["cover", "heat", "additive", "stirred"]),
        (Step.SETTLE, ["cover", "heat"]),
        (Step.COOL, ["cover", "heat"]),
        (Step.LIFT, ["cover", "heat"]),
        (Step.GRADE, []),
        (Step.CLOSE, []),
    ],
)
def test_a_run_taken_up_again_asks_what_its_step_must_ask(bench: EveningBench, step: Step, keys: list[str]) -> None:
    bench.walk_to(step)
    assert _asked(bench) == []
    bench.wait(40.0)
    bench.take_up()
    assert _asked(bench) == keys
    assert bench.view.step is step
    if keys:
        assert bench.view.blocked is not None
        assert bench.view.blocked.code == "run.wait.questions"


def test_a_run_without_an_additive_is_not_asked_for_one(tmp_path: Path) -> None:
    bench = EveningBench(tmp_path / "evening.stirfall")
    bench.begin(Conditions({**CONDITIONS, "additive": "none", "additive dose": 0.0}))
    bench.walk_to(Step.HOLD)
    bench.take_up()
    assert _asked(bench) == ["cover", "heat"]
    bench.close()


def test_not_known_is_an_answer_everywhere_but_for_safety(bench: EveningBench) -> None:
    bench.walk_to(Step.STIR)
    bench.take_up()
    for key in ("cover", "heat"):
        with pytest.raises(InputError, match=r"run\.answer_unknown"):
            read_answer(bench.run, key, "not known")
    for key in ("additive", "stirred"):
        assert read_answer(bench.run, key, " Not  known ") == ("not known", None)
    with pytest.raises(InputError, match=r"run\.no_question"):
        read_answer(bench.run, "weather", "yes")


def test_bare_metal_keeps_the_step_until_it_is_covered(bench: EveningBench) -> None:
    bench.walk_to(Step.SETTLE)
    bench.take_up()
    bench.answer("heat", "yes")
    bench.answer("cover", "no")
    assert _asked(bench) == ["cover"]
    problem = bench.view.questions[0].problem
    assert problem is not None
    assert problem.code == "run.ask.cover_first"
    bench.answer("cover", "yes")
    assert _asked(bench) == []
    assert bench.view.blocked is None


def test_a_heat_that_should_be_off_keeps_the_step_until_it_is(bench: EveningBench) -> None:
    bench.walk_to(Step.COOL)
    bench.take_up()
    bench.answer("cover", "yes")
    bench.answer("heat", "yes")
    assert _asked(bench) == ["heat"]
    bench.answer("heat", "no")
    assert _asked(bench) == []


def test_a_heat_that_went_off_in_a_hot_step_is_told(bench: EveningBench) -> None:
    bench.walk_to(Step.HOLD)
    bench.take_up()
    for key, text in (("cover", "yes"), ("heat", "no"), ("additive", "no")):
        bench.answer(key, text)
    assert [note.code for note in bench.view.notes] == ["run.note.taken_up", "run.note.heat_was_off"]


def test_an_answer_that_is_undone_is_asked_again_and_each_break_asks_anew(bench: EveningBench) -> None:
    bench.walk_to(Step.HEAT)
    bench.take_up()
    bench.answer("cover", "yes")
    bench.answer("heat", "yes")
    bench.document.undo()
    assert _asked(bench) == ["heat"]
    bench.document.redo()
    assert _asked(bench) == []
    bench.take_up()
    assert _asked(bench) == ["cover", "heat"]


@pytest.mark.parametrize(
    ("text", "seconds", "counted"),
    [("yes", None, 150), ("no", None, 50), ("1 min", 60.0, 110), ("0.5", 30.0, 80), ("not known", None, 150)],
)
def test_the_stirring_time_is_set_by_the_answer(
    bench: EveningBench, text: str, seconds: float | None, counted: int
) -> None:
    bench.walk_to(Step.STIR)
    bench.wait(30.0)
    bench.mark("first powder")
    bench.wait(100.0)
    bench.take_up()
    word, value = read_answer(bench.run, "stirred", text)
    assert value == seconds
    bench.answer("stirred", word, value)
    bench.wait(20.0)
    assert bench.view.elapsed_s == counted
    bench.go(Step.SETTLE)
    reached = reached_conditions(bench.document.state, bench.run).number("stirring time")
    assert reached == (None if text == "not known" else counted)


def test_two_breaks_without_an_answer_in_between_are_answered_together(bench: EveningBench) -> None:
    bench.walk_to(Step.STIR)
    for _ in range(2):
        bench.wait(50.0)
        bench.take_up()
        bench.wait(5.0)
    bench.answer("stirred", "no")
    # Only the last 5 s are sure: of the first 5 nothing was written before the second break.
    assert bench.view.elapsed_s == 5


def test_more_stirring_than_the_break_was_long_is_refused(bench: EveningBench) -> None:
    bench.walk_to(Step.STIR)
    bench.wait(60.0)
    bench.take_up()
    with pytest.raises(InputError, match=r"run\.answer_too_long"):
        read_answer(bench.run, "stirred", "3 min")


def _after_break_at(bench: EveningBench, step: Step, answer: str) -> None:
    bench.walk_to(step)
    bench.take_up()
    bench.answer("additive", answer)


@pytest.mark.parametrize(
    ("step", "answer", "word", "note"),
    [
        (Step.HOLD, "yes", "yes", "run.note.additive_in"),
        (Step.HOLD, "no", "no", None),
        (Step.ADDITIVE, "yes", "yes", "run.note.additive_in"),
        (Step.ADDITIVE, "not known", "not known", "run.note.additive_not_known"),
        (Step.STIR, "yes", "yes", "run.note.additive_in"),
        (Step.STIR, "no", "no", "run.note.additive_out"),
        (Step.STIR, "not known", "not known", "run.note.additive_not_known"),
    ],
)
def test_the_answer_says_whether_the_additive_is_in(
    bench: EveningBench, step: Step, answer: str, word: str, note: str | None
) -> None:
    _after_break_at(bench, step, answer)
    assert additive_word(bench.run) == word
    told = [each.code for each in bench.view.notes if "additive" in each.code]
    assert told == ([] if note is None else [note])


def test_the_dose_of_the_record_follows_from_that_answer(bench: EveningBench) -> None:
    _after_break_at(bench, Step.STIR, "no")
    bench.go(Step.SETTLE, after=100.0)
    bench.go(Step.COOL)
    reached = reached_conditions(bench.document.state, bench.run)
    assert (reached["additive"], reached["additive dose"]) == ("none", 0.0)


def test_going_back_to_add_it_makes_it_added_and_not_known_stays_open(bench: EveningBench) -> None:
    _after_break_at(bench, Step.STIR, "no")
    bench.back(Step.ADDITIVE)
    bench.go(Step.STIR, after=30.0)
    assert additive_word(bench.run) == "yes"
    bench.take_up()
    bench.answer("additive", "not known")
    reached = reached_conditions(bench.document.state, bench.run)
    assert "additive" not in reached
    assert "additive dose" not in reached


# ------------------------------------------------------------------------------------------------ the closing list


def _record(bench: EveningBench, masses: Masses | None = None, *, aborted: bool = False) -> None:
    attempt = Attempt(
        "",
        0,
        CONDITIONS,
        started_at=bench.run.started_at,
        jar_id="J1",
        parted=None if aborted else Parted.YES,
        pooled=None if aborted else Pooled.ONE_POOL,
        aborted=aborted,
        masses=masses or Masses(),
        run_id=bench.run.id,
    )
    bench.document.execute(RecordAttempt(attempt))


def _open(bench: EveningBench) -> list[str]:
    return [line.key for line in bench.view.closing if not line.is_done]


def test_the_closing_list_blocks_the_end_until_each_line_is_done(bench: EveningBench) -> None:
    bench.walk_to(Step.WEIGH)
    _record(bench)
    bench.go(Step.CLOSE)
    assert _open(bench) == ["heat off", "masses", "residue", "tools"]
    for key, text in (("heat off", ""), ("masses", "not weighed"), ("residue", "none"), ("tools", "")):
        assert bench.view.blocked is not None
        bench.tick(key, read_tick(bench.document.state, bench.run, key, text))
    assert _open(bench) == []
    assert bench.view.blocked is None
    assert bench.view.next_step is None


def test_masses_that_were_entered_are_a_line_done(bench: EveningBench) -> None:
    bench.walk_to(Step.WEIGH)
    _record(bench, Masses(charge_g=10.0, product_g=8.0))
    bench.go(Step.CLOSE)
    line = next(each for each in bench.view.closing if each.key == "masses")
    assert (line.is_done, line.said, line.options) == (True, "weighed", ())


def test_residue_is_registered_only_where_residue_stands_in_the_register(bench: EveningBench) -> None:
    bench.walk_to(Step.CLOSE)
    with pytest.raises(InputError, match=r"run\.close\.register_first"):
        read_tick(bench.document.state, bench.run, "residue", "registered")
    line = next(each for each in bench.view.closing if each.key == "residue")
    assert line.hint is not None
    jar = Jar("R1", "L1", EVENING + timedelta(hours=1), contents="residue")
    bench.document.execute(AddJar(jar))
    bench.tick("residue", read_tick(bench.document.state, bench.run, "residue", "registered"))
    assert "residue" not in _open(bench)
    bench.document.undo()
    bench.document.undo()
    assert "residue" in _open(bench)


def test_a_line_with_answers_wants_one_of_them(bench: EveningBench) -> None:
    bench.walk_to(Step.CLOSE)
    for text in ("", "maybe"):
        with pytest.raises(InputError, match=r"run\.answer_unknown"):
            read_tick(bench.document.state, bench.run, "residue", text)
    with pytest.raises(InputError, match=r"run\.no_line"):
        read_tick(bench.document.state, bench.run, "tea", "")


def test_a_run_given_up_asks_whether_it_is_cold_and_on_record(bench: EveningBench) -> None:
    bench.walk_to(Step.HOLD)
    bench.answer("give up", "the oil smoked")
    bench.go(Step.CLOSE)
    assert bench.view.given_up == "the oil smoked"
    assert _open(bench) == ["heat off", "cold", "attempt", "residue", "tools"]
    _record(bench, aborted=True)
    assert _open(bench) == ["heat off", "cold", "residue", "tools"]


def test_an_unfinished_closing_list_is_still_there_after_a_restart(bench: EveningBench) -> None:
    bench.walk_to(Step.CLOSE)
    bench.tick("heat off")
    bench.take_up()
    assert bench.view.step is Step.CLOSE
    assert [line.key for line in closing_list(bench.document.state, bench.run) if line.is_done] == ["heat off"]
