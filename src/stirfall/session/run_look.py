"""One look at a run: its step, its true times, and what was done and seen so far; pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.running import (
    ALARMING_MARKS,
    FIRST_MERGING,
    FIRST_POWDER,
    OTHER_MARK,
    EventKind,
    Moment,
    Run,
    RunEvent,
    Step,
)
from stirfall.planning.findings import CloseAmount
from stirfall.session.run_shown import Done, Mark, Reading
from stirfall.session.run_timing import (
    BACK,
    Stretch,
    TrueTimes,
    began_at,
    events_in,
    last_act,
    path_of,
    stirring,
)


@dataclass(frozen=True)
class Look:
    """A run at one moment, with what several parts of its view need."""

    state: CampaignState
    run: Run
    moment: Moment

    # -- the step and its time -------------------------------------------------------------------------

    @cached_property
    def path(self) -> tuple[Stretch, ...]:
        """The steps walked, the present one last."""
        return path_of(self.run)

    @property
    def here(self) -> Stretch:
        """The step as it was begun."""
        return self.path[-1]

    @property
    def step(self) -> Step:
        """The step that the run is at."""
        return self.here.step

    @cached_property
    def elapsed(self) -> float:
        """The seconds that count towards the target of the step."""
        return stirring(self.run, self.here, self.gone).seconds if self.step is Step.STIR else self.gone

    @cached_property
    def times(self) -> TrueTimes:
        """The true time of each event."""
        return TrueTimes(self.run)

    @cached_property
    def now(self) -> float:
        """The true seconds since the run began."""
        return self.times.at(self.moment)

    @property
    def gone(self) -> float:
        """The seconds since the step began, whatever was done in them."""
        return self.now - self.times.of(self.here.began)

    @property
    def target_c(self) -> float | None:
        """The temperature in °C that the step aims at, None where none is planned."""
        planned = self.run.planned(self.step)
        return planned.target_c if planned is not None else None

    def timer(self) -> dict[str, object]:
        """Return the fields of the view that say how long the step should take and how it stands."""
        planned = self.run.planned(self.step)
        if planned is None or planned.seconds is None:
            return {}
        target, over = planned.seconds, self.elapsed - planned.seconds
        return {
            "target_s": round(target),
            "remaining_s": max(0, round(target) - int(self.elapsed)),
            "is_due": over >= 0,
            "overdue_s": max(0, int(over)),
            "due_at": self._due_at(target),
        }

    def _due_at(self, target: float) -> datetime | None:
        """Return when the target is reached by the clock as it is now: its changes and the pauses count.

        None where no calendar holds that moment.
        """
        set_by = sum(e.value or 0.0 for e in self.events if e.kind is EventKind.CLOCK)
        seconds = round(target + set_by + self.gone - self.elapsed)
        try:
            return (began_at(self.run, self.here) + timedelta(seconds=seconds)).replace(microsecond=0)
        except OverflowError:
            return None

    @cached_property
    def events(self) -> tuple[RunEvent, ...]:
        """What happened in this step."""
        return tuple(events_in(self.run, self.here))

    # -- what was done and seen ------------------------------------------------------------------------

    def last_done(self) -> Done | None:
        """Return the last thing that the person did, None where there is nothing yet."""
        event = last_act(self.run)
        return None if event is None else Done(_done(event), event.at)

    def marks(self) -> tuple[Mark, ...]:
        """Return what was marked, in the steps that were walked."""
        made = []
        for place, stretch in enumerate(self.path):
            until = self.path[place + 1] if place + 1 < len(self.path) else None
            for event in events_in(self.run, stretch, until):
                if event.kind is EventKind.MARK:
                    into = self.times.of(event) - self.times.of(stretch.began)
                    alarming = event.word in ALARMING_MARKS
                    made.append(Mark(event.id, event.word, event.at, stretch.step, int(into), alarming))
        return tuple(made)

    def next_mark(self) -> str:
        """Return what Enter would mark."""
        known = {event.word for event in self.run.marks()}
        return next((word for word in (FIRST_POWDER, FIRST_MERGING) if word not in known), OTHER_MARK)

    def reading(self) -> Reading | None:
        """Return the newest reading, None where nothing was read."""
        readings = self.run.readings()
        if not readings or readings[-1].value is None:
            return None
        last = readings[-1]
        return Reading(readings[-1].value, last.at, int(self.now - self.times.of(last)))


def _done(event: RunEvent) -> Reason:
    """Return what an event says was done."""
    match event.kind:
        case EventKind.STEP:
            code = "run.done.back" if event.word == BACK else "run.done.step"
            return Reason(code, {"step": event.step})
        case EventKind.READING:
            return Reason("run.done.reading", {"value": CloseAmount(event.value or 0.0, "C")})
        case EventKind.MARK | EventKind.GRADE | EventKind.TICK:
            return Reason(f"run.done.{event.kind.value}", {"word": event.word})
        case EventKind.ANSWER:
            return Reason("run.done.answer", {"text": event.text})
        case _:
            return Reason("run.done.note")
