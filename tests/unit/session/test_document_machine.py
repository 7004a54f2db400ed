"""Random commands, undo, redo and reopening always lead to the state that a plain list would have."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime
from pathlib import Path

from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document
from stirfall.storage.check import check_file

FACTORS = (Factor("age", "h", 1, 100, "log"), Factor("action", levels=("swirl", "fold")))
masses = st.builds(Masses, charge_g=st.none() | st.floats(0, 50), product_g=st.none() | st.integers(0, 50))
conditions = st.fixed_dictionaries(
    {}, optional={"age": st.floats(0.01, 1000.0), "action": st.sampled_from(("swirl", "fold"))}
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

    @precondition(lambda self: self.past)
    @rule(steps=st.integers(1, 4))
    def undo(self, steps: int) -> None:
        for _ in range(min(steps, len(self.past))):
            self.future.append(self.document.state)
            self.document.undo()
            assert self.document.state == self.past.pop()

    @precondition(lambda self: self.future)
    @rule(steps=st.integers(1, 4))
    def redo(self, steps: int) -> None:
        for _ in range(min(steps, len(self.future))):
            self.past.append(self.document.state)
            self.document.redo()
            assert self.document.state == self.future.pop()

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
            assert (self.document.undo_name is None) == (not self.past)
            assert (self.document.redo_name is None) == (not self.future)


TestSession = Session.TestCase
TestSession.settings = hypothesis_settings(max_examples=20, stateful_step_count=30, deadline=None)
