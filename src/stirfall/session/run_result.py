"""What a run really reached: conditions by its readings and timers, temperatures seen, the grade; pure."""

from __future__ import annotations

from collections.abc import Iterator

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.running import EventKind, Run, Step
from stirfall.bench.units import convert, unit_kind
from stirfall.planning.findings import from_celsius
from stirfall.planning.limits_additive import is_additive_choice, means_none
from stirfall.session.run_plan import dose_factors, hot_time_factor, planned_additive, time_factor
from stirfall.session.run_questions import additive_word
from stirfall.session.run_shown import ReachedValue
from stirfall.session.run_timing import (
    NOT_KNOWN,
    YES,
    Stretch,
    TrueTimes,
    events_in,
    path_of,
    stirring,
)

GRADES = (Outcome.NOTHING_PARTED, Outcome.PARTLY_PARTED, Outcome.PARTED_BEADS, Outcome.CLEAN)
_QUESTIONS: dict[Outcome, tuple[Parted, Pooled | None]] = {
    Outcome.NOTHING_PARTED: (Parted.NO, None),
    Outcome.PARTLY_PARTED: (Parted.PARTLY, None),
    Outcome.PARTED_BEADS: (Parted.YES, Pooled.BEADS),
    Outcome.CLEAN: (Parted.YES, Pooled.ONE_POOL),
}
_MELTED = (Step.HOLD, Step.ADDITIVE, Step.STIR)


def grade_of(run: Run) -> int | None:
    """Return the grade that was given last, 1 to 4, None where none was."""
    words = [event.word for event in run.events if event.kind is EventKind.GRADE]
    known = [place for place, outcome in enumerate(GRADES, 1) if words and outcome == words[-1]]
    return known[0] if known else None


def answers_of(grade: int) -> tuple[Parted, Pooled | None]:
    """Return the answers to the two questions that a grade from 1 to 4 stands for."""
    return _QUESTIONS[GRADES[grade - 1]]


def peak_c(run: Run) -> float | None:
    """Return the highest temperature read, in °C."""
    return max((event.value for event in run.readings() if event.value is not None), default=None)


def last_cool_reading_c(run: Run) -> float | None:
    """Return the last reading since the cooling began, in °C; None before it, and where nothing was read."""
    path = path_of(run)
    start = next((stretch for stretch in path if stretch.step is Step.COOL), None)
    if start is None:
        return None
    values = [event.value for event in events_in(run, start) if event.kind is EventKind.READING]
    return values[-1] if values else None


def lifted_at_c(run: Run) -> float | None:
    """Return the metal's temperature when it was lifted out, in °C, None where it was not, or nothing was read."""
    return last_cool_reading_c(run) if any(each.step is Step.LIFT for each in path_of(run)) else None


def reached_values(state: CampaignState, run: Run) -> tuple[ReachedValue, ...]:
    """Return each condition that the run itself tells, as planned and as measured, in the order of the factors."""
    found = {
        value.factor: value for value in (*_temperatures(state, run), *_times(state, run), *_doses(state, run))
    }
    return tuple(found[f.name] for f in state.visible_factors if f.name in found)


def reached_conditions(state: CampaignState, run: Run) -> Conditions:
    """Return the conditions with everything that was measured in place of its plan; what is unknown is left out."""
    conditions = run.conditions
    for value in reached_values(state, run):
        if value.is_unknown:
            conditions = conditions.with_value(value.factor, None)
        elif value.measured is not None:
            conditions = conditions.with_value(value.factor, value.measured)
    return conditions


def hot_readings(run: Run) -> tuple[tuple[float, ...], bool]:
    """Return the readings in °C of the steps in which the metal was melted, and whether they are from those steps.

    Where nothing was read in them, the last reading of the heating stands for them: the target was reached.
    """
    path = path_of(run)
    melted = _readings_in(path, run, _MELTED)
    return (melted, True) if melted else (_readings_in(path, run, (Step.HEAT,))[-1:], False)


def _readings_in(path: tuple[Stretch, ...], run: Run, steps: tuple[Step, ...]) -> tuple[float, ...]:
    found: list[float] = []
    for place, stretch in enumerate(path):
        if stretch.step in steps:
            until = path[place + 1] if place + 1 < len(path) else None
            events = events_in(run, stretch, until)
            found += [e.value for e in events if e.kind is EventKind.READING and e.value is not None]
    return tuple(found)


