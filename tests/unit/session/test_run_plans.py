"""What a run plans from conditions, jar and earlier runs; what it says to do, and how it warns.

No source outside the project, unless named: the steps and their order are our own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from evening_bench import CONDITIONS, EVENING, EveningBench

from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Masses
from stirfall.bench.running import Run, Step
from stirfall.planning.limits_temperature import lift_top_c
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.session.commands import BeginRun, EndRun
from stirfall.session.run_plan import plan_run, planned_additive, refusal_to_begin
from stirfall.session.run_steps import caution_keys, instructions

ALL = tuple(Step)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[EveningBench]:
    made = EveningBench(tmp_path / "evening.stirfall")
    yield made
    made.close()


def _plan(bench: EveningBench, conditions: Conditions = CONDITIONS, masses: Masses | None = None) -> Run:
    state = bench.document.state
    return plan_run(state, conditions, jar=state.jar("J1"), lot=state.lot("L1"), masses=masses, started_at=EVENING)


def test_a_run_has_all_steps_in_their_order_with_what_the_conditions_say(bench: EveningBench) -> None:
    run = _plan(bench)
    assert [each.step for each in run.steps] == list(ALL)
    assert (run.jar_id, run.lot_id, run.started_at) == ("J1", "L1", EVENING)
    planned = {each.step: (each.seconds, each.target_c) for each in run.steps}
    assert planned[Step.HEAT] == (None, 150.0)
    assert planned[Step.HOLD] == (300.0, 150.0)
    assert planned[Step.STIR] == (120.0, 150.0)
    assert planned[Step.SETTLE] == (None, 150.0)
    assert planned[Step.COOL] == (None, lift_top_c(bench.document.state.settings))


def test_the_additive_is_weighed_as_dose_times_charge(bench: EveningBench) -> None:
    # 10 mg per gram on 10 g, and on 12.5 g as weighed: by hand.
    name, grams = planned_additive(_plan(bench))
    assert (name, grams) == ("additive A", 0.1)
    assert planned_additive(_plan(bench, masses=Masses(charge_g=12.5)))[1] == pytest.approx(0.125)


@pytest.mark.parametrize(
    "without",
    [{"additive": "none", "additive dose": 0.0}, {"additive": "none", "additive dose": 10.0}],
)
def test_a_run_without_an_additive_has_no_such_step(bench: EveningBench, without: dict[str, float | str]) -> None:
    run = _plan(bench, Conditions({**CONDITIONS, **without}))
    assert [each.step for each in run.steps] == [step for step in ALL if step is not Step.ADDITIVE]
    assert planned_additive(run) == ("", None)


def test_a_dose_without_a_name_or_a_charge_is_still_a_step(bench: EveningBench) -> None:
    conditions = CONDITIONS.with_value("additive", None)
    assert planned_additive(_plan(bench, conditions)) == ("the additive", 0.1)
    bare = plan_run(bench.document.state, conditions, jar=None, lot=None, started_at=EVENING)
    assert planned_additive(bare) == ("the additive", None)


def test_what_is_not_known_is_not_planned(bench: EveningBench) -> None:
    run = _plan(bench, Conditions())
    assert all(each.seconds is None for each in run.steps)
    assert {each.target_c for each in run.steps if each.step is not Step.COOL} == {None}


def test_times_of_other_units_are_told_in_seconds_and_settling_has_its_own_factor(bench: EveningBench) -> None:
    state = bench.document.state
    settling = Factor("settling time", "min", 1.0, 20.0)
    factors = (*state.factors, settling)
    run = plan_run(
        replace(state, factors=factors),
        Conditions({**CONDITIONS, "settling time": 3.0}),
        jar=None,
        lot=None,
        started_at=EVENING,
    )
    planned = run.planned(Step.SETTLE)
    assert settling.role is Role.GENERAL
    assert planned is not None
    assert planned.seconds == 180.0


def test_what_belongs_to_no_step_is_set_up_before_the_heat_but_not_the_room(bench: EveningBench) -> None:
    factors = (Factor("oil depth", "mm", 5.0, 50.0), Factor("room humidity", "%", 10.0, 90.0))
    state = replace(bench.document.state, factors=(*bench.document.state.factors, *factors))
    conditions = Conditions({**CONDITIONS, "oil depth": 20.0, "room humidity": 40.0})
    run = plan_run(state, conditions, jar=None, lot=None, started_at=EVENING)
    told = [sentence(each.code, each.params) for each in instructions(state, run, Step.CHECKS)]
    assert "Set up oil depth: 20\u2009mm." in told
    assert not any("humidity" in text for text in told)


def test_times_that_nobody_planned_are_those_of_the_last_finished_run(bench: EveningBench) -> None:
    bench.begin()
    bench.walk_to(Step.CLOSE)
    bench.document.execute(EndRun(bench.run.id))
    second = _plan(bench)
    assert [second.planned(step).seconds for step in (Step.SETTLE, Step.COOL)] == [180.0, 1800.0]  # type: ignore[union-attr]
    bench.document.execute(BeginRun(second))
    bench.go(Step.SETTLE, after=1.0)
    bench.go(Step.CLOSE, after=7.0)
    bench.document.execute(EndRun(bench.run.id, "the oil smoked"))
    settle = _plan(bench).planned(Step.SETTLE)
    assert settle is not None
    assert settle.seconds == 180.0


def test_no_run_begins_with_an_oil_whose_flash_point_is_not_known(bench: EveningBench) -> None:
    state = bench.document.state
    assert refusal_to_begin(state) is None
    unknown = replace(state, settings=replace(state.settings, oil_flash_c=None))
    refused = refusal_to_begin(unknown)
    assert refused is not None
    assert refused.code == "run.flash_unknown"


# --------------------------------------------------------------------------------------------- what is to be done


@pytest.mark.parametrize("material", list(MaterialClass))
def test_every_step_says_what_to_do_and_which_caution_matters(tmp_path: Path, material: MaterialClass) -> None:
    bench = EveningBench(tmp_path / "evening.stirfall", material)
    run = _plan(bench)
    known = {item.key for item in load_cautions(material).items}
    for step in ALL:
        told = instructions(bench.document.state, run, step)
        assert 1 <= len(told) <= 5
        for each in told:
            assert each.code in all_sentences()
            text = sentence(each.code, each.params)
            assert "{" not in text
            assert text.endswith((".", "?"))
        if step is not Step.GRADE or material is not MaterialClass.BASE_METAL:
            assert [key for key in caution_keys(step, material) if key in known] != []
    bench.close()


def test_the_sentences_hold_the_numbers_of_the_run(bench: EveningBench) -> None:
    run = _plan(bench)

    def told(step: Step) -> str:
        return " ".join(sentence(e.code, e.params) for e in instructions(bench.document.state, run, step))

    assert "jar J1 of lot L1" in told(Step.CHECKS)
    assert "0.1\u2009g of additive A" in told(Step.CHECKS)
    planned = "Planned: Heat to 150\u2009°C. Hold 5\u2009min. Stir (swirl) at 90 turns a minute for 2\u2009min."
    assert planned in told(Step.CHECKS)
    assert "150\u2009°C" in told(Step.HEAT)
    assert "5\u2009min" in told(Step.HOLD)
    assert "0.1\u2009g of additive A" in told(Step.ADDITIVE)
    assert told(Step.STIR).startswith("Stir (swirl) at 90 turns a minute for 2\u2009min.")
    assert "119\u2009°C" in told(Step.COOL)  # 139 less 20, the shipped limit


def test_a_superoxide_former_is_never_told_to_wait(tmp_path: Path) -> None:
    bench = EveningBench(tmp_path / "evening.stirfall", MaterialClass.SUPEROXIDE_FORMER)
    run = _plan(bench)
    codes = [each.code for step in ALL for each in instructions(bench.document.state, run, step)]
    assert "run.do.no_waiting" in codes
    assert "run.do.hold_at_most" in codes
    assert "run.do.hold" not in codes
    bench.close()


def test_long_work_is_noted_at_the_start_and_blocks_nothing(bench: EveningBench) -> None:
    bench.begin()
    assert bench.view.notes == ()
    assert bench.view.blocked is None
    assert (bench.view.number, bench.view.count, bench.view.next_step) == (1, 11, Step.HEAT)
