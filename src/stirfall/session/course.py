"""The course of an attempt: the temperature over the minutes from its start, with what happened in its run."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Role
from stirfall.bench.records import Attempt
from stirfall.bench.running import EventKind, Run, RunEvent, TemperatureLog
from stirfall.session.run_timing import TrueTimes

FloatArray = NDArray[np.float64]

_GAP = 5.0  # so many usual spacings without a reading are a gap in the line; our own choice
_LEAST_GAP_MIN = 0.5


@dataclass(frozen=True)
class Band:
    """A step of the run: its word, from and to in minutes, and the temperature that was planned for it."""

    word: str
    start_min: float
    end_min: float
    target_c: float | None = None


@dataclass(frozen=True)
class Mark:
    """Something that was marked: its word, when, and the temperature of the log then, None where it has none."""

    word: str
    at_min: float
    temperature_c: float | None = None


@dataclass(frozen=True)
class Course:
    """The course of one attempt; times in minutes from ``started_at``, temperatures in °C.

    ``minutes`` and ``celsius`` (n,) are the log, ``readings`` what was typed during the run. ``recorded_c`` is the
    temperature among the attempt's conditions, ``melting_c`` that of the metal. ``peak`` is the highest of the log
    while the attempt ran, with its minute. ``is_dated`` is False where no start is known and the log's own counts.
    """

    attempt_id: str
    number: int
    started_at: datetime | None
    name: str = ""
    minutes: FloatArray = field(default_factory=lambda: np.empty(0))
    celsius: FloatArray = field(default_factory=lambda: np.empty(0))
    bands: tuple[Band, ...] = ()
    marks: tuple[Mark, ...] = ()
    readings: tuple[tuple[float, float], ...] = ()
    recorded_c: float | None = None
    melting_c: float | None = None
    peak: tuple[float, float] | None = None
    is_dated: bool = True

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to draw."""
        return not (len(self.minutes) or self.bands or self.marks or self.readings)

    @property
    def span_min(self) -> tuple[float, float]:
        """The first and last minute of anything that is drawn, at least a minute apart."""
        times = [
            *(self.minutes[[0, -1]] if len(self.minutes) else ()),
            *(edge for band in self.bands for edge in (band.start_min, band.end_min)),
            *(mark.at_min for mark in self.marks),
            *(at for at, _ in self.readings),
        ]
        low, high = float(min(times, default=0.0)), float(max(times, default=1.0))
        return low, max(high, low + 1.0)


def read_course(state: CampaignState, attempt: Attempt, log: TemperatureLog | None) -> Course:
    """Return the course of an attempt from its run and one of its logs, either of which may be missing."""
    run = state.run(attempt.run_id)
    points = log.points if log is not None else ()
    started = run.started_at if run is not None else attempt.started_at
    zero = started if started is not None else (points[0][0] if points else None)
    base = zero.timestamp() if zero is not None else 0.0
    minutes = np.array([(at.timestamp() - base) / 60.0 for at, _ in points])
    celsius = np.array([value for _, value in points], dtype=float)
    bands = _bands(run, float(minutes[-1]) if len(minutes) else None) if run is not None else ()
    events: list[tuple[RunEvent, float]] = []
    if run is not None:
        times = TrueTimes(run)
        events = [(event, times.of(event) / 60.0) for event in run.events]
    return Course(
        attempt.id,
        attempt.number,
        started,
        log.name if log is not None else "",
        minutes,
        celsius,
        bands,
        tuple(
            Mark(event.word, at, temperature_at(minutes, celsius, at))
            for event, at in events
            if event.kind is EventKind.MARK
        ),
        tuple(
            (at, event.value) for event, at in events if event.kind is EventKind.READING and event.value is not None
        ),
        _recorded(state, attempt),
        state.settings.melting_point_c,
        _peak(minutes, celsius, _end_min(run, attempt, bands)),
        started is not None,
    )


def _bands(run: Run, log_end: float | None) -> tuple[Band, ...]:
    times = TrueTimes(run)
    steps = [(event, times.of(event) / 60.0) for event in run.events if event.kind is EventKind.STEP]
    last = max((times.of(event) / 60.0 for event in run.events), default=0.0)
    if run.ended_at is not None:
        last = max(last, (run.ended_at - run.started_at).total_seconds() / 60.0)
    elif log_end is not None:
        last = max(last, log_end)
    found = []
    for place, (event, start) in enumerate(steps):
        end = steps[place + 1][1] if place + 1 < len(steps) else last
        planned = run.planned(event.step)
        if end > start:
            found.append(Band(event.step, start, end, planned.target_c if planned is not None else None))
    return tuple(found)


def _end_min(run: Run | None, attempt: Attempt, bands: tuple[Band, ...]) -> float:
    if bands:
        return bands[-1].end_min
    if run is None and attempt.started_at is not None and attempt.recorded_at is not None:
        return max((attempt.recorded_at - attempt.started_at).total_seconds() / 60.0, 0.0)
    return float("inf")


def _peak(minutes: FloatArray, celsius: FloatArray, end_min: float) -> tuple[float, float] | None:
    """Return minute and value of the highest reading while the attempt ran; of the whole log if none is in it."""
    if not len(minutes):
        return None
    during = (minutes >= 0.0) & (minutes <= end_min)
    places = np.flatnonzero(during) if during.any() else np.arange(len(minutes))
    at = int(places[np.argmax(celsius[places])])
    return float(minutes[at]), float(celsius[at])


def temperature_at(minutes: FloatArray, celsius: FloatArray, at_min: float) -> float | None:
    """Return the log's temperature at a moment, linear between readings; None outside of it and within a gap."""
    if len(minutes) < 2 or not minutes[0] <= at_min <= minutes[-1]:
        return None
    after = min(int(np.searchsorted(minutes, at_min, side="right")), len(minutes) - 1)
    if minutes[after] - minutes[after - 1] > gap_min(minutes):
        return None
    return float(np.interp(at_min, minutes, celsius))


def gap_min(minutes: FloatArray) -> float:
    """Return the minutes without a reading from which on the line is broken."""
    if len(minutes) < 2:
        return _LEAST_GAP_MIN
    return max(_GAP * float(np.median(np.diff(minutes))), _LEAST_GAP_MIN)


def thinned(minutes: FloatArray, celsius: FloatArray, most: int) -> tuple[FloatArray, FloatArray]:
    """Return a line of about ``most`` points at most with each high and low in it, broken by nan at gaps."""
    if len(minutes) > most:
        edges = np.linspace(0, len(minutes), max(most // 2, 1) + 1).astype(int)
        kept = sorted(
            {
                place
                for low, high in pairwise(edges)
                if high > low
                for place in (low + int(np.argmin(celsius[low:high])), low + int(np.argmax(celsius[low:high])))
            }
            | {0, len(minutes) - 1}
        )
        spacing = gap_min(minutes) + float(np.max(np.diff(edges))) * float(np.median(np.diff(minutes)))
        minutes, celsius = minutes[kept], celsius[kept]
    else:
        spacing = gap_min(minutes)
    gaps = np.flatnonzero(np.diff(minutes) > spacing) + 1
    return np.insert(minutes, gaps, minutes[gaps - 1] if len(gaps) else 0.0), np.insert(celsius, gaps, np.nan)


def _recorded(state: CampaignState, attempt: Attempt) -> float | None:
    from stirfall.bench.units import convert

    for factor in state.factors:
        if factor.role is Role.TEMPERATURE and not factor.is_choice:
            value = attempt.conditions.get(factor.name)
            return convert(value, factor.unit, "C") if isinstance(value, float) else None
    return None
