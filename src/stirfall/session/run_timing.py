"""True times of a run: they survive a freeze, a restart, a sleeping computer and a clock that is set; pure.

Between two moments of one start of the computer its counter is taken, else its clock. A long time is added up over
all events in between, so that the clock counts only for the stretch in which the computer was really off.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

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


def began_at(run: Run, stretch: Stretch) -> Moment:
    """Return when a step began."""
    return Moment(run.started_at) if stretch.began is None else stretch.began.moment


def path_of(run: Run) -> tuple[Stretch, ...]:
    """Return the steps walked, the present one last; what was gone back over is left out."""
    first = run.steps[0].step if run.steps else Step.CHECKS
    path: list[Stretch] = []
    for event in run.events:
        if event.kind is not EventKind.STEP:
            continue
        step = Step(event.step)
        if event.word == BACK and any(each.step is step for each in path):
            while path[-1].step is not step:
                path.pop()
        else:
            path.append(Stretch(step, event))
    return tuple(path) or (Stretch(first, None),)


def seconds_since(run: Run, first: Moment, last: Moment) -> float:
    """Return the true seconds from ``first`` to ``last``, added up over the events of the run in between."""
    inner = [event.moment for event in _after(run, first)]
    if last in inner:
        inner = inner[: inner.index(last)]
    # A clock that was set back while the computer was off must not take away what was counted before.
    return sum(max(0.0, seconds_between(one, other)) for one, other in pairwise([first, *inner, last]))


def _after(run: Run, first: Moment) -> Sequence[RunEvent]:
    moments = [event.moment for event in run.events]
    return run.events[moments.index(first) + 1 :] if first in moments else run.events


def events_in(run: Run, stretch: Stretch, until: Stretch | None = None) -> Sequence[RunEvent]:
    """Return what happened from the beginning of a step on, up to the beginning of ``until`` where given."""
    start = 0 if stretch.began is None else run.events.index(stretch.began) + 1
    end = len(run.events) if until is None or until.began is None else run.events.index(until.began)
    return run.events[start:end]


def stirring(run: Run, stretch: Stretch, last: Moment, until: Stretch | None = None) -> Stirring:
    """Return how long it was stirred in a step up to ``last``: without the times for which the answer says so."""
    total, known = seconds_since(run, began_at(run, stretch), last), True
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