def _temperatures(state: CampaignState, run: Run) -> Iterator[ReachedValue]:
    was_hot = any(stretch.step in _MELTED for stretch in path_of(run))
    readings, is_melted = hot_readings(run)
    for factor in state.visible_factors:
        if factor.role is not Role.TEMPERATURE or factor.is_choice or unit_kind(factor.unit) != "temperature":
            continue
        planned = run.conditions.get(factor.name)
        if was_hot and readings:
            mean = round(from_celsius(sum(readings) / len(readings), factor.unit), 1)
            yield ReachedValue(factor.name, factor.unit, planned, mean, _how_read(readings, is_melted=is_melted))
        else:
            code = "run.how.not_read" if was_hot else "run.how.not_reached"
            yield ReachedValue(factor.name, factor.unit, planned, None, Reason(code), is_unknown=not was_hot)


def _how_read(readings: tuple[float, ...], *, is_melted: bool) -> Reason:
    if not is_melted:
        return Reason("run.how.last_of_heating")
    return Reason("run.how.reading" if len(readings) == 1 else "run.how.readings", {"n": f"{len(readings)}"})


def _times(state: CampaignState, run: Run) -> Iterator[ReachedValue]:
    path, times = path_of(run), TrueTimes(run)
    hold, stir = _stretch(path, Step.HOLD), _stretch(path, Step.STIR)
    if (hot := hot_time_factor(state)) is not None:
        if hold is not None and stir is not None:
            yield _time(run, hot, times.of(stir.began) - times.of(hold.began), Reason("run.how.timer"))
        else:
            yield _unknown(run, hot)
    for step in (Step.STIR, Step.SETTLE, Step.COOL):
        factor = time_factor(state, step)
        if factor is None:
            continue
        here, after = _stretch(path, step), _next(path, step)
        if here is None or after is None:
            yield _unknown(run, factor)
            continue
        seconds = times.of(after.began) - times.of(here.began)
        told = stirring(run, here, seconds, after)
        if step is Step.STIR and not told.is_known:
            yield _unknown(run, factor, "run.how.break")
        elif step is Step.STIR:
            yield _time(run, factor, told.seconds, Reason("run.how.timer"))
        else:
            yield _time(run, factor, seconds, Reason("run.how.timer"))


def _stretch(path: tuple[Stretch, ...], step: Step) -> Stretch | None:
    return next((stretch for stretch in path if stretch.step is step), None)


def _next(path: tuple[Stretch, ...], step: Step) -> Stretch | None:
    place = next((place for place, stretch in enumerate(path) if stretch.step is step), None)
    return path[place + 1] if place is not None and place + 1 < len(path) else None


def _time(run: Run, factor: Factor, seconds: float, how: Reason) -> ReachedValue:
    # A step that was passed at once took a second: nothing on a logarithmic scale takes no time at all.
    value = float(f"{convert(float(max(1, round(seconds))), 's', factor.unit):.4g}")
    return ReachedValue(factor.name, factor.unit, run.conditions.get(factor.name), value, how)


def _unknown(run: Run, factor: Factor, code: str = "run.how.not_reached") -> ReachedValue:
    planned = run.conditions.get(factor.name)
    return ReachedValue(factor.name, factor.unit, planned, None, Reason(code), is_unknown=True)


def _doses(state: CampaignState, run: Run) -> Iterator[ReachedValue]:
    if not planned_additive(run)[0]:
        return
    word = additive_word(run)
    for factor in (*filter(is_additive_choice, state.visible_factors), *dose_factors(state)):
        planned = run.conditions.get(factor.name)
        if word == YES or planned is None:
            yield ReachedValue(factor.name, factor.unit, planned, None, Reason("run.how.as_planned"))
        elif word == NOT_KNOWN:
            yield _unknown(run, factor, "run.how.additive_not_known")
        else:
            nothing: Value | None = 0.0
            if factor.is_choice:
                nothing = next((level for level in factor.levels if means_none(level)), None)
            how = Reason("run.how.additive_out")
            yield ReachedValue(factor.name, factor.unit, planned, nothing, how, is_unknown=nothing is None)
