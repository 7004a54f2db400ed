"""A bench for tests of guided runs: a campaign in a file, a clock that moves when told, short words for acts."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from stirfall.bench.factors import Conditions, Value, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.bench.running import EventKind, Moment, Run, RunEvent, Step
from stirfall.session.clock import FixedClock
from stirfall.session.commands import AddRunEvent, BeginRun
from stirfall.session.document import Document
from stirfall.session.run_plan import plan_run
from stirfall.session.run_shown import RunView
from stirfall.session.run_timing import BACK, seconds_away
from stirfall.session.run_view import run_view

EVENING = datetime(2026, 11, 24, 18, 0, tzinfo=UTC)
_PLANNED: dict[str, Value] = {
    "hot time before stirring": 5.0,
    "temperature": 150.0,
    "stirring speed": 90.0,
    "stirring time": 120.0,
    "stirring action": "swirl",
    "additive": "additive A",
    "additive dose": 10.0,
}
CONDITIONS = Conditions(_PLANNED)


class EveningBench:
    """One session file with one open run, and the acts of an evening."""

    def __init__(self, path: Path, material: MaterialClass = MaterialClass.BASE_METAL) -> None:
        self.clock = FixedClock(EVENING)
        self.path = path
        lot = Lot("L1", EVENING - timedelta(days=20))
        jar = Jar("J1", "L1", EVENING - timedelta(days=2), charge_g=10.0)
        settings = CampaignSettings(material=material, melting_point_c=139.0, oil_flash_c=225.0)
        self.document = Document.create(
            path, settings, standard_factors(), lots=[lot], jars=[jar], clock=self.clock
        )

    def close(self) -> None:
        self.document.close()

    def begin(self, conditions: Conditions = CONDITIONS) -> None:
        """Begin a run of jar J1."""
        state = self.document.state
        run = plan_run(state, conditions, jar=state.jar("J1"), lot=state.lot("L1"), started_at=self.document.now())
        self.document.execute(BeginRun(run))
        self.go(Step.CHECKS)

    @property
    def run(self) -> Run:
        run = self.document.state.open_run
        assert run is not None
        return run

    @property
    def moment(self) -> Moment:
        return self.document.moment()

    @property
    def view(self) -> RunView:
        return run_view(self.document.state, self.run, self.moment)

    def note(self, kind: EventKind, **fields: object) -> None:
        """Write one event."""
        event = RunEvent("", self.run.id, kind, self.document.now(), **fields)  # type: ignore[arg-type]
        self.document.execute(AddRunEvent(event))

    def go(self, step: Step, *, after: float = 0.0) -> None:
        """Begin a step, ``after`` seconds from now."""
        self.clock.advance(seconds=after)
        self.note(EventKind.STEP, step=step)

    def back(self, step: Step) -> None:
        self.note(EventKind.STEP, step=step, word=BACK)

    def read(self, value: float) -> None:
        self.note(EventKind.READING, value=value)

    def mark(self, word: str) -> None:
        self.note(EventKind.MARK, word=word)

    def answer(self, word: str, text: str, value: float | None = None) -> None:
        self.note(EventKind.ANSWER, word=word, text=text, value=value)

    def tick(self, word: str, text: str = "") -> None:
        self.note(EventKind.TICK, word=word, text=text)

    def wait(self, seconds: float) -> None:
        self.clock.advance(seconds=seconds)

    def reopen(self) -> None:
        """Close the file as a crash does, without a word, and open it again."""
        self.document.close()
        self.document = Document.open(self.path, clock=self.clock)

    def take_up(self) -> None:
        """Open the file again and take up the run."""
        self.reopen()
        self.note(EventKind.RESUMED, value=seconds_away(self.run, self.moment))

    def walk_to(self, step: Step) -> None:
        """Walk from the checks to a step, with usual times."""
        usual = (
            (Step.HEAT, 60.0),
            (Step.HOLD, 600.0),
            (Step.ADDITIVE, 300.0),
            (Step.STIR, 20.0),
            (Step.SETTLE, 120.0),
            (Step.COOL, 180.0),
            (Step.LIFT, 1800.0),
            (Step.GRADE, 60.0),
            (Step.WEIGH, 60.0),
            (Step.CLOSE, 120.0),
        )
        for each, seconds in usual:
            self.go(each, after=seconds)
            if each is step:
                return
