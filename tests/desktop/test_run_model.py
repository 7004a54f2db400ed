"""The guided run without widgets: each act is an event in the file, the result is recorded by the form's rules."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from stirfall.bench.factors import standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.bench.running import EventKind, Run, Step
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.run.run_model import RunModel
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.reporting.cautions import load_cautions
from stirfall.session.clock import FixedClock
from stirfall.session.commands import TickChecklist
from stirfall.session.document import Document
from stirfall.session.run_view import RunView


class Table:
    """A workspace with form and run, over one session file that can be lost and opened again."""

    def __init__(self, workspace: Workspace, path: Path, settings: CampaignSettings, clock: FixedClock) -> None:
        self.workspace, self.path, self.clock = workspace, path, clock
        now = clock.now()
        lot = Lot("L1", now - timedelta(days=10))
        jars = [Jar(key, "L1", now - timedelta(days=2), charge_g=10.0) for key in ("J1", "J2")]
        Document.create(path, settings, standard_factors(), lots=[lot], jars=jars, clock=clock).close()
        self.said: list[str] = []
        self.signs: list[str] = []
        self.start()
        items = load_cautions(settings.material).checklist
        self.document.execute(TickChecklist(day_of(now), tuple(item.key for item in items)))

    def start(self) -> None:
        """Open the program on the file."""
        self.workspace.open_document(Document.open(self.path, clock=self.clock))
        self.form = BenchFormModel(self.workspace)
        self.run = RunModel(self.workspace, self.form)
        self.run.said.connect(self.said.append)
        self.run.opened.connect(lambda: self.signs.append("opened"))
        self.run.closed.connect(lambda: self.signs.append("closed"))

    def crash(self) -> None:
        """End the program without a word, as kill -9 does."""
        for model in (self.run, self.form):
            self.workspace.disconnect(model)
            model.deleteLater()
        self.document.close()

    @property
    def document(self) -> Document:
        assert self.workspace.document is not None
        return self.workspace.document

    def step(self) -> Step:
        return self.look().step

    def look(self) -> RunView:
        assert self.run.view is not None
        return self.run.view

    def open_run(self) -> Run:
        run = self.document.state.open_run
        assert run is not None
        return run

    def begin(self, additive: str = "additive A") -> None:
        self.form.pick_jar("J1")
        self.form.choose("additive", additive)
        self.form.type_value("additive dose", "10" if additive != "none" else "0")
        assert self.run.begin()

    def next(self, after: float = 0.0) -> None:
        self.clock.advance(seconds=after)
        assert self.run.next(), self.said[-1:]

    def walk_to(self, step: Step) -> None:
        """Walk to a step with usual times and readings."""
        usual = {
            Step.CHECKS: 60.0,
            Step.HEAT: 600.0,
            Step.HOLD: 300.0,
            Step.ADDITIVE: 30.0,
            Step.STIR: 118.0,
            Step.SETTLE: 180.0,
            Step.COOL: 1800.0,
            Step.LIFT: 60.0,
            Step.GRADE: 30.0,
            Step.WEIGH: 90.0,
        }
        while self.step() is not step:
            here = self.step()
            self.clock.advance(seconds=usual[here])
            if here in (Step.HOLD, Step.STIR):
                assert self.run.read_temperature("151" if here is Step.HOLD else "152")
            if here is Step.COOL:
                assert self.run.read_temperature("38")
            if here is Step.GRADE:
                assert self.run.grade(4)
            self.next()

    def close_list(self) -> None:
        for key, text in (("heat off", ""), ("masses", "not weighed"), ("residue", "none"), ("tools", "")):
            assert self.run.tick(key, text), self.said[-1]


@pytest.fixture
def table(
    workspace: Workspace, tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock
) -> Iterator[Table]:
    made = Table(workspace, tmp_path / "evening.stirfall", campaign_settings, clock)
    yield made
    made.run.deleteLater()
    made.form.deleteLater()


# ---------------------------------------------------------------------- the beginning


def test_a_run_begins_with_what_the_form_holds(table: Table) -> None:
    table.begin()
    run = table.open_run()
    assert (run.jar_id, run.lot_id, run.conditions["temperature"]) == ("J1", "L1", 150.0)
    assert (table.step(), table.signs) == (Step.CHECKS, ["opened"])
    assert table.form.state is not None
    assert table.form.state.run_id == run.id
    assert table.document.draft is not None
    assert table.document.draft["run_id"] == run.id


def test_nothing_begins_before_the_checklist_of_the_day(table: Table) -> None:
    table.clock.advance(hours=24)
    table.form.pick_jar("J1")
    assert not table.run.begin()
    assert table.document.state.open_run is None
    assert "checklist" in table.said[-1]


def test_a_block_of_the_limits_refuses_and_a_warning_wants_its_reason(table: Table) -> None:
    table.form.pick_jar("J1")
    table.form.type_value("temperature", "210")
    table.form.set_aborted(True)  # what is forgiven a broken-off attempt is not forgiven a new run
    assert not table.run.begin()
    assert "flash" in table.said[-1]
    table.form.set_aborted(False)
    table.form.type_value("temperature", "180")
    assert not table.run.begin()
    table.form.give_limit_reason("the bottle was tested")
    assert table.run.begin()


def test_the_outcome_is_not_asked_before_the_start_and_a_jar_may_be_named(table: Table) -> None:
    table.workspace.request_run("J2")
    run = table.open_run()
    assert run.jar_id == "J2"
    table.workspace.request_run("J1")
    assert table.signs == ["opened", "opened"]
    assert table.document.state.open_run is run


def test_no_run_of_an_oil_that_nobody_knows(
    workspace: Workspace, tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock
) -> None:
    settings = replace(campaign_settings, oil_flash_c=None)
    table = Table(workspace, tmp_path / "unknown.stirfall", settings, clock)
    table.form.type_value("temperature", "")
    assert not table.run.begin("J1")
    assert "flash point" in table.said[-1]


def test_a_reactive_metal_is_looked_at_first(
    workspace: Workspace, tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock
) -> None:
    settings = replace(campaign_settings, material=MaterialClass.ALKALI_METAL, melting_point_c=98.0)
    table = Table(workspace, tmp_path / "reactive.stirfall", settings, clock)
    table.form.type_value("temperature", "120")
    assert not table.run.begin("J1")
    assert "surface" in table.said[-1]
    table.form.set_look("grey")
    assert table.run.begin("J1")


# ---------------------------------------------------------------------- the whole evening


def test_an_evening_ends_with_the_attempt_as_it_really_was(table: Table) -> None:
    table.begin()
    table.walk_to(Step.STIR)
    assert table.run.mark()
    assert table.run.mark()
    table.walk_to(Step.WEIGH)
    view = table.look()
    measured = {each.factor: (each.planned, each.measured) for each in view.reached}
    assert measured["temperature"] == (150.0, 151.5)  # the mean of 151 and 152
    assert measured["hot time before stirring"] == (5.0, 5.5)  # 300 s of holding and 30 s for the additive
    assert measured["stirring time"] == (120.0, 118.0)
    table.form.set_mass("product_g", "8.2")
    table.next(after=60.0)
    attempt = table.document.state.attempts[-1]
    assert (attempt.outcome, attempt.jar_id, attempt.masses.product_g) == (Outcome.CLEAN, "J1", 8.2)
    assert attempt.conditions["temperature"] == 151.5
    assert (attempt.facts.peak_c, attempt.facts.lifted_at_c) == (152.0, 38.0)
    run = table.open_run()
    assert (run.attempt_id, attempt.run_id, attempt.started_at) == (attempt.id, run.id, run.started_at)
    assert [mark.word for mark in run.marks()] == ["first powder", "first merging"]
    assert attempt.note == ""
    assert {line.key: line.is_done for line in table.look().closing} == {
        "heat off": False,
        "masses": True,
        "residue": False,
        "tools": False,
    }
    for key, text in (("heat off", ""), ("residue", "none"), ("tools", "")):
        assert table.run.tick(key, text)
    table.next()
    assert table.document.state.open_run is None
    assert table.run.view is None
    assert table.signs == ["opened", "closed"]


def test_the_closing_list_cannot_be_skipped_and_comes_back(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.CLOSE)
    assert not table.run.next()
    assert "heat is off" in table.said[-1]
    table.crash()
    table.start()
    assert table.step() is Step.CLOSE
    table.close_list()
    table.next()
    assert table.document.state.open_run is None


def test_what_was_corrected_stays_corrected(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.WEIGH)
    table.form.type_value("stirring time", "100")
    table.form.finish_typing()
    assert table.run.back()
    assert table.step() is Step.GRADE
    assert table.run.grade(3)
    table.next()
    table.next()
    attempt = table.document.state.attempts[-1]
    assert attempt.conditions["stirring time"] == 100.0


def test_what_still_stops_the_recording_stops_the_step(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.WEIGH)
    table.form.set_mass("product_g", "eight")
    assert table.look().blocked is not None
    assert not table.run.next()
    assert table.document.state.attempts == ()
    table.form.set_mass("product_g", "8")
    table.next()
    assert len(table.document.state.attempts) == 1


def test_a_recording_taken_back_brings_the_numbers_back(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.WEIGH)
    table.form.set_mass("product_g", "8.1")
    table.next()
    assert not table.run.back()
    assert "Attempt 1 is recorded" in table.said[-1]
    table.workspace.undo()
    table.workspace.undo()
    assert table.document.state.attempts == ()
    assert table.step() is Step.WEIGH
    table.next()
    assert table.document.state.attempts[-1].masses.product_g == 8.1
    assert len(table.document.state.attempts) == 1


def test_a_result_that_stood_in_the_form_is_not_that_of_the_run(table: Table) -> None:
    table.form.pick_jar("J1")
    table.form.set_mass("product_g", "9.9")
    table.form.set_seen("peak_c", "170")
    table.form.set_seen("oil_ml", "60")
    table.begin("none")
    table.walk_to(Step.CLOSE)
    attempt = table.document.state.attempts[-1]
    assert (attempt.masses.charge_g, attempt.masses.product_g) == (10.0, None)
    assert (attempt.facts.peak_c, attempt.facts.oil_ml) == (152.0, 60.0)


def test_a_run_over_midnight_is_recorded_with_the_list_of_the_day_it_began(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.COOL)
    table.clock.advance(hours=24)
    table.walk_to(Step.CLOSE)
    attempt = table.document.state.attempts[-1]
    assert attempt.facts.ticked != ()
    assert not table.run.begin("J2")


def test_touches_from_jar_to_record_are_twelve(table: Table) -> None:
    touches = 0
    for touch in (
        lambda: table.run.begin("J1"),
        table.run.next,  # heat
        table.run.next,  # hold
        table.run.next,  # stir
        table.run.next,  # settle
        table.run.next,  # cool
        lambda: table.run.read_temperature("38"),
        table.run.next,  # lift
        table.run.next,  # grade
        lambda: table.run.grade(4),
        table.run.next,  # weigh
        table.run.next,  # record
    ):
        table.clock.advance(seconds=30.0)
        assert touch(), table.said[-1]
        touches += 1
    assert touches == 12
    assert table.document.state.attempts[-1].outcome is Outcome.CLEAN


def test_what_others_put_into_the_form_meanwhile_does_not_become_the_result(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.COOL)
    table.workspace.request_form(FormRequest(table.open_run().conditions, "J2"))
    table.form.type_value("temperature", "99")
    table.walk_to(Step.CLOSE)
    attempt = table.document.state.attempts[-1]
    assert (attempt.jar_id, attempt.conditions["temperature"]) == ("J1", 151.5)
    assert attempt.run_id is not None


# ---------------------------------------------------------------------- acts and refusals


def test_acts_by_foot_switch_and_card_are_the_same_intents(table: Table) -> None:
    table.begin("none")
    table.workspace.request_act("NEXT")
    assert table.step() is Step.HEAT
    table.workspace.request_act("MARK")
    table.workspace.request_act("BACK")
    assert table.step() is Step.CHECKS
    table.workspace.request_act("DONE")
    assert table.step() is Step.CHECKS
    table.walk_to(Step.GRADE)
    table.workspace.request_act("G2")
    assert table.look().grade == 2
    table.next()
    table.workspace.request_act("DONE")
    assert table.document.state.attempts[-1].outcome is Outcome.PARTLY_PARTED
    for act in ("MARK", "G1", "G2", "MARK", "DONE"):  # heat off, not weighed, no residue, tools
        table.workspace.request_act(act)
    assert table.document.state.open_run is None
    table.workspace.request_act("NEXT")


@pytest.mark.parametrize(
    ("grade", "outcome"),
    list(enumerate((Outcome.NOTHING_PARTED, Outcome.PARTLY_PARTED, Outcome.PARTED_BEADS, Outcome.CLEAN), 1)),
)
def test_both_questions_follow_from_the_grade(table: Table, grade: int, outcome: Outcome) -> None:
    table.begin("none")
    table.walk_to(Step.GRADE)
    assert not table.run.next()
    assert table.run.grade(grade)
    table.next()
    table.next()
    assert table.document.state.attempts[-1].outcome is outcome


def test_hot_metal_is_not_lifted(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.COOL)
    assert not table.run.next()
    assert "thermometer" in table.said[-1]
    assert table.run.read_temperature("125")
    assert not table.run.next()
    assert "too hot" in table.said[-1]
    assert table.run.read_temperature("118,5" if table.workspace.decimal == "," else "118.5")
    table.next()
    assert table.step() is Step.LIFT


def test_without_a_thermometer_only_a_base_metal_long_after_the_heat_went_off(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.COOL)
    table.clock.advance(seconds=3599.0)
    assert not table.run.lift_without_thermometer()
    table.clock.advance(seconds=1.0)
    assert table.run.lift_without_thermometer()
    table.next()
    assert table.step() is Step.LIFT


def test_a_reading_beyond_the_limits_names_the_act_and_holds_the_step(table: Table) -> None:
    table.begin("none")
    table.next()
    assert table.run.read_temperature("150")
    table.clock.advance(seconds=60)
    assert table.run.read_temperature("171")
    assert "heat" in table.said[-1].casefold()
    assert table.look().is_danger
    assert not table.run.next()
    table.clock.advance(seconds=60)
    assert table.run.read_temperature("149")
    table.next()
    assert not table.run.read_temperature("warm")
    assert not table.run.read_temperature("1500")


def test_smoke_is_a_danger_until_it_is_over(table: Table) -> None:
    table.begin("none")
    table.next()
    assert table.run.mark("smoke")
    assert "Take the heat away now" in table.said[-1]
    assert table.look().is_danger
    assert table.run.danger_is_over()
    assert not table.look().is_danger
    assert table.workspace.document is not None
    assert table.workspace.document.undo_name == "Tick danger over"


def test_an_attempt_given_up_is_on_record_and_the_closing_list_follows(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.HOLD)
    assert not table.run.give_up("  ")
    assert table.run.give_up("the oil smoked")
    attempt = table.document.state.attempts[-1]
    assert (attempt.outcome, attempt.abort_reason) == (Outcome.ABORTED, "the oil smoked")
    assert "stirring time" not in attempt.conditions
    assert table.step() is Step.CLOSE
    assert not table.run.back()
    for key, text in (("heat off", ""), ("cold", ""), ("residue", "none"), ("tools", "")):
        assert table.run.tick(key, text)
    table.next()
    ended = table.document.state.runs[-1]
    assert ended.end_reason == "the oil smoked"


def test_a_run_given_up_before_the_heat_is_over_at_once(table: Table) -> None:
    table.begin("none")
    assert table.run.give_up("the wrong jar")
    assert table.document.state.open_run is None
    assert table.document.state.attempts == ()
    assert table.document.state.runs[-1].end_reason == "the wrong jar"
    assert table.signs == ["opened", "closed"]


def test_an_attempt_that_was_given_up_can_be_left_out_or_recorded_later(table: Table) -> None:
    table.begin("none")
    table.next()
    assert table.run.give_up("the jar was the wrong one", record=False)
    assert table.document.state.attempts == ()
    assert table.run.tick("attempt", "recorded")
    assert table.document.state.attempts[-1].outcome is Outcome.ABORTED


def test_a_scanned_jar_is_held_against_the_plan(table: Table) -> None:
    table.begin("none")
    table.workspace.jar_scanned.emit("J1")
    assert "is the jar of this run" in table.said[-1]
    table.workspace.jar_scanned.emit("J2")
    assert "planned for jar J1" in table.said[-1]
    assert not table.run.next()
    assert table.said[-1].startswith("Stop")
    table.workspace.jar_scanned.emit("j1")
    table.next()
    table.workspace.jar_scanned.emit("J2")
    table.next()
    assert table.step() is Step.HOLD


def test_a_note_stays_in_the_run(table: Table) -> None:
    table.begin("none")
    assert not table.run.add_note(" ")
    assert table.run.add_note("powder floats")
    run = table.open_run()
    assert [event.text for event in run.events if event.kind is EventKind.NOTE] == ["powder floats"]


# ---------------------------------------------------------------------- crashes, clocks, undo


def _yes(table: Table) -> None:
    view = table.look()
    for question in view.questions:
        wanted = "no" if question.key == "heat" and view.step in (Step.COOL, Step.LIFT) else "yes"
        assert table.run.answer(question.key, wanted)


def test_after_a_crash_the_run_goes_on_at_the_same_second_and_asks(table: Table) -> None:
    table.begin()
    table.walk_to(Step.STIR)
    table.clock.advance(seconds=31.0)
    table.run.mark()
    table.crash()
    table.clock.advance(seconds=25.0)
    table.start()
    view = table.look()
    assert (view.step, view.elapsed_s) == (Step.STIR, 56)
    assert [question.key for question in view.questions] == ["cover", "heat", "additive", "stirred"]
    assert view.last_done is not None
    assert view.last_done.what.params == {"word": "first powder"}
    assert not table.run.next()
    assert not table.run.back()
    _yes(table)
    table.next()
    assert table.step() is Step.SETTLE


def test_questions_are_answered_by_number_as_well(table: Table) -> None:
    table.begin()
    table.walk_to(Step.HOLD)
    table.crash()
    table.start()
    for act in ("G2", "G1", "G1", "G3"):  # cover: no, yes; heat: yes; additive: not known
        table.workspace.request_act(act)
    assert table.look().questions == ()
    assert [note.code for note in table.look().notes][-1] == "run.note.additive_not_known"


@pytest.mark.parametrize("step", [Step.CHECKS, Step.HOLD, Step.COOL, Step.GRADE, Step.WEIGH, Step.CLOSE])
def test_a_crash_in_any_step_ends_with_the_same_attempt(table: Table, step: Step) -> None:
    table.begin()
    table.walk_to(step)
    if step is Step.WEIGH:
        table.form.set_mass("product_g", "8.2")
        table.form.flush_draft()
    table.crash()
    table.start()
    _yes(table)
    table.walk_to(Step.CLOSE)
    attempts = table.document.state.attempts
    assert len(attempts) == 1
    assert attempts[0].outcome is Outcome.CLEAN
    assert attempts[0].conditions["stirring time"] == 118.0
    assert attempts[0].masses.product_g == (8.2 if step is Step.WEIGH else None)


def test_leaving_in_good_order_is_written_and_the_run_waits(table: Table) -> None:
    table.begin()
    table.next()
    table.workspace.close_document()
    assert table.run.view is None
    table.clock.advance(seconds=600.0)
    table.workspace.open_document(Document.open(table.path, clock=table.clock))
    run = table.open_run()
    assert [event.kind for event in run.events[-2:]] == [EventKind.LEFT, EventKind.RESUMED]
    assert run.events[-1].value == pytest.approx(600.0)
    assert table.look().elapsed_s == 600
    assert table.signs[-1] == "opened"


def test_a_clock_set_back_by_an_hour_is_noticed_and_the_timer_stays_true(table: Table) -> None:
    table.begin("none")
    table.walk_to(Step.HOLD)
    table.clock.advance(seconds=100.0)
    table.run.look()
    table.clock.set(table.clock.now() - timedelta(hours=1))
    table.clock.advance(seconds=20.0)
    table.run.look()
    view = table.look()
    assert view.elapsed_s == 120
    assert view.notes[0].code == "run.note.clock_back"
    count = len(table.open_run().events)
    table.run.look()
    assert len(table.open_run().events) == count


def test_the_view_is_told_only_when_something_shown_has_changed(table: Table) -> None:
    table.begin("none")
    table.next()
    told: list[object] = []
    table.run.changed.connect(told.append)
    for _ in range(4):
        table.clock.advance(seconds=0.2)
        table.run.look()
    assert told == []
    table.clock.advance(seconds=0.2)
    table.run.look()
    assert len(told) == 1


def test_undo_takes_the_run_back_act_by_act_and_redo_brings_it(table: Table) -> None:
    table.begin("none")
    table.next(after=10.0)
    assert table.document.undo_name == "Begin step heat"
    for _ in range(3):
        table.workspace.undo()
    assert table.run.view is None
    assert table.signs == ["opened", "closed"]
    for _ in range(3):
        table.workspace.redo()
    assert table.step() is Step.HEAT
    assert table.signs == ["opened", "closed", "opened"]


def test_a_session_open_for_reading_shows_the_run_and_changes_nothing(table: Table) -> None:
    table.begin("none")
    table.next()
    before = table.document.fingerprint
    table.crash()
    table.workspace.open_document(Document.open(table.path, clock=table.clock, read_only=True))
    form = BenchFormModel(table.workspace)
    run = RunModel(table.workspace, form)
    assert run.view is not None
    assert run.view.step is Step.HEAT
    assert not run.next()
    assert not run.mark()
    assert table.document.fingerprint == before
    run.deleteLater()
    form.deleteLater()


def test_any_order_of_acts_leaves_a_run_that_makes_sense(table: Table) -> None:
    table.begin()
    acts: list[Callable[[], object]] = [
        table.run.next,
        table.run.back,
        table.run.mark,
        lambda: table.run.grade(2),
        lambda: table.run.read_temperature("30"),
        lambda: table.run.tick("heat off"),
        table.workspace.undo,
        table.workspace.redo,
        table.run.record,
    ]
    for turn in range(80):
        acts[turn * 7919 % 104729 % len(acts)]()
        table.clock.advance(seconds=3.0)
        run = table.document.state.open_run
        assert (run is None) == (table.run.view is None)
