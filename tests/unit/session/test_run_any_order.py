"""Whatever is done in whatever order, a run can be shown, its time never runs back, and no guard opens by itself.

No source outside the project: invariants of our own, on events drawn at random with a fixed seed.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from evening_bench import CONDITIONS, EVENING, EveningBench

from stirfall.bench.campaign import CampaignState
from stirfall.bench.materials import MaterialClass
from stirfall.bench.running import EventKind, Moment, Run, RunEvent, Step
from stirfall.session.run_log import logged_events, logged_steps
from stirfall.session.run_plan import plan_run
from stirfall.session.run_result import last_cool_reading_c, reached_conditions
from stirfall.session.run_timing import BACK
from stirfall.session.run_view import run_view

WORDS = {
    EventKind.MARK: ("first powder", "smoke", "spill", "moment"),
    EventKind.ANSWER: ("cover", "heat", "additive", "stirred"),
    EventKind.TICK: ("heat off", "residue", "tools", "danger over", "cold without a thermometer"),
    EventKind.GRADE: ("nothing parted", "clean separation", "nonsense"),
}


@pytest.fixture(scope="module")
def state(tmp_path_factory: pytest.TempPathFactory) -> Iterator[CampaignState]:
    folder: Path = tmp_path_factory.mktemp("any")
    bench = EveningBench(folder / "any.stirfall")
    yield bench.document.state
    bench.close()


def _moments(chance: random.Random) -> Iterator[Moment]:
    """Time goes on; the clock is set now and then, the computer is started anew now and then."""
    at, ticks, boot = EVENING, 0.0, 0
    while True:
        gone = chance.choice((0.0, 0.3, 2.0, 40.0, 1000.0))
        at, ticks = at + timedelta(seconds=gone), ticks + gone
        if chance.random() < 0.1:
            at += timedelta(seconds=chance.choice((-3600.0, 3600.0)))
        if chance.random() < 0.05:
            ticks, boot = 0.0, boot + 1
        yield Moment(at, ticks, f"b{boot}")


def _event(chance: random.Random, place: int, moment: Moment, steps: tuple[Step, ...]) -> RunEvent:
    kind = chance.choice((EventKind.STEP, *EventKind))
    word = chance.choice(WORDS.get(kind, ("",)))
    if kind is EventKind.STEP:
        word = chance.choice(("", "", BACK))
    return RunEvent(
        f"e{place}",
        "r1",
        kind,
        moment.at,
        step=chance.choice(steps) if kind is EventKind.STEP else "",
        word=word,
        value=chance.choice((25.0, 39.0, 150.0, 170.0)),
        text=chance.choice(("yes", "no", "not known")) if kind is EventKind.ANSWER else "none",
        ticks_s=moment.ticks_s,
        boot=moment.boot,
    )


@pytest.mark.parametrize("material", [MaterialClass.BASE_METAL, MaterialClass.SUPEROXIDE_FORMER])
@pytest.mark.parametrize("seed", range(12))
def test_any_order_of_events_can_be_shown(state: CampaignState, material: MaterialClass, seed: int) -> None:
    chance = random.Random(seed)
    state = replace(state, settings=replace(state.settings, material=material))
    run = replace(plan_run(state, CONDITIONS, jar=None, lot=None, started_at=EVENING), id="r1")
    steps = tuple(each.step for each in run.steps)
    moments = _moments(chance)
    for place in range(60):
        run = replace(run, events=(*run.events, _event(chance, place, next(moments), steps)))
        _check(state, run, next(moments), material)
    reached_conditions(state, run)
    seconds = [each.seconds for each in logged_events(run)]
    assert seconds == sorted(seconds)
    assert all(step.took_s is None or step.took_s >= 0 for step in logged_steps(run))


def _check(state: CampaignState, run: Run, moment: Moment, material: MaterialClass) -> None:
    view = run_view(state, run, moment)
    assert view == run_view(state, run, moment)
    assert view.elapsed_s >= 0
    assert view.steps[view.number - 1] is view.step
    assert all(mark.into_step_s >= 0 for mark in view.marks)
    if view.questions:
        assert view.blocked is not None
    elif view.step in (Step.COOL, Step.LIFT) and view.blocked is None:
        cold = last_cool_reading_c(run)
        ticked = any(event.word == "cold without a thermometer" for event in run.events)
        assert ticked if cold is None else cold < 119.5
        assert material is MaterialClass.BASE_METAL or (cold is not None and cold <= 40.0)
