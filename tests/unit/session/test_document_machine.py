"""Random commands, undo, redo and reopening always lead to the state that a plain list would have."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Outcome, Parted
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.bench.running import EventKind, PlannedStep, Run, RunEvent, Step
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document
from stirfall.storage.check import check_file

FACTORS = (Factor("age", "h", 1, 100, "log"), Factor("action", levels=("swirl", "fold")))
masses = st.builds(Masses, charge_g=st.none() | st.floats(0, 50), product_g=st.none() | st.integers(0, 50))
conditions = st.fixed_dictionaries(
    {}, optional={"age": st.floats(0.01, 1000.0), "action": st.sampled_from(("swirl", "fold"))}
)
CLASSES = (Outcome.NOTHING_PARTED, Outcome.PARTLY_PARTED, Outcome.PARTED_BEADS, Outcome.CLEAN)
EVENTS: dict[EventKind, dict[str, object]] = {
    EventKind.STEP: {"step": "heat"},
    EventKind.MARK: {"word": "first powder"},
    EventKind.READING: {"value": 120.5},
    EventKind.TICK: {"word": "heat off"},
}
BY_ITSELF = (EventKind.LEFT, EventKind.RESUMED, EventKind.CLOCK)


def told(state: CampaignState) -> CampaignState:
    """Return a state without what the program noted by itself: that is no step of its own, and undo leaves it."""
    return replace(
        state,
        runs=tuple(
            replace(run, events=tuple(each for each in run.events if each.kind not in BY_ITSELF))
            for run in state.runs
        ),
    )


class Session(RuleBasedStateMachine):
    """The model is the list of states that undo walks back and redo walks forth."""

    @initialize()
    def start(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "trial.stirfall"
        self.clock = FixedClock(datetime(2026, 1, 1, tzinfo=UTC))
        self.document = Document.create(self.path, CampaignSettings(), FACTORS, clock=self.clock)
        self.past: list[CampaignState] = []
        self.future: list[CampaignState] = []
        self.numbers: set[int] = set()

    def teardown(self) -> None:
        if hasattr(self, "document"):
            self.document.close()
            assert [finding.code for finding in check_file(self.path)] == ["check.counts"]
            self.folder.cleanup()

    def execute(self, command: c.Command) -> c.Changes:
        before = self.document.state
        changes = self.document.execute(command)
        if changes.name:
            self.past.append(before)
            self.future.clear()
        return changes

    @rule(hours=st.floats(-5, 50))
    def time_passes(self, hours: float) -> None:
        self.clock.advance(hours=hours)

    @rule(name=st.sampled_from(("L1", "L2", "L3")), note=st.text(max_size=5))
    def add_lot(self, name: str, note: str) -> None:
        if self.document.state.lot(name) is None:
            self.execute(c.AddLot(Lot(name, self.clock.now(), note=note)))

    @precondition(lambda self: self.document.state.lots)
    @rule(name=st.sampled_from(("J1", "J2", "J3")), depth=st.none() | st.floats(0, 100), data=st.data())
    def add_jar(self, name: str, depth: float | None, data: st.DataObject) -> None:
        if self.document.state.jar(name) is None:
            lot = data.draw(st.sampled_from(self.document.state.lots))
            self.execute(c.AddJar(Jar(name, lot.id, self.clock.now(), oil_depth_mm=depth)))

    @precondition(lambda self: self.document.state.shelf)
    @rule(data=st.data())
    def empty_jar(self, data: st.DataObject) -> None:
        jar = data.draw(st.sampled_from(self.document.state.shelf))
        self.execute(c.EmptyJar(jar.id, max(jar.started_at, self.clock.now())))

    @rule(values=conditions, weighed=masses, note=st.text(max_size=5), parted=st.sampled_from((None, *Parted)))
    def record(self, values: dict[str, float | str], weighed: Masses, note: str, parted: Parted | None) -> None:
        attempt = Attempt("", 0, Conditions(values), parted=parted, masses=weighed, note=note)
        changes = self.execute(c.RecordAttempt(attempt))
        number = self.document.attempt(str(changes.new_attempt_id)).number
        assert number > max(self.numbers, default=0)
        self.numbers.add(number)

    @precondition(lambda self: self.document.state.attempts)
    @rule(data=st.data(), values=conditions, note=st.text(max_size=5))
    def correct(self, data: st.DataObject, values: dict[str, float | str], note: str) -> None:
        attempt = data.draw(st.sampled_from(self.document.state.attempts))
        changes = {"conditions": Conditions(values), "note": note, "pooled": None, "parted": Parted.YES}
        known = len(self.document.corrections(attempt.id))
        done = self.execute(c.CorrectAttempt(attempt.id, changes, "because"))
        assert bool(done.name) == (len(self.document.corrections(attempt.id)) > known)

    @precondition(lambda self: self.document.state.attempts)
    @rule(data=st.data())
    def strike_or_restore(self, data: st.DataObject) -> None:
        attempt = data.draw(st.sampled_from(self.document.state.attempts))
        strike = c.RestoreAttempt(attempt.id) if attempt.is_struck else c.StrikeAttempt(attempt.id, "why")
        self.execute(strike)

    @rule(high=st.sampled_from((50.0, 100.0, 200.0)), extra=st.booleans())
    def change_factors(self, high: float, extra: bool) -> None:
        added = (Factor("depth", "mm", 1, 50),) if extra else ()
        self.execute(c.ChangeFactors((Factor("age", "h", 1, high, "log"), FACTORS[1], *added)))

    @rule(title=st.text(max_size=5), flash=st.none() | st.integers(100, 300))
    def change_settings(self, title: str, flash: float | None) -> None:
        self.execute(c.ChangeSettings(CampaignSettings(title=title, oil_flash_c=flash)))

    @rule()
    def tick(self) -> None:
        self.execute(c.TickChecklist("2026-01-01", ("a",)))

    @precondition(lambda self: self.document.state.attempts)
    @rule(data=st.data())
    def attach(self, data: st.DataObject) -> None:
        attempt = data.draw(st.sampled_from(self.document.state.attempts))
        self.execute(c.AttachPhoto(attempt.id, "p", "image/png", b"123"))

        self.execute(c.AttachLog(attempt.id, "log", ((self.clock.now(), 20.0),)))
        self.execute(c.SetAnchor(data.draw(st.sampled_from(CLASSES)), "p", "image/png", b"123"))

    @precondition(lambda self: self.document.state.lots)
    @rule(names=st.sets(st.sampled_from(("J1", "J2", "J3", "J4")), min_size=1), hours=st.floats(-5, 50))
    def split(self, names: set[str], hours: float) -> None:
        free = sorted(name for name in names if self.document.state.jar(name) is None)
        at, lot = self.clock.now() + timedelta(hours=hours), self.document.state.lots[-1]
        jars = tuple(Jar(name, lot.id, at, planned=hours > 0) for name in free)
        if jars:
            self.execute(c.SplitLot(lot.id, jars))

    @precondition(lambda self: self.document.state.planned_jars)
    @rule(starts=st.booleans())
    def start_or_empty_a_planned_jar(self, starts: bool) -> None:
        jar = self.document.state.planned_jars[0]
        make = c.StartJar if starts else c.EmptyJar
        self.execute(make(jar.id, self.clock.now()))

    @precondition(lambda self: self.document.state.open_run is None)
    @rule(with_jar=st.booleans())
    def begin_run(self, with_jar: bool) -> None:
        jars = [jar.id for jar in self.document.state.shelf]
        steps = (PlannedStep(Step.HEAT, target_c=150.0), PlannedStep(Step.CLOSE))
        jar = jars[-1] if with_jar and jars else None
        self.execute(c.BeginRun(Run("", self.clock.now(), steps=steps, jar_id=jar)))

    @precondition(lambda self: self.document.state.open_run)
    @rule(kind=st.sampled_from(tuple(EVENTS)))
    def add_event(self, kind: EventKind) -> None:
        run = self.document.state.open_run
        self.execute(c.AddRunEvent(RunEvent("", run.id, kind, self.clock.now(), **EVENTS[kind])))

    @precondition(lambda self: self.document.state.open_run)
    @rule(kind=st.sampled_from(BY_ITSELF))
    def note_by_itself(self, kind: EventKind) -> None:
        run, names = self.document.state.open_run, (self.document.undo_name, self.document.redo_name)
        self.document.execute(c.AddRunEvent(RunEvent("", run.id, kind, self.clock.now(), value=3.0)))
        assert (self.document.undo_name, self.document.redo_name) == names

    @precondition(lambda self: self.document.state.open_run)
    @rule(records=st.booleans(), empties=st.booleans())
    def record_or_end_the_run(self, records: bool, empties: bool) -> None:
        run = self.document.state.open_run
        if not records:
            self.execute(c.EndRun(run.id, "spilt"))
        elif run.attempt_id is None and (run.jar_id is None or self.document.state.jar(run.jar_id).is_ageing):
            attempt = Attempt("", 0, Conditions(), jar_id=run.jar_id, parted=Parted.NO, run_id=run.id)
            at = max(self.clock.now(), self.clock.now() if run.jar_id is None else self.jar_start(run.jar_id))
            changes = self.execute(
                c.RecordAttempt(replace(attempt, started_at=at), empties_jar=empties and run.jar_id is not None)
            )
            self.numbers.add(self.document.attempt(str(changes.new_attempt_id)).number)

    def jar_start(self, jar_id: str) -> datetime:
        return self.document.state.jar(jar_id).started_at

    @rule(key=st.sampled_from(("a", "b")))
    def acknowledge(self, key: str) -> None:
        self.execute(c.Acknowledge(key, "alarm"))

    @precondition(lambda self: any(each.outcome in CLASSES for each in self.document.state.attempts))
    @rule(outcome=st.sampled_from(CLASSES))
    def grade_again(self, outcome: Outcome) -> None:
        graded = [each for each in self.document.state.attempts if each.outcome in CLASSES]
        self.execute(c.GradeAgain(graded[0].id, outcome))

    @precondition(lambda self: self.past)
    @rule(steps=st.integers(1, 4))
    def undo(self, steps: int) -> None:
        for _ in range(min(steps, len(self.past))):
            self.future.append(self.document.state)
            self.document.undo()
            assert told(self.document.state) == told(self.past.pop())

    @precondition(lambda self: self.future)
    @rule(steps=st.integers(1, 4))
    def redo(self, steps: int) -> None:
        for _ in range(min(steps, len(self.future))):
            self.past.append(self.document.state)
            self.document.redo()
            assert told(self.document.state) == told(self.future.pop())

    @rule()
    def reopen(self) -> None:
        state, fingerprint = self.document.state, self.document.fingerprint
        self.document.close()
        self.document = Document.open(self.path, clock=self.clock)
        assert self.document.state == state
        assert self.document.fingerprint == fingerprint
        self.past.clear()
        self.future.clear()

    @invariant()
    def places_and_history_agree(self) -> None:
        if hasattr(self, "document"):
            for attempt in self.document.state.attempts:
                assert self.document.attempt(attempt.id) is attempt
                named = self.document.state.run(attempt.run_id)
                assert attempt.run_id is None or named.attempt_id == attempt.id
            assert (self.document.undo_name is None) == (not self.past)
            assert (self.document.redo_name is None) == (not self.future)


TestSession = Session.TestCase
TestSession.settings = hypothesis_settings(max_examples=20, stateful_step_count=30, deadline=None)
