"""True times of a run: they survive a freeze, a restart, a sleeping computer and a clock that is set; pure.

Between two moments of one start of the computer its counter is taken, else its clock. A long time is added up over
all events in between, so that the clock counts only for the stretch in which the computer was really off.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.running import EventKind, Moment, Run, RunEvent, Step, seconds_between

BACK = "back"
"""The word of a STEP event that takes up an earlier step again, with its timer as it was."""
STIRRED, NOT_KNOWN, YES, NO = "stirred", "not known", "yes", "no"
MOST_UNNOTICED_S = 2.0
_BY_ITSELF = (EventKind.LEFT, EventKind.RESUMED, EventKind.CLOCK)


@dataclass(frozen=True)
class Stretch:
    """One step as it was walked: ``began`` None stands for the beginning of the run itself."""

    step: Step
    began: RunEvent | None


@dataclass(frozen=True)
class Stirring:
    """How long it was stirred: seconds, and whether an answer leaves that open."""

    seconds: float
    is_known: bool = True


class TrueTimes:
    """The true time of each event of a run, in seconds since the run began; made in one pass."""

    def __init__(self, run: Run) -> None:
        self._by_id: dict[str, float] = {}
        self._last, self._total = Moment(run.started_at), 0.0
        for event in run.events:
            if _is_before(event.moment, self._last):  # it was taken back and done again after a later note
                self._by_id[event.id] = max(0.0, self._total + seconds_between(self._last, event.moment))
                continue
            self._by_id[event.id] = self._total = self.at(event.moment)
            self._last = event.moment

    def at(self, moment: Moment) -> float:
        """Return the seconds at a moment after the last event.

        A clock that was set back while the computer was off must not take away what was counted before.
        """
        return self._total + max(0.0, seconds_between(self._last, moment))

    def of(self, event: RunEvent | None) -> float:
        """Return the seconds at an event of the run; None stands for the beginning of the run."""
        return 0.0 if event is None else self._by_id[event.id]


def _is_before(moment: Moment, last: Moment) -> bool:
    """Whether a moment is earlier beyond doubt: by the counter of the same start of the computer."""
    return bool(moment.boot) and moment.boot == last.boot and seconds_between(last, moment) < 0


def began_at(run: Run, stretch: Stretch) -> datetime:
    """Return when a step began by the clock."""
    return run.started_at if stretch.began is None else stretch.began.at


def path_of(run: Run) -> tuple[Stretch, ...]:
    """Return the steps walked, the present one last; what was gone back over is left out."""
    path: tuple[Stretch, ...] = ()
    for event in run.events:
        path = walked_on(path, event)
    return path or (Stretch(run.steps[0].step if run.steps else Step.CHECKS, None),)


def walked_on(path: tuple[Stretch, ...], event: RunEvent) -> tuple[Stretch, ...]:
    """Return the steps walked after one more event."""
    if event.kind is not EventKind.STEP:
        return path
    step = Step(event.step)
    places = [place for place, each in enumerate(path) if each.step is step]
    if event.word == BACK and places:
        return path[: places[-1] + 1]
    return (*path, Stretch(step, event))


def events_in(run: Run, stretch: Stretch, until: Stretch | None = None) -> Sequence[RunEvent]:
    """Return what happened from the beginning of a step on, up to the beginning of ``until`` where given."""
    start = 0 if stretch.began is None else run.events.index(stretch.began) + 1
    end = len(run.events) if until is None or until.began is None else run.events.index(until.began)
    return run.events[start:end]


def stirring(run: Run, stretch: Stretch, total: float, until: Stretch | None = None) -> Stirring:
    """Return how long it was stirred in a step of ``total`` seconds: less the breaks in which nobody stirred."""
    known = True
    for away, answer in _breaks(events_in(run, stretch, until)):
        if answer is None or answer.text == YES:
            continue
        if answer.text == NOT_KNOWN:
            known = False
        else:
            total -= away - min(away, max(0.0, answer.value or 0.0))
    return Stirring(max(0.0, total), known)


def _breaks(events: Sequence[RunEvent]) -> Iterator[tuple[float, RunEvent | None]]:
    """Yield the seconds of each break with its answer; breaks without one are answered with the next."""
    away, answer = 0.0, None
    for event in events:
        if event.kind is EventKind.RESUMED:
            if answer is not None:
                yield away, answer
                away, answer = 0.0, None
            away += max(0.0, event.value or 0.0)
        elif event.kind is EventKind.ANSWER and event.word == STIRRED and away:
            answer = event
    if away:
        yield away, answer


def last_act(run: Run) -> RunEvent | None:
    """Return the last thing that the person did, None where there is nothing yet."""
    return next((event for event in reversed(run.events) if event.kind not in _BY_ITSELF), None)


def last_sign(run: Run) -> Moment:
    """Return the last moment at which the program is known to have been there."""
    return run.events[-1].moment if run.events else Moment(run.started_at)


def seconds_away(run: Run, now: Moment) -> float:
    """Return the seconds from the last sign of the program to ``now``."""
    return max(0.0, seconds_between(last_sign(run), now))


def clock_jump(before: Moment, after: Moment) -> float | None:
    """Return by how many seconds the clock was set between two moments; None: not at all, or nobody can tell."""
    if not before.boot or before.boot != after.boot or before.ticks_s is None or after.ticks_s is None:
        return None
    jump = (after.at - before.at).total_seconds() - (after.ticks_s - before.ticks_s)
    return jump if abs(jump) > MOST_UNNOTICED_S else None
