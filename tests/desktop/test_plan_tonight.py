"""The plan of the evening without its widgets: rows in words, what is asked for, keeping it, starting jars."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from small_campaigns import an_evening

from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.bench.records import Attempt, CampaignSettings, Jar
from stirfall.desktop.odds.goal_choice import GOALS, goal_name
from stirfall.desktop.plan.kept import line_in_turn, plan_in_force
from stirfall.desktop.plan.tonight_asking import Answer, Asked
from stirfall.desktop.plan.tonight_building import build_state
from stirfall.desktop.plan.tonight_model import TonightModel
from stirfall.desktop.plan.tonight_state import (
    BENCH_DAY,
    DONE,
    GOAL_WORDS,
    GONE,
    NEXT_UP,
    TO_DO,
    TODAY,
    TonightState,
)
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.planning.goals import Goal
from stirfall.session.commands import ChangeSettings, EmptyJar, KeepEvening, RecordAttempt
from stirfall.session.document import Document
from stirfall.session.jobs import FinishedJob
from stirfall.session.tonight import JarToStart, Opening, OpenOrWait, Pause, Tonight, plan_tonight

if TYPE_CHECKING:
    from pathlib import Path

    from stirfall.bench.campaign import CampaignState
    from stirfall.desktop.notifier import Notice
    from stirfall.session.clock import FixedClock

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
HALF = Estimate(0.5, 0.2, 0.8, 0.95, 12)
HEAT = Conditions({"oil exposure time": 20.0, "temperature": 150.0})
FACTS = Reason("shelf.none_planned")


@pytest.fixture
def document(tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock) -> Iterator[Document]:
    with an_evening(tmp_path, campaign_settings, clock) as made:
        yield made


def invented(now: datetime, **changes: object) -> Tonight:
    """A plan of two openings with a break between them, one decision of each kind, and two jars to start."""
    begins = now + timedelta(hours=8)
    later = begins + timedelta(hours=2)
    openings = (
        Opening(1, "J20", "L1", HEAT, HALF, "next", Reason("plan.again"), 0.0, begins),
        Opening(2, "J10", "L1", HEAT, None, "control", FACTS, 2.0, later, 1, ("temperature",)),
    )
    decisions = tuple(
        OpenOrWait(f"K{place}", "L1", HALF, HALF, begins + timedelta(days=1), verdict, 0.4, FACTS)
        for place, verdict in enumerate(("open", "wait", "either"))
    )
    decisions += (OpenOrWait("K9", "L1", None, None, None, "closed", None, FACTS),)
    jars = tuple(
        Jar(f"N{place}", "L1", now + timedelta(hours=5 * place), planned=place > 0, charge_g=10.0)
        for place in (0, 1)
    )
    starts = tuple(JarToStart(jar, begins + timedelta(days=2), 24.0, FACTS, HALF) for jar in jars)
    made = Tonight(
        at=now,
        begins_at=begins,
        hours=4.0,
        attempt_h=1.5,
        goal=Goal.LEARN,
        seed=7,
        openings=openings,
        pauses=(Pause(1.5, 2.0, 2, FACTS),),
        decisions=decisions,
        starts=starts,
        due_at=begins + timedelta(days=2),
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def shown(state: CampaignState, tonight: Tonight | None, count: int | None = None, **asked: object) -> TonightState:
    now = tonight.at if tonight is not None else NOW
    answer = None if tonight is None else Answer(tonight)
    return build_state(state, answer, Asked(**asked), now, decimal=".", count=count, problem="")  # type: ignore[arg-type]


def test_goals_are_called_as_beside_the_odds() -> None:
    assert {goal.value: words for goal, words in GOAL_WORDS.items()} == {goal: goal_name(goal) for goal in GOALS}


# -- rows ------------------------------------------------------------------------------------------


def test_a_timetable_says_when_what_how_likely_and_why(document: Document) -> None:
    state = shown(document.state, invented(document.now()))
    first, second = state.lines
    assert (first.place, first.jar, first.lot, first.purpose, first.status) == (1, "J20", "L1", "next", TO_DO)
    assert first.values == (("oil exposure time", "20\u2009h"), ("temperature", "150\u2009°C"))
    assert first.chance is not None
    assert first.chance.in_full == "50\u2009%, 20 to 80\u2009%, 12 attempts"
    assert (second.chance, second.purpose) == (None, "control")
    assert second.pause.startswith("Break of 30\u2009min.")
    assert "temperature" in second.outside
    assert first.clock != second.clock
    assert state.total.startswith("2 attempts, ")
    assert "3.5\u2009h of the 4\u2009h" in state.total
    assert state.seed == 7


def test_every_verdict_has_its_chances_or_none(document: Document) -> None:
    state = shown(document.state, invented(document.now()))
    assert [line.verdict for line in state.decisions] == ["open", "wait", "either", "closed"]
    assert all(line.now and line.later and line.when for line in state.decisions[:3])
    assert (state.decisions[3].now, state.decisions[3].when) == (None, "")


def test_jars_to_start_say_when_how_filled_and_what_is_not_known(document: Document) -> None:
    state = shown(document.state, invented(document.now()))
    now, later = state.starts
    assert (now.is_now, now.when, now.age) == (True, "now", "24\u2009h")
    assert not later.is_now
    assert now.filled == "10\u2009g, oil depth not known, lid not known"
    assert (state.start_count, state.start_most) == (2, 2)
    assert shown(document.state, invented(document.now()), 1).start_count == 1


def test_what_is_known_of_the_starts_stands_with_them(document: Document) -> None:
    notes = (Reason("tonight.next_evening", {"when": "Thu 18:00"}), Reason("tonight.no_starts"))
    state = shown(document.state, invented(document.now(), notes=notes, starts=()))
    assert [("Thu 18:00" in note) for note in state.notes] == [True]
    assert ["longer exposure" in note for note in state.starts_notes] == [True]
    assert not state.can_start


def test_without_openings_the_notes_say_why_in_the_place_of_the_timetable(document: Document) -> None:
    notes = (Reason("tonight.none_to_open"),)
    state = shown(document.state, invented(document.now(), notes=notes, openings=()))
    assert (state.lines, state.notes, state.total) == ((), (), "")
    assert state.message.startswith("No jar on the shelf may be opened")
    blocked = shown(document.state, invented(document.now(), blocked=Reason("plan.no_factors"), openings=()))
    assert blocked.message


def test_before_the_first_answer_it_says_what_will_appear(document: Document) -> None:
    assert "appears here" in shown(document.state, None).message
    assert "lot" in shown(replace(document.state, lots=(), jars=()), None).message


def test_the_hours_are_those_of_the_campaign_until_others_are_asked_for(document: Document) -> None:
    tonight = invented(document.now())
    assert shown(document.state, tonight).hours == 3.0
    assert shown(document.state, tonight, hours=4.5).hours_text == "4.5\u2009h"
    # 24 November 2026 is a Tuesday (ISO 8601 weekday 2, by the calendar), one of the usual bench days.
    assert not shown(document.state, tonight).has_evenings
    plan = replace(document.state.settings.plan, bench_days=(1,))
    other = replace(document.state, settings=replace(document.state.settings, plan=plan))
    assert shown(other, tonight).has_evenings


# -- a kept plan -----------------------------------------------------------------------------------


def kept(document: Document, begins_in_h: float = 1.0) -> EveningPlan:
    lines = tuple(
        PlannedAttempt(HEAT, jar, "L1", purpose, "Because.", hours)
        for jar, purpose, hours in (("J20", "next", 0.0), ("J10", "control", 2.0))
    )
    now = document.now()
    document.execute(KeepEvening(EveningPlan("", now, now + timedelta(hours=begins_in_h), 4.0, 3, lines)))
    plan = document.state.evening
    assert plan is not None
    return plan


def attempt_with(document: Document, jar: str) -> None:
    made = Attempt(
        "", 0, HEAT, document.now(), document.now(), "L1", jar, parted=Parted.YES, pooled=Pooled.ONE_POOL
    )
    document.execute(RecordAttempt(made))


def test_a_kept_plan_shows_what_became_of_each_line(document: Document, clock: FixedClock) -> None:
    kept(document)
    state = shown(document.state, invented(document.now()))
    assert (state.is_kept, state.seed, state.is_finished) == (True, 3, False)
    assert [line.status for line in state.lines] == [NEXT_UP, TO_DO]
    assert state.next_up is not None
    assert state.next_up.jar == "J20"
    assert state.lines[1].pause == "Break of 30\u2009min."
    clock.advance(hours=1.0)
    attempt_with(document, "J20")
    state = shown(document.state, invented(document.now()))
    assert [line.status for line in state.lines] == [DONE, NEXT_UP]
    assert state.lines[0].became == "Done: attempt 5, clean separation."
    document.execute(EmptyJar("J10", document.now()))
    state = shown(document.state, invented(document.now()))
    assert [line.status for line in state.lines] == [DONE, GONE]
    assert state.is_finished
    assert state.next_up is None


def test_a_plan_holds_for_its_evening_only(document: Document) -> None:
    plan = kept(document)
    late = plan.begins_at + timedelta(hours=plan.hours)
    assert plan_in_force(document.state, late + timedelta(hours=5.9)) is plan
    assert plan_in_force(document.state, late + timedelta(hours=6.1)) is None


# -- the model -------------------------------------------------------------------------------------


@pytest.fixture
def model(workspace: Workspace, document: Document) -> TonightModel:
    workspace.open_document(document)
    made = TonightModel(workspace)
    made.set_shown(True)
    return made


def test_it_works_only_while_somebody_looks_and_of_the_refined_answer(
    workspace: Workspace, document: Document, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def watched(*args: object, **named: object) -> Tonight:
        asked.append(args[0].stage)  # type: ignore[attr-defined]
        return plan_tonight(*args, **named)  # type: ignore[arg-type]

    monkeypatch.setattr("stirfall.session.tonight.plan_tonight", watched)
    made = TonightModel(workspace)
    workspace.open_document(document)
    assert asked == []
    made.set_shown(True)
    assert asked == ["refined"]
    made.set_shown(False)
    made.set_shown(True)
    assert asked == ["refined"], "the same is not asked twice"
    made.set_shown(False)
    workspace.refresh()
    assert len(asked) == 1


class HoldingExecutor:
    """Keeps the jobs until the test lets them run."""

    def __init__(self) -> None:
        self.held: list[tuple[Callable[[CancelToken], object], Callable[[object], None]]] = []

    def submit(
        self,
        job: Callable[[CancelToken], object],
        done: Callable[[object], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> FinishedJob:
        del failed
        self.held.append((job, done))
        return FinishedJob()

    def run(self, at: int) -> None:
        """Run one held job, whatever came after it."""
        job, done = self.held[at]
        done(job(CancelToken()))


def test_the_answer_to_an_older_question_is_dropped_and_old_rows_are_grey(
    themed: object, workspace: Workspace, document: Document
) -> None:
    del themed
    workspace.open_document(document)
    executor = HoldingExecutor()
    other = Workspace(executor)
    other.document, other.analysis = document, workspace.analysis
    made = TonightModel(other)
    made.set_shown(True)
    assert made.state.lines == ()
    assert made.state.is_working
    made.set_hours(1.5)
    assert len(executor.held) == 2
    executor.run(0)
    assert (made.state.lines, made.state.is_stale) == ((), True), "it was asked for other hours since"
    executor.run(1)
    assert (len(made.state.lines), made.state.is_stale) == (1, False)
    made.set_hours(3.0)
    assert (len(made.state.lines), made.state.is_stale, made.state.can_keep) == (1, True, False)
    other.document = None


def test_the_plan_is_the_engines_own(model: TonightModel, workspace: Workspace, document: Document) -> None:
    assert workspace.analysis is not None
    expected = plan_tonight(workspace.analysis, document.state, document.now())
    assert [line.jar for line in model.state.lines] == [each.jar_id for each in expected.openings]
    assert len(model.state.lines) == 2
    assert model.state.seed == expected.seed
    assert {line.jar for line in model.state.decisions} == {"J10", "J20"}
    assert model.state.start_most == len(expected.starts)
    assert not model.state.is_stale


def test_hours_and_seed_change_the_plan_and_the_hours_can_become_usual(
    model: TonightModel, document: Document
) -> None:
    model.set_hours(1.5)
    assert (model.state.hours, len(model.state.lines)) == (1.5, 1)
    seed = model.state.seed
    assert seed is not None
    model.draw_anew()
    assert model.state.seed == seed + 1
    model.set_shown(False)  # what follows needs no plan
    model.step_hours(2)
    assert model.state.hours == 2.5
    model.set_hours(0.0)
    assert model.state.hours == 0.5
    model.choose_goal(Goal.RELIABLE)
    assert model.state.goal is Goal.RELIABLE
    model.set_hours(4.0)
    model.keep_hours()
    assert document.state.settings.plan.evening_h == 4.0
    assert model.state.hours == model.state.usual_hours == 4.0


def test_today_is_another_evening_than_the_next_bench_day(
    model: TonightModel, document: Document, workspace: Workspace
) -> None:
    settings = document.state.settings
    document.execute(ChangeSettings(replace(settings, plan=replace(settings.plan, bench_days=(4,)))))
    assert model.state.evening == BENCH_DAY
    assert model.state.title.startswith("Thu ")
    model.set_hours(2.0)
    assert model.state.title.startswith("Thu "), "other hours, the same evening"
    model.choose_evening(TODAY)
    assert model.state.title.startswith("Tonight, ")


def test_keeping_freezes_the_plan_and_dropping_frees_it(
    model: TonightModel, document: Document, workspace: Workspace
) -> None:
    told: list[Notice] = []
    workspace.notified.connect(told.append)
    drawn = [line.jar for line in model.state.lines]
    assert model.keep()
    plan = document.state.evening
    assert plan is not None
    assert [each.jar_id for each in plan.attempts] == drawn
    assert all(each.why.endswith(".") for each in plan.attempts)
    assert model.state.is_kept
    assert [line.chance is not None for line in model.state.lines] == [True, True]
    assert not model.keep(), "it is kept already"
    assert told[-1].act == "Undo"
    assert model.drop()
    assert document.state.evening is None
    assert not model.state.is_kept
    model.set_shown(False)
    workspace.undo()
    assert model.state.is_kept
    workspace.undo()
    assert document.state.evening is None


def test_the_next_attempt_fills_the_form_as_planned_and_begins_the_run(
    model: TonightModel, workspace: Workspace, document: Document
) -> None:
    asked: list[FormRequest] = []
    runs: list[str] = []
    pages: list[str] = []
    workspace.form_requested.connect(asked.append)
    workspace.run_requested.connect(runs.append)
    workspace.page_requested.connect(pages.append)
    assert not model.fill_in(), "nothing is kept yet"
    kept(document)
    found = line_in_turn(workspace)
    assert found is not None
    assert model.fill_in()
    assert (asked[0].conditions, asked[0].jar_id, asked[0].planned) == (HEAT, "J20", True)
    assert asked[0].note_origin == "the plan of tonight, 1 of 2"
    assert pages == ["bench"]
    assert model.begin()
    assert (len(asked), runs, pages) == (2, ["J20"], ["bench"])


def test_a_line_is_taken_in_hand(model: TonightModel, workspace: Workspace) -> None:
    held: list[InHand] = []
    workspace.in_hand_changed.connect(lambda in_hand, _origin: held.append(in_hand))
    model.look_at(1)
    line = model.state.lines[0]
    assert [(each.conditions, each.jar_id, each.source) for each in held] == [
        (line.conditions, line.jar, "suggestion")
    ]
    model.look_at_jar(0)
    jar = model.state.decisions[0].jar
    assert (held[-1].jar_id, held[-1].source) == (jar, "jar")
    # J10 and J20 were started 10 and 20 hours ago.
    assert held[-1].conditions["oil exposure time"] == pytest.approx(float(jar.removeprefix("J")))


def test_jars_are_started_in_one_step_and_their_labels_offered(
    model: TonightModel, workspace: Workspace, document: Document
) -> None:
    told: list[Notice] = []
    printed: list[tuple[str, ...]] = []
    workspace.notified.connect(told.append)
    model.labels_wanted.connect(printed.append)
    before = document.state.jars
    assert model.state.start_most >= 1
    model.choose_count(1)
    assert model.state.start_count == 1
    model.choose_count(99)
    assert model.state.start_count == model.state.start_most
    count = model.state.start_count
    assert model.start_jars()
    made = document.state.jars[len(before) :]
    assert len(made) == count
    model.set_shown(False)
    assert told[-1].act == "Print labels"
    assert told[-1].on_act is not None
    told[-1].on_act()
    assert printed == [tuple(jar.id for jar in made)]
    workspace.undo()
    assert document.state.jars == before


def test_a_superoxide_former_is_never_told_to_wait_and_starts_nothing(
    model: TonightModel, document: Document, workspace: Workspace
) -> None:
    document.execute(ChangeSettings(replace(document.state.settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    state = model.state
    assert (state.starts, state.can_start) == ((), False)
    assert any("longer exposure" in note for note in state.starts_notes)
    assert {line.verdict for line in state.decisions} <= {"open", "closed"}
    assert all(line.later is None for line in state.decisions)


def test_another_document_starts_afresh(model: TonightModel, workspace: Workspace) -> None:
    model.set_hours(5.0)
    workspace.close_document()
    assert model.state == TonightState()
